"""The comparison that holds a rerun of the demo to the committed one can fail."""

from __future__ import annotations

import base64
import gzip
import io
import json
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from PIL import Image

GREYS = np.arange(64, dtype=np.uint8).reshape(8, 8)
CHANGED = np.where(GREYS == 9, 10, GREYS).astype(np.uint8)


def png(pixels: np.ndarray, *, level: int = 6) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "PNG", compress_level=level)
    return stream.getvalue()


def page(pixels: np.ndarray, *, version: str = "1", level: int = 6) -> str:
    inside = base64.b64encode(png(pixels, level=level)).decode()
    return f'<p>56.9 %</p><img src="data:image/png;base64,{inside}">numpy {version}\n'


def report(accuracy: float = 0.5, *, version: str = "1") -> str:
    return json.dumps({"accuracy": accuracy, "versions": {"numpy": version}})


def write_demo(folder: Path) -> Path:
    (folder / "sheets").mkdir(parents=True)
    np.savez(folder / "right.npz", first=GREYS)
    (folder / "held-out.gz").write_bytes(gzip.compress(GREYS.tobytes(), mtime=0))
    (folder / "sheets" / "blur.png").write_bytes(png(GREYS))
    (folder / "report.html").write_text(page(GREYS))
    (folder / "report.json").write_text(report())
    (folder / "curves.csv").write_text("level,accuracy\n0,0.5\n")
    (folder / "story.txt").write_text(f"Look at {folder.name}/report.html\n")
    return folder


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Path, Path]:
    return write_demo(tmp_path / "one"), write_demo(tmp_path / "other")


def pack_again(folder: Path) -> None:
    """The same content through other compressors and other versions of the libraries."""
    np.savez_compressed(folder / "right.npz", first=GREYS)
    (folder / "held-out.gz").write_bytes(gzip.compress(GREYS.tobytes(), 1, mtime=7))
    (folder / "sheets" / "blur.png").write_bytes(png(GREYS, level=0))
    (folder / "report.html").write_text(page(GREYS, version="2", level=0))
    (folder / "report.json").write_text(report(version="2"))


def test_what_only_was_packed_otherwise_is_the_same(
    pair: tuple[Path, Path], same_demo: ModuleType
) -> None:
    before = (pair[1] / "right.npz").read_bytes()
    pack_again(pair[1])
    assert (pair[1] / "right.npz").read_bytes() != before
    assert same_demo.differences(*pair) == []


CHANGES: dict[str, Callable[[Path], object]] = {
    "right.npz": lambda f: np.savez(f / "right.npz", first=CHANGED),
    "right.npz: first is": lambda f: np.savez(f / "right.npz", first=GREYS.astype(np.int16)),
    "right.npz: holds": lambda f: np.savez(f / "right.npz", second=GREYS),
    "held-out.gz": lambda f: (f / "held-out.gz").write_bytes(gzip.compress(CHANGED.tobytes())),
    "sheets/blur.png": lambda f: (f / "sheets" / "blur.png").write_bytes(png(CHANGED)),
    "report.html: line 1": lambda f: (f / "report.html").write_text(page(CHANGED)),
    "report.json": lambda f: (f / "report.json").write_text(report(0.500001)),
    "curves.csv: line 2": lambda f: (f / "curves.csv").write_text("level,accuracy\n0,0.51\n"),
    "curves.csv: line ends": lambda f: (f / "curves.csv").write_bytes(
        b"level,accuracy\r\n0,0.5\r\n"
    ),
    "story.txt": lambda f: (f / "story.txt").write_text("Look elsewhere\n"),
    "curves.csv: missing": lambda f: (f / "curves.csv").unlink(),
    "more.txt: not expected": lambda f: (f / "more.txt").write_text("more"),
}


@pytest.mark.parametrize(("says", "change"), CHANGES.items(), ids=CHANGES)
def test_a_change_is_told_with_its_file(
    says: str, change: Callable[[Path], object], pair: tuple[Path, Path], same_demo: ModuleType
) -> None:
    change(pair[1])
    (fault,) = same_demo.differences(*pair)
    assert fault.startswith(says)
