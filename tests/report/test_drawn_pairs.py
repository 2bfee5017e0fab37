"""Which glyphs the summary draws, and how: at nominal, and where the sweep breaks."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from gen.report.drawn_pairs import MOST_PAIRS, Pair, pair_lines, pairs_of
from gen.report.finding import NARROW, Finding
from gen.report.findings import find
from gen.report.object import Report
from gen.report.run import RunInfo
from gen.report.shown import Followed, Picture, Said, Shown, ShownSweep
from gen.report.text import as_text

EXPECTED = Path(__file__).with_name("expected")
RUN = RunInfo("gen report tags.py:read first-look --into out")
RIGHT, WRONG = Said("7", 0.9, True), Said("1", 0.8, False)


def followed(levels: int, wrong_at: set[int], number: int = 0) -> Followed:
    """A glyph whose pictures can be told apart by their first pixel."""
    images = np.zeros((levels, 28, 28), np.uint8)
    images[:, 0, 0] = np.arange(levels) + 100 * number
    said = tuple(WRONG if i in wrong_at else RIGHT for i in range(levels))
    return Followed(number, "7", images, said)


def only_pair(made: Any, *glyphs: Followed, **more: Any) -> Pair:
    """The pair of an evaluation with one sweep."""
    sweep = ShownSweep(followed=glyphs, misread=(), **more)
    (pair,) = pairs_of(made, (Finding(NARROW, "It breaks.", curve=0),), Shown(sweeps=(sweep,)))
    return pair


def test_the_level_is_the_first_on_the_way_out_where_the_glyph_is_misread(
    planted: ModuleType,
) -> None:
    made = planted.fragile()  # levels -8 to 8: nominal is number 8
    pair = only_pair(made, followed(17, {0, 1, 11, 16}))
    assert (pair.level, pair.there[0, 0], pair.before[0, 0]) == (3.0, 11, 8)
    assert (pair.said_before, pair.said_there) == (RIGHT, WRONG)


def test_of_two_levels_equally_far_out_it_is_the_lower(planted: ModuleType) -> None:
    assert only_pair(planted.fragile(), followed(17, {5, 11})).level == -3.0


def test_a_glyph_that_is_never_misread_gives_way_to_one_that_is(planted: ModuleType) -> None:
    pair = only_pair(planted.fragile(), followed(17, set()), followed(17, {16}, number=1))
    assert (pair.level, pair.there[0, 0]) == (8.0, 116)


def test_a_glyph_misread_at_nominal_gives_way_to_one_that_breaks(planted: ModuleType) -> None:
    everywhere = followed(17, set(range(17)))
    pair = only_pair(planted.fragile(), everywhere, followed(17, {9}, number=1))
    assert (pair.level, pair.before[0, 0]) == (1.0, 108)


def test_where_none_is_misread_the_first_is_shown_at_the_worst_level(planted: ModuleType) -> None:
    curve = planted.along_x(lambda level: 0.5 if level == 5 else 0.95)
    made = planted.evaluation(curve)
    pair = only_pair(made, followed(17, set()), followed(17, set(), number=1))
    assert (pair.level, pair.there[0, 0]) == (5.0, 13)


def test_a_peak_off_nominal_shows_a_glyph_that_it_alone_reads(planted: ModuleType) -> None:
    made = planted.slipped()
    curve = next(i for i, one in enumerate(made.curves) if one.peak.off_nominal)
    image, before = np.full((28, 28), 9, np.uint8), np.full((28, 28), 8, np.uint8)
    gained = Picture(5, "7", image, RIGHT, before, WRONG)
    shown = planted.shown(made)
    sweeps = [replace(sweep, gained=(gained,)) for sweep in shown.sweeps]
    pair = pairs_of(made, find(made), replace(shown, sweeps=tuple(sweeps)))[0]
    assert pair.curve is made.curves[curve]
    assert (pair.level, pair.said_before, pair.said_there) == (
        made.curves[curve].peak.level,
        WRONG,
        RIGHT,
    )
    assert (pair.before[0, 0], pair.there[0, 0]) == (8, 9)


@pytest.mark.parametrize("name", ["healthy", "slipped", "fragile", "thorough", "few"])
def test_there_are_at_most_two_and_each_of_another_sweep(planted: ModuleType, name: str) -> None:
    made = getattr(planted, name)()
    pairs = pairs_of(made, find(made), planted.shown(made))
    assert 1 <= len(pairs) <= MOST_PAIRS
    assert len({id(pair.curve) for pair in pairs}) == len(pairs)


def test_where_no_finding_is_about_a_sweep_the_one_that_loses_most_is_shown(
    planted: ModuleType,
) -> None:
    made = planted.healthy()
    (pair,) = pairs_of(made, (), planted.shown(made))
    worst = min(point.accuracy.value for curve in made.curves for point in curve.points)
    assert min(point.accuracy.value for point in pair.curve.points) == worst


def test_nothing_is_drawn_of_an_evaluation_without_sweeps(planted: ModuleType) -> None:
    made = replace(planted.healthy(), curves=())
    assert pairs_of(made, (), Shown()) == ()
    assert pair_lines((), width=80, blocks=True) == []


@pytest.mark.parametrize("blocks", [True, False])
@pytest.mark.parametrize("width", [40, 57, 69, 70, 80, 132])
@pytest.mark.parametrize("name", ["healthy", "slipped", "fragile", "few", "guessing", "thorough"])
def test_no_line_is_longer_than_the_terminal_is_wide(
    planted: ModuleType, name: str, width: int, blocks: bool
) -> None:
    made = getattr(planted, name)()
    text = as_text(made, find(made), RUN, planted.shown(made), width=width, blocks=blocks)
    assert max(len(line) for line in text.splitlines()) <= width
    if not blocks:
        assert not set(text) & set("\u2580\u2584\u2588\u2591\u2581")


def test_names_cannot_move_the_cursor(planted: ModuleType) -> None:
    bad = "tags\x1b[2J\r\n\x07" + "x" * 90
    one = replace(followed(17, {9}), true=bad)
    one = replace(one, said=tuple(replace(said, answered=bad) for said in one.said))
    made = planted.evaluation(replace(planted.fragile().curves[0], title=bad))
    lines = pair_lines((only_pair(made, one),), width=40, blocks=True)
    assert all(line.isprintable() for line in lines)
    assert max(map(len, lines)) <= 40


@pytest.mark.parametrize(
    ("name", "width", "blocks"), [("slipped", 40, False), ("slipped", 80, True), ("few", 60, True)]
)
def test_the_drawings_stand_in_the_summary_as_they_were_approved(
    planted: ModuleType, name: str, width: int, blocks: bool
) -> None:
    made = getattr(planted, name)()
    text = as_text(made, find(made), RUN, planted.shown(made), width=width, blocks=blocks)
    assert text == (EXPECTED / f"{name}-drawn-{width}.txt").read_text("utf-8")


def test_a_report_draws_what_its_page_shows(planted: ModuleType) -> None:
    made = planted.slipped()
    assert Report(made).as_text() == as_text(made, find(made), RunInfo())
    drawn = Report(made, shown=planted.shown(made)).as_text(width=100)
    assert "\u2588" in drawn.replace("\u2581", "").split("surer than chance")[1]
