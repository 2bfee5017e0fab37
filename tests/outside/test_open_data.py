"""Finding the open files, and saying why they weren't found."""

from __future__ import annotations

import gzip
import hashlib
import tarfile
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def stand_ins(open_data: Any, monkeypatch: pytest.MonkeyPatch) -> dict[str, bytes]:
    """Small files in place of the large ones, so that finding can be tested without them."""
    files = {name: name.encode() * 3 for name in open_data.SHA256}
    digests = {name: hashlib.sha256(raw).hexdigest() for name, raw in files.items()}
    monkeypatch.setattr(open_data, "SHA256", digests)
    monkeypatch.setattr(open_data, "SIZES", {name: len(raw) for name, raw in files.items()})
    return files


def test_files_are_found_plain_and_gzipped_in_the_folder_that_is_named(
    open_data: Any, stand_ins: dict[str, bytes], tmp_path: Path
) -> None:
    for place, (name, raw) in enumerate(stand_ins.items()):
        if place % 2:
            (tmp_path / name).write_bytes(raw)
        else:
            (tmp_path / f"{name}.gz").write_bytes(gzip.compress(raw))
    located = open_data.locate({open_data.VARIABLE: str(tmp_path)})
    assert located.reason is None
    assert set(located.files) == set(stand_ins)


def test_a_file_with_other_content_is_refused(
    open_data: Any, stand_ins: dict[str, bytes], tmp_path: Path
) -> None:
    for name, raw in stand_ins.items():
        (tmp_path / name).write_bytes(raw)
    (tmp_path / "t10k-labels-idx1-ubyte").write_bytes(b"something else")
    located = open_data.in_folder(tmp_path)
    assert located.files == {}
    assert "t10k-labels-idx1-ubyte is not the published file" in located.reason


def test_the_reason_names_what_is_missing(open_data: Any, tmp_path: Path) -> None:
    located = open_data.locate({open_data.VARIABLE: str(tmp_path)})
    assert located.reason == (f"there is no train-images-idx3-ubyte, plain or .gz, in {tmp_path}")


def test_without_npm_the_reason_says_so(
    open_data: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    located = open_data.locate({"XDG_CACHE_HOME": str(tmp_path)})
    assert "npm isn't there" in located.reason


def test_the_tarball_gives_the_files_whatever_they_are_called(
    open_data: Any, stand_ins: dict[str, bytes], tmp_path: Path
) -> None:
    tarball = tmp_path / "package.tgz"
    with tarfile.open(tarball, "w:gz") as archive:
        for place, raw in enumerate((b"readme", *stand_ins.values())):
            member = tmp_path / f"part-{place}"
            member.write_bytes(gzip.compress(raw) if place % 2 else raw)
            archive.add(member, f"package/{place}.bin")
    cache = tmp_path / "cache"
    cache.mkdir()
    assert open_data.unpack(tarball, tmp_path, cache) is None
    assert open_data.in_folder(cache).reason is None


def test_a_tarball_that_lacks_a_file_says_which(
    open_data: Any, stand_ins: dict[str, bytes], tmp_path: Path
) -> None:
    tarball = tmp_path / "package.tgz"
    with tarfile.open(tarball, "w:gz"):
        pass
    assert "lacks train-images-idx3-ubyte" in open_data.unpack(tarball, tmp_path, tmp_path)


def test_the_cache_follows_the_xdg_variable_and_falls_back_to_home(open_data: Any) -> None:
    assert open_data.cache_folder({"XDG_CACHE_HOME": "/c"}) == Path("/c/inkdrift/open-data")
    assert open_data.cache_folder({"HOME": "/h"}) == Path("/h/.cache/inkdrift/open-data")
