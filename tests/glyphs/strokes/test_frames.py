"""Every mark lies wholly inside its frame, whatever the frame."""

from __future__ import annotations

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs.base import Strokes
from gen.glyphs.strokes import CLASSES, HANDS, WrittenGlyphs, write_strokes

# A sum of a few dozen float64 terms of frame size; 4096 px times a few ulp.
ROUNDING_PX = 1e-9


def reach(strokes: Strokes) -> np.ndarray:
    """Outer edges (top, left, bottom, right) of each mark, pen included, px."""
    half = strokes.width_px[:, :, None, None] / 2
    low = (strokes.segments - half).min(axis=(1, 2))
    high = (strokes.segments + half).max(axis=(1, 2))
    return np.concatenate([low, high], axis=1)


def everyone(frame: tuple[int, int], seed: int = 0) -> WrittenGlyphs:
    """Every class by two writers of every hand, once each."""
    writers = 2 * len(HANDS)
    return write_strokes(
        classes=CLASSES, count=len(CLASSES) * writers, frame=frame, seed=seed, writers=writers
    )


@pytest.mark.parametrize("frame", [(28, 28), (32, 32), (8, 8), (16, 40), (96, 24), (200, 200)])
@pytest.mark.parametrize("seed", [0, 1])
def test_every_class_in_every_hand_is_wholly_inside(frame: tuple[int, int], seed: int) -> None:
    glyphs = everyone(frame, seed)
    edges = reach(glyphs.strokes(np.arange(len(glyphs))))
    assert (edges[:, :2] >= -0.5 - ROUNDING_PX).all()
    assert (edges[:, 2] <= frame[0] - 0.5 + ROUNDING_PX).all()
    assert (edges[:, 3] <= frame[1] - 0.5 + ROUNDING_PX).all()


def test_no_piece_is_a_point_and_every_number_is_finite() -> None:
    strokes = everyone((28, 28)).strokes(np.arange(36 * 2 * len(HANDS)))
    step = strokes.segments[:, :, 1] - strokes.segments[:, :, 0]
    assert np.isfinite(strokes.segments).all()
    assert (np.abs(step).max(axis=-1) > 0).all()
    assert (strokes.width_px > 0).all()


def test_marks_are_about_20_of_28_high_and_near_the_middle() -> None:
    glyphs = write_strokes(count=4000, writers=120)
    edges = reach(glyphs.strokes(np.arange(4000)))
    height = edges[:, 2] - edges[:, 0]
    middle = (edges[:, :2] + edges[:, 2:]) / 2
    assert 20 < np.median(height) < 24  # 20 px of path and the pen's width
    assert np.abs(np.median(middle, axis=0) - 13.5).max() < 0.2
    assert middle.std(axis=0).min() > 0.4  # people don't hit the middle
    assert middle.std(axis=0).max() < 1.5


def test_a_frame_of_twice_the_size_holds_the_same_marks_twice_as_large() -> None:
    small, large = (write_strokes(count=500, frame=(s, s), seed=4) for s in (28, 56))
    one, two = (g.strokes(np.arange(500)) for g in (small, large))
    np.testing.assert_allclose(two.width_px, 2 * one.width_px, rtol=1e-12)
    # But for those held back by the edge, whose bare quarter pixel doesn't grow.
    size = [np.ptp(s.segments, axis=(1, 2)) for s in (one, two)]
    free = np.abs(size[1] - 2 * size[0]).max(axis=1) < ROUNDING_PX
    assert free.mean() > 0.9


def test_the_pen_is_about_a_tenth_of_the_height_and_differs_between_writers() -> None:
    glyphs = write_strokes(count=2400, writers=240)
    pen = glyphs.strokes(np.arange(2400)).width_px.mean(axis=1) / 20
    assert 1 / 12 < np.median(pen) < 1 / 7
    own = [pen[glyphs.writers == writer].mean() for writer in range(240)]
    assert np.percentile(own, 95) > 1.8 * np.percentile(own, 5)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"classes": "01a"}, "a class that no hand writes(.|\n)*'a'"),
        ({"classes": ""}, "a class that no hand writes"),
        ({"classes": "0110"}, "named twice"),
        ({"count": 0}, "the number of glyphs is out of range(.|\n)*got +0"),
        ({"seed": -1}, "the seed is out of range"),
        ({"seed": 1.5}, "the seed is out of range"),
        ({"writers": True}, "the number of writers is out of range"),
        ({"frame": (28, 7)}, "the width of the frame in px is out of range"),
        ({"frame": (5000, 28)}, "the height of the frame in px is out of range"),
    ],
)
def test_what_cannot_be_written_is_refused(asked: dict[str, object], said: str) -> None:
    arguments: dict[str, object] = {"count": 10, **asked}
    with pytest.raises(GlyphError, match=said):
        write_strokes(**arguments)  # type: ignore[arg-type]
