"""Marks of no class: each kind is what it says, exact, seeded and made one by one."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import ndimage, stats
from scipy.interpolate import CubicHermiteSpline

from gen.core.errors import GlyphError
from gen.glyphs.base import RasterGlyphs
from gen.glyphs.foreign import ALIKE, KINDS, NO_CLASS, ForeignStrokes, foreign_glyphs
from gen.glyphs.strokes import CLASSES, write_strokes
from gen.render.coverage import draw
from gen.render.engine import Renderer
from gen.render.plan import Plan


def pictures(marks: RasterGlyphs | ForeignStrokes) -> NDArray[np.uint8]:
    """The marks as the renderer shows them at nominal."""
    renderer = Renderer(Plan.nominal_only(marks.frame), marks)
    return renderer.block(np.arange(len(marks))).nominal


@pytest.mark.parametrize("kind", KINDS)
def test_all_marks_are_of_the_one_class_and_fill_their_frame(kind: str) -> None:
    marks = foreign_glyphs(kind, count=30, frame=(32, 24), seed=1)
    assert marks.classes == (NO_CLASS,)
    assert marks.counts.tolist() == [30]
    seen = pictures(marks)
    assert seen.shape == (30, 32, 24)
    assert seen.any(axis=(1, 2)).all() == (kind != "blank")


@pytest.mark.parametrize("kind", KINDS)
def test_more_marks_begin_with_the_same_and_another_seed_has_others(kind: str) -> None:
    few, many = (pictures(foreign_glyphs(kind, count=n, seed=4)) for n in (7, 40))
    assert np.array_equal(few, many[:7])
    other = foreign_glyphs(kind, count=7, seed=5)
    if kind != "blank":
        assert (pictures(other) != few).any(axis=(1, 2)).all()
        assert other.provenance.digest != foreign_glyphs(kind, count=7, seed=4).provenance.digest


@pytest.mark.parametrize("kind", KINDS)
def test_one_alone_looks_as_it_does_among_others(kind: str) -> None:
    marks = foreign_glyphs(kind, count=20, seed=2)
    alone = marks.take(np.array([13]))
    assert np.array_equal(pictures(alone)[0], pictures(marks)[13])
    assert len(alone) == 1
    assert alone.classes == (NO_CLASS,)


def test_noise_is_any_grey_level_as_likely_as_any_other() -> None:
    seen = pictures(foreign_glyphs("noise", count=100))
    counts = np.bincount(seen.ravel(), minlength=256)
    assert stats.chisquare(counts).pvalue > 0.001
    assert abs(np.corrcoef(seen[:, :, :-1].ravel(), seen[:, :, 1:].ravel())[0, 1]) < 0.02


def test_a_scribble_is_one_line_wholly_inside() -> None:
    seen = pictures(foreign_glyphs("scribble", count=100))
    everywhere = np.ones((3, 3))
    assert all(ndimage.label(picture > 0, everywhere)[1] == 1 for picture in seen)
    whole = foreign_glyphs("scribble", count=100).strokes(np.arange(100))
    half = whole.width_px[:, :, None, None] / 2
    assert (whole.segments - half >= -0.5 - 1e-9).all()
    assert (whole.segments + half <= 27.5 + 1e-9).all()
    share = seen.mean(axis=(1, 2)) / 255
    assert share.min() > 0.05
    assert share.max() < 0.6


def test_a_scribble_is_smooth_through_its_knots() -> None:
    """The cubic Hermite spline of scipy through every eighth point, each tangent half the
    way from the knot before to the knot after."""
    some = foreign_glyphs("scribble", count=50, frame=(400, 400)).strokes(np.arange(50))
    points = np.concatenate([some.segments[:, :, 0], some.segments[:, -1:, 1]], axis=1)
    knots = points[:, ::8]
    tangent = np.gradient(knots, axis=1)  # at the ends the step to the one neighbour
    at = np.arange(points.shape[1]) / 8
    curve = CubicHermiteSpline(np.arange(knots.shape[1]), knots, tangent, axis=1)(at)
    room = some.width_px[:, :1, None] / 2
    held = np.clip(curve, room - 0.5, 399.5 - room)  # the knots themselves lie well inside
    np.testing.assert_allclose(points, held, rtol=0, atol=1e-9)


def test_two_marks_are_two_known_ones_reduced_side_by_side() -> None:
    marks = foreign_glyphs("two marks", count=40, frame=(56, 56), seed=6, known="17")
    whole = marks.strokes(np.arange(40))
    seen = pictures(marks)
    assert (seen[:, :, :28].sum(axis=(1, 2)) > 0).all()
    assert (seen[:, :, 28:].sum(axis=(1, 2)) > 0).all()
    written = write_strokes(classes="17", count=100, frame=(56, 56), seed=6).strokes(np.arange(100))
    left = about(whole.segments[:, : written.segments.shape[1]], (27.5, 27.5 - 14))
    # The left one of mark i is the written glyph 2 i, reduced to 0.55 of its size.
    expected = (written.segments[0:80:2] - 27.5) * 0.55
    np.testing.assert_allclose(left, expected, rtol=0, atol=1e-12)


def about(segments: NDArray[np.float64], centre: tuple[float, float]) -> NDArray[np.float64]:
    return segments - np.array(centre)


def test_strangers_are_other_characters_and_none_that_looks_like_a_known_one() -> None:
    marks = foreign_glyphs("strangers", count=60, seed=9)
    assert isinstance(marks, ForeignStrokes)
    assert set(marks.written) == set(CLASSES) - set("0123456789") - ALIKE
    hand = write_strokes(classes=marks.written, count=60, seed=9)
    assert np.array_equal(pictures(marks), draw(hand.strokes(np.arange(60)), (28, 28)))
    letters = foreign_glyphs("strangers", count=60, seed=9, known=CLASSES[10:])
    assert isinstance(letters, ForeignStrokes)
    assert set(letters.written) == set("0123456789") - ALIKE


@pytest.mark.parametrize(
    ("kind", "keys", "match"),
    [
        ("zebra", {}, r'no such kind[\s\S]*"two marks"'),
        ("blank", {"count": 0}, "number of marks is out of range"),
        ("noise", {"frame": (7, 28)}, "height of the frame"),
        ("scribble", {"seed": -1}, "the seed is out of range"),
        ("strangers", {"known": "0ä"}, "a class that no hand writes"),
        ("strangers", {"known": CLASSES}, "nothing to write for 'strangers'"),
        ("two marks", {"known": ""}, "nothing to write for 'two marks'"),
    ],
)
def test_what_cannot_be_made_is_refused(kind: str, keys: dict[str, object], match: str) -> None:
    with pytest.raises(GlyphError, match=match):
        foreign_glyphs(kind, **({"count": 3} | keys))  # type: ignore[arg-type]
