"""Marks on which models part, in characters: those of the findings, side by side where they fit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from gen.report.compare_make import Comparison, compare_reports
from gen.report.drawn import drawn
from tests.report.compare_support import CELLS, GRID, pictures, report_folder

N = 300
HEAD = "Marks that one model reads and another doesn't:"


def compared(tmp_path: Path, *, keep: bool = True) -> Comparison:
    """The second loses 100 glyphs at 1 and 2 px of blur and at the top, the first in one cell."""
    lost: dict[str, tuple[int, int]] = {CELLS[1]: (0, 100), CELLS[2]: (0, 100), CELLS[4]: (0, 100)}
    lost["g"] = (100, 0)
    folders = []
    for at, name in enumerate(("old", "new")):
        right: dict[str, NDArray[np.bool_]] = {
            cell: np.arange(N) >= lost.get(cell, (0, 0))[at] for cell in (*CELLS, "g")
        }
        folders.append(
            report_folder(
                tmp_path / name, right, name=name, grids=[GRID],
                pictures=pictures((*CELLS, "g")) if keep else None,
            )
        )  # fmt: skip
    return compare_reports(folders)


def test_each_finding_has_a_mark_before_one_has_two(tmp_path: Path) -> None:
    made = compared(tmp_path)
    assert [said.says[:8] for said in made.findings if said.shows] == ["old read", "In blur "]
    lines = made.as_text(width=100).splitlines()
    told = [" ".join(line.split()) for line in lines[lines.index(HEAD) :]]
    # A cell of the grid, which is one of the sweep as well, comes before a second of the first.
    assert "blur at 1 px: blur at 2 px: placement at top:" in told
    assert "A reads “pear” A reads “pear” A reads “pear”" in told
    assert "B reads “plum” B reads “plum” B reads “plum”" in told


def test_the_marks_are_the_pictures_of_the_reports(tmp_path: Path) -> None:
    lines = compared(tmp_path).as_text(width=100).splitlines()
    first = drawn(pictures(CELLS)[CELLS[1], 0], 20, True)
    inked = [line for line in first if line.strip()]
    start = lines.index(HEAD) + 2
    assert [line[:20].rstrip() for line in lines[start : start + len(inked)]] == [
        line.rstrip() for line in inked
    ]


@pytest.mark.parametrize(("width", "abreast"), [(20, 2), (40, 2), (52, 3), (120, 3)])
def test_as_many_stand_abreast_as_fit(width: int, abreast: int, tmp_path: Path) -> None:
    text = compared(tmp_path).as_text(width=width)
    assert max(map(len, text.splitlines())) <= max(width, 40)
    assert text[text.index("Marks that") :].count("A reads") == abreast


def test_without_blocks_marks_are_ascii_shades(tmp_path: Path) -> None:
    text = compared(tmp_path).as_text(blocks=False)
    marks = text[text.index(HEAD) :]
    assert marks.replace("“", '"').replace("”", '"').isascii()
    assert "+" in marks


def test_where_no_report_keeps_pictures_nothing_is_drawn(tmp_path: Path) -> None:
    assert "Marks that" not in compared(tmp_path, keep=False).as_text()
