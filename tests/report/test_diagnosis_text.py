"""A diagnosis in a terminal: the answer first, no wider than it is, a glyph in characters."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from gen.diagnose.results import VERDICTS
from gen.report.diagnosis_drawn import PLAIN_SHADES, SHADES, drawn, side_by_side
from tests.report.diagnosis_support import MOVE, explained, remedy, without_remedy


@pytest.mark.parametrize("width", [20, 40, 60, 80, 200])
def test_it_fits_the_terminal(width: int) -> None:
    report = explained()
    lines = report.as_text(width=width).splitlines()
    assert max(map(len, lines)) <= max(width, 40)
    assert " ".join(lines[: lines.index("")]) == report.headline
    assert str(report) == report.as_text()


def test_every_remedy_has_a_row_of_its_figures() -> None:
    lines = explained().as_text(width=120).splitlines()
    (row,) = [line for line in lines if line.startswith("translation -2 px along x ")]
    assert row.split("  ")[0] == "translation -2 px along x"
    for figure in ("95.0 % (86.3 to 98.3 %)", "+45.0 points", "< 0.001", "preprocessing"):
        assert figure in row
    narrow = " ".join(explained().as_text(width=50).split())
    assert "translation -2 px along x: 95.0 % (86.3 to 98.3 %), +45.0 points, p < 0.001;" in narrow


@pytest.mark.parametrize("verdict", VERDICTS)
def test_the_answer_comes_first(verdict: str) -> None:
    report = explained() if verdict == "explained" else without_remedy(verdict)
    lines = report.as_text().splitlines()
    assert lines[:3] == [report.headline, "", f"* {report.diagnosis.says[0]}"]
    text = "\n".join(lines)
    assert "as is     50.0 % (37.7 to 62.3 %), 30 of 60; floor 90 %" in text
    assert ("ruled out 1,234 remedies were tried" in text) == (
        verdict in {"explained", "unexplained"}
    )
    assert ("before: read" in text) == (verdict == "explained")
    varied = "to train  translation along x from 0 to 2.4 px, which costs the model 47.0 points on"
    assert (varied in report.as_text(width=120)) == (verdict == "explained")


def test_the_glyph_moves_as_the_remedy_moves_it() -> None:
    text = explained(remedy(MOVE)).as_text()
    inked = [line for line in text.splitlines() if line.startswith("|") and "\u2593" in line]
    assert inked
    for line in inked:
        before, after = line.split("|")[1], line.split("|")[3]
        assert before.rstrip() == "  " + after.rstrip()


def test_without_block_characters_all_of_it_but_quotes_is_ascii() -> None:
    text = explained().as_text(blocks=False)
    assert set(text) - {"\u201c", "\u201d"} <= set(map(chr, range(128)))


def test_what_would_move_the_cursor_is_left_out() -> None:
    made = explained(replace(remedy(MOVE), equally=()))
    found = replace(made.diagnosis, says=("a\x1b[2Jb\rc",), ruled_out=("\x9bx",))
    bad = replace(made.examples[0][0], labelled="\x1b]0;x", read="\x07", read_after="y\n")
    text = replace(made, diagnosis=found, examples=((bad,), *made.examples[1:])).as_text()
    assert not {c for c in text if not c.isprintable()} - {"\n"}
    assert "* a [2Jb c" in text


@pytest.mark.parametrize(("frame", "size"), [((28, 28), (14, 28)), ((64, 32), (28, 28))])
def test_a_glyph_keeps_its_proportions(frame: tuple[int, int], size: tuple[int, int]) -> None:
    lines = drawn(np.full(frame, 255, np.uint8))
    assert (len(lines), len(lines[0])) == size
    assert set("".join(lines)) == {SHADES[-1]}


def test_shades_go_from_paper_to_ink() -> None:
    ramp = np.repeat(np.array([[0, 64, 128, 191, 255]], np.uint8), 2, axis=0)
    assert drawn(ramp, PLAIN_SHADES) == [PLAIN_SHADES]
    assert drawn(ramp) == [SHADES]


def test_a_glyph_of_a_short_frame_still_has_a_line() -> None:
    pair = side_by_side(np.zeros((1, 9), np.uint8), np.zeros((1, 9), np.uint8), ("a", "b"))
    assert len({len(line) for line in pair[1:]}) == 1


@pytest.mark.parametrize("side", [28, 32, 45, 64])
def test_a_glyph_that_is_its_own_mirror_image_is_drawn_so(side: int) -> None:
    ring = np.zeros((side, side), np.uint8)
    outer, inner = slice(side // 4, side - side // 4), slice(side // 3, side - side // 3)
    ring[outer, outer] = 250  # no mean of these lies right between two shades
    ring[inner, inner] = 0
    lines = drawn(ring)
    assert lines == [line[::-1] for line in lines]
    assert lines == lines[::-1]
