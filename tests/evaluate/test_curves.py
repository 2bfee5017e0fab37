"""Tallies, tolerance, and where a curve peaks."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from sklearn.metrics import confusion_matrix

from gen.evaluate.answers import Answers
from gen.evaluate.curves import Reach, find_peak, make_curve
from gen.evaluate.family import Family
from gen.evaluate.points import Points
from gen.evaluate.results import Difference, Point
from gen.evaluate.sheet import Row, Sheet
from gen.evaluate.tally import tally
from gen.evaluate.tolerance import tolerance
from gen.recipe.model import Level, Recipe, Sweep
from gen.render.plan import make_plan

EXACT = 1e-12  # straight lines between decimal fractions
SINGLE = 1e-6  # a sheet holds shares in single precision


def row_of(said: Any, labels: Any, confidence: Any = None, lost: float = 0.0) -> Row:
    answered = np.asarray(said, np.int16)
    sure = None if confidence is None else np.asarray(confidence, np.float32)
    return Row(answered, answered == labels, sure, sure, sure, lost)


def sheet_of(classes: tuple[str, ...], labels: Any, **cells: Any) -> Sheet:
    """An answer sheet by the answers in each cell, nominal first."""
    truth = np.asarray(labels, np.intp)
    sheet = Sheet(list(cells), truth, writers=None, classes=classes)
    for name, said in cells.items():
        answers = Answers(np.asarray(said, np.intp), None, None)
        sheet.fill(name, np.arange(len(truth)), answers, ink_lost=np.zeros(len(truth)))
    return sheet


def points_of(sheet: Sheet, *asked: str) -> Points:
    family = Family(sheet)
    for cell in asked:
        family.ask(cell, sheet.cells[0])
    family.settle()
    return Points(sheet, family)


def test_a_tally_counts_as_a_confusion_matrix_does(rng: np.random.Generator) -> None:
    labels, said = rng.integers(0, 5, 1000), rng.integers(0, 5, 1000)
    confidence = rng.random(1000)
    counts = tally(row_of(said, labels, confidence, 0.25), labels, classes=5)
    right = said == labels
    assert (counts.n, counts.correct, counts.ink_lost) == (1000, right.sum(), 0.25)
    # scikit-learn's confusion matrix as the outside count
    whole = confusion_matrix(labels, said)
    np.testing.assert_array_equal(counts.confusion, whole)
    np.testing.assert_array_equal(counts.class_counts, np.bincount(labels))
    np.testing.assert_array_equal(counts.class_correct, np.bincount(labels[right]))
    assert counts.confidence_right == pytest.approx(confidence[right].mean(), rel=SINGLE)
    assert counts.confidence_wrong == pytest.approx(confidence[~right].mean(), rel=SINGLE)
    for true, answered, times in counts.misread:
        assert true != answered
        assert times == whole[true, answered]
    assert sum(times for *_, times in counts.misread) == (~right).sum()


def test_a_sheet_filled_in_blocks_is_the_sheet_filled_at_once(rng: np.random.Generator) -> None:
    labels = rng.integers(0, 3, 100)
    given = rng.dirichlet(np.ones(3), 100)
    said, lost = given.argmax(axis=1), rng.random(100)
    sheets = []
    for pieces in (1, 7):
        sheet = Sheet(["nominal"], labels, writers=None, classes=("a", "b", "c"))
        for part in np.array_split(np.arange(100), pieces):
            answers = Answers(said[part], given[part].max(axis=1), given[part])
            sheet.fill("nominal", part, answers, ink_lost=lost[part])
        sheet.leave_out(np.array([3, 50]))
        sheets.append(sheet.row("nominal"))
    first, second = sheets
    np.testing.assert_array_equal(first.answered, second.answered)
    np.testing.assert_array_equal(first.squared, second.squared)
    kept = np.delete(np.arange(100), [3, 50])
    truth = np.eye(3)[labels]
    np.testing.assert_allclose(
        first.squared, ((given - truth) ** 2).sum(axis=1)[kept], rtol=SINGLE, atol=SINGLE
    )
    np.testing.assert_allclose(first.true_share, given[kept, labels[kept]], rtol=SINGLE)
    assert first.ink_lost == pytest.approx(lost.sum() / 98)


def test_a_point_carries_means_and_leaves_out_classes_without_glyphs() -> None:
    labels = np.array([0, 0, 0, 2])
    sheet = Sheet(["nominal"], labels, writers=None, classes=("a", "b", "c"))
    given = np.array([[0.9, 0.1, 0], [0.7, 0.3, 0], [0.4, 0, 0.6], [0.2, 0, 0.8]])
    answers = Answers(given.argmax(axis=1), given.max(axis=1), given)
    sheet.fill("nominal", np.arange(4), answers, ink_lost=np.array([0.0, 0.5, 0.5, 0.0]))
    point = points_of(sheet).point("nominal")
    assert (point.accuracy.correct, point.accuracy.n) == (3, 4)
    assert [(one.name, one.accuracy.value) for one in point.per_class] == [("a", 2 / 3), ("c", 1)]
    assert point.confidence_right == pytest.approx(0.8, rel=SINGLE)
    assert point.confidence_wrong == pytest.approx(0.6, rel=SINGLE)
    assert point.ink_lost == 0.25
    assert point.difference is None
    assert point.misread == ((0, 2, 1),)
    assert point.calibration is not None


def test_labels_alone_give_no_confidence() -> None:
    point = points_of(sheet_of(("a", "b"), [0, 0], nominal=[0, 1])).point("nominal")
    assert point.confidence_right is None
    assert point.confidence_wrong is None
    assert point.calibration is None


def test_the_interval_is_the_one_that_was_asked_for() -> None:
    sheet = sheet_of(("a",), np.zeros(20, int), nominal=np.zeros(20, int))
    family = Family(sheet)
    share = Points(sheet, family, "clopper-pearson").point("nominal").accuracy
    # 1 - 0.025^(1/20) below: Newcombe, Statist. Med. 17 (1998) 857-872, table I, 0 of 20
    assert (share.low, share.high) == (pytest.approx(1 - 0.1684, abs=5e-5), 1.0)
    assert share.method == "Clopper-Pearson"


def test_a_difference_is_that_of_the_fourfold_table() -> None:
    # Agresti (1990) p. 350: 794 right at both, 150 at the level only, 86 at nominal only.
    here = np.repeat([1, 1, 0, 0], [794, 150, 86, 570])
    before = np.repeat([1, 0, 1, 0], [794, 150, 86, 570])
    sheet = sheet_of(("a", "b"), np.ones(1600, int), nominal=before, x=here)
    found = points_of(sheet, "x").point("x").difference
    assert found is not None
    assert (found.only_level, found.only_nominal) == (150, 86)
    assert found.value == pytest.approx(0.04)
    assert found.p_value == pytest.approx(3.7159361395713866e-05, rel=1e-10)
    assert (found.low, found.high) == pytest.approx((0.0212304240, 0.0587038729), abs=1e-10)


def test_a_difference_that_is_told_twice_counts_twice_in_the_correction() -> None:
    sheet = sheet_of(("a", "b"), np.zeros(12, int), nominal=[0] * 12, x=[1] * 6 + [0] * 6)
    for asked in (("x",), ("x", "x"), ("x", "x", "x")):
        found = points_of(sheet, *asked).point("x").difference
        assert found is not None
        assert found.p_value == 2 / 2**6
        assert found.p_holm == len(asked) * found.p_value


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
        ([-10, 0, 10], [0.95, 1.0, 0.95], 0, (-10, 10, False, False)),
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
    # From a nominal of 8, where the lines meet 0.5 at 4.73 and at 12.5.
    got = tolerance(
        [2.0, 5.0, 8.0, 11.0, 14.0], [0.0, 0.55, 1.0, 1.0, 0.0], nominal=8.0, floor=0.5, whole=True
    )
    assert (got.low, got.high) == (5.0, 12.0)


def test_names_give_the_list_of_those_that_hold() -> None:
    names: list[Level] = ["as drawn", "corner", "centre"]
    got = tolerance(names, [0.95, 0.3, 0.9], nominal="as drawn", floor=0.9)
    assert got.levels == ("as drawn", "centre")
    assert (got.low, got.high) == (None, None)
    assert (got.open_low, got.open_high) == (False, False)


def point(level: Level, correct: int, *, p_holm: float = 1.0, low: float = -1.0) -> Point:
    said = np.arange(100) >= correct
    made = points_of(sheet_of(("a", "b"), np.zeros(100, int), nominal=said)).point("nominal")
    difference = Difference(0.0, low, 1.0, 0, 0, p_holm / 20, p_holm, "")
    return replace(made, level=level, difference=difference)


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


@pytest.mark.parametrize(
    ("levels", "nominal", "peak"),
    [
        (("corner", "as drawn", "centre"), "as drawn", "as drawn"),
        ((0.0, 1.5), 1.0, 1.5),
        ((-1.5, 2.0), 0.0, -1.5),
    ],
)
def test_of_levels_as_high_the_one_nearest_to_nominal_is_the_peak(
    levels: tuple[Level, ...], nominal: Level, peak: Level
) -> None:
    points = [point(level, 80) for level in levels]
    assert find_peak(points, nominal).level == peak


def test_a_recipe_of_nominal_levels_only_has_curves_without_differences() -> None:
    sweep = Sweep("translation", "px", (0.0,), (("along", "x"),))
    plan = make_plan(Recipe("one", "", 0, (sweep,)), (8, 8))
    points = points_of(sheet_of(("a",), np.zeros(4, int), nominal=np.zeros(4, int)))
    reach = Reach.of(plan.sweeps[0], {}, frame=plan.frame)
    curve = make_curve(plan.sweeps[0], points, reach=reach, floor=0.9)
    assert curve.points[0].accuracy.value == 1.0
    assert curve.points[0].difference is None
    assert curve.tolerance.open_low
    assert curve.tolerance.open_high


def test_levels_where_the_model_failed_are_not_in_the_curve() -> None:
    sweep = Sweep("translation", "px", (0.0, 1.0, 2.0), (("along", "x"),))
    plan = make_plan(Recipe("one", "", 0, (sweep,)), (8, 8))
    right = np.zeros(4, int)
    names = [cell.name for cell in plan.cells]
    sheet = sheet_of(("a",), right, **dict.fromkeys(names, right))
    sheet.fail(names[1], "the lamp went out")
    reach = Reach.of(plan.sweeps[0], sheet.failed, frame=plan.frame)
    curve = make_curve(plan.sweeps[0], points_of(sheet, names[2]), reach=reach, floor=0.9)
    assert [point.level for point in curve.points] == [0.0, 2.0]
    # All is read rightly where it is answered, and yet the range ends before the hole.
    kept = curve.tolerance
    assert (kept.low, kept.open_low, kept.high, kept.open_high) == (0.0, True, 0.0, False)
    whole = Reach.of(plan.sweeps[0], (), frame=plan.frame)
    answered = sheet_of(("a",), right, **dict.fromkeys(names, right))
    kept = make_curve(
        plan.sweeps[0], points_of(answered, *names[1:]), reach=whole, floor=0.9
    ).tolerance
    assert (kept.low, kept.open_low, kept.high, kept.open_high) == (0.0, True, 2.0, True)


def test_names_have_no_order_in_which_one_could_lie_behind_another() -> None:
    sweep = Sweep("placement", "rule", ("top", "left", "right"), ())
    planned = make_plan(Recipe("one", "", 0, (sweep,)), (8, 8)).sweeps[0]
    lost = [planned.cells[planned.levels.index("left")].name]
    reach = Reach.of(planned, lost, frame=(8, 8))
    assert (reach.first, reach.last) == (0, len(planned.levels) - 2)


@pytest.mark.parametrize(
    ("failed", "first", "last", "limits"),
    [
        ((), 0, 4, (-7.0, 7.0)),
        ((-2.0,), 0, 3, (-1.0, 7.0)),
        ((-1.0, 2.0), 1, 2, (0.0, 1.0)),
        ((-1.0, 1.0), 1, 1, (0.0, 0.0)),
        ((-2.0, -1.0), 0, 2, (0.0, 7.0)),
    ],
)
def test_a_range_reaches_to_the_next_level_that_failed(
    failed: tuple[float, ...], first: int, last: int, limits: tuple[float, float]
) -> None:
    sweep = Sweep("translation", "px", (-2.0, -1.0, 0.0, 1.0, 2.0), (("along", "x"),))
    planned = make_plan(Recipe("one", "", 0, (sweep,)), (8, 8)).sweeps[0]
    lost = [
        cell.name
        for level, cell in zip(planned.levels, planned.cells, strict=True)
        if level in failed
    ]
    assert Reach.of(planned, lost, frame=(8, 8)) == Reach(first, last, limits)
