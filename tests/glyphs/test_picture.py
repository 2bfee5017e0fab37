from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from gen.core.errors import GlyphError
from gen.glyphs.picture import read_picture

# An F, which no turn or mirror maps onto itself.
F = np.zeros((5, 4), dtype=np.uint8)
F[:, 0] = F[0, :] = 255
F[2, :2] = 255

ORIENTATION = 0x0112
# How a viewer must treat the stored rows to show them upright; CIPA DC-008 (Exif),
# tag 274: "the 0th row represents ..., the 0th column ...".
STORED = {
    1: F,
    2: F[:, ::-1],
    3: F[::-1, ::-1],
    4: F[::-1, :],
    5: F.T,
    6: np.rot90(F, 1),
    7: F[::-1, ::-1].T,
    8: np.rot90(F, -1),
}


@pytest.mark.parametrize("tag", sorted(STORED))
@pytest.mark.parametrize("suffix", ["png", "tif", "jpg"])
def test_the_orientation_tag_is_applied(tmp_path: Path, tag: int, suffix: str) -> None:
    path = tmp_path / f"f.{suffix}"
    # Blocks of 8 x 8 keep JPEG exact enough to tell black from white.
    upright, stored = (np.kron(one, np.ones((8, 8), np.uint8)) for one in (F, STORED[tag]))
    image = Image.fromarray(stored)
    exif = image.getexif()
    exif[ORIENTATION] = tag
    image.save(path, exif=exif)
    picture = read_picture(path)
    np.testing.assert_array_equal(picture.grey > 127, upright > 127)
    assert picture.done == (() if tag == 1 else ("turned as its orientation tag says",))


def test_a_tag_that_a_png_has_after_its_pixels_is_applied_too(tmp_path: Path) -> None:
    path = tmp_path / "f.png"
    image = Image.fromarray(np.ascontiguousarray(STORED[6]))
    exif = image.getexif()
    exif[ORIENTATION] = 6
    image.save(path, exif=exif)
    raw = path.read_bytes()
    # A chunk is its length, its name, its body and four bytes of checksum (ISO/IEC 15948).
    start = raw.index(b"eXIf") - 4
    stop = start + 12 + int.from_bytes(raw[start : start + 4], "big")
    end = raw.index(b"IEND") - 4
    path.write_bytes(raw[:start] + raw[stop:end] + raw[start:stop] + raw[end:])
    picture = read_picture(path)
    np.testing.assert_array_equal(picture.grey, F)
    assert picture.done == ("turned as its orientation tag says",)


RAMP = np.arange(256, dtype=np.uint16).reshape(16, 16)


