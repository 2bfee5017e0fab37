"""Pens and fonts through the same door as pictures, by the same words for the rules."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import ImageFont

from gen.core.errors import GlyphError
from gen.glyphs.base import RasterGlyphs, StrokeGlyphs
from gen.glyphs.fit import Fit
from gen.glyphs.load import load_glyphs
from gen.glyphs.outlines import outline_kind
from gen.glyphs.subset import sample

CLOSE_PX = 1e-6
EM_SHARE = 0.05  # strokes are a px or two wide and edges may move by 1/64 px; 1.4 % off was seen


def svg(path: Path, data: str = "M30 10V90", width: float = 5) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100" fill="none" '
        f'stroke="black" stroke-width="{width}"><path d="{data}"/></svg>'
    )
    return path


@pytest.fixture
def pens(tmp_path: Path) -> Path:
    for name, data in (("1", "M30 10V90"), ("7", "M20 10H80L40 90")):
        for number in range(3):
            svg(tmp_path / "pens" / name / f"{number}.svg", data)
    return tmp_path / "pens"


@pytest.fixture
def font(tmp_path: Path) -> Path:
    made = ImageFont.load_default(20)
    if not isinstance(made, ImageFont.FreeTypeFont):
        pytest.skip("this Pillow has no outlines of its own")
    path = tmp_path / "fonts" / "own.ttf"
    path.parent.mkdir()
    path.write_bytes(made.font_bytes)
    return path


def test_a_folder_of_pen_files_is_strokes_with_a_class_a_folder(pens: Path) -> None:
    glyphs = load_glyphs(pens)
    assert isinstance(glyphs, StrokeGlyphs)
    assert (glyphs.classes, glyphs.labels.tolist()) == (("1", "7"), [0, 0, 0, 1, 1, 1])
    assert (glyphs.frame, glyphs.provenance.kind) == ((28, 28), "SVG")


def box(glyphs: StrokeGlyphs, place: int) -> tuple[np.ndarray, np.ndarray]:
    drawn = glyphs.strokes(np.array([place]))
    half = drawn.width_px[0][:, None] / 2
    ends = drawn.segments[0]
    return (ends.min(axis=1) - half).min(axis=0), (ends.max(axis=1) + half).max(axis=0)


def test_rules_of_fitting_mean_for_strokes_what_they_mean_for_pictures(pens: Path) -> None:
    fitted = load_glyphs(pens, fit=Fit("box centred", (40, 30), box_px=24, stroke=3.0))
    assert isinstance(fitted, StrokeGlyphs)
    low, high = box(fitted, 0)
    np.testing.assert_allclose(high - low, [24, 3], rtol=0, atol=CLOSE_PX)
    np.testing.assert_allclose((low + high) / 2, [19.5, 14.5], rtol=0, atol=CLOSE_PX)
    margin = load_glyphs(pens, fit=Fit("box centred", margin_px=3))
    assert isinstance(margin, StrokeGlyphs)
    low, high = box(margin, 0)
    np.testing.assert_allclose((high - low).max(), 22, rtol=0, atol=CLOSE_PX)
    drawn = load_glyphs(pens, fit="as drawn")
    assert isinstance(drawn, StrokeGlyphs)
    # x = 30 of a page of 100, in 28 px whose first edge is at -0.5.
    np.testing.assert_allclose(
        drawn.strokes(np.array([0])).segments[0, :, :, 1], 0.3 * 28 - 0.5, rtol=0, atol=CLOSE_PX
    )


def test_a_file_of_a_pen_takes_its_label_from_a_dict(tmp_path: Path) -> None:
    path = svg(tmp_path / "hook.svg")
    assert load_glyphs(path, labels={"hook.svg": "J"}).classes == ("J",)
    with pytest.raises(GlyphError, match=r"hook\.svg"):
        load_glyphs(path)


def test_a_draw_of_fewer_strokes_keeps_its_notes_and_has_a_digest_of_its_own(pens: Path) -> None:
    glyphs = load_glyphs(pens)
    fewer = sample(glyphs, 4, seed=1)
    assert fewer.labels.tolist() == [0, 0, 1, 1]
    assert fewer.provenance.digest != glyphs.provenance.digest
    assert fewer.provenance.notes[-1] == "4 of 6 glyphs drawn, seed 1"


def test_a_font_sets_the_characters_asked_for(font: Path) -> None:
    glyphs = load_glyphs(font, classes="0-9A")
    assert isinstance(glyphs, RasterGlyphs)
    assert (len(glyphs), glyphs.classes[-1], glyphs.frame) == (11, "A", (28, 28))
    assert len(load_glyphs(font.parent, frame=(40, 32))) == 10
    wide = load_glyphs(font, frame=(40, 32), fit="centre of mass")
    assert wide.frame == (40, 32)


def test_what_is_neither_pen_nor_font_is_left_to_the_other_readers(
    tmp_path: Path, pens: Path, font: Path
) -> None:
    (tmp_path / "page.html").write_text("<html><svg/></html>")
    assert outline_kind(tmp_path / "page.html") is None
    assert (outline_kind(pens), outline_kind(font), outline_kind(font.parent)) == (
        "pens",
        "fonts",
        "fonts",
    )


@pytest.mark.parametrize(
    ("told", "match"),
    [
        ({"ink": "dark"}, "ink: this is how pictures show ink, and pen files are no pictures"),
        ({"fit": "centre of mass, whole px"}, r"laid exactly.*\n.*\n.*box centred, centre of mass"),
        ({"fit": Fit("box centred", ink_from=9)}, "a grey of pictures"),
        ({"fit": Fit("as drawn", box_px=9)}, "without box or margin"),
        ({"fit": Fit("box centred", stroke="kept")}, "no width in px that could be kept"),
        ({"labels": [1, 2]}, r"pen files state their labels themselves.*\n.*hook\.svg"),
        ({"fit": Fit("box centred", (20, 20)), "frame": (28, 28)}, "the fit has a frame of its"),
    ],
)
def test_what_pens_do_not_have_is_refused(pens: Path, told: dict[str, object], match: str) -> None:
    with pytest.raises(GlyphError, match=match):
        load_glyphs(pens, **told)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("told", "match"),
    [
        ({"labels": [1]}, "characters of a font are their own labels"),
        ({"fit": Fit("box centred", stroke=2.0)}, "a font has outlines and no pen"),
        ({"ink": "bright"}, "fonts are no pictures"),
    ],
)
def test_what_fonts_do_not_have_is_refused(font: Path, told: dict[str, object], match: str) -> None:
    with pytest.raises(GlyphError, match=match):
        load_glyphs(font, **told)  # type: ignore[arg-type]


def test_labels_by_name_are_for_pen_files(tags: np.ndarray) -> None:
    with pytest.raises(GlyphError, match="labels by the name of a file are for pen files"):
        load_glyphs(tags, labels={"a": "b"})


STROKE = '<svg xmlns="http://www.w3.org/2000/svg" stroke="black">{}<path d="M0 0h9"/></svg>'


@pytest.mark.parametrize("folders", ["class/writer", "writer/class"])
def test_folders_of_pen_files_say_who_wrote_what(tmp_path: Path, folders: str) -> None:
    for label, writer in (("7", "ada"), ("7", "bo"), ("1", "bo")):
        inner = (label, writer) if folders == "class/writer" else (writer, label)
        (tmp_path / "/".join(inner)).mkdir(parents=True)
        (tmp_path / "/".join(inner) / "tag.svg").write_text(STROKE.format(""), "utf-8")
    tags = load_glyphs(tmp_path, folders=folders)
    assert tags.writers is not None
    found = {(tags.classes[k], int(who)) for k, who in zip(tags.labels, tags.writers, strict=True)}
    assert found == {("7", 0), ("7", 1), ("1", 1)}


def test_who_a_pen_file_says_that_wrote_counts_over_its_folder(tmp_path: Path) -> None:
    said = STROKE.replace("stroke=", 'data-writer="bo" stroke=')
    for writer, text in (("ada", STROKE), ("cy", said), ("bo", STROKE)):
        (tmp_path / writer / "7").mkdir(parents=True)
        (tmp_path / writer / "7" / "tag.svg").write_text(text.format(""), "utf-8")
    tags = load_glyphs(tmp_path, folders="writer/class")
    assert tags.writers is not None
    assert sorted(tags.writers.tolist()) == [0, 1, 1]


def test_a_file_of_one_writer_may_lie_in_that_writers_folder(tmp_path: Path) -> None:
    marks = '<g data-label="1"><path d="M0 0v9"/></g><g data-label="7"><path d="M0 0h9"/></g>'
    for writer in ("ada", "bo"):
        (tmp_path / writer).mkdir()
        page = f'<svg xmlns="http://www.w3.org/2000/svg" stroke="black">{marks}</svg>'
        (tmp_path / writer / "all.svg").write_text(page, "utf-8")
    tags = load_glyphs(tmp_path, folders="writer/class")
    assert tags.writers is not None
    assert (tags.labels.tolist(), tags.writers.tolist()) == ([0, 1, 0, 1], [0, 0, 1, 1])


def test_folders_deeper_than_was_said_are_refused(tmp_path: Path) -> None:
    (tmp_path / "7" / "ada").mkdir(parents=True)
    (tmp_path / "7" / "ada" / "tag.svg").write_text(STROKE.format(""), "utf-8")
    match = r"a class folder holds another folder\n.*ada\n.*\n.*--folders class/writer"
    with pytest.raises(GlyphError, match=match):
        load_glyphs(tmp_path)


def test_what_folders_stand_for_is_not_said_of_fonts(tmp_path: Path) -> None:
    (tmp_path / "a.ttf").write_bytes(b"\0\1\0\0")
    with pytest.raises(GlyphError, match="each font is a writer"):
        load_glyphs(tmp_path, folders="class/writer")
    with pytest.raises(GlyphError, match=r"folders can't be read so\n.*'writers'\n.*class/writer"):
        load_glyphs(tmp_path, folders="writers")


@pytest.mark.parametrize("stroke", ["scaled", 3.0])
@pytest.mark.parametrize("data", ["M10 10H90", "M10 10V90", "M10 10H90V60"])
@pytest.mark.parametrize("frame", [(28, 60), (60, 28)])
def test_a_margin_means_for_strokes_what_it_means_for_pictures(
    tmp_path: Path, frame: tuple[int, int], data: str, stroke: str | float
) -> None:
    svg(tmp_path / "7" / "tag.svg", data)
    tags = load_glyphs(tmp_path, fit=Fit("box centred", frame, margin_px=4, stroke=stroke))
    assert isinstance(tags, StrokeGlyphs)
    low, high = box(tags, 0)
    free = np.array(frame) - (high - low)
    assert free.min() >= 8 - CLOSE_PX
    np.testing.assert_allclose((free / 2).min(), 4, rtol=0, atol=CLOSE_PX)


def test_a_margin_means_for_fonts_what_it_means_for_pictures(font: Path) -> None:
    dashes = load_glyphs(font, classes="-", fit=Fit("box centred", (28, 60), margin_px=4))
    assert isinstance(dashes, RasterGlyphs)
    inked = np.flatnonzero(dashes.images[0].any(axis=0))
    assert (inked[0], inked[-1]) == (4, 55)


@pytest.mark.parametrize("of", ["pens", "font"])
def test_a_box_longer_than_the_shorter_side_is_refused_in_the_words_it_was_said_in(
    request: pytest.FixtureRequest, of: str
) -> None:
    match = r"^fit: the box of .* shorter side.*\n.*40 px\n.*up to 28 px"
    with pytest.raises(GlyphError, match=match):
        load_glyphs(request.getfixturevalue(of), fit=Fit("box centred", (28, 60), box_px=40))


def test_as_drawn_a_box_is_the_em_of_a_font(font: Path) -> None:
    usual = load_glyphs(font, classes="H", fit="as drawn")
    half = load_glyphs(font, classes="H", fit=Fit("as drawn", box_px=10))
    assert isinstance(usual, RasterGlyphs)
    assert isinstance(half, RasterGlyphs)
    assert "an em of 20 px" in usual.provenance.notes[0]
    assert "an em of 10 px" in half.provenance.notes[0]
    ink = [int(glyphs.images.sum(dtype=np.int64)) for glyphs in (usual, half)]
    assert ink[0] == pytest.approx(4 * ink[1], rel=EM_SHARE)
