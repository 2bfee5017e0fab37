"""Where things are on a sheet, and the line that tells which sheet it is."""

from __future__ import annotations

import string

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.core.errors import GlyphError
from gen.glyphs.paper.code import code_modules, code_text, read_code, short_classes
from gen.glyphs.paper.drawing import marker_cells
from gen.glyphs.paper.layout import (
    BOX_MM,
    DICTIONARY,
    FRAME_MM,
    MARKER_MM,
    PAPERS,
    Plan,
    marker_ids,
)

DIGITS = tuple(string.digits)


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_on_a_sheet_lies_over_anything_else(paper: str) -> None:
    plan = Plan(DIGITS, 11, paper)
    boxes = np.array([(box.x_mm, box.y_mm) for box in plan.boxes(1)])
    rooms = [np.concatenate([boxes - FRAME_MM - 0.1, boxes + BOX_MM + FRAME_MM + 0.1], axis=1)]
    rooms.append(np.concatenate([plan.markers_mm[:, 0], plan.markers_mm[:, 2]], axis=1))
    codes = np.array(plan.codes_mm)
    rooms.append(np.concatenate([codes, codes + 18.0], axis=1))
    every = np.concatenate(rooms)
    apart = (every[:, None, 2:] <= every[None, :, :2]).any(axis=2)
    clear = apart | apart.T | np.eye(len(every), dtype=bool)
    assert clear.all()
    assert (every[:, :2] >= 9.0).all()
    assert (every[:, 2:] <= np.array(plan.size_mm) - 9.0 + 1e-9).all()


def test_every_class_has_as_many_boxes_as_were_asked_for_over_all_pages() -> None:
    plan = Plan(tuple("ABCDEFG"), 40)
    boxes = [box.label for page in range(1, plan.pages + 1) for box in plan.boxes(page)]
    assert plan.pages == 3
    assert np.bincount(boxes).tolist() == [40] * 7


def test_turns_write_each_class_once_and_blocks_write_one_to_its_end() -> None:
    turns = [box.label for box in Plan(("a", "b", "c"), 3).boxes(1)]
    blocks = [box.label for box in Plan(("a", "b", "c"), 3, order="blocks").boxes(1)]
    assert turns == [0, 1, 2] * 3
    assert blocks == [0, 0, 0, 1, 1, 1, 2, 2, 2]


def test_no_two_pages_share_a_marker_and_the_dictionary_has_all_of_them() -> None:
    numbers = [number for page in range(1, 21) for number in marker_ids(page)]
    kind = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    assert len(set(numbers)) == 240 <= len(kind.bytesList)


def test_a_marker_is_what_opencv_finds_under_its_number() -> None:
    cells = marker_cells(57)
    picture = np.where(np.kron(np.pad(cells, 2), np.ones((12, 12), int)), 0, 255).astype(np.uint8)
    kind = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    assert cv2.aruco.ArucoDetector(kind).detectMarkers(picture)[1].ravel().tolist() == [57]


def test_markers_go_clockwise_from_the_upper_left_one() -> None:
    middles = Plan(DIGITS, 1).markers_mm.mean(axis=1)
    around = middles - middles.mean(axis=0)
    steps = np.diff(np.unwrap(np.arctan2(around[:, 1], around[:, 0])))
    assert (steps > 0).all()  # with y down, clockwise
    assert middles[0].tolist() == [9 + MARKER_MM / 2] * 2


@given(
    classes=st.lists(st.sampled_from(string.ascii_letters + string.digits), min_size=1, unique=True)
    | st.lists(st.text("abcxyzäé", min_size=2, max_size=5), min_size=2, max_size=8, unique=True),
    per_class=st.integers(1, 30),
    paper=st.sampled_from(sorted(PAPERS)),
    order=st.sampled_from(["turns", "blocks"]),
    data=st.data(),
)
def test_a_line_tells_the_sheet_and_page_that_it_was_made_for(
    classes: list[str], per_class: int, paper: str, order: str, data: st.DataObject
) -> None:
    plan = Plan(tuple(classes), per_class, paper, order)
    page = data.draw(st.integers(1, plan.pages))
    try:
        text = code_text(plan, page)
    except GlyphError as error:
        assert "too long" in error.fact  # the only reason there may be
        return
    assert read_code("photo", text) == (plan, page)


@given(at=st.integers(15, 39), letter=st.sampled_from("0123456789ABCDEF;-/x"))
def test_a_line_with_one_letter_wrong_is_never_read_as_another_sheet(at: int, letter: str) -> None:
    text = code_text(Plan(DIGITS, 10), 1)
    wrong = text[:at] + letter + text[at + 1 :]
    if wrong == text:
        return
    with pytest.raises(GlyphError, match=r"another version|don't agree"):
        read_code("photo", wrong)


def test_a_page_of_another_version_is_told_as_that() -> None:
    with pytest.raises(GlyphError, match=r"another version\n +got +version 2"):
        read_code("photo", "inkdrift-sheet/2;A4;turns;10;1/1;0-9;F24C")


def test_a_code_of_something_else_is_told_as_that() -> None:
    with pytest.raises(GlyphError, match="no sheet of this kind"):
        read_code("photo", "https://example.org/menu")


def test_opencv_reads_the_code_that_is_drawn() -> None:
    text = code_text(Plan(DIGITS, 10), 1)
    drawn = np.kron(np.pad(code_modules(text), 4), np.ones((6, 6), np.uint8))
    picture = np.where(drawn > 0, 0, 255).astype(np.uint8)
    assert cv2.QRCodeDetector().detectAndDecode(picture)[0] == text


@pytest.mark.parametrize(
    ("plan", "match"),
    [
        (lambda: Plan(DIGITS, 0), "1 to 20 pages"),
        (lambda: Plan(DIGITS, 5000), r"up to 2,200 boxes on A4"),
        (lambda: Plan(DIGITS, 1, "A3"), r"no such paper\n +got +A3"),
        (lambda: Plan(DIGITS, 1, order="random"), "no such order"),
        (lambda: code_text(Plan(tuple(f"tree{n}" for n in range(40)), 1), 1), "too long"),
        (lambda: short_classes(("pear",)), "can't be told"),
    ],
)
def test_a_sheet_that_cant_be_is_refused(plan: object, match: str) -> None:
    assert callable(plan)
    with pytest.raises(GlyphError, match=match):
        plan()
