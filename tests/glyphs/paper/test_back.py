"""What shows through from the back of a page is no ink of its marks."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from gen.glyphs.paper.back import without_back
from gen.glyphs.paper.collected import collect_photos
from tests.glyphs.paper.camera import Camera, Filled, filled
from tests.glyphs.paper.conftest import PLAN, SMALL, Save
from tests.glyphs.paper.trial import tried

THROUGH = 0.1


def seen_through(front: Filled) -> Filled:
    """The same page with another on its back, mirrored and soft."""
    behind = filled(PLAN, seed=99, ink=1.0).page.astype(np.float32)
    bare = np.maximum(filled(PLAN, seed=99, ink=0.0).page, 1).astype(np.float32)
    mask = cv2.GaussianBlur(np.clip(1 - behind / bare, 0, 1)[:, ::-1], (0, 0), 3.0)
    return replace(front, page=np.round(front.page * (1 - THROUGH * mask)).astype(np.uint8))


def test_what_shows_through_is_left_out_and_the_marks_stay_where_they_are(
    digits: Filled,
) -> None:
    camera = Camera(**SMALL)  # type: ignore[arg-type]
    trial = tried(seen_through(digits), camera)
    assert trial.cuts.faint > 0.01
    assert trial.right.all()
    clean = tried(digits, camera)
    assert clean.cuts.faint == 0
    kept = np.array([state == "kept" for state in clean.cuts.states])
    lost = trial.cuts.images[kept].sum() / clean.cuts.images[kept].sum()
    assert 0.97 < lost < 1.03  # what shows through under a stroke stays


def test_a_page_with_a_back_says_so(digits: Filled, save: Save, tmp_path: Path) -> None:
    grey = Camera(**SMALL).shoot(seen_through(digits).page, PLAN.size_mm)  # type: ignore[arg-type]
    got = collect_photos([save("ada.png", grey)], tmp_path / "set")
    (note,) = (note for note in got.notes if "shows through from the back" in note)
    assert note.startswith("ada.png: ")


def boxes(*levels: int) -> np.ndarray:
    """Boxes of 60 px with a bar each, and a margin of 10."""
    ink = np.zeros((len(levels), 60, 60), np.uint8)
    for box, level in zip(ink, levels, strict=True):
        box[20:40, 28:32] = level
    return ink


INNER = slice(10, 50)
SEEN = np.ones(3, bool)


@pytest.mark.parametrize("levels", [(200, 200, 200), (200, 90, 60), (60, 60, 60)])
def test_light_and_dark_pens_alone_are_left_as_they_are(levels: tuple[int, ...]) -> None:
    ink = boxes(*levels)
    before = ink.copy()
    assert without_back(ink, INNER, 10.0, SEEN, least=30) == 0
    np.testing.assert_array_equal(ink, before)


def test_faint_ink_away_from_strokes_goes_and_beside_them_stays() -> None:
    ink = boxes(200, 200, 0)
    ink[0, 20:40, 32:34] = 40  # 0.2 mm beside the bar
    ink[1, 20:40, 42:46] = 40
    ink[2, 20:40, 20:30] = 40  # a box that nobody wrote in
    share = without_back(ink, INNER, 10.0, SEEN, least=30)
    far = 40 * 20 * (4 + 10)
    assert share == pytest.approx(far / (far + 40 * 40 + 2 * 200 * 80))
    assert ink[0, 30, 33] == 40
    assert not ink[1, :, 40:].any()
    assert not ink[2].any()


def test_a_page_without_ink_or_with_all_of_it_covered_is_left_alone() -> None:
    assert without_back(boxes(0, 0, 0), INNER, 10.0, SEEN, least=30) == 0
    assert without_back(boxes(200, 200, 200), INNER, 10.0, ~SEEN, least=30) == 0
