"""The long proof: dozens of photographs as people take them, thousands of boxes.

Seeded, so that it is the same every time. Nothing is chosen: every seed from 0 counts.
"""

from __future__ import annotations

import numpy as np
import pytest

from gen.glyphs.paper.layout import Plan
from tests.glyphs.paper.camera import filled
from tests.glyphs.paper.trial import CENTROID, Trial, drawn_camera, tried

PHOTOS = 36
RIGHT = 0.99
"""Of all boxes, those of photographs that can't be read counted as wrong."""

PLANS = (
    Plan(tuple("0123456789"), 11),
    Plan(tuple("ABCDEFGHIJKLMNOPQRSTUVWXYZ"), 8, "Letter", "blocks"),
    Plan(tuple("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"), 6),
    Plan(tuple("0123456789"), 20, "Letter"),
)


@pytest.mark.slow
def test_of_thousands_of_boxes_99_in_100_are_right_and_no_label_is_another() -> None:
    trials: list[Trial] = []
    boxes = 0
    for seed in range(PHOTOS):
        plan = PLANS[seed % len(PLANS)]
        page = 1 + (seed // len(PLANS)) % plan.pages
        boxes += len(plan.boxes(page))
        try:
            trials.append(tried(filled(plan, page, seed=seed), drawn_camera(seed)))
        except Exception as error:  # counted as wrong, with all of its boxes
            print(f"seed {seed}: {error}")
    right = sum(int(trial.right.sum()) for trial in trials)
    assert boxes > 3000
    assert right >= RIGHT * boxes
    assert not any(trial.mixed.any() for trial in trials)
    off = np.concatenate([trial.centroid for trial in trials])
    print(f"{right} of {boxes} boxes right, worst centroid {np.nanmax(off):.4f} of a box")
    assert np.nanmax(off) < CENTROID