@pytest.mark.parametrize("suffix", ["png", "tif", "pgm"])
def test_sixteen_bits_are_scaled_and_not_clipped(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"ramp.{suffix}"
    wide = RAMP * 257
    if suffix == "pgm":
        path.write_bytes(b"P5 16 16 65535\n" + wide.astype(">u2").tobytes())
    else:
        Image.fromarray(wide).save(path)
    picture = read_picture(path)
    np.testing.assert_array_equal(picture.grey, RAMP)
    assert picture.done == ("16 bits scaled to 8",)


def test_sixteen_bits_round_to_nearest(tmp_path: Path) -> None:
    path = tmp_path / "ramp.png"
    wide = np.arange(0, 65536, dtype=np.uint16).reshape(256, 256)
    Image.fromarray(wide).save(path)
    np.testing.assert_array_equal(read_picture(path).grey, np.rint(wide / 257.0))


def test_one_bit_pictures_are_black_and_white(tmp_path: Path) -> None:
    path = tmp_path / "f.png"
    Image.fromarray(F).convert("1").save(path)
    np.testing.assert_array_equal(read_picture(path).grey, F)


def test_a_palette_is_looked_up(tmp_path: Path) -> None:
    path = tmp_path / "f.gif"
    image = Image.fromarray(np.where(F > 0, np.uint8(1), np.uint8(0)))
    image = image.convert("P")
    image.putpalette([200, 200, 200, 10, 10, 10])
    image.save(path)
    np.testing.assert_array_equal(read_picture(path).grey, np.where(F > 0, 10, 200))


def test_a_clear_palette_entry_is_transparency(tmp_path: Path) -> None:
    path = tmp_path / "f.png"
    image = Image.fromarray(np.where(F > 0, np.uint8(1), np.uint8(0))).convert("P")
    image.putpalette([9, 9, 9, 0, 0, 0])
    image.save(path, transparency=0)
    alpha = read_picture(path).alpha
    assert alpha is not None
    np.testing.assert_array_equal(alpha, F)


def test_an_opaque_alpha_channel_is_no_transparency(tmp_path: Path) -> None:
    path = tmp_path / "f.png"
    Image.fromarray(F).convert("RGBA").save(path)
    picture = read_picture(path)
    assert picture.alpha is None
    np.testing.assert_array_equal(picture.grey, F)


@pytest.mark.parametrize("suffix", ["jpg", "tif"])
def test_cmyk_is_not_read_as_its_negative(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"f.{suffix}"
    big = np.kron(F, np.ones((8, 8), dtype=np.uint8))
    Image.fromarray(big).convert("RGB").convert("CMYK").save(path)
    seen = read_picture(path).grey
    assert ((seen > 127) == (big > 127)).mean() > 0.99  # JPEG rings at the edges


def test_of_an_animation_the_first_frame_is_read(tmp_path: Path) -> None:
    path = tmp_path / "f.gif"
    Image.fromarray(F).save(path, save_all=True, append_images=[Image.fromarray(255 - F)])
    picture = read_picture(path)
    np.testing.assert_array_equal(picture.grey, F)
    assert "animated, first frame read" in picture.done


def test_grey_uses_the_weights_of_bt601(tmp_path: Path) -> None:
    # ITU-R BT.601: 0.299 R + 0.587 G + 0.114 B.
    path = tmp_path / "rgb.png"
    Image.fromarray(np.eye(3, dtype=np.uint8)[None] * 255).save(path)
    assert read_picture(path).grey.tolist() == [[76, 150, 29]]


def test_floating_point_pictures_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "f.tif"
    Image.fromarray(F.astype(np.float32)).save(path)
    with pytest.raises(GlyphError, match="floating-point numbers"):
        read_picture(path)


def png_header(width: int, height: int) -> bytes:
    """A PNG that states a size and holds next to nothing; layout: ISO/IEC 15948."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    data = zlib.compress(bytes(1000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [8_001, 9_500, 20_000])
def test_a_decompression_bomb_is_refused_before_decoding(tmp_path: Path, side: int) -> None:
    path = tmp_path / "bomb.png"
    path.write_bytes(png_header(side, side))
    with pytest.raises(GlyphError, match=r"isn't decoded\n.*\n.*64,000,000 pixels"):
        read_picture(path)


def test_a_truncated_picture_is_named(tmp_path: Path) -> None:
    path = tmp_path / "f.png"
    Image.fromarray(np.kron(F, np.ones((40, 40), dtype=np.uint8))).save(path)
    path.write_bytes(path.read_bytes()[:-60])
    with pytest.raises(GlyphError, match=r"f\.png: the picture is broken"):
        read_picture(path)


def test_a_file_that_would_run_a_program_is_not_a_picture(tmp_path: Path) -> None:
    path = tmp_path / "f.eps"
    Image.fromarray(F).save(path)
    with pytest.raises(GlyphError, match="not a picture"):
        read_picture(path)


HEADS = [b"\x89PNG\r\n\x1a\n", b"GIF89a", b"BM", b"II*\0", b"\xff\xd8\xff\xe0", b"P5 3 3 ", b"RIFF"]


@given(head=st.sampled_from(HEADS), rest=st.binary(max_size=120))
@pytest.mark.filterwarnings("ignore")
def test_bytes_that_only_begin_like_a_picture_raise_no_other_error(
    tmp_path_factory: pytest.TempPathFactory, head: bytes, rest: bytes
) -> None:
    path = tmp_path_factory.getbasetemp() / "broken"
    path.write_bytes(head + rest)
    try:
        assert read_picture(path).grey.ndim == 2
    except GlyphError as error:
        assert str(error).startswith(str(path))
