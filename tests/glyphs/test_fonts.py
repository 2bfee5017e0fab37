"""Fonts that can't be used, and what is said then."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

from gen.core.errors import GlyphError
from gen.glyphs.fonts import looks_like_font, read_font, write_font
from gen.glyphs.fonts.tables import Characters


def font(path: Path, *, em: int = 1000, tall: int = 700, wide: int = 600, left: int = 0) -> Path:
    """A font with one bar in it."""
    pen = TTGlyphPen(None)
    pen.moveTo((left, 0))
    for point in ((left, tall), (left + 100, tall), (left + 100, 0)):
        pen.lineTo(point)
    pen.closePath()
    fb = FontBuilder(em)
    fb.setupGlyphOrder([".notdef", "one"])
    fb.setupCharacterMap({ord("1"): "one"})
    fb.setupGlyf({".notdef": TTGlyphPen(None).glyph(), "one": pen.glyph()})
    fb.setupHorizontalMetrics({".notdef": (wide, 0), "one": (wide, left)})
    fb.setupHorizontalHeader(ascent=800, descent=-200)
    fb.setupNameTable({"familyName": "Shed", "styleName": "Regular"})
    fb.setupOS2()
    fb.setupPost()
    fb.save(path)
    return path


@pytest.mark.parametrize(
    ("content", "fact"),
    [
        (b"", "the font ends early"),
        (b"\x00\x01", "the font ends early"),
        (b"<svg>", "not a font\n.*begins 3c 73 76 67"),
        (b"wOFF" + bytes(40), "WOFF isn't read"),
        (b"wOF2" + bytes(40), "WOFF2 isn't read"),
        (b"\x00\x01\x00\x00" + bytes(8), "the font has no outlines"),
        (b"\x00\x01\x00\x00\xff\xff" + bytes(6), "the font ends early"),
        (b"ttcf" + bytes(8), "there is no such face"),
        (b"ttcf\x00\x01\x00\x00\x00\x00\x00\x01\xff\xff\xff\xff", "the font ends early"),
    ],
)
def test_what_is_no_font_is_refused_in_words(tmp_path: Path, content: bytes, fact: str) -> None:
    file = tmp_path / "a.ttf"
    file.write_bytes(content)
    with pytest.raises(GlyphError, match=fact):
        write_font(file)


def test_a_font_cut_short_anywhere_is_refused_or_set_but_never_crashes(tmp_path: Path) -> None:
    whole = font(tmp_path / "a.ttf").read_bytes()
    cut = tmp_path / "cut.ttf"
    refused = 0
    for length in range(0, len(whole), 7):
        cut.write_bytes(whole[:length])
        try:
            write_font(cut, classes="1")
        except GlyphError:
            refused += 1
    assert refused > 0.5 * len(whole) / 7


def test_a_font_with_bytes_turned_is_refused_or_set_but_never_crashes(tmp_path: Path) -> None:
    whole = np.frombuffer(font(tmp_path / "a.ttf").read_bytes(), np.uint8)
    rng = np.random.default_rng(7)
    for number in range(150):
        spoilt = whole.copy()
        at = rng.integers(4, len(whole), 6)
        spoilt[at] = rng.integers(0, 256, 6)
        # A name of its own each, for the library may keep files open.
        file = tmp_path / f"{number}.ttf"
        file.write_bytes(spoilt.tobytes())
        try:
            write_font(file, classes="1")
        except GlyphError:
            continue


@pytest.mark.parametrize("fit", ["box centred", "as drawn"])
def test_an_outline_out_of_all_proportion_is_refused(tmp_path: Path, fit: str) -> None:
    file = font(tmp_path / "a.ttf", em=200, tall=10000)
    with pytest.raises(GlyphError, match="out of all proportion to its em"):
        write_font(file, classes="1", fit=fit)


def test_a_table_of_billions_of_characters_is_not_unrolled() -> None:
    body = struct.pack(">HHIII", 12, 0, 28, 0, 1) + struct.pack(">III", 0, 0xFFFFFFFF, 1)
    table = Characters(12, body, glyphs=50)
    assert table.glyph(3) == 4
    assert table.glyph(0x10FFFF) == 0  # beyond the glyphs that there are


def test_a_delta_is_added_to_numbers_that_an_offset_leads_to() -> None:
    # Format 4 by hand: one segment, 48 to 50, whose numbers stand behind the offsets, and
    # the closing one; 0 there means no glyph, delta or not.
    words = [4, 38, 0, 4, 0, 0, 0, 50, 0xFFFF, 0, 48, 0xFFFF, 5, 1, 4, 0, 7, 0, 9]
    table = Characters(4, struct.pack(f">{len(words)}H", *words), glyphs=50)
    assert [table.glyph(code) for code in (47, 48, 49, 50, 51)] == [0, 12, 0, 14, 0]


def test_a_table_that_says_more_than_it_holds_finds_nothing() -> None:
    assert Characters(12, struct.pack(">HHIII", 12, 0, 16, 0, 0xFFFFFFFF), 9).glyph(49) == 0
    assert Characters(4, struct.pack(">8H", 4, 16, 0, 0xFFFE, 0, 0, 0, 0), 9).glyph(49) == 0
    assert Characters(6, struct.pack(">8H", 6, 16, 0, 40, 99, 1, 2, 3), 9).glyph(49) == 0
    assert Characters(0, bytes(16), 9).glyph(49) == 0


def test_a_font_of_symbols_alone_is_refused(tmp_path: Path) -> None:
    from fontTools.ttLib.tables._c_m_a_p import CmapSubtable

    made = TTFont(font(tmp_path / "a.ttf"))
    only = CmapSubtable.newSubtable(4)
    only.platformID, only.platEncID, only.language = 3, 0, 0
    only.cmap = {0xF031: "one"}
    made["cmap"].tables = [only]
    made.save(tmp_path / "b.ttf")
    with pytest.raises(GlyphError, match=r"no table of Unicode.*\n.*platform 3, encoding 0"):
        read_font(tmp_path / "b.ttf")


@pytest.mark.parametrize(
    ("how", "fact"),
    [
        ({"classes": ["pear"]}, "a font gives one character a class"),
        ({"classes": "11"}, "a class name comes twice"),
        ({"classes": "23"}, r"no character asked for has ink\n.*2, 3"),
        (
            {"classes": "1", "fit": "middle"},
            r"unknown rule\n.*\n.*box centred, centre of mass, as drawn",
        ),
        (
            {"classes": "1", "frame": (28, 9000)},
            r"the width of the frame in px is out of range\n.*9000",
        ),
        ({"classes": "1", "frame": (True, 28)}, "the height of the frame in px is out of range"),
        ({"classes": "1", "side_px": float("nan")}, "the longer side in px is out of range"),
        ({"classes": "1", "side_px": 40.0}, "the longer side in px is out of range"),
        ({"classes": "1", "face": 1}, r"no such face in the file\n.*1\n.*0 to 0"),
    ],
)
def test_what_cannot_be_asked_is_refused(tmp_path: Path, how: dict[str, object], fact: str) -> None:
    with pytest.raises(GlyphError, match=fact):
        write_font(font(tmp_path / "a.ttf"), **how)  # type: ignore[arg-type]


def test_a_mark_set_wholly_outside_the_frame_is_named_and_not_a_bare_picture(
    tmp_path: Path,
) -> None:
    font(tmp_path / "a.ttf")
    font(tmp_path / "b.ttf", left=-1500)
    glyphs = write_font(tmp_path, classes="1", fit="as drawn")
    assert len(glyphs) == 1
    assert "no ink within the frame for 1 (U+0031) in 1 of 2 fonts: b.ttf" in "\n".join(
        glyphs.provenance.notes
    )


def test_a_folder_without_fonts_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("dry by noon", "utf-8")
    with pytest.raises(GlyphError, match="there is no font in the folder"):
        write_font(tmp_path)


def test_a_font_reads_its_own_bytes_only(tmp_path: Path) -> None:
    file = font(tmp_path / "a.ttf")
    before = file.read_bytes()
    first, again = write_font(file, classes="1"), write_font(file, classes="1")
    assert file.read_bytes() == before
    assert first.provenance.digest == again.provenance.digest


@pytest.mark.parametrize(
    ("head", "is_font"),
    [(b"\0\1\0\0", True), (b"true", True), (b"ttcf", True), (b"\0\0\x08\x03", False), (b"", False)],
)
def test_fonts_are_told_by_their_first_bytes(head: bytes, is_font: bool) -> None:
    assert looks_like_font(head) is is_font
