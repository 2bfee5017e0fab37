"""Two samples, against published values; two sets, against what was planted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from gen.diagnose.differences import differences
from gen.diagnose.effect import cliffs_delta, mann_whitney, shift
from gen.diagnose.measures import measure
from gen.evaluate.multiple import holm
from gen.render.blur import blur
from tests.diagnose import tolerances as tol
from tests.diagnose.truth import GIVEN, written

# Cliff's delta with its interval: tests of the R package effsize on CRAN.
FIRST = np.array([10, 10, 20, 20, 20, 30, 30, 30, 40, 50.0])
LARGER = np.array([10, 20, 20, 20, 30, 30, 30, 40, 50, 100.0])
SECOND = np.array([10, 20, 30, 40, 40, 50.0])
# M. Hollander and D. A. Wolfe, Nonparametric Statistical Methods (1973), p. 69: permeability of
# the human placenta; W = 35, and p = 0.1272 one-sided, 382 / 3003.
AT_TERM = np.array([0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46])
EARLY = np.array([1.15, 0.88, 0.90, 0.74, 1.21])


def test_cliffs_delta_has_the_published_value_and_interval() -> None:
    found = cliffs_delta(FIRST, SECOND)
    assert found.value == pytest.approx(-0.25, abs=tol.ROUNDING)
    assert found.low == pytest.approx(-0.7265846, abs=tol.EFFECT_PUBLISHED)
    assert found.high == pytest.approx(0.3890062, abs=tol.EFFECT_PUBLISHED)
    assert cliffs_delta(LARGER, SECOND).value == pytest.approx(-4 / 60, abs=tol.ROUNDING)
    assert cliffs_delta(AT_TERM, EARLY).value == pytest.approx(0.4, abs=tol.ROUNDING)


def test_the_test_has_the_published_p_values() -> None:
    assert mann_whitney(AT_TERM, EARLY) == pytest.approx(2 * 382 / 3003, abs=tol.ROUNDING)
    # An example of scipy's documentation, recomputed: 1 / 9 by counting.
    men, women = np.array([19, 22, 16, 29, 24.0]), np.array([20, 11, 17, 12.0])
    assert mann_whitney(men, women) == pytest.approx(1 / 9, abs=tol.ROUNDING)
    assert cliffs_delta(men, women).value == pytest.approx(0.7, abs=tol.ROUNDING)


def test_delta_is_the_count_of_pairs_by_hand() -> None:
    rng = np.random.default_rng(0)
    a, b = rng.integers(0, 9, 40).astype(float), rng.integers(2, 9, 25).astype(float)
    pairs = np.sign(a[:, None] - b[None, :])
    assert cliffs_delta(a, b).value == pytest.approx(pairs.mean(), abs=tol.ROUNDING)


def test_samples_that_do_not_overlap_keep_room_for_chance() -> None:
    found = cliffs_delta(np.arange(10.0), np.arange(20.0, 30.0))
    assert found.value == found.low == -1.0
    assert -1 < found.high < 0


def test_the_shift_is_the_median_of_pairs_and_covers_the_truth_as_often_as_it_says() -> None:
    rng = np.random.default_rng(4)
    held = 0
    for _ in range(400):
        a, b = rng.normal(1.5, 1, 25), rng.normal(0, 1, 30)
        found = shift(a, b)
        assert found.value == pytest.approx(np.median(a[:, None] - b[None, :]))
        held += found.low <= 1.5 <= found.high
    # 95 % of 400 within what a fair count does 999 times of 1,000.
    low, high = stats.binom.interval(0.999, 400, 0.95)
    assert low <= held <= high


def test_delta_covers_the_truth_about_as_often_as_it_says() -> None:
    rng = np.random.default_rng(5)
    truth = 2 * stats.norm.cdf(1 / np.sqrt(2)) - 1
    held = 0
    for _ in range(400):
        found = cliffs_delta(rng.normal(1, 1, 30), rng.normal(0, 1, 30))
        held += found.low <= truth <= found.high
    low, _ = stats.binom.interval(0.999, 400, 0.95)
    assert held >= low


def test_a_set_that_was_moved_differs_first_by_where_it_lies() -> None:
    moved = np.roll(written(2.5), 3, axis=2)
    rows = differences(measure(moved), measure(written(2.5)))
    dx = next(row for row in rows if row.measure.name == "centroid_dx_px")
    assert dx.shift.value == pytest.approx(3, abs=0.05)
    assert dx.shift.low < 3 < dx.shift.high
    assert dx.clear
    names = {row.measure.name for row in rows if row.clear}
    assert {"centroid_dx_px", "margin_left_px", "margin_right_px"} <= names
    assert "stroke_width_px" not in names
    assert "slant_deg" not in names


def test_wider_pens_and_softer_lenses_differ_by_what_was_planted() -> None:
    even = written(2.5)
    rows = {row.measure.name: row for row in differences(measure(written(3.5)), measure(even))}
    assert rows["stroke_width_px"].shift.value == pytest.approx(1.0, abs=tol.STROKE_PX)
    rows = {row.measure.name: row for row in differences(measure(blur(even, 1.0)), measure(even))}
    assert rows["edge_sigma_px"].shift.value == pytest.approx(1.0, abs=0.2)


def test_the_largest_effect_comes_first_and_p_values_are_corrected() -> None:
    rows = differences(measure(written(4.0)), measure(written(2.5)))
    sizes = [abs(row.delta.value) for row in rows]
    assert sizes == sorted(sizes, reverse=True)
    assert all(row.p_holm >= row.p_value for row in rows)


def test_p_values_are_corrected_over_all_measures_by_holm() -> None:
    rows = differences(measure(written(2.8)[:60]), measure(written(2.5)[60:]))
    assert any(row.p_holm > row.p_value for row in rows)
    wanted = holm([row.p_value for row in rows])
    assert [row.p_holm for row in rows] == pytest.approx(wanted.tolist(), rel=tol.ROUNDING)


@pytest.mark.parametrize(
    ("delta", "p_holm", "clear"), [(0.1, 1e-9, False), (-0.9, 1e-9, True), (0.9, 0.06, False)]
)
def test_a_difference_is_clear_that_is_neither_slight_nor_chance(
    delta: float, p_holm: float, clear: bool
) -> None:
    row = differences(measure(written(4.0)), measure(written(2.5)))[0]
    row = replace(row, delta=replace(row.delta, value=delta), p_holm=p_holm)
    assert row.clear == clear


def test_turned_round_a_shift_is_the_same_the_other_way() -> None:
    there, back = shift(AT_TERM, EARLY), shift(EARLY, AT_TERM)
    assert (there.value, there.low, there.high) == pytest.approx(
        (-back.value, -back.high, -back.low), abs=tol.ROUNDING
    )


def test_two_draws_of_one_hand_rarely_differ() -> None:
    half = len(GIVEN.segments) // 2
    marks = written(2.5)
    mixed = np.random.default_rng(6).permutation(len(marks))
    rows = differences(measure(marks[mixed[:half]]), measure(marks[mixed[half:]]))
    assert not [row.measure.name for row in rows if row.sure]


def test_what_hardly_any_glyph_tells_is_left_out() -> None:
    blank = np.zeros((20, 28, 28), np.uint8)
    names = {row.measure.name for row in differences(measure(blank), measure(written(2.5)))}
    assert "background" in names
    assert "stroke_width_px" not in names
