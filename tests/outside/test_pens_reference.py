"""Pens held to other people's code, to geometry, and to the recommendation's own example."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from fontTools.misc.transform import Transform
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.svgLib.path import parse_path as their_path
from scipy.special import ellipe
from skimage.measure import approximate_polygon

from gen.glyphs.base import Strokes
from gen.glyphs.pens import read_pens
from gen.glyphs.pens.curves import flattened
from gen.glyphs.pens.paths import SubPath, parse_path
from gen.glyphs.pens.shapes import parse_shape
from gen.glyphs.pens.simplify import WITHIN_PX, simplified
from gen.glyphs.pens.traces import Channel, Format, decode_trace
from gen.glyphs.pens.transforms import parse_transform
from gen.render.coverage import draw

WITHIN = 1e-4  # asked of the chords, in units of the drawing, whose sizes are about 10
ROUNDING = 1e-9  # of sums of products of such sizes in float64
THEIR_ARC = 3e-4  # fontTools makes arcs of quarters, 2.7e-4 of a radius off at worst
LENGTH = 2e-4  # a chord is shorter than its arc by 8/3 s^2/c; here under 2e-5 of the length

PATHS = [
    "M1 1L9 2 8 8z",
    "M0 0C3 9 7-9 10 0z",
    "m1 2c1 0 3 3 5 1s2-4 4-1l0 7z",
    "M0 5Q5-5 10 5T2 9z",
    "M1 8q2-9 4 0t4 0 1-3v5h-9z",
    "M2 2H9V7h-3v2.5z",
    "M1.5.5-1e1.5e1L4-3z",
]
# With the longer radius of each; those of the last two are enlarged until they reach,
# (1, 2) by the square root of 19.125 and .5 to half the chord.
ARCS = [
    ("M3 1A5 3 30 0 0 1 4z", 5.0),
    ("M3 1A5 3 30 0 1 1 4z", 5.0),
    ("M3 1A5 3 30 1 0 1 4z", 5.0),
    ("M3 1A5 3 30 1 1 1 4z", 5.0),
    ("M0 0a1 2 45 11 9 3z", 2 * 19.125**0.5),
    ("M0 0a.5.5 0 016 0z", 3.0),
]


def flat(path: SubPath, within: float = WITHIN) -> np.ndarray:
    """Points along a stroke, (x, y)."""
    parts = [np.array([path.start])]
    for run in path.runs:
        parts.append(flattened("tag", run.points, within) if run.curved else run.points)
    return np.concatenate(parts)


def area(points: np.ndarray) -> float:
    """Area within a ring, by the shoelace formula."""
    x, y = points.T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def length(points: np.ndarray) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def gap(points: np.ndarray, line: np.ndarray) -> float:
    """The farthest that any point is from a line of straight pieces."""
    worst = 0.0
    start, step = line[:-1], np.diff(line, axis=0)
    long2 = np.maximum((step * step).sum(axis=1), 1e-300)
    for part in np.array_split(points, max(1, len(points) // 500)):
        off = part[:, None] - start
        share = np.clip((off * step).sum(axis=2) / long2, 0, 1)
        off -= share[..., None] * step
        worst = max(worst, float(np.sqrt((off * off).sum(axis=2)).min(axis=1).max()))
    return worst


def their_points(data: str, steps: int = 400) -> np.ndarray:
    """The same path by fontTools, evaluated by the formula of Bernstein's polynomials."""
    pen = DecomposingRecordingPen({})
    their_path(data, pen)
    t = np.linspace(0, 1, steps)[1:, None]
    points: list[np.ndarray] = []
    at = first = np.zeros(2)
    for name, arguments in pen.value:
        controls = [at, *(np.array(one, dtype=float) for one in arguments)]
        if name == "moveTo":
            first = controls[1]
            points.append(first[None])
        elif name in ("closePath", "endPath"):
            controls = [at, first if name == "closePath" else at]
        if name not in ("moveTo", "endPath"):
            n = len(controls) - 1
            points.append(
                sum(math.comb(n, k) * t**k * (1 - t) ** (n - k) * c for k, c in enumerate(controls))
            )
        at = points[-1][-1]
    return np.concatenate(points)


