"""Files that claim to be photographs, and photographs that can't be read as sheets."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from gen.core.errors import GlyphError
from gen.glyphs.paper.page import read_page
from gen.glyphs.paper.photo import read_photo
from tests.glyphs.paper.camera import Camera, Filled
from tests.glyphs.paper.conftest import PLAN, SMALL, Save

Grey = NDArray[np.uint8]


def png_header(width: int, height: int) -> bytes:
    """A PNG that states a size and holds next to nothing."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    body = chunk(b"IDAT", zlib.compress(b"\0" * 100))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + body + chunk(b"IEND", b"")


def half_a_jpeg(grey: Grey, folder: Path) -> bytes:
    Image.fromarray(grey).save(folder / "whole.jpg")
    whole = (folder / "whole.jpg").read_bytes()
    return whole[: len(whole) // 2]


@pytest.mark.parametrize(
    ("name", "content", "match"),
    [
        ("a.jpg", lambda g, f: b"", r"the file is empty\n +got +0 bytes"),
        ("b.jpg", lambda g, f: b"row 3, Bramley\n" * 9, "not a picture"),
        ("c.png", lambda g, f: png_header(40_000, 30), r"too large.*\n +got +40,000 x 30 px"),
        ("d.png", lambda g, f: png_header(40_000, 40_000), "too large"),
        ("e.jpg", half_a_jpeg, "the picture is broken"),
        ("f.jpg", lambda g, f: b"%PDF-1.4\n", "this is a PDF"),
        ("g.jpg", lambda g, f: b"\0\0\0\x18ftypheic" + b"\0" * 40, "HEIC"),
    ],
)
def test_a_file_that_is_no_photograph_is_one_clear_error(
    tmp_path: Path,
    straight: Grey,
    name: str,
    content: Callable[[Grey, Path], bytes],
    match: str,
) -> None:
    path = tmp_path / name
    path.write_bytes(content(straight, tmp_path))
    with pytest.raises(GlyphError, match=match):
        read_photo(path)


def test_a_file_that_isnt_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match="No such file"):
        read_photo(tmp_path / "anna.jpg")


@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_the_orientation_that_a_camera_notes_is_honoured(tmp_path: Path, orientation: int) -> None:
    stored = np.zeros((40, 60), np.uint8)
    stored[:10, :10] = 255
    exif = Image.Exif()
    exif[0x0112] = orientation
    Image.fromarray(stored).save(tmp_path / "a.png", exif=exif)
    # CIPA DC-008, tag 274: where row 0 and column 0 of what is stored are when it is upright.
    upright = {3: np.rot90(stored, 2), 6: np.rot90(stored, -1), 8: np.rot90(stored)}[orientation]
    assert np.array_equal(read_photo(tmp_path / "a.png"), upright)


def test_what_is_transparent_is_white(tmp_path: Path) -> None:
    layers = np.zeros((8, 8, 4), np.uint8)
    layers[:4, :, 3] = 255
    Image.fromarray(layers).save(tmp_path / "a.png")
    assert read_photo(tmp_path / "a.png")[:, 0].tolist() == [0] * 4 + [255] * 4


def test_a_photograph_without_markers_says_what_was_looked_for(straight: Grey) -> None:
    plain = np.full_like(straight, 200)
    with pytest.raises(GlyphError, match=r"too few markers(.|\n)*0 of 12(.|\n)*--loose"):
        read_page("photo", plain)


def test_a_photograph_in_the_dark_is_called_dark(digits: Filled) -> None:
    dim = Camera(**SMALL, light=34.0, noise=2.0).shoot(digits.page, PLAN.size_mm)  # type: ignore[arg-type]
    with pytest.raises(GlyphError, match="too dark"):
        read_page("photo", dim)


@pytest.mark.parametrize("height", [160, 480, 800])
def test_a_photograph_that_is_too_small_is_called_small(digits: Filled, height: int) -> None:
    small = Camera(width=height * 3 // 4, height=height).shoot(digits.page, PLAN.size_mm)
    with pytest.raises(GlyphError, match="too small"):
        read_page("photo", small)


def test_a_page_of_which_one_side_is_out_of_the_picture_is_refused(straight: Grey) -> None:
    with pytest.raises(GlyphError, match=r"one side of the page|too few markers"):
        read_page("photo", np.ascontiguousarray(straight[: straight.shape[0] * 2 // 5]))


def test_a_page_that_is_crumpled_is_refused_and_not_guessed(straight: Grey) -> None:
    import cv2

    y, x = np.mgrid[0 : straight.shape[0], 0 : straight.shape[1]].astype(np.float32)
    waves = 14 * np.sin(y / 60) * np.sin(x / 50)
    crumpled = cv2.remap(straight, x + waves, y + waves, cv2.INTER_LINEAR)
    with pytest.raises(GlyphError, match=r"bent more than can be undone|too few markers|don't lie"):
        read_page("photo", crumpled)


def test_two_pages_in_one_photograph_are_refused(digits: Filled, save: Save) -> None:
    from gen.glyphs.paper.drawing import page_shapes
    from gen.glyphs.paper.layout import Plan
    from gen.glyphs.paper.raster import page_picture

    plan = Plan(PLAN.classes, 20)
    pages = [np.asarray(page_picture(page_shapes(plan, n), plan.size_mm, dpi=150)) for n in (1, 2)]
    with pytest.raises(GlyphError, match=r"more than one page\n +got +markers of pages 1, 2"):
        read_page("photo", np.concatenate(pages, axis=1))
