"""Large sources stay on disk, and are the same glyphs as small ones in memory."""

from __future__ import annotations

import gzip
import struct
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs import idx, mapped
from gen.glyphs.load import load_glyphs
from gen.glyphs.mapped import let_go, mapping_of, pieces_of, spooled, taken
from gen.glyphs.subset import sample, without_blanks


def marks(count: int, *, dark: bool = False) -> NDArray[np.uint8]:
    images = np.zeros((count, 12, 10), np.uint8)
    images[:, 3:9, 4:6] = (np.arange(count) % 100 + 100).astype(np.uint8)[:, None, None]
    return 255 - images if dark else images


def write(folder: Path, images: NDArray[np.uint8], *, gzipped: bool = False) -> Path:
    raw = struct.pack(">4B3I", 0, 0, 8, 3, *images.shape) + images.tobytes()
    path = folder / f"tags-images-idx3-ubyte{'.gz' if gzipped else ''}"
    path.write_bytes(gzip.compress(raw) if gzipped else raw)
    labels = (np.arange(len(images)) % 4).astype(np.uint8).tobytes()
    (folder / "tags-labels-idx1-ubyte").write_bytes(
        struct.pack(">4BI", 0, 0, 8, 1, len(images)) + labels
    )
    return path


@pytest.fixture
def small_is_large(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let anything over 2 KB be left on disk, looked at 1 KB at a time."""
    for module in (idx, mapped):
        monkeypatch.setattr(module, "LARGE", 2048)
        monkeypatch.setattr(module, "PIECE", 1024)


@pytest.mark.parametrize("gzipped", [False, True], ids=["plain", "gzipped"])
@pytest.mark.parametrize("dark", [False, True], ids=["bright", "dark"])
def test_a_large_file_is_mapped_and_is_the_same_glyphs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, gzipped: bool, dark: bool
) -> None:
    path = write(tmp_path, marks(100, dark=dark), gzipped=gzipped)
    held = load_glyphs(path)
    assert mapping_of(held.images) is None
    for module in (idx, mapped):
        monkeypatch.setattr(module, "LARGE", 2048)
        monkeypatch.setattr(module, "PIECE", 1024)
    left = load_glyphs(path)
    assert mapping_of(left.images) is not None
    assert np.array_equal(left.images, held.images)
    assert np.array_equal(left.images, marks(100))
    assert left.provenance == held.provenance
    let_go(left.images)
    assert np.array_equal(left.images, held.images), "what was let go of is read again"


@pytest.mark.usefixtures("small_is_large")
def test_blanks_left_out_of_a_large_source_leave_the_rest_on_disk(tmp_path: Path) -> None:
    images = marks(100)
    images[[7, 60]] = 0
    inked, _ = without_blanks(load_glyphs(write(tmp_path, images)))
    assert mapping_of(inked.images) is not None
    assert np.array_equal(inked.images, np.delete(images, [7, 60], axis=0))
    few = sample(inked, 8, seed=1)
    assert mapping_of(few.images) is None, "a few are held"


@pytest.mark.usefixtures("small_is_large")
@pytest.mark.parametrize(
    ("off", "gzipped", "words"),
    [
        (-120, False, r"the file ends early: 120 bytes short.*\n.*\n.*\n.*the last 1 of 100 pict"),
        (-120, True, "the file ends early: 120 bytes short"),
        (1, False, r"goes on for 1 byte after.*\n.*\n.*\n.*a line end was added"),
        (1, True, "goes on after the end"),
    ],
)
def test_a_large_file_of_the_wrong_size_is_told_as_a_small_one_is(
    tmp_path: Path, off: int, gzipped: bool, words: str
) -> None:
    path = write(tmp_path, marks(100))
    raw = path.read_bytes()
    raw = raw[:off] if off < 0 else raw + b"\n" * off
    if gzipped:
        path = path.with_name(path.name + ".gz")
        raw = gzip.compress(raw)
    path.write_bytes(raw)
    with pytest.raises(GlyphError, match=words):
        load_glyphs(path, labels=np.zeros(100, int))


@pytest.mark.usefixtures("small_is_large")
def test_a_large_gzipped_file_with_a_wrong_checksum_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path, marks(100), gzipped=True)
    raw = bytearray(path.read_bytes())
    raw[-5] ^= 1
    path.write_bytes(raw)
    with pytest.raises(GlyphError, match="the gzip stream is corrupt"):
        load_glyphs(path)


@pytest.mark.usefixtures("small_is_large")
def test_pieces_cover_everything_once_and_what_is_taken_is_in_order() -> None:
    images = spooled([marks(30), marks(70)], (100, 12, 10))
    parts = [images[part] for part in pieces_of(images)]
    assert len(parts) > 5
    assert np.array_equal(np.concatenate(parts), images)
    back = np.arange(100)[::-1].copy()
    assert np.array_equal(taken(images, back), images[::-1])
    assert not images.flags.writeable
