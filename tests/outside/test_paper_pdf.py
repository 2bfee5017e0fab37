"""The PDF of a sheet, judged and drawn by PDFium, and collected from a photograph of that.

pypdfium2 (PDFium, by Google, as Chromium uses it) shares no code with the project: what it
shows is what a printer would be sent.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from gen.glyphs.paper.layout import BOX_MM, FRAME_MM, Plan
from gen.glyphs.paper.sheet import write_sheet
from tests.glyphs.paper.camera import Camera, filled
from tests.glyphs.paper.trial import tried

POINT_MM = 25.4 / 72
PLACE_MM = 0.05
"""A drawn line may be off by half a dot at 600 dots an inch, 0.02 mm, twice."""

PLAN = Plan(tuple("0123456789"), 11)


@pytest.fixture(scope="module")
def document(tmp_path_factory: pytest.TempPathFactory) -> pypdfium2.PdfDocument:
    path = tmp_path_factory.mktemp("sheet") / "sheet.pdf"
    write_sheet(PLAN, path)
    return pypdfium2.PdfDocument(path.read_bytes())


@pytest.fixture(scope="module")
def printed(document: pypdfium2.PdfDocument) -> NDArray[np.uint8]:
    """The page at 600 dots an inch."""
    return np.asarray(document[0].render(scale=600 / 72).to_pil().convert("L"))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_page_has_the_size_of_its_paper(paper: str, tmp_path: Path) -> None:
    plan = Plan(PLAN.classes, 30, paper)
    write_sheet(plan, tmp_path / "sheet.pdf")
    document = pypdfium2.PdfDocument((tmp_path / "sheet.pdf").read_bytes())
    assert len(document) == plan.pages
    for page in document:
        assert np.array(page.get_size()) * POINT_MM == pytest.approx(plan.size_mm, abs=0.01)


def test_every_box_has_its_class_printed_over_it(document: pypdfium2.PdfDocument) -> None:
    page = document[0].get_textpage()
    high = PLAN.size_mm[1]
    for box in PLAN.boxes(1):
        over = page.get_text_bounded(
            left=box.x_mm / POINT_MM,
            right=(box.x_mm + BOX_MM) / POINT_MM,
            bottom=(high - box.y_mm + FRAME_MM) / POINT_MM,
            top=(high - box.y_mm + 4) / POINT_MM,
        )
        assert over.strip() == PLAN.classes[box.label]


def test_frames_are_where_the_layout_has_them(printed: NDArray[np.uint8]) -> None:
    dots = 600 / 25.4
    for box in PLAN.boxes(1):
        row = printed[round((box.y_mm + BOX_MM / 2) * dots)].astype(float)
        for place in (box.x_mm - FRAME_MM, box.x_mm + BOX_MM + FRAME_MM):
            start = round((place - 0.4) * dots)
            dark = 255 - row[start : start + round(0.8 * dots)]
            middle = (start + 0.5 + (dark * np.arange(len(dark))).sum() / dark.sum()) / dots
            assert abs(middle - place) < PLACE_MM


def test_opencv_finds_all_markers_and_both_codes_on_the_printed_page(
    printed: NDArray[np.uint8],
) -> None:
    from gen.glyphs.paper.code import code_text

    kind = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    small = cv2.resize(printed, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    assert sorted(cv2.aruco.ArucoDetector(kind).detectMarkers(small)[1].ravel()) == list(range(12))
    dots = 300 / 25.4
    for x, y in PLAN.codes_mm:
        rows, columns = (
            slice(round((at - 2.4) * dots), round((at + 20.4) * dots)) for at in (y, x)
        )
        assert cv2.QRCodeDetector().detectAndDecode(small[rows, columns])[0] == code_text(PLAN, 1)


@pytest.mark.parametrize(
    "camera",
    [
        Camera(width=1800, height=2400, tilt_deg=12, around_deg=40, bend_mm=5, turn_deg=183),
        Camera(width=2400, height=3200, tilt_deg=30, around_deg=250, shadow=0.5, hidden=2),
    ],
    ids=["a bent page", "a tilted page in the shade with a corner hidden"],
)
def test_a_printed_page_that_was_written_on_is_collected_right(
    printed: NDArray[np.uint8], camera: Camera
) -> None:
    trial = tried(filled(PLAN, seed=11, page=printed), camera)
    assert trial.right.all(), np.flatnonzero(~trial.right) + 1
    assert not trial.mixed.any()