@pytest.mark.parametrize("data", PATHS)
def test_paths_run_where_fonttools_has_them(data: str) -> None:
    (path,) = parse_path("tag", data)
    ours, theirs = flat(path), their_points(data)
    assert gap(theirs, ours) <= WITHIN + ROUNDING
    assert gap(ours, theirs) <= WITHIN  # theirs are chords too, finer ones


@pytest.mark.parametrize(("data", "radius"), ARCS)
def test_arcs_run_where_fonttools_has_them(data: str, radius: float) -> None:
    (path,) = parse_path("tag", data)
    ours, theirs = flat(path), their_points(data)
    assert gap(theirs, ours) <= WITHIN + radius * THEIR_ARC
    assert gap(ours, theirs) <= WITHIN + radius * THEIR_ARC


def test_the_comparison_of_lines_sees_a_path_that_is_off() -> None:
    (path,) = parse_path("tag", "M0 0C3 9 7-9 10 0z")
    assert gap(their_points("M0 0C3 9 7-9 10 .01z"), flat(path)) > 10 * WITHIN


@pytest.mark.parametrize("data", PATHS)
def test_areas_are_those_of_fonttools(data: str) -> None:
    pen = AreaPen()
    their_path(data, pen)
    (path,) = parse_path("tag", data)
    # A ring of length p whose every point is within w has its area within p w.
    assert area(flat(path)) == pytest.approx(pen.value, abs=length(flat(path)) * WITHIN)


def test_a_quarter_pie_has_three_quarters_of_a_circle() -> None:
    (path,) = parse_path("tag", "M300,200h-150a150,150 0 1,0 150,-150z")
    assert abs(area(flat(path))) == pytest.approx(0.75 * math.pi * 150**2, abs=1.0)


def test_a_circle_is_as_long_as_two_pi_r() -> None:
    for data in ("M4 0A4 4 0 01-4 0A4 4 0 014 0", "M4 0A4 4 0 010 4 4 4 0 01-4 0 4 4 0 114 0"):
        (path,) = parse_path("tag", data)
        ring = flat(path)
        assert length(ring) == pytest.approx(2 * math.pi * 4, abs=LENGTH * 4)
        on = np.hypot(*ring.T)
        assert np.abs(on - 4).max() <= 4 * 1e-7  # each point is on the arc, as stated


def test_an_ellipse_is_as_long_as_its_elliptic_integral() -> None:
    (path,) = parse_shape("tag", "ellipse", {"rx": "5", "ry": "3"}, None)
    whole = 4 * 5 * float(ellipe(1 - (3 / 5) ** 2))  # scipy.special, 1.17
    assert length(flat(path)) == pytest.approx(whole, abs=LENGTH * 5)


def test_a_round_cornered_rectangle_is_as_long_as_its_sides_and_one_circle() -> None:
    sides = {"width": "20", "height": "10", "rx": "2"}
    (path,) = parse_shape("tag", "rect", sides, None)
    whole = 2 * (16 + 6) + 2 * math.pi * 2
    assert length(flat(path)) == pytest.approx(whole, abs=LENGTH * 2)
    assert area(flat(path)) == pytest.approx(200 - (4 - math.pi) * 4, abs=5e-3)


@pytest.mark.parametrize(
    ("text", "theirs"),
    [
        ("translate(3 -2) rotate(30)", Transform().translate(3, -2).rotate(math.radians(30))),
        ("scale(2 .5)skewX(20)", Transform().scale(2, 0.5).skew(math.radians(20))),
        ("skewY(-35), scale(3)", Transform().skew(0, math.radians(-35)).scale(3)),
        (
            "rotate(75 4 5)",
            Transform().translate(4, 5).rotate(math.radians(75)).translate(-4, -5),
        ),
        ("matrix(1 2 3 4 5 6) translate(7)", Transform(1, 2, 3, 4, 5, 6).translate(7)),
    ],
)
def test_transforms_are_those_of_fonttools(text: str, theirs: Transform) -> None:
    ours = parse_transform("tag", text)
    values = [ours.a, ours.b, ours.c, ours.d, ours.e, ours.f]
    np.testing.assert_allclose(values, list(theirs), rtol=0, atol=1e-12)


