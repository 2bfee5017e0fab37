"""Pages found, flattened, lit and cut: a few photographs; the long proof is beside it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.paper.boxes import COVERED, cut_boxes, side_px
from gen.glyphs.paper.code import code_text
from gen.glyphs.paper.layout import Plan
from gen.glyphs.paper.page import read_page
from tests.glyphs.paper.camera import Camera, Filled, filled
from tests.glyphs.paper.conftest import PLAN, SMALL
from tests.glyphs.paper.trial import judged, tried

WAYS: dict[str, dict[str, Any]] = {
    "from above": {},
    "upside down": {"turn_deg": 180},
    "a quarter turn": {"turn_deg": 90, "width": 2000, "height": 1500},
    "tilted by 45 degrees": {"tilt_deg": 45, "around_deg": 70, "width": 2400, "height": 3200},
    "bent and tilted": {"bend_mm": 12, "bend_deg": 60, "tilt_deg": 20, "around_deg": 200},
    "half in the shade": {"shadow": 0.6, "seed": 4},
    "blurred and noisy": {"blur_px": 1.5, "noise": 5, "quality": 75},
    "a corner hidden": {"hidden": 1, "hidden_mm": 70},
    "the other corner hidden": {"hidden": 3, "hidden_mm": 60, "bend_mm": 6},
}


@pytest.mark.parametrize("way", WAYS)
def test_every_box_comes_out_as_it_was_written(digits: Filled, way: str) -> None:
    trial = tried(digits, Camera(**{**SMALL, **WAYS[way]}))
    assert trial.right.all(), np.flatnonzero(~trial.right) + 1
    assert not trial.mixed.any()


def test_boxes_under_something_are_left_out_and_called_covered(digits: Filled) -> None:
    trial = tried(digits, Camera(**SMALL, hidden=0, hidden_mm=75))  # type: ignore[arg-type]
    assert trial.cuts.states[0] == COVERED
    assert trial.right.all()


def test_a_trial_finds_fault_with_a_mark_in_the_wrong_box(
    digits: Filled, straight: NDArray[np.uint8]
) -> None:
    page = read_page("photo", straight)
    cuts = cut_boxes(straight, page, side_px(page.px_mm))
    assert judged(digits, Camera(), page, cuts).right.all()
    images = cuts.images.copy()
    images[[4, 5]] = images[[5, 4]]
    swapped = type(cuts)(images, cuts.states, cuts.floor)
    assert np.flatnonzero(~judged(digits, Camera(), page, swapped).right).tolist() == [4, 5]
    moved = type(cuts)(np.roll(cuts.images, 2, axis=1), cuts.states, cuts.floor)
    assert judged(digits, Camera(), page, moved).right.mean() < 0.1


def test_ink_is_as_dark_as_it_was_written_and_paper_is_nothing(
    digits: Filled, straight: NDArray[np.uint8]
) -> None:
    page = read_page("photo", straight)
    cuts = cut_boxes(straight, page, side_px(page.px_mm))
    marks = np.array(digits.states) == "mark"
    share = cuts.images[marks].mean(axis=(1, 2)) / digits.images[marks].mean(axis=(1, 2))
    # Written with ink that takes 85 % of the light; faint edges are lost with the noise.
    assert np.abs(share - 0.85).max() < 0.02
    empty = cuts.images[np.array(digits.states) == "empty"]
    assert empty.mean() < 0.1


def test_a_mark_that_runs_over_its_box_is_left_out_and_an_x_that_fills_it_is_kept() -> None:
    import cv2

    plan = Plan(("X",), 110)
    blank = filled(plan, empty=1.0, crossed=0.0)
    page = blank.page.copy()
    boxes = plan.boxes(1)

    def stroke(at: int, start: tuple[float, float], end: tuple[float, float]) -> None:
        ends = [
            (round((boxes[at].x_mm + x) * 192), round((boxes[at].y_mm + y) * 192))
            for x, y in (start, end)
        ]
        cv2.line(page, ends[0], ends[1], 30, 6, cv2.LINE_AA, 4)

    for start, end in (((0.8, 0.8), (13.2, 13.2)), ((13.2, 0.8), (0.8, 13.2))):
        stroke(10, start, end)  # an X from corner to corner of the writing area
    for start, end in (((-1.3, -1.3), (15.3, 15.3)), ((15.3, -1.3), (-1.3, 15.3))):
        stroke(20, start, end)  # two lines through the corners of the frame
    stroke(31, (3, 7), (16, 7))  # out on the right side
    stroke(42, (7, 7), (7.1, 7.1))  # a point
    grey = Camera(**SMALL).shoot(page, plan.size_mm)  # type: ignore[arg-type]
    read = read_page("photo", grey)
    states = cut_boxes(grey, read, side_px(read.px_mm)).states
    assert [states[at] for at in (10, 20, 31, 42)] == [
        "kept",
        "crossed out",
        "over the edge",
        "kept",
    ]
    assert states.count("empty") == 106


def test_a_page_whose_code_is_hidden_needs_its_line_and_is_read_with_it(digits: Filled) -> None:
    page = digits.page.copy()
    for x, y in PLAN.codes_mm:
        top, left = round(y * 12), round(x * 12)
        page[top : top + 217, left : left + 217] = 255
    grey = Camera(**SMALL).shoot(page, PLAN.size_mm)  # type: ignore[arg-type]
    with pytest.raises(GlyphError, match=r'neither of its two codes(.|\n)*--sheet "LINE"'):
        read_page("photo", grey)
    read = read_page("photo", grey, told=code_text(PLAN, 1))
    assert read.notes == ("its code can't be read: classes and their order are what --sheet says",)
    cuts = cut_boxes(grey, read, side_px(read.px_mm))
    assert judged(digits, Camera(), read, cuts).right.all()


def test_a_line_of_another_sheet_is_refused_where_the_code_can_be_read(
    straight: NDArray[np.uint8],
) -> None:
    with pytest.raises(GlyphError, match="another sheet than --sheet says"):
        read_page("photo", straight, told=code_text(Plan(PLAN.classes, 12), 1))


def test_a_code_of_another_version_on_the_page_is_refused(
    digits: Filled, monkeypatch: pytest.MonkeyPatch
) -> None:
    from gen.glyphs.paper import code, drawing
    from gen.glyphs.paper.raster import page_picture

    with monkeypatch.context() as later:
        later.setattr(code, "VERSION", 2)
        page = page_picture(drawing.page_shapes(PLAN, 1), PLAN.size_mm, dpi=150)
    with pytest.raises(GlyphError, match=r"another version\n +got +version 2"):
        read_page("photo", np.asarray(page))
