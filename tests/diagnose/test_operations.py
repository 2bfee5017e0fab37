"""Steps that no perturbation could do: each undoes what was planted."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from gen.diagnose.measures import measure
from gen.diagnose.operations import Operation, carry_out
from gen.glyphs.base import Pixels
from tests.diagnose.truth import written


def after(images: Pixels, name: str) -> Pixels:
    return carry_out(images, (Operation(name, 1.0, "times"),))


@pytest.mark.parametrize("rows_per_px", [3, -3])
def test_a_mark_that_leans_is_set_upright(rows_per_px: int) -> None:
    """Bars that step one px to a side every three rows: by 18 degrees."""
    leaning = np.zeros((4, 28, 28), np.uint8)
    for y in range(4, 24):
        left = 13 - (y - 14) // rows_per_px
        leaning[:, y, left : left + 3] = 255
    before, upright = (measure(x)["slant_deg"][0] for x in (leaning, after(leaning, "upright")))
    assert abs(before) == pytest.approx(18.4, abs=1.0)  # atan 1/3, in steps of a px
    assert abs(upright) < 2.0


def test_faint_ink_is_made_full_and_paper_stays_paper() -> None:
    marks = written(2.5)[:20]
    faint = np.rint(marks * 0.4).astype(np.uint8)
    full = after(faint, "contrast stretch")
    assert (full.max(axis=(1, 2)) == 255).all()
    assert (full[faint == 0] == 0).all()
    assert np.abs(full.astype(int) - marks).max() <= 2  # grey levels; rounded twice


def test_specks_are_taken_out_and_wide_strokes_stay() -> None:
    marks = written(4.0)[:20]
    specks = np.zeros((28, 28), bool)
    specks[1::26, 2::4] = True
    calm = after(np.where(specks, 255, marks).astype(np.uint8), "despeckling")
    # Beside a stroke a speck is part of it.
    away = specks & (ndimage.maximum_filter(marks, (1, 5, 5)) == 0)
    assert away.any()
    assert calm[away].max() == 0
    inked = marks > 127
    assert (calm > 127)[inked].mean() > 0.95  # a median rounds corners off
