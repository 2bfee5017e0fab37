"""Files and folders that are whole or not there."""

from __future__ import annotations

import pickle
import re
from pathlib import Path

import pytest

from gen.core.errors import CombinedError, InkdriftError, OutputError
from gen.core.files import INSIDE, check_free, file_digest, move_in, whole_file, whole_folder


def test_a_whole_file_replaces_an_older_one_and_leaves_no_scratch(tmp_path: Path) -> None:
    (tmp_path / "note").write_text("old")
    with whole_file(tmp_path / "note") as scratch:
        scratch.write_text("new")
        assert (tmp_path / "note").read_text() == "old"
    assert (tmp_path / "note").read_text() == "new"
    assert [path.name for path in tmp_path.iterdir()] == ["note"]


def test_a_file_that_fails_leaves_the_older_one(tmp_path: Path) -> None:
    (tmp_path / "note").write_text("old")
    with pytest.raises(ZeroDivisionError, match="no crates"), whole_file(tmp_path / "note") as part:
        part.write_text("new")
        raise ZeroDivisionError("no crates")
    assert [path.read_text() for path in tmp_path.iterdir()] == ["old"]


def test_where_nothing_can_be_taken_away_the_file_that_was_asked_for_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(path: Path, missing_ok: bool = False) -> None:
        raise OSError(30, "Read-only file system", str(path))

    monkeypatch.setattr(Path, "unlink", refused)
    (tmp_path / "crate").write_text("")
    target = tmp_path / "crate" / "note"
    with pytest.raises(OutputError, match=r"crate.note: can't be written"), whole_file(target) as p:
        p.write_text("new")


@pytest.mark.parametrize("ending", [KeyboardInterrupt, ZeroDivisionError])
def test_a_folder_that_fails_leaves_nothing_not_even_parents(
    tmp_path: Path, ending: type[BaseException]
) -> None:
    with pytest.raises(ending, match="no crates"), whole_folder(tmp_path / "a" / "b") as scratch:
        (scratch / "note").write_text("new")
        raise ending("no crates")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("folder", [".", "a", "a/b/c"])
def test_a_place_that_may_not_be_written_into_is_refused_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, folder: str
) -> None:
    check_free(tmp_path / folder, overwrite=False)
    # Who runs the tests may be allowed everything, so the system is made to say no.
    monkeypatch.setattr("os.access", lambda path, mode: False)
    match = re.escape(f"got       {tmp_path} may not be written into")
    with pytest.raises(OutputError, match=rf"can't be written\n +{match}"):
        check_free(tmp_path / folder, overwrite=False)


def test_a_folder_that_holds_something_is_refused_unless_told(tmp_path: Path) -> None:
    (tmp_path / "note").write_text("old")
    with pytest.raises(OutputError, match=r"the folder isn't empty\n +try .*--overwrite"):
        check_free(tmp_path, overwrite=False)
    check_free(tmp_path, overwrite=True)


def test_a_folder_that_another_run_filled_meanwhile_is_left_as_it_is(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    with pytest.raises(OutputError, match="isn't empty"), whole_folder(folder) as scratch:
        (scratch / "note").write_text("slow")
        folder.mkdir()
        (folder / "note").write_text("fast")
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert (folder / "note").read_text() == "fast"


def test_an_error_inside_names_the_folder_that_was_asked_for(tmp_path: Path) -> None:
    with (
        pytest.raises(OutputError, match=r"^[^.]*out.note: can't be written"),
        whole_folder(tmp_path / "out") as scratch,
    ):
        raise OutputError(str(scratch / "note"), "can't be written")


def test_files_of_an_earlier_run_go_unless_they_come_anew(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    for name in ("page", "grids", "mine"):
        (folder / name).write_text("old")
    with whole_folder(folder, overwrite=True, stale=("page", "grids")) as scratch:
        (scratch / "page").write_text("new")
    assert {path.name: path.read_text() for path in folder.iterdir()} == {
        "page": "new",
        "mine": "old",
    }


def test_what_was_staged_inside_does_not_make_a_folder_full(tmp_path: Path) -> None:
    (tmp_path / INSIDE).mkdir()
    check_free(tmp_path, overwrite=False)


def test_a_move_takes_away_what_is_stale_and_nothing_outside(tmp_path: Path) -> None:
    scratch, folder = tmp_path / "scratch", tmp_path / "folder"
    for path in (scratch / "cells" / "new", folder / "cells" / "old", folder / "deep" / "old"):
        path.parent.mkdir(parents=True)
        path.write_text(path.name)
    (tmp_path / "outside").write_text("12 crates")
    move_in(scratch, folder, ["cells/old", "deep/old", "../outside", str(tmp_path / "outside")])
    assert {p.relative_to(folder).as_posix() for p in folder.rglob("*")} == {"cells", "cells/new"}
    assert (tmp_path / "outside").read_text() == "12 crates"


def test_a_folder_in_the_place_of_a_file_is_refused_before_anything_moves(tmp_path: Path) -> None:
    scratch, folder = tmp_path / "scratch", tmp_path / "folder"
    (folder / "manifest").mkdir(parents=True)
    scratch.mkdir()
    for name in ("first", "manifest"):
        (scratch / name).write_text("new")
    with pytest.raises(OutputError, match="there is a folder where a file is to be written"):
        move_in(scratch, folder, [])
    assert [path.name for path in folder.iterdir()] == ["manifest"]


def test_the_digest_of_a_file_is_sha_256_of_its_bytes(tmp_path: Path) -> None:
    (tmp_path / "abc").write_bytes(b"abc")
    # FIPS 180-2, appendix B.1: the message "abc".
    assert file_digest(tmp_path / "abc") == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )


def test_an_error_is_the_same_after_a_journey_between_processes() -> None:
    error = OutputError("crates", "can't be written", got=3, allowed="4", hint="wait")
    again = pickle.loads(pickle.dumps(error))
    assert (type(again), str(again), vars(again)) == (OutputError, str(error), vars(error))
    both = CombinedError([error, InkdriftError("tags", "are wet")])
    assert str(pickle.loads(pickle.dumps(both))) == str(both)
