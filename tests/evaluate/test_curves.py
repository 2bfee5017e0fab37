"""Tallies, tolerance, and where a curve peaks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from sklearn.metrics import confusion_matrix

from gen.evaluate.answers import Answers
from gen.evaluate.curves import find_peak, make_curves, make_point
from gen.evaluate.results import Difference, Point
from gen.evaluate.tally import Tally
from gen.evaluate.tolerance import tolerance
from gen.recipe.model import Level, Recipe, Sweep
from gen.render.plan import Cell, make_plan

EXACT = 1e-12  # straight lines between decimal fractions


def test_a_tally_in_blocks_is_the_count_of_the_whole(rng: np.random.Generator) -> None:
    labels, said = rng.integers(0, 5, 1000), rng.integers(0, 5, 1000)
    nominal_right = rng.random(1000) < 0.5
    confidence, lost = rng.random(1000), rng.random(1000)
    tally = Tally(5)
    for part in np.array_split(np.arange(1000), 7):
        tally.add(
            Answers(said[part], confidence[part], None),
            labels[part],
            ink_lost=lost[part],
            nominal_right=nominal_right[part],
        )
    right = said == labels
    assert (tally.n, tally.correct) == (1000, right.sum())
    # scikit-learn's confusion matrix as the outside count
    np.testing.assert_array_equal(tally.confusion, confusion_matrix(labels, said))
    np.testing.assert_array_equal(tally.class_counts, np.bincount(labels))
    np.testing.assert_array_equal(tally.class_correct, np.bincount(labels[right]))
    assert tally.only_nominal == (nominal_right & ~right).sum()
    assert tally.only_here == (right & ~nominal_right).sum()
    assert tally.confidence_right == pytest.approx(confidence[right].sum())
    assert tally.confidence_wrong == pytest.approx(confidence[~right].sum())
    assert tally.ink_lost == pytest.approx(lost.sum())


def test_a_point_carries_means_and_leaves_out_classes_without_glyphs() -> None:
    tally = Tally(3)
    answers = Answers(np.array([0, 0, 2, 2]), np.array([0.9, 0.7, 0.6, 0.8]), None)
    tally.add(answers, np.array([0, 0, 0, 2]), ink_lost=np.array([0.0, 0.5, 0.5, 0.0]))
    point = make_point(Cell("here"), tally, None, ("a", "b", "c"))
    assert (point.accuracy.correct, point.accuracy.n) == (3, 4)
    assert [(one.name, one.accuracy.value) for one in point.per_class] == [("a", 2 / 3), ("c", 1)]
    assert point.confidence_right == pytest.approx(0.8)
    assert point.confidence_wrong == pytest.approx(0.6)
    assert point.ink_lost == 0.25
    assert point.difference is None


def test_labels_alone_give_no_confidence() -> None:
    tally = Tally(2)
    tally.add(Answers(np.array([0, 1]), None, None), np.array([0, 0]), ink_lost=np.zeros(2))
    point = make_point(Cell("here"), tally, None, ("a", "b"))
    assert point.confidence_right is None
    assert point.confidence_wrong is None


def test_a_difference_is_that_of_the_fourfold_table() -> None:
    # Agresti (1990) p. 350: 794 right at both, 150 at the level only, 86 at nominal only.
    here = np.repeat([1, 1, 0, 0], [794, 150, 86, 570])
    before = np.repeat([1, 0, 1, 0], [794, 150, 86, 570])
    labels, zeros = np.ones(1600, np.intp), np.zeros(1600)
    nominal, level = Tally(2), Tally(2)
    right = nominal.add(Answers(before, None, None), labels, ink_lost=zeros)
    level.add(Answers(here, None, None), labels, ink_lost=zeros, nominal_right=right)
    found = make_point(Cell("x"), level, nominal, ("a", "b")).difference
    assert found is not None
    assert (found.only_level, found.only_nominal) == (150, 86)
    assert found.value == pytest.approx(0.04)
    assert found.p_value == pytest.approx(3.7159361395713866e-05, rel=1e-10)
    assert (found.low, found.high) == pytest.approx((0.0212304240, 0.0587038729), abs=1e-10)


@pytest.mark.parametrize(
    ("levels", "accuracies", "nominal", "expected"),
    [
        # crossed on both sides, on the straight lines
        ([-2, -1, 0, 1, 2], [0.5, 0.95, 1.0, 0.94, 0.84], 0, (-1 - 0.05 / 0.45, 1.4, False, False)),
        # an island further out doesn't count
        ([-2, -1, 0, 1, 2], [1.0, 0.8, 1.0, 0.8, 1.0], 0, (-0.5, 0.5, False, False)),
        # never crossed: open, unless the perturbation ends there
        ([-2, 0, 2], [0.95, 1.0, 0.95], 0, (-2, 2, True, True)),
        ([0, 1, 2], [1.0, 0.98, 0.8], 0, (0, 1 + 0.08 / 0.18, False, False)),
        # just at the floor still holds
        ([0, 1, 2], [1.0, 0.9, 0.8], 0, (0, 1, False, False)),
        ([0, 1], [0.9, 0.9], 0, (0, 1, False, True)),
        # a ratio has its nominal at 1
        ([0.5, 1, 2], [0.7, 0.95, 0.7], 1, (0.9, 1.2, False, False)),
    ],
)
def test_the_tolerance_ends_where_the_straight_line_meets_the_floor(
    levels: list[float],
    accuracies: list[float],
    nominal: float,
    expected: tuple[float, float, bool, bool],
) -> None:
    limits = (0.0, 10.0) if levels[0] == 0 else (-10.0, 10.0)
    got = tolerance(levels, accuracies, nominal=nominal, floor=0.9, limits=limits)
    assert (got.low, got.high) == pytest.approx(expected[:2], abs=EXACT)
    assert (got.open_low, got.open_high) == expected[2:]


# 1 .96 .825 .61 .3 falls under 0.9 after 22/9 and under 0.75 after 187/43: pooled accuracies of
# eight levels, crossings recomputed with exact fractions.
@pytest.mark.parametrize(("floor", "end"), [(0.9, 22 / 9), (0.75, 187 / 43), (0.5, 197 / 31)])
def test_crossings_of_a_known_curve(floor: float, end: float) -> None:
    known = [1, 0.96, 0.96, 0.825, 0.825, 0.61, 0.61, 0.3]
    got = tolerance([float(k) for k in range(8)], known, nominal=0.0, floor=floor)
    assert got.high == pytest.approx(end, abs=EXACT)


def test_nominal_under_the_floor_has_no_tolerance() -> None:
    got = tolerance([-1.0, 0.0, 1.0], [0.99, 0.8, 0.99], nominal=0.0, floor=0.9)
    assert (got.low, got.high, got.open_low, got.open_high, got.levels) == (
        None,
        None,
        False,
        False,
        (),
    )


def test_whole_units_end_at_the_last_whole_amount_that_holds() -> None:
    got = tolerance(
        [0.0, 4.0, 8.0], [1.0, 0.92, 0.0], nominal=0.0, floor=0.5, limits=(0, 100), whole=True
    )
    assert (got.low, got.high) == (0.0, 5.0)  # the line meets 0.5 at 5.83


def test_names_give_the_list_of_those_that_hold() -> None:
    names: list[Level] = ["as drawn", "corner", "centre"]
    got = tolerance(names, [0.95, 0.3, 0.9], nominal="as drawn", floor=0.9)
    assert got.levels == ("as drawn", "centre")
    assert (got.low, got.high) == (None, None)


def point(level: Level, correct: int, *, p_holm: float = 1.0, low: float = -1.0) -> Point:
    tally = Tally(1)
    tally.n, tally.correct = 100, correct
    tally.confusion[0, 0] = 100
    difference = Difference(0.0, low, 1.0, 0, 0, p_holm / 20, p_holm, "")
    return replace(make_point(Cell("x"), tally, None, ("a",), level=level), difference=difference)


def test_of_equal_peaks_the_one_nearest_nominal_is_taken() -> None:
    points = [point(-3.0, 90), point(-1.0, 90), point(0.0, 80), point(2.0, 90)]
    assert find_peak(points, 0.0).level == -1.0
    points[2] = point(0.0, 90)
    peak = find_peak(points, 0.0)
    assert (peak.level, peak.gain, peak.off_nominal) == (0.0, None, False)


@pytest.mark.parametrize(
    ("p_holm", "low", "off"),
    [(0.049, 0.01, True), (0.05, 0.01, False), (0.049, 0.0, False), (0.2, -0.1, False)],
)
def test_a_peak_is_off_nominal_only_when_test_and_interval_agree(
    p_holm: float, low: float, off: bool
) -> None:
    points = [point("as drawn", 80), point("corner", 95, p_holm=p_holm, low=low)]
    peak = find_peak(points, "as drawn")
    assert peak.level == "corner"
    assert peak.off_nominal is off


def test_a_cell_that_two_sweeps_share_counts_as_often_as_it_is_listed() -> None:
    sweep = Sweep("translation", "px", (0.0, 1.0), (("along", "x"),))
    plan = make_plan(Recipe("one", "", 0, (sweep,)), (8, 8))
    twice = replace(plan, sweeps=plan.sweeps * 2)
    labels, zeros = np.zeros(6, np.intp), np.zeros(6)
    nominal, moved = Tally(2), Tally(2)
    right = nominal.add(Answers(labels, None, None), labels, ink_lost=zeros)
    moved.add(Answers(labels + 1, None, None), labels, ink_lost=zeros, nominal_right=right)
    tallies = dict(zip(plan.cells, (nominal, moved), strict=True))
    for planned, times in ((plan, 1), (twice, 2)):
        _, curves = make_curves(planned, tallies, ("a", "b"), floor=0.9)
        assert len(curves) == times
        for curve in curves:
            found = curve.points[1].difference
            assert found is not None
            assert found.p_value == 2 / 2**6
            assert found.p_holm == times * 2 / 2**6


def test_a_recipe_of_nominal_levels_only_has_curves_without_differences() -> None:
    sweep = Sweep("translation", "px", (0.0,), (("along", "x"),))
    plan = make_plan(Recipe("one", "", 0, (sweep,)), (8, 8))
    tally = Tally(1)
    tally.add(Answers(np.zeros(4, np.intp), None, None), np.zeros(4, np.intp), ink_lost=np.zeros(4))
    baseline, curves = make_curves(plan, {plan.cells[0]: tally}, ("a",), floor=0.9)
    assert baseline.accuracy.value == 1.0
    assert curves[0].points[0].difference is None
    assert curves[0].tolerance.open_low
    assert curves[0].tolerance.open_high
