"""A curve in figures: each draw is treated as the glyphs themselves are."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import trapezoid

from gen.evaluate.bootstrap import Resampled
from gen.evaluate.curves import Reach, find_peak
from gen.evaluate.percentiles import order_ends
from gen.evaluate.summary import (
    crossings,
    half_line,
    peak_levels,
    summarise,
    tolerance_ends,
)
from gen.evaluate.tolerance import tolerance
from gen.recipe.model import Level
from tests.evaluate.told_sheets import told_right

LEVELS = [-3.0, -1.0, -0.5, 0.0, 1.0, 2.5, 4.0]
NO_BETTER = 0.1
FLOOR = 0.9
EXACT = 1e-12  # straight lines between decimal fractions


def noisy(rng: np.random.Generator) -> np.ndarray:
    """Which of 120 glyphs are read rightly: at every level about as many as the floor asks for."""
    ranks = np.argsort(rng.random((7, 120)), axis=1)
    return ranks < np.array([106, 109, 111, 110, 109, 108, 106])[:, None]


@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize("limits", [(-math.inf, math.inf), (-3.0, 4.0)])
def test_ends_of_the_tolerance_are_those_of_the_rule_draw_by_draw(
    rng: np.random.Generator, limits: tuple[float, float], whole: bool
) -> None:
    drawn = Resampled.of(120, draws=400).accuracy(noisy(rng))
    amounts, start = np.array(LEVELS), 3
    low = tolerance_ends(amounts[start::-1], drawn[:, start::-1], FLOOR, limits[0])
    high = tolerance_ends(amounts[start:], drawn[:, start:], FLOOR, limits[1])
    if whole:
        low, high = -np.floor(-low), np.floor(high)
    seen = set()
    for accuracies, below, above in zip(drawn.tolist(), low, high, strict=True):
        kept = tolerance(LEVELS, accuracies, nominal=0.0, floor=FLOOR, limits=limits, whole=whole)
        if kept.low is None or kept.high is None:
            assert math.isnan(below)
            assert math.isnan(above)
            seen.add("undefined")
            continue
        assert below == (-math.inf if kept.open_low else kept.low)
        assert above == (math.inf if kept.open_high else kept.high)
        seen |= {"open" if kept.open_low or kept.open_high else "closed"}
    assert seen == {"undefined", "closed"} | ({"open"} if math.isinf(limits[0]) else set())


def test_the_peak_is_that_of_the_rule_draw_by_draw(rng: np.random.Generator) -> None:
    drawn = Resampled.of(60, draws=200).accuracy(rng.random((7, 60)) < 0.8)
    levels: list[Level] = list(LEVELS)
    curve, _ = told_right(levels, np.ones((7, 60), bool))
    winners = []
    for accuracies in drawn.tolist():
        points = [
            replace(point, accuracy=replace(point.accuracy, value=value))
            for point, value in zip(curve.points, accuracies, strict=True)
        ]
        winners.append(find_peak(points, 0.0).level)
    assert len(set(winners)) > 3
    low, high = peak_levels(levels, drawn, nominal=0.0)
    assert (low, high) == order_ends(np.sort(np.array(winners, float)))


@pytest.mark.parametrize(("won", "low"), [(50, -1.0), (49, 0.0)])
def test_a_level_that_wins_in_one_draw_of_forty_ends_the_peak(won: int, low: float) -> None:
    drawn = np.eye(3)[np.repeat([0, 1], [won, 2000 - won])]
    assert peak_levels([-1.0, 0.0, 1.0], drawn, nominal=0.0) == (low, 0.0)
    assert peak_levels([-1.0, 0.0, 1.0], drawn[:, ::-1], nominal=0.0) == (0.0, -low)


def test_equal_peaks_of_a_draw_count_for_the_one_nearest_nominal_then_the_first() -> None:
    drawn = np.tile([0.9, 0.7, 0.9], (40, 1))
    assert peak_levels([-1.0, 0.0, 1.0], drawn, nominal=0.0) == (-1.0, -1.0)
    assert peak_levels([-2.0, 0.0, 1.0], drawn, nominal=0.0) == (1.0, 1.0)


def test_names_that_peak_are_listed_commonest_first_until_they_make_up_95_percent() -> None:
    won = np.repeat([2, 0, 1], [60, 36, 4])
    drawn = np.eye(3)[won]
    names: list[Level] = ["as drawn", "corner", "centre"]
    assert peak_levels(names, drawn, nominal="as drawn") == ("centre", "as drawn")
    assert peak_levels(names, drawn[5:], nominal="as drawn") == ("centre", "as drawn")
    assert peak_levels(names, np.eye(3)[[0] * 9 + [1] * 3], nominal="as drawn") == names_of(0, 1)


def names_of(*places: int) -> tuple[str, ...]:
    return tuple(("as drawn", "corner", "centre")[at] for at in places)


def test_half_of_what_is_read_better_than_a_guess_is_lost_half_way_down() -> None:
    accuracies = np.array([[0.9, 0.7, 0.3, 0.1]])
    line = half_line(accuracies[:, 0], 0.1)
    assert line.tolist() == [0.5]
    assert crossings(np.arange(4.0), accuracies, line)[0] == pytest.approx(1.5, abs=EXACT)
    assert math.isnan(half_line(np.array([0.1]), 0.1)[0])
    assert math.isnan(crossings(np.arange(4.0), accuracies, np.array([math.nan]))[0])


# Crossings of a known curve, recomputed with exact fractions: 22/9, 187/43, 197/31.
@pytest.mark.parametrize(("floor", "end"), [(0.9, 22 / 9), (0.75, 187 / 43), (0.5, 197 / 31)])
@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_crossings_of_a_known_curve_on_either_side(floor: float, end: float, side: float) -> None:
    known = np.array([[1, 0.96, 0.96, 0.825, 0.825, 0.61, 0.61, 0.3]])
    assert crossings(side * np.arange(8), known, floor)[0] == pytest.approx(side * end, abs=EXACT)


def test_the_summary_is_made_of_the_draws(rng: np.random.Generator) -> None:
    right = noisy(rng)
    curve, sheet = told_right(LEVELS, right, floor=FLOOR)
    drawn = Resampled.of(120)
    got = summarise(curve, sheet, drawn, guess=NO_BETTER, floor=FLOOR)
    shares, summary = drawn.accuracy(right), got.summary
    assert summary is not None
    seen = right.mean(axis=1)
    trapezoids = trapezoid(shares, LEVELS, axis=1) / 7.0
    assert summary.area.value == pytest.approx(trapezoid(seen, LEVELS) / 7.0, abs=EXACT)
    assert (summary.area.low, summary.area.high) == pytest.approx(
        order_ends(np.sort(trapezoids), drawn.tail), abs=EXACT
    )
    assert summary.tolerance_high is not None
    expected = drawn.estimate(
        tolerance_ends(np.array(LEVELS[3:]), shares[:, 3:], FLOOR, math.inf),
        math.inf if curve.tolerance.open_high else curve.tolerance.high or math.nan,
    )
    assert summary.tolerance_high == expected
    assert 0.0 < expected.beyond < 1.0
    assert summary.half_low is not None
    assert (summary.half_low.value, summary.half_low.beyond) == (None, 1.0)
    assert [side.side for side in summary.breaking] == ["down", "up"]
    assert len(got.peak.levels) == 2
    assert replace(got, summary=None, peak=curve.peak) == curve


def test_an_open_end_has_no_value_and_says_how_often_it_is_beyond() -> None:
    curve, sheet = told_right([0.0, 1.0, 2.0], np.ones((3, 50), bool))
    drawn = Resampled.of(50)
    summary = summarise(curve, sheet, drawn, guess=0.5, floor=FLOOR).summary
    assert summary is not None
    assert (summary.tolerance_low, summary.half_low) == (None, None)
    end = summary.tolerance_high
    assert end is not None
    assert (end.value, end.low, end.high, end.beyond) == (None, None, None, 1.0)
    closed = summarise(
        curve, sheet, drawn, guess=0.5, floor=FLOOR, reach=Reach(0, 2, (0.0, 2.0))
    ).summary
    assert closed is not None
    assert closed.tolerance_high is not None
    assert (closed.tolerance_high.value, closed.tolerance_high.beyond) == (2.0, 0.0)
    assert closed.half_high is not None
    assert closed.half_high.beyond == 1.0


def test_nominal_under_the_floor_leaves_the_tolerance_untold() -> None:
    right = np.arange(50) < np.array([[25], [10]])
    curve, sheet = told_right([0.0, 1.0], right)
    summary = summarise(curve, sheet, Resampled.of(50), guess=0.1, floor=FLOOR).summary
    assert summary is not None
    assert summary.tolerance_high is not None
    assert (summary.tolerance_high.value, summary.tolerance_high.undefined) == (None, 1.0)
    assert summary.half_high is not None
    assert summary.half_high.value == pytest.approx((0.5 - 0.3) / (0.5 - 0.2), abs=EXACT)


def test_whole_units_have_whole_ends() -> None:
    right = np.arange(100) < np.array([[100], [92], [0]])
    curve, sheet = told_right([0.0, 4.0, 8.0], right, floor=0.5, whole=True)
    reach = Reach(0, 2, (0, 100))
    summary = summarise(
        curve, sheet, Resampled.of(100), guess=0.1, floor=0.5, reach=reach, whole=True
    ).summary
    assert summary is not None
    end = summary.tolerance_high
    assert end is not None
    assert (end.value, end.low, end.high) == (5.0, 5.0, 5.0)  # the line meets 0.5 at 5.83
    assert curve.tolerance.high == 5.0


def test_names_have_an_area_and_a_peak_and_no_ends() -> None:
    names: list[Level] = ["as drawn", "corner", "centre"]
    right = np.arange(40) < np.array([[20], [10], [36]])
    curve, sheet = told_right(names, right, nominal="as drawn")
    got = summarise(curve, sheet, Resampled.of(40), guess=0.1, floor=FLOOR)
    summary = got.summary
    assert summary is not None
    assert summary.area.value == pytest.approx((20 + 10 + 36) / 120, abs=EXACT)
    assert (summary.tolerance_low, summary.tolerance_high, summary.half_high) == (None, None, None)
    assert summary.breaking == ()
    assert got.peak.levels == ("centre",)


def test_a_curve_of_nominal_alone_has_its_accuracy_as_area() -> None:
    curve, sheet = told_right([0.0], np.arange(50)[None] < 40)
    summary = summarise(curve, sheet, Resampled.of(50), guess=0.1, floor=FLOOR).summary
    assert summary is not None
    assert summary.area.value == 0.8
    assert summary.tolerance_low is None
    assert summary.confused is None


def test_a_range_does_not_go_past_a_level_that_the_model_failed_at() -> None:
    # Levels 0, 1 and 3 were answered, 2 was not.
    right = np.arange(50) < np.array([[50], [48], [20]])
    curve, sheet = told_right([0.0, 1.0, 3.0], right)
    reach = Reach(0, 1, (-math.inf, 1.0))
    got = summarise(curve, sheet, Resampled.of(50), guess=0.1, floor=0.7, reach=reach).summary
    assert got is not None
    assert got.area.value == pytest.approx((0.98 + 2 * 0.68) / 3, abs=EXACT)
    assert got.breaking[0].levels == (1.0,)
    ends = got.tolerance_high
    assert ends is not None
    assert (ends.value, ends.low, ends.high, ends.beyond) == (1.0, 1.0, 1.0, 0.0)
    assert got.half_high is not None
    assert (got.half_high.value, got.half_high.beyond) == (None, 1.0)
