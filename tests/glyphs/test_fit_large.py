"""Strokes of a width of their own in large frames: in little memory, or refused."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs import fit_strokes, width
from gen.glyphs.fit import Fit, fit_pictures
from gen.glyphs.fit_strokes import finer_than, pen_width_px
from gen.glyphs.width import change_width

MOST_BYTES = 150 << 20  # one array of float32 in the finer frame was 151 MB
WIDTH_SHARE = 0.02  # of the width asked for, of a pen of 12 px enlarged fourfold


def ring(side: int = 160, *, pen: float = 12.0) -> np.ndarray:
    y, x = np.indices((side, side))
    away = np.abs(np.hypot(y - side / 2, x - side / 2) - side / 3)
    return (255 * np.clip(pen / 2 - away + 0.5, 0, 1)).astype(np.uint8)[None]


@pytest.mark.parametrize("added_px", [-7.0, -1.5, 0.25, 3.0, 20.0])
def test_rows_done_in_strips_are_those_done_at_once(
    monkeypatch: pytest.MonkeyPatch, added_px: float
) -> None:
    noise = np.random.default_rng(1).integers(0, 256, (3, 90, 40), dtype=np.uint8)
    whole = change_width(noise, added_px)
    monkeypatch.setattr(width, "_MOST_VALUES", 1)
    monkeypatch.setattr(width, "_LEAST_ROWS", 7)
    np.testing.assert_array_equal(change_width(noise, added_px), whole)


def test_the_width_of_a_pen_is_the_same_seen_in_strips(monkeypatch: pytest.MonkeyPatch) -> None:
    marks = np.concatenate([ring(), ring(pen=5.0)])
    whole = pen_width_px(marks)
    for rows in (1, 33, 160):
        monkeypatch.setattr(fit_strokes, "_ROWS", rows)
        np.testing.assert_array_equal(pen_width_px(marks), whole)


def test_small_frames_are_made_finer_and_large_ones_less_so() -> None:
    assert [finer_than((side, 28)) for side in (28, 256, 257, 512, 513, 1024)] == [4, 4, 3, 2, 1, 1]


def test_strokes_get_their_width_in_a_large_frame_in_the_stated_memory() -> None:
    rule = Fit("box centred", frame=(768, 768), stroke=40.0)
    tracemalloc.start()
    made = fit_pictures(ring(), rule).images
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < MOST_BYTES
    assert pen_width_px(made)[0] == pytest.approx(40.0, rel=WIDTH_SHARE)


@pytest.mark.parametrize("stroke", ["kept", 3.0])
def test_larger_frames_are_refused_before_anything_is_made(stroke: str | float) -> None:
    with pytest.raises(GlyphError, match=r"take hours.*\n.*1100 x 28 px\n.*1,024 px a side"):
        Fit("box centred", frame=(1100, 28), stroke=stroke)
    assert Fit("box centred", frame=(1100, 28)).stroke == "scaled"