def test_fewer_points_are_as_near_as_stated_and_few_as_scikit_image_has_them() -> None:
    rng = np.random.default_rng(5)
    for _ in range(20):
        turn = np.sort(rng.uniform(0, 6, 3000))
        line = np.stack([9 * np.sin(turn) + 13, 6 * np.cos(turn * rng.uniform(1, 3)) + 13], axis=1)
        few = simplified("tag", line)
        assert gap(line, few) <= WITHIN_PX
        theirs = approximate_polygon(line, 0.75 * WITHIN_PX)
        assert len(few) <= 1.1 * len(theirs)


def test_the_example_of_the_recommendation_is_read_as_its_table_has_it() -> None:
    # InkML, W3C Recommendation 20 September 2011, section 3.2.1, the trace "id4525abc" of
    # a format with X, Y and two intermittent truth values. From memory of the text; the
    # sums were done by hand: differences from the second point, their changes from the third.
    text = """1125 18432,'23'43,"7"-8,3-5,7 -3,6 2,6 8,3 6 T,2 4*T,3 6 T"""
    form = Format(intermittent=(Channel("B1"), Channel("B2")))
    assert decode_trace("tag", text, form).tolist() == [
        [1125, 18432],
        [1148, 18475],
        [1178, 18510],
        [1211, 18540],
        [1251, 18567],
        [1297, 18596],
        [1349, 18633],
        [1404, 18676],
        [1461, 18723],
        [1521, 18776],
    ]


def test_the_recommendations_word_of_five_traces_is_read(tmp_path: Path) -> None:
    # The first example of InkML (section 1.2, "hello"), its form from memory, cut short.
    file = tmp_path / "hello.inkml"
    file.write_text(
        """<ink xmlns="http://www.w3.org/2003/InkML">
        <trace>10 0, 9 14, 8 28, 7 42, 6 56, 6 70, 8 84, 8 98, 8 112, 9 126, 10 140,
          13 154, 14 168, 17 182, 18 188, 23 174, 30 160, 38 147, 49 135</trace>
        <trace>130 155, 144 159, 158 160, 170 154, 179 143, 179 129, 166 125,
          152 128, 140 136, 131 149, 126 163, 124 177, 128 190</trace></ink>""",
        "utf-8",
    )
    word = read_pens(file, label="hello", frame=(40, 40), side_px=38.0, pen_px=2.0)
    ends = word.strokes(np.array([0])).segments[0]
    # 190 units from top to bottom are 36 px, so 10 and 179 are 169 units apart, 32.02 px.
    span = ends.reshape(-1, 2).max(axis=0) - ends.reshape(-1, 2).min(axis=0)
    np.testing.assert_allclose(span, [36.0, 36 * (179 - 6) / 190], rtol=0, atol=WITHIN_PX)


def test_the_ink_of_a_straight_stroke_is_length_times_width_and_two_half_discs(
    tmp_path: Path,
) -> None:
    file = tmp_path / "a.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" stroke="black" viewBox="0 0 28 28">'
        '<path d="M5 6L20 22" stroke-width="3"/></svg>',
        "utf-8",
    )
    strokes: Strokes = read_pens(file, label="1", fit="as drawn").strokes(np.array([0]))
    ink = draw(strokes, (28, 28)).sum() / 255
    whole = 3 * math.hypot(15, 16) + math.pi * 1.5**2
    assert ink == pytest.approx(whole, abs=0.15)  # 0.2 %: directions of edges are rounded


def test_a_ring_is_seen_where_the_drawing_has_it(tmp_path: Path) -> None:
    file = tmp_path / "a.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" fill="none" stroke="black">'
        '<circle cx="7" cy="-3" r="9" stroke-width="2"/></svg>',
        "utf-8",
    )
    image = draw(read_pens(file, label="0").strokes(np.array([0])), (28, 28))[0] / 255.0
    rows, columns = np.indices(image.shape)
    # Ink of 20 units is 20 px across: a ring of radius 9 px and 2 px wide, in the middle.
    assert image.sum() == pytest.approx(2 * math.pi * 9 * 2, rel=2e-3)
    for places in (rows, columns):
        assert (image * places).sum() / image.sum() == pytest.approx(13.5, abs=1e-3)
    spread = (image * ((rows - 13.5) ** 2 + (columns - 13.5) ** 2)).sum() / image.sum()
    assert spread == pytest.approx((8**2 + 10**2) / 2 + 1 / 6, abs=0.15)  # a pixel adds 1/6
