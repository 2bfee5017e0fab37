"""What styles of SVG say of lines: followed, or counted."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs.pens import PenGlyphs, read_pens
from gen.glyphs.pens.style_transforms import about, parse_style_transform
from gen.glyphs.pens.transforms import parse_transform

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100" fill="none" stroke="black">'
PAGE = (0.0, 0.0, 60.0, 40.0)


def one(path: Path, body: str) -> PenGlyphs:
    (path / "tag.svg").write_text(f"{HEAD}{body}</svg>", "utf-8")
    return read_pens(path / "tag.svg", label="7", fit="as drawn", frame=(100, 100))


def lines(glyphs: PenGlyphs) -> list[list[list[float]]]:
    """Ends of all pieces, (x, y) in units of the page."""
    ends: list[list[list[float]]] = np.round(glyphs.segments[:, :, ::-1] + 0.5, 9).tolist()
    return ends


def notes(glyphs: PenGlyphs) -> str:
    return "\n".join(glyphs.provenance.notes)


@pytest.mark.parametrize(
    ("style", "attribute"),
    [
        ("translate(3px, -2px) rotate(30deg)", "translate(3 -2) rotate(30)"),
        ("translateX(25%) translateY(50%)", "translate(10 30)"),
        ("scaleX(2) scaleY(.5) SkewX(20deg)", "scale(2 .5) skewX(20)"),
        ("rotate(-0.25turn)", "rotate(-90)"),
        ("rotate(100grad) scale(50%)", "rotate(90) scale(.5)"),
        ("rotate(0) translate(1in)", "translate(96)"),
        ("matrix(1, 2, 3, 4, 5, 6)", "matrix(1 2 3 4 5 6)"),
        ("none", "none"),
    ],
)
def test_a_style_transforms_as_the_attribute_does_in_its_own_units(
    style: str, attribute: str
) -> None:
    ours = parse_style_transform("tag", style, PAGE)
    assert ours is not None
    theirs = parse_transform("tag", attribute)
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    np.testing.assert_allclose(ours.of(corners), theirs.of(corners), rtol=0, atol=1e-12)


def test_two_slants_at_once_are_not_one_after_the_other() -> None:
    both = parse_style_transform("tag", "skew(45deg, 45deg)", None)
    assert both is not None
    np.testing.assert_allclose(both.of(np.array([1.0, 1.0])), [2.0, 2.0], rtol=0, atol=1e-12)
    assert both.of(np.array([1.0, 0.0])).tolist() == pytest.approx([1.0, 1.0])


@pytest.mark.parametrize(
    "style", ["perspective(3px)", "rotate(3em)", "translate(3em)", "scale()", "rotate", "matrix(1)"]
)
def test_a_transform_that_is_not_known_is_counted_and_not_applied(
    tmp_path: Path, style: str
) -> None:
    glyphs = one(tmp_path, f'<path style="transform: {style}" d="M10 20h9"/>')
    assert lines(glyphs) == [[[10, 20], [19, 20]]]
    assert "1 transform that isn't known, not applied" in notes(glyphs)


def test_a_percentage_of_no_page_is_not_known() -> None:
    assert parse_style_transform("tag", "translate(10%)", None) is None
    turn = parse_transform("tag", "rotate(90)")
    assert about("tag", turn, "center", None) is None


@pytest.mark.parametrize(
    ("origin", "place"),
    [
        ("center", (20.0, 30.0)),
        ("right", (40.0, 30.0)),
        ("bottom", (20.0, 60.0)),
        ("top right", (40.0, 0.0)),
        ("3px 10%", (3.0, 6.0)),
        ("7 8 0", (7.0, 8.0)),
    ],
)
def test_the_origin_is_the_place_that_a_transform_leaves(
    origin: str, place: tuple[float, float]
) -> None:
    turned = about("tag", parse_transform("tag", "rotate(37) scale(3)"), origin, PAGE)
    assert turned is not None
    np.testing.assert_allclose(turned.of(np.array(place)), place, rtol=0, atol=1e-12)


def test_transforms_of_styles_and_sheets_count_over_the_attribute(tmp_path: Path) -> None:
    body = """<style>.far{transform:translate(20px, 0)}</style>
        <path class="far" transform="scale(5)" d="M0 10h5"/>
        <path class="far" style="transform:translate(40px)" d="M0 10h5"/>
        <path transform="translate(60)" d="M0 10h5"/>"""
    assert lines(one(tmp_path, body)) == [
        [[20, 10], [25, 10]],
        [[40, 10], [45, 10]],
        [[60, 10], [65, 10]],
    ]


def test_an_origin_in_the_shape_s_own_box_is_counted(tmp_path: Path) -> None:
    style = "transform-box: fill-box; transform-origin: center; transform: rotate(90deg)"
    glyphs = one(tmp_path, f'<path style="{style}" d="M10 20h9"/>')
    assert "1 transform that isn't known, not applied" in notes(glyphs)


@pytest.mark.parametrize("where", ["before", "after"])
def test_of_two_rules_the_more_special_counts_and_then_the_later(
    tmp_path: Path, where: str
) -> None:
    sheet = "<style>path.b{stroke-width:4}.a{stroke-width:2}.b{stroke-width:8}</style>"
    shapes = """<path class="b a" d="M10 10h9"/><line class="b a" x1="10" y1="50" x2="20" y2="50"/>
        <line class="a" id="i" x1="10" y1="60" x2="20" y2="60"/>"""
    glyphs = one(tmp_path, sheet + shapes if where == "before" else shapes + sheet)
    assert glyphs.width_px.tolist() == [4.0, 8.0, 2.0]


@pytest.mark.parametrize(
    "hidden",
    [
        '<g style="opacity:0"><path d="M0 0h9"/></g>',
        '<g opacity="0%"><path d="M0 0h9"/></g>',
        '<g style="display:none"><path d="M0 0h9"/></g>',
        '<style>.x{visibility:hidden}</style><path class="x" d="M0 0h9"/>',
        '<g visibility="collapse"><path d="M0 0h9"/></g>',
    ],
)
def test_what_is_hidden_is_counted_and_not_drawn(tmp_path: Path, hidden: str) -> None:
    glyphs = one(tmp_path, f'{hidden}<path d="M10 20h9"/>')
    assert lines(glyphs) == [[[10, 20], [19, 20]]]
    assert "1 hidden element" in notes(glyphs)


def test_a_stroke_of_no_opacity_is_no_stroke(tmp_path: Path) -> None:
    body = '<g stroke-opacity="0"><path d="M0 0h9"/><path stroke-opacity=".5" d="M10 20h9"/></g>'
    glyphs = one(tmp_path, body)
    assert lines(glyphs) == [[[10, 20], [19, 20]]]
    assert "1 shape neither filled nor stroked" in notes(glyphs)


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ('<path stroke-dasharray="2 1" d="M0 9h9"/>', "1 dashes, drawn as a whole line"),
        ('<path opacity=".5" d="M0 9h9"/>', "1 see-through element, drawn in full ink"),
        ('<path vector-effect="non-scaling-stroke" d="M0 9h9"/>', "1 vector effect, not applied"),
        ('<path style="rotate:20deg" d="M0 9h9"/>', "1 rotate in a style, not applied"),
        ('<path style="clip-path:url(#c)" d="M0 9h9"/>', "1 clip or mask, drawn whole"),
        ('<path stroke="#FFF" d="M0 9h9"/>', "1 white stroke, drawn as ink like any other"),
    ],
)
def test_styles_that_are_not_followed_are_counted(tmp_path: Path, body: str, said: str) -> None:
    assert said in notes(one(tmp_path, body))


def test_a_style_of_full_opacity_or_without_dashes_is_followed(tmp_path: Path) -> None:
    body = '<path opacity="1" stroke-dasharray="none" transform="scale(2)" d="M0 9h9"/>'
    assert "not read" not in notes(one(tmp_path, body))


def test_a_transform_of_a_style_out_of_range_is_refused(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match=r"tag\.svg:1: a transform is out of range"):
        one(tmp_path, '<path style="transform: scale(1e12)" d="M0 0h9"/>')


@pytest.mark.parametrize("how", ['transform="{}"', 'style="transform:{}"'])
def test_a_list_of_transforms_without_end_is_refused(tmp_path: Path, how: str) -> None:
    said = how.format("translate(1) " * 1001)
    with pytest.raises(GlyphError, match=r"more transforms of one element.*\n.*1,001\n"):
        one(tmp_path, f'<path {said} d="M0 0h9"/>')


def test_as_many_rules_as_anyone_writes_cost_each_shape_little(tmp_path: Path) -> None:
    rules = "".join(f".a{{stroke-width:{1 + place % 7}}}" for place in range(20_000))
    shapes = "".join(f'<path class="a" d="M{place} 9h1"/>' for place in range(400))
    glyphs = one(tmp_path, f"<style>{rules}.a{{stroke-width:3}}</style>{shapes}")
    assert set(glyphs.width_px.tolist()) == {3.0}
