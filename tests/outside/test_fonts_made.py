"""Fonts made at test time by fontTools, from outlines whose areas are known."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTCollection, TTFont

from gen.core.errors import GlyphError
from gen.glyphs.fonts import read_font, write_font

Ring = list[tuple[int, int]]

SQUARE: Ring = [(100, 0), (100, 500), (600, 500), (600, 0)]
BAR: Ring = [(300, -100), (300, 700), (400, 700), (400, -100)]
WEDGE: Ring = [(0, 0), (300, 800), (700, 100)]
OUTLINES: dict[str, list[Ring]] = {
    ".notdef": [[(50, 0), (50, 700), (550, 700), (550, 0)]],
    "one": [BAR],
    "seven": [WEDGE],
    "zero": [SQUARE, [(200, 100), (500, 100), (500, 400), (200, 400)]],
    "space": [],
}
CMAP = {ord("1"): "one", ord("7"): "seven", ord("0"): "zero", ord(" "): "space", 0x1F34E: "one"}
EM = 1000

EDGE_PX = 1 / 64
"""Edges may be moved by half a large pixel of 1/32 px."""

GREY = 0.5
"""Each pixel is rounded once to a whole grey level."""


def made(path: Path, *, curved: str = "glyf", cmap: dict[int, str] = CMAP) -> Path:
    """A font of these outlines, TrueType or with cubic outlines."""
    fb = FontBuilder(EM, isTTF=curved == "glyf")
    fb.setupGlyphOrder(list(OUTLINES))
    fb.setupCharacterMap(cmap)
    drawn = {}
    for name, rings in OUTLINES.items():
        pen = TTGlyphPen(None) if curved == "glyf" else T2CharStringPen(600, None)
        for ring in rings:
            pen.moveTo(ring[0])
            for point in ring[1:]:
                pen.lineTo(point)
            pen.closePath()
        drawn[name] = pen.glyph() if curved == "glyf" else pen.getCharString()
    if curved == "glyf":
        fb.setupGlyf(drawn)
    else:
        fb.setupCFF("Shed", {}, drawn, {})
    # An outline is put where its metrics say that it starts.
    first = {
        name: min((x for ring in rings for x, _ in ring), default=0)
        for name, rings in OUTLINES.items()
    }
    fb.setupHorizontalMetrics({name: (600, start) for name, start in first.items()})
    fb.setupHorizontalHeader(ascent=800, descent=-200)
    fb.setupNameTable({"familyName": "Shed", "styleName": "Regular"})
    fb.setupOS2(sTypoAscender=800, sTypoDescender=-200)
    fb.setupPost()
    fb.save(path)
    return path


def ring_area(ring: Ring) -> float:
    points = np.array(ring, dtype=float)
    x, y = points.T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def ring_length(ring: Ring) -> float:
    points = np.array([*ring, ring[0]], dtype=float)
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def expected(name: str, per_em_px: float) -> tuple[float, float]:
    """Area in px^2, and by how much moved edges and rounding may change it."""
    unit = per_em_px / EM
    rings = OUTLINES[name]
    area = abs(sum(ring_area(ring) for ring in rings)) * unit**2
    around = sum(ring_length(ring) for ring in rings) * unit
    # Only pixels on the edge are grey: about one and a half to a px of it.
    return area, around * EDGE_PX + 1.5 * around * GREY / 255


@pytest.mark.parametrize("curved", ["glyf", "CFF "])
@pytest.mark.parametrize(("character", "name"), [("1", "one"), ("7", "seven"), ("0", "zero")])
def test_ink_on_a_line_is_the_area_of_the_outline(
    tmp_path: Path, curved: str, character: str, name: str
) -> None:
    font = made(tmp_path / "shed.otf", curved=curved)
    glyphs = write_font(font, classes=[character], fit="as drawn", side_px=20.0)
    area, within = expected(name, 20.0)
    assert glyphs.images.sum() / 255 == pytest.approx(area, abs=within)


def test_the_measure_of_ink_sees_an_outline_that_is_larger(tmp_path: Path) -> None:
    font = made(tmp_path / "shed.ttf")
    glyphs = write_font(font, classes=["0"], fit="as drawn", side_px=20.5)
    area, within = expected("zero", 20.0)
    assert abs(glyphs.images.sum() / 255 - area) > within


def test_the_areas_are_those_of_fonttools(tmp_path: Path) -> None:
    font = TTFont(made(tmp_path / "shed.ttf"))
    outlines = font.getGlyphSet()
    for name in ("one", "seven", "zero"):
        pen = AreaPen(outlines)
        outlines[name].draw(pen)
        assert abs(pen.value) * 0.02**2 == pytest.approx(expected(name, 20.0)[0], abs=1e-9)


def test_a_box_has_its_longer_side_as_long_as_asked_and_is_centred(tmp_path: Path) -> None:
    glyphs = write_font(made(tmp_path / "shed.ttf"), classes="10", side_px=20.0)
    at = np.arange(28)
    sizes = [(800, 100), (500, 500)]
    for image, (tall, wide) in zip(glyphs.images / 255.0, sizes, strict=True):
        longer = max(tall, wide)
        rows, columns = image.max(axis=1), image.max(axis=0)
        if wide == 100:
            columns = image.mean(axis=0) * 28 / 20  # 2.5 px wide: no pixel is covered twice
        for along, side in ((rows, tall), (columns, wide)):
            assert along.sum() == pytest.approx(20 * side / longer, abs=4 * EDGE_PX)
            assert (along * at).sum() / along.sum() == pytest.approx(13.5, abs=2 * EDGE_PX)


def test_a_wedge_is_where_its_box_is_centred(tmp_path: Path) -> None:
    (image,) = write_font(made(tmp_path / "shed.ttf"), classes="7", side_px=20.0).images / 255.0
    rows, columns = np.indices(image.shape)
    # The centre of a triangle is the mean of its corners, (333.3, 300); that of its box is
    # (350, 400), and 800 units are 20 px.
    down = (image * rows).sum() / image.sum() - 13.5
    right = (image * columns).sum() / image.sum() - 13.5
    assert down == pytest.approx((400 - 300) / 40, abs=2 * EDGE_PX)
    assert right == pytest.approx((1000 / 3 - 350) / 40, abs=2 * EDGE_PX)


def test_the_centre_of_ink_is_the_centre_of_the_frame_if_asked(tmp_path: Path) -> None:
    (image,) = (
        write_font(made(tmp_path / "shed.ttf"), classes="7", fit="centre of mass").images / 255.0
    )
    rows, columns = np.indices(image.shape)
    for places in (rows, columns):
        assert (image * places).sum() / image.sum() == pytest.approx(13.5, abs=EDGE_PX + 2e-3)


def test_on_a_line_the_middle_of_the_line_is_the_middle_of_the_frame(tmp_path: Path) -> None:
    glyphs = write_font(made(tmp_path / "shed.ttf"), classes="10", fit="as drawn", side_px=20.0)
    # Ascender 800 and descender -200: the middle is 300 above the base, and so is that
    # of the bar; the square's is 250 above, 50 units or 1 px lower. A letter is 600 wide.
    for image, dy, dx in zip(glyphs.images / 255.0, [0.0, 1.0], [50 / 50, 50 / 50], strict=True):
        rows, columns = np.indices(image.shape)
        assert (image * rows).sum() / image.sum() == pytest.approx(13.5 + dy, abs=2 * EDGE_PX)
        assert (image * columns).sum() / image.sum() == pytest.approx(13.5 + dx, abs=2 * EDGE_PX)


def test_a_character_that_the_font_lacks_is_named_and_not_drawn_as_a_box(tmp_path: Path) -> None:
    glyphs = write_font(made(tmp_path / "shed.ttf"), classes=["7", "8", "é", " "])
    assert glyphs.counts.tolist() == [1, 0, 0, 0]
    told = "\n".join(glyphs.provenance.notes)
    assert "no glyph for 8 (U+0038) in 1 of 1 fonts: shed.ttf" in told
    assert "no glyph for é (U+00E9)" in told
    assert "no ink for U+0020" in told


def test_each_font_of_a_folder_is_a_writer(tmp_path: Path) -> None:
    made(tmp_path / "shed 2.ttf")
    made(tmp_path / "shed 10.otf", curved="CFF ", cmap={ord("1"): "one"})
    (tmp_path / "licence.txt").write_text("for anybody", "utf-8")
    glyphs = write_font(tmp_path, classes="17")
    assert glyphs.writers is not None
    assert glyphs.writers.tolist() == [0, 0, 1]
    assert [glyphs.classes[label] for label in glyphs.labels] == ["1", "7", "1"]
    told = "\n".join(glyphs.provenance.notes)
    assert "2 fonts, each a writer" in told
    assert "no glyph for 7 (U+0037) in 1 of 2 fonts: shed 10.otf" in told
    assert "1 beside the fonts not read: licence.txt" in told


def test_a_face_of_a_collection_is_read_by_its_number(tmp_path: Path) -> None:
    whole = TTCollection()
    whole.fonts = [
        TTFont(made(tmp_path / "a.ttf", cmap={ord("1"): "one"})),
        TTFont(made(tmp_path / "b.ttf", cmap={ord("7"): "seven"})),
    ]
    file = tmp_path / "both.ttc"
    whole.save(file)
    for face, character in enumerate("17"):
        assert write_font(file, classes="17", face=face).counts[int(character == "7")] == 1


@pytest.mark.parametrize("form", [4, 6, 12])
def test_tables_of_characters_are_read_as_fonttools_wrote_them(tmp_path: Path, form: int) -> None:
    font = TTFont(made(tmp_path / "shed.ttf"))
    wanted = {ord("1"): "one", ord("0"): "zero", ord("7"): "seven", 0xE9: "one"}
    for table in font["cmap"].tables:
        table.cmap = dict(wanted)
    if form == 12:
        wanted[0x1F34E] = "seven"
    # Only one table is left, of the format that is tried.
    from fontTools.ttLib.tables._c_m_a_p import CmapSubtable

    only = CmapSubtable.newSubtable(form)
    only.platformID, only.platEncID, only.language = (3, 10, 0) if form == 12 else (0, 3, 0)
    only.cmap = dict(wanted)
    font["cmap"].tables = [only]
    file = tmp_path / "other.ttf"
    font.save(file)
    ours = read_font(file)
    order = font.getGlyphOrder()
    for code in [*range(0x180), 0xFFFF, 0x1F34D, 0x1F34E, 0x1F34F, 0x10FFFF]:
        assert ours.glyph(chr(code)) == (order.index(wanted[code]) if code in wanted else 0)


SYSTEM = sorted(Path("/usr/share/fonts").glob("**/*.[to]tf"))


@pytest.mark.skipif(not SYSTEM, reason="no fonts are installed")
@pytest.mark.parametrize("file", SYSTEM[:: max(1, len(SYSTEM) // 6)], ids=lambda file: file.name)
def test_installed_fonts_have_the_characters_that_fonttools_finds(file: Path) -> None:
    theirs = TTFont(file)
    best, order = theirs.getBestCmap(), theirs.getReverseGlyphMap()
    ours = read_font(file)
    codes = [*range(0x20, 0x250), *list(best)[::37], 0x4E2D, 0xE000, 0x1D400, 0x1F600]
    found = {code: ours.glyph(chr(code)) for code in codes}
    assert found == {code: order[best[code]] if code in best else 0 for code in codes}


def test_a_larger_frame_is_drawn_alike(tmp_path: Path) -> None:
    font = made(tmp_path / "shed.ttf")
    # Drawn 13 times as large: sides of 2,560 px in all, each within a large pixel.
    (image,) = write_font(font, classes="0", frame=(600, 500), side_px=400.0).images
    assert image.sum() / 255 == pytest.approx(400**2 * (1 - 0.36), abs=2560 / 13)
    assert math.isclose(image[300, 60] / 255, 1.0)


def test_a_mark_that_reaches_out_of_the_frame_is_counted(tmp_path: Path) -> None:
    font = made(tmp_path / "shed.ttf")
    # The centre of a wedge is 100 of 800 units below that of its box, which fills the frame.
    told = write_font(font, classes="7", fit="centre of mass", side_px=28.0).provenance.notes
    assert "1 of 1 glyphs reach out of the frame" in told
    boxed = write_font(font, classes="7", side_px=28.0).provenance.notes
    assert not any("reach out" in note for note in boxed)


def test_a_copy_of_a_font_is_no_second_writer(tmp_path: Path) -> None:
    first = made(tmp_path / "ada.ttf")
    (tmp_path / "bo.ttf").write_bytes(first.read_bytes())
    made(tmp_path / "cy.otf", curved="CFF")
    glyphs = write_font(tmp_path, classes="17")
    assert glyphs.writers is not None
    assert glyphs.writers.tolist() == [0, 0, 1, 1]
    assert "bo.ttf: a copy of ada.ttf, set once" in glyphs.provenance.notes
    assert "2 fonts, each a writer" in glyphs.provenance.notes


def test_a_broken_font_in_a_folder_is_left_out_by_name(tmp_path: Path) -> None:
    first = made(tmp_path / "ada.ttf")
    (tmp_path / "bo.ttf").write_bytes(first.read_bytes()[:300])
    glyphs = write_font(tmp_path, classes="17")
    assert len(glyphs) == 2
    assert "1 of 2 fonts left out, the font ends early: bo.ttf" in glyphs.provenance.notes
    first.unlink()
    with pytest.raises(GlyphError, match=r"bo\.ttf: the font ends early"):
        write_font(tmp_path, classes="17")
