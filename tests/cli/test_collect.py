"""`gen collect`: what it says, what it writes, and how it ends."""

from __future__ import annotations

import sys
from collections.abc import Callable

import cv2
import numpy as np
import pytest

from gen.glyphs.paper.drawing import page_shapes
from gen.glyphs.paper.layout import Plan
from gen.glyphs.paper.raster import page_picture
from tests.cli.support import Ended, Shed, environment
from tests.cli.terminal import in_a_terminal

Called = Callable[..., Ended]


@pytest.fixture
def scanned(shed: Shed) -> Shed:
    """The scan of a sheet with twelve boxes, of which six hold a stroke."""
    plan = Plan(tuple("ABC"), 4)
    page = np.array(page_picture(page_shapes(plan, 1), plan.size_mm, dpi=150))
    px_mm = 150 / 25.4
    for box in plan.boxes(1)[:6]:
        start = round((box.x_mm + 4) * px_mm), round((box.y_mm + 3) * px_mm)
        end = round((box.x_mm + 9) * px_mm), round((box.y_mm + 11) * px_mm)
        cv2.line(page, start, end, 40, 4, cv2.LINE_AA)
    cv2.imwrite(str(shed.folder / "anna.png"), page)
    return shed


@pytest.fixture
def loose(shed: Shed) -> Shed:
    """Three strokes on plain paper."""
    page = np.full((400, 600), 225, np.uint8)
    for x in (150, 300, 450):
        cv2.line(page, (x, 150), (x + 20, 230), 40, 6, cv2.LINE_AA)
    cv2.imwrite(str(shed.folder / "tom.png"), page)
    return shed


def test_a_scan_becomes_a_set_and_every_box_is_accounted_for(scanned: Shed, called: Called) -> None:
    ended = called("collect", "anna.png", "--into", "out")
    assert ended == Ended(
        0,
        "",
        "pages     anna.png: page 1 of 1, 6 kept, 6 empty; 12 of 12 markers, 5.9 px a mm\n"
        "marks     6 marks by 1 writer, 84 x 84 px, 6 empty\n"
        "written   out/glyphs.npz, boxes.csv, and a picture of each page in check\n"
        "then      gen report MODEL RECIPE --glyphs out/glyphs.npz --fit RULE --into DIR\n",
    )
    assert {"out/glyphs.npz", "out/boxes.csv", "out/check/01 anna.png"} <= scanned.names()


def test_what_was_collected_is_a_source_for_other_commands(scanned: Shed, called: Called) -> None:
    assert called("collect", "anna.png", "--into", "out", "--quiet").err == ""
    ended = called("measure", "out/glyphs.npz")
    assert ended.code == 0
    assert "6 glyphs of 3 classes (A B C), 84 x 84 px" in ended.err


def test_a_photo_that_cant_be_read_is_told_and_the_command_ends_with_1(
    scanned: Shed, called: Called
) -> None:
    ended = called("collect", "anna.png", "models.py", "--into", "out", "--quiet")
    assert (ended.code, ended.out) == (1, "")
    assert ended.err == (
        "models.py: not a picture\n"
        "  try       photographs and scans are read as JPEG, PNG, TIFF, WebP or BMP\n"
        "1 of 2 photos couldn't be read; the set holds the others\n"
    )
    assert "out/glyphs.npz" in scanned.names()


def test_when_none_can_be_read_it_ends_with_2_and_writes_nothing(
    loose: Shed, called: Called
) -> None:
    before = loose.names()
    ended = called("collect", "tom.png", "gone.jpg", "--into", "out")
    assert ended.code == 2
    assert "tom.png: the photograph is too small" in ended.err
    assert "gone.jpg: can't be read" in ended.err
    assert loose.names() == before


def test_loose_marks_are_cut_named_and_made_a_set(loose: Shed, called: Called) -> None:
    ended = called("collect", "--loose", "tom.png", "--into", "cut")
    assert ended.code == 0
    assert "tom.png: 3 marks in 1 line" in ended.err
    table = loose.folder / "cut" / "labels.csv"
    lines = table.read_text("utf-8").splitlines()
    named = [
        line.replace(",,", f",{name},", 1) for line, name in zip(lines[1:], "ABB", strict=True)
    ]
    (loose.folder / "named.csv").write_text("\n".join([lines[0], *named]), "utf-8")
    ended = called("collect", "--loose", "tom.png", "--labels", "named.csv", "--into", "set")
    assert ended.code == 0
    assert "classes   A: 1, B: 2\n" in ended.err
    assert "set/glyphs.npz" in loose.names()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--labels", "a.csv"), "--labels: this is for loose marks"),
        (("--join", "0.2"), "--join: this is for loose marks"),
        (("--loose", "--sheet", "x"), "--sheet: loose marks are on no sheet"),
        (("--loose", "--writer", "tom"), "--writer: who wrote is told with the filled table"),
        (("--loose", "--labels", "gone.csv"), "gone.csv: can't be read"),
        (("--sheet", "x"), "the code is of no sheet of this kind"),
        (("--writer", "a", "--writer", "b"), "2 writers, 1 photographs"),
    ],
)
def test_options_that_make_no_sense_are_one_clear_error(
    loose: Shed, called: Called, arguments: tuple[str, ...], says: str
) -> None:
    cv2.imwrite(str(loose.folder / "small.png"), np.full((20, 20), 200, np.uint8))
    before = loose.names()
    ended = called("collect", "tom.png", "--into", "out", *arguments)
    assert (ended.code, ended.out) == (2, "")
    assert says in ended.err
    assert loose.names() == before


def test_class_names_from_a_table_cant_steer_the_terminal(loose: Shed, called: Called) -> None:
    assert called("collect", "tom.png", "--loose", "--into", "cut").code == 0
    table = (loose.folder / "cut" / "labels.csv").read_text("utf-8")
    filled = table.replace("\n1,,", '\n1,"\x1b[31mred\nhat",')
    (loose.folder / "filled.csv").write_text(filled, "utf-8")
    ended = called("collect", "tom.png", "--loose", "--labels", "filled.csv", "--into", "set")
    assert ended.code == 0
    assert "\x1b" not in ended.err
    assert "hat: 1" in next(line for line in ended.err.splitlines() if "classes" in line)


def test_the_name_of_a_photo_cant_steer_the_terminal(scanned: Shed) -> None:
    # A pipe would show nothing: signs that steer are taken out of what goes to one.
    asked = [sys.executable, "-m", "gen", "collect", "anna.png", "\x1b[2Jgone.jpg", "--into", "out"]
    env = environment(TERM="xterm")
    with in_a_terminal(asked, folder=scanned.folder, env=env) as (terminal, program):
        terminal.to_the_end()
        assert program.wait() == 1
    assert "\\u001b[2Jgone.jpg: can't be read" in terminal.raw
    assert "\x1b[2J" not in terminal.raw


def test_a_share_that_is_no_number_is_refused(loose: Shed, called: Called) -> None:
    ended = called("collect", "tom.png", "--loose", "--join", "nan", "--into", "cut")
    assert ended.code == 2
    assert ended.err.startswith("--join: this is no number")
