"""The grammar of path data, transforms, lengths and styles of SVG."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs.pens import paths
from gen.glyphs.pens.paths import parse_path
from gen.glyphs.pens.shapes import parse_shape
from gen.glyphs.pens.styles import Sheet, stated
from gen.glyphs.pens.transforms import parse_length, parse_transform

EXACT = {"rtol": 0, "atol": 1e-12}


def corners(data: str) -> list[list[tuple[float, float]]]:
    """Where the pen is after each piece, stroke by stroke."""
    found = []
    for path in parse_path("tag", data):
        stroke = [path.start]
        for run in path.runs:
            ends = run.points[:, 3] if run.curved else run.points
            stroke += [(float(x), float(y)) for x, y in ends]
        found.append(stroke)
    return found


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # Pairs that SVG 2, sections 9.3.1 and 9.3.9, calls alike; from memory of the text.
        ("M 100 100 L 200 200", "M100 100L200 200"),
        ("M 100 200 L 200 100 L -100 -200", "M 100 200 L 200 100 -100 -200"),
        ("M 0.6 0.5", "M 0.6.5"),
        ("M 1 2 L 3 4 L 5 6", "M1,2 3,4 5,6"),
        ("m 1 2 l 3 4 l 5 6", "m1 2 3 4 5 6"),
        ("M1 1 L 2 1 L 2 3", "M1 1 h1 v2"),
        ("M1 1 L 7 1 L 7 9", "M1 1 H7 V9"),
        ("M1 1 L3 1 L4 1 L4 0", "M1 1h2 1V0"),
        ("M10 20L-3 -4", "M10,20-13-24".replace("-13-24", "l-13-24")),
        ("M1 2 L .5 30", "M1e0 2E+0L5e-1,3e1"),
        ("M1 1 A 4 4 0 0 1 2 3", "M1 1A4 4 0 012 3"),
        ("M1 1 A 4 4 0 1 0 2.5 3 A 1 1 0 0 0 .5 -1", "M1 1A4 4 0 102.5 3 1 1 0 00.5-1"),
    ],
)
def test_shorter_ways_of_writing_a_path_are_the_same_path(one: str, other: str) -> None:
    assert corners(one) == corners(other)


def test_a_closed_stroke_returns_and_the_next_goes_on_from_there() -> None:
    assert corners("M1 1h2v2zl0 5") == [
        [(1, 1), (3, 1), (3, 3), (1, 1)],
        [(1, 1), (1, 6)],
    ]


def test_relative_moves_count_from_the_start_of_a_closed_stroke() -> None:
    assert corners("M1 1h2v2zm4 4h1")[1] == [(5, 5), (6, 5)]


def test_a_smooth_cubic_mirrors_the_last_handle_and_else_has_none() -> None:
    (path,) = parse_path("tag", "M0 0C0 1 1 2 2 2S4 3 4 4L5 5S7 7 8 8")
    second, third = path.runs[1].points[0], path.runs[3].points[0]
    np.testing.assert_allclose(second, [[2, 2], [3, 2], [4, 3], [4, 4]], **EXACT)
    np.testing.assert_allclose(third[1], [5, 5], **EXACT)


def test_a_smooth_quadratic_mirrors_handle_after_handle() -> None:
    (path,) = parse_path("tag", "M0 0Q1 2 2 0T4 0 6 0")
    # Handles at (1, 2), (3, -2), (5, 2): a wave that is half as high as they are.
    tops = [run.points[0] for run in path.runs]
    heights = [float((p[0] + 3 * p[1] + 3 * p[2] + p[3])[1] / 8) for p in tops]
    np.testing.assert_allclose(heights, [1.0, -1.0, 1.0], **EXACT)


def test_relative_curves_meet_to_the_bit() -> None:
    (path,) = parse_path("tag", "M.1.1c.1.2.3.4.7.9 .1.1.2.2.3.1 .1.7.2.2.3.1")
    pieces = path.runs[0].points
    assert np.array_equal(pieces[1:, 0], pieces[:-1, 3])


@pytest.mark.parametrize(
    ("data", "fact"),
    [
        ("L1 1", "must begin with M"),
        ("7 M1 1", "must begin with M"),
        ("M1", "wrong count of numbers after M"),
        ("M1 1L", "wrong count of numbers after L"),
        ("M1 1L1 2 3", "wrong count of numbers after L"),
        ("M1 1L2 2Z3", "wrong count of numbers after Z"),
        ("M1 1L1,,2", "not a number of path data"),
        ("M1 1L,1 2", "not a number of path data"),
        ("M1 1L1 2,", "not a number of path data"),
        ("M1 1L1 2;", "not a number of path data"),
        ("M1 1L0x1 2", "not a number of path data"),
        ("M1 1L1e999 2", "out of range"),
        ("M1 1L-2e9 2", "out of range"),
        ("M9e8 1l9e8 0", "out of range"),
        ("M1 1A1 1 0 2 0 3 3", "not an arc"),
        ("M1 1A1 1 0 0 3 3", "not an arc"),
    ],
)
def test_what_is_no_path_data_is_refused_and_not_drawn_in_part(data: str, fact: str) -> None:
    with pytest.raises(GlyphError, match=fact):
        parse_path("tag.svg:3", data)


def test_a_path_of_too_many_commands_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paths, "MOST_RUNS", 1000)
    with pytest.raises(GlyphError, match="too many commands"):
        parse_path("tag", "M0 0" + "h1v1" * 500)


@pytest.mark.parametrize("data", ["", "  \n", "none"])
def test_a_path_of_nothing_draws_nothing(data: str) -> None:
    assert parse_path("tag", data) == []


def test_a_rectangle_has_four_sides_and_ends_where_it_began() -> None:
    (path,) = parse_shape("tag", "rect", {"x": "1", "y": "2", "width": "3", "height": "4"}, None)
    assert [path.start, *map(tuple, path.runs[0].points)] == [
        (1, 2), (4, 2), (4, 6), (1, 6), (1, 2)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "attributes"),
    [
        ("rect", {"width": "0", "height": "4"}),
        ("circle", {}),
        ("ellipse", {"rx": "0", "ry": "3"}),
        ("polyline", {"points": " "}),
    ],
)
def test_shapes_of_no_size_are_not_drawn(name: str, attributes: dict[str, str]) -> None:
    assert parse_shape("tag", name, attributes, None) == []


def test_a_polygon_is_closed_and_a_polyline_is_not() -> None:
    points = {"points": "0,0 4,0 4,3"}
    (ring,) = parse_shape("tag", "polygon", points, None)
    (open_,) = parse_shape("tag", "polyline", points, None)
    assert ring.runs[-1].points.tolist() == [[0, 0]]
    assert open_.runs[-1].points.tolist() == [[4, 0], [4, 3]]


def test_points_that_hide_a_command_are_refused() -> None:
    with pytest.raises(GlyphError, match="not a list of points"):
        parse_shape("tag", "polyline", {"points": "0 0 C 1 1 2 2 3 3"}, None)


def test_a_percentage_is_of_the_page() -> None:
    page = (0.0, 0.0, 50.0, 200.0)
    attributes = {"x1": "10%", "y1": "10%", "x2": "50%", "y2": "100%"}
    (line,) = parse_shape("tag", "line", attributes, page)
    assert line.start == (20, 5)
    assert line.runs[0].points.tolist() == [[100, 50]]


@pytest.mark.parametrize("text", ["3em", "", "x", "1 2", "5%", "1e999"])
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(GlyphError, match=r"not a length|out of range"):
        parse_length("tag", text, None)


@pytest.mark.parametrize(
    ("text", "fact"),
    [
        ("turn(3)", "not a transform"),
        ("rotate(1 2)", "1 or 3 numbers in rotate"),
        ("matrix(1 2 3)", "6 numbers in matrix"),
        ("scale(nan)", "1 or 2 numbers in scale"),
        ("scale(1", "not a transform"),
        ("scale(1e8) scale(1e8)", "out of range"),
    ],
)
def test_what_is_no_transform_is_refused(text: str, fact: str) -> None:
    with pytest.raises(GlyphError, match=fact):
        parse_transform("tag", text)


def test_transforms_are_done_from_right_to_left() -> None:
    moved = parse_transform("tag", "translate(10 0) scale(2)").of(np.array([[1.0, 1.0]]))
    assert moved.tolist() == [[12, 2]]


def test_a_shear_makes_a_round_pen_oval_and_a_turn_does_not() -> None:
    assert parse_transform("tag", "rotate(30) scale(3)").even
    assert parse_transform("tag", "scale(1 -1)").even
    assert not parse_transform("tag", "skewX(5)").even


def test_styles_win_by_sheet_over_attribute_and_by_style_over_sheet() -> None:
    sheet, dropped = Sheet(), Counter[str]()
    sheet.read("path{stroke:red;fill:none} .thin{stroke-width:1} #one{stroke-width:3}", dropped)
    attributes = {"class": "thin", "stroke": "blue", "stroke-width": "9"}
    said = stated("path", attributes, sheet)
    assert (said["stroke"], said["stroke-width"]) == ("red", "1")
    assert stated("path", {**attributes, "id": "one"}, sheet)["stroke-width"] == "3"
    styled = {**attributes, "style": "stroke-width: 4px"}
    assert stated("path", styled, sheet)["stroke-width"] == "4px"
    assert not dropped


def test_rules_for_some_cases_only_are_counted_and_not_applied() -> None:
    sheet, dropped = Sheet(), Counter[str]()
    sheet.read("@media print { path { stroke: red } }", dropped)
    assert not sheet.rules
    assert sum(dropped.values()) == 1
