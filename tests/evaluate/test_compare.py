"""Models against each other: paired, corrected, found where planted and nowhere else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.stats import binomtest, bootstrap

from gen.core.errors import InkdriftError
from gen.evaluate.answered import Answered
from gen.evaluate.compare import compare
from gen.evaluate.compared import Compared, GridOfCells, PairDifference, SweepOfCells
from gen.evaluate.results import Side
from gen.evaluate.winning import ALPHA, leader, winner

SAME = 1e-12  # both are sums of binomial probabilities, taken in another order
TENTH = 6e-11  # ten decimals were kept
PRINTED = 5e-5 + 1e-9  # half of the fourth decimal, the last that the table prints
# Ends of two bootstraps of 2,000 and 5,000 draws differ by chance: a few times the
# standard error of a 2.5 % quantile, sqrt(0.025 * 0.975 / 2000) / 0.058 = 0.06 of the
# standard error of the mean, which is 0.0105 here.
TWO_BOOTSTRAPS = 4e-3

Bools = NDArray[np.bool_]


def model(
    right: Sequence[Bools] | NDArray[np.bool_],
    cells: Sequence[str],
    *,
    indices: NDArray[np.int64] | None = None,
    writers: NDArray[np.int64] | None = None,
) -> Answered:
    """A model that reads rightly what is said and takes everything else for another class."""
    read = np.asarray(right)
    n = read.shape[1]
    labels = (np.arange(n) % 3).astype(np.uint8)
    return Answered(
        glyphs_digest="g" * 64,
        recipe_digest="r" * 64,
        classes=("pear", "plum", "quince"),
        cells=tuple(cells),
        indices=np.arange(n) if indices is None else indices,
        labels=labels,
        answers=np.where(read, labels, (labels + 1) % 3).astype(np.uint8),
        writers=writers,
    )


def sweep(title: str, cells: Sequence[str]) -> SweepOfCells:
    """Levels 0, 1, 2 ..., nominal first."""
    levels = tuple(float(at) for at in range(len(cells)))
    return SweepOfCells(Side("blur", "px", 0.0, (), title, levels), tuple(cells))


def from_counts(both: int, only_first: int, only_second: int, neither: int) -> tuple[Bools, Bools]:
    """What two models read rightly, with these counts."""
    n = (both, only_first, only_second, neither)
    return np.repeat([True, True, False, False], n), np.repeat([True, False, True, False], n)


def only(found: Compared) -> PairDifference:
    (cell,) = found.cells
    (difference,) = cell.differences
    return difference


# R. G. Newcombe, Statist. Med. 17 (1998) 2635-2650, Table III, method 10.
@pytest.mark.parametrize(
    ("counts", "printed"),
    [((36, 12, 2, 0), (0.0569, 0.3404)), ((20, 12, 2, 16), (0.0562, 0.3292))],
)
def test_a_difference_has_the_interval_of_newcombes_table(
    counts: tuple[int, int, int, int], printed: tuple[float, float]
) -> None:
    first, second = from_counts(*counts)
    found = only(compare([model([first], ["nominal"]), model([second], ["nominal"])], []))
    np.testing.assert_allclose([found.low, found.high], printed, rtol=0, atol=PRINTED)
    assert found.value == 10 / 50
    assert (found.only_first, found.only_second) == counts[1:3]


# D. G. Altman, D. Machin, T. N. Bryant and M. J. Gardner, Statistics with Confidence (2000),
# Table 6.2, p. 52, whose text gives the interval as 0.011 to 0.226; p is 2 / 2^5. A. Agresti,
# Categorical Data Analysis (1990), p. 350: the approval ratings; p from scipy and statsmodels.
@pytest.mark.parametrize(
    ("counts", "value", "ends", "p"),
    [
        ((14, 5, 0, 22), 0.1219512195, (0.0114832414, 0.2264926844), 0.0625),
        ((794, 150, 86, 570), 0.04, (0.0212304240, 0.0587038729), 3.7159361395713866e-05),
    ],
)
def test_published_tables_give_their_difference_interval_and_test(
    counts: tuple[int, int, int, int], value: float, ends: tuple[float, float], p: float
) -> None:
    first, second = from_counts(*counts)
    found = only(compare([model([first], ["nominal"]), model([second], ["nominal"])], []))
    np.testing.assert_allclose(
        [found.value, found.low, found.high], [value, *ends], rtol=0, atol=TENTH
    )
    assert found.p_value == pytest.approx(p, rel=1e-10)


def test_a_difference_worked_out_by_hand() -> None:
    """Ten disagreements, nine one way: p = 2 (1 + 10) / 2^10."""
    first, second = from_counts(50, 9, 1, 40)
    found = compare([model([first], ["nominal"]), model([second], ["nominal"])], [])
    assert only(found).p_value == pytest.approx(22 / 1024, rel=SAME)
    assert only(found).p_holm == only(found).p_value  # one test needs no correction
    assert [part.correct for part in found.cells[0].accuracies if part] == [59, 51]
    assert found.counts == (34, 33, 33)
    assert winner(only(found)) == 0


@settings(max_examples=100)
@given(seed=st.integers(0, 2**32 - 1), n=st.integers(1, 200), kept=st.floats(0, 1))
def test_every_p_value_is_that_of_scipys_binomial_test(seed: int, n: int, kept: float) -> None:
    rng = np.random.default_rng(seed)
    cells = ["nominal", "a", "b"]
    reads = [rng.random((3, n)) < kept, rng.random((3, n)) < 0.7, rng.random((3, n)) < 0.5]
    found = compare([model(read, cells) for read in reads], [sweep("blur", cells)])
    for at, cell in enumerate(found.cells):
        assert [(d.first, d.second) for d in cell.differences] == [(0, 1), (0, 2), (1, 2)]
        for difference in cell.differences:
            a, b = reads[difference.first][at], reads[difference.second][at]
            won, lost = int((a & ~b).sum()), int((~a & b).sum())
            p = binomtest(won, won + lost).pvalue if won + lost else 1.0
            assert difference.p_value == pytest.approx(min(p, 1.0), rel=1e-9)
            assert difference.value == pytest.approx(a.mean() - b.mean(), abs=SAME)
            assert difference.low <= difference.value <= difference.high


def test_a_model_against_itself_differs_nowhere() -> None:
    cells = ["nominal", "a", "b"]
    one = model(np.random.default_rng(1).random((3, 500)) < 0.8, cells)
    found = compare([one, one], [sweep("blur", cells)])
    assert {d.p_holm for cell in found.cells for d in cell.differences} == {1.0}
    (pair,) = found.sweeps[0].pairs
    assert (pair.first_better, pair.second_better, found.sweeps[0].leader) == ((), (), None)
    assert pair.mean is not None
    assert (pair.mean.low, pair.mean.value, pair.mean.high) == (0.0, 0.0, 0.0)


def test_a_planted_difference_is_found_exactly_at_its_levels() -> None:
    rng = np.random.default_rng(4)
    cells = ["nominal", "a", "b", "c", "d"]
    first = rng.random((5, 1000)) < 0.9
    second = first.copy()
    second[2] &= rng.random(1000) < 0.9  # worse at level 2 and level 3, and better at 4
    second[3] &= rng.random(1000) < 0.7
    second[4] |= rng.random(1000) < 0.8
    # Everywhere else the two trade a few glyphs, as two runs of a training do.
    for at in (0, 1):
        second[at, :6] = ~first[at, :6]
    other = [sweep("noise", ["nominal", "a"])]
    found = compare([model(first, cells), model(second, cells)], [sweep("blur", cells), *other])
    (pair,) = found.sweeps[0].pairs
    assert pair.first_better == (2.0, 3.0)
    assert pair.second_better == (4.0,)
    assert found.sweeps[0].leader is None  # each is better somewhere
    (quiet,) = found.sweeps[1].pairs
    assert (quiet.first_better, quiet.second_better) == ((), ())


def test_holms_family_is_every_pair_in_every_cell_once() -> None:
    rng = np.random.default_rng(8)
    cells = ["nominal", "a", "b", "c"]
    reads = [rng.random((4, 60)) < share for share in (0.9, 0.75, 0.6)]
    # Nominal and "a" stand in both sweeps, "c" in a grid alone.
    sweeps = [sweep("blur", ["nominal", "a", "b"]), sweep("noise", ["nominal", "a"])]
    side = sweeps[0].side
    grid = GridOfCells(
        "blur by blur", replace(side, levels=(0.0,)), replace(side, levels=(0.0, 1.0)),
        (("nominal", "c"),),
    )  # fmt: skip
    found = compare([model(read, cells) for read in reads], sweeps, [grid])
    assert [cell.cell for cell in found.cells] == cells
    assert found.tests == 4 * 3
    every = [d for cell in found.cells for d in cell.differences]
    # Holm's rule, written out anew: the k-th smallest of m is multiplied by m - k + 1.
    largest = 0.0
    for k, difference in enumerate(sorted(every, key=lambda d: d.p_value)):
        largest = max(largest, (12 - k) * difference.p_value)
        assert difference.p_holm == pytest.approx(min(1.0, largest), rel=SAME)
    first_by_third = [d for cell in ("nominal", "c") for d in found.cell(cell).differences]
    won = [winner(d) for d in first_by_third if (d.first, d.second) == (0, 2)]
    assert won.count(0) > 0
    assert found.grids[0].better[1] == (0, 2, won.count(0), won.count(2))


def test_equal_models_are_told_apart_in_one_comparison_of_twenty_at_most() -> None:
    """Two that are right as often and on other glyphs; 200 comparisons of 10 cells each."""
    rng = np.random.default_rng(12)
    cells = ["nominal", *"abcdefghi"]
    alarms = 0
    for _ in range(200):
        skill = rng.uniform(0.5, 0.95, (10, 1))
        pair = [model(rng.random((10, 80)) < skill, cells) for _ in range(2)]
        found = compare(pair, [sweep("blur", cells)])
        assert found.tests == 10
        alarms += any(winner(d) is not None for cell in found.cells for d in cell.differences)
    assert alarms <= ALPHA * 200


def test_the_mean_over_a_sweep_leaves_nominal_aside() -> None:
    first = np.array([[True] * 10, [True] * 10, [True] * 10])
    second = np.array([[False] * 10, [True] * 5 + [False] * 5, [True] * 10])
    cells = ["nominal", "a", "b"]
    found = compare([model(first, cells), model(second, cells)], [sweep("blur", cells)])
    (pair,) = found.sweeps[0].pairs
    assert pair.mean is not None
    assert pair.mean.value == 0.25
    assert found.sweeps[0].means == (1.0, 0.75)


def test_the_interval_of_a_mean_is_that_of_scipys_bootstrap() -> None:
    rng = np.random.default_rng(3)
    cells = ["nominal", "a", "b", "c"]
    first, second = rng.random((4, 600)) < 0.85, rng.random((4, 600)) < 0.75
    found = compare([model(first, cells), model(second, cells)], [sweep("blur", cells)])
    mean = found.sweeps[0].pairs[0].mean
    each = first[1:].mean(axis=0) - second[1:].mean(axis=0)
    theirs = bootstrap(
        (each,), np.mean, method="percentile", n_resamples=5000, rng=np.random.default_rng(1)
    ).confidence_interval
    assert mean is not None
    assert mean.value == pytest.approx(each.mean(), abs=SAME)
    assert mean.low == pytest.approx(theirs.low, abs=TWO_BOOTSTRAPS)
    assert mean.high == pytest.approx(theirs.high, abs=TWO_BOOTSTRAPS)


def test_where_people_wrote_many_glyphs_each_whole_writers_are_drawn() -> None:
    rng = np.random.default_rng(6)
    writers = np.repeat(np.arange(20), 30)
    first = np.ones((2, 600), bool)
    second = np.stack([np.ones(600, bool), np.repeat(rng.random(20) < 0.6, 30)])
    cells, width = ["nominal", "a"], []
    for who in (None, writers):
        pair = [model(read, cells, writers=who) for read in (first, second)]
        found = compare(pair, [sweep("blur", cells)])
        mean = found.sweeps[0].pairs[0].mean
        assert found.drawn == ("glyphs" if who is None else "writers")
        assert mean is not None
        assert mean.low is not None
        assert mean.high is not None
        width.append(mean.high - mean.low)
    assert width[1] > 3 * width[0]  # a writer's 30 glyphs stand or fall together


# Who leads


def difference(first: int, second: int, value: float, p_holm: float) -> PairDifference:
    return PairDifference(first, second, value, value, value, 0, 0, p_holm, p_holm)


@pytest.mark.parametrize(
    ("differences", "leads"),
    [
        ([difference(0, 1, 0.1, 0.01)], 0),
        ([difference(0, 1, -0.1, 0.01)], 1),
        ([difference(0, 1, 0.1, 0.05)], None),
        ([difference(0, 1, 0.1, 0.01), difference(0, 1, -0.1, 0.01)], None),
        # better than one of two is not better than each
        ([difference(0, 1, 0.1, 0.01), difference(0, 2, 0.1, 0.2)], None),
        ([difference(0, 1, 0.1, 0.01), difference(0, 2, 0.1, 0.01)], 0),
        # round in a ring
        ([difference(0, 1, 1, 0), difference(1, 2, 1, 0), difference(0, 2, -1, 0)], None),
    ],
)
def test_a_leader_is_better_than_each_somewhere_and_worse_than_none(
    differences: list[PairDifference], leads: int | None
) -> None:
    assert leader(differences, 1 + max(d.second for d in differences)) == leads


def test_being_better_at_nominal_alone_leads_in_no_sweep() -> None:
    good, bad = np.ones((2, 100), bool), np.ones((2, 100), bool)
    bad[0, :50] = False
    cells = ["nominal", "a"]
    found = compare([model(good, cells), model(bad, cells)], [sweep("blur", cells)])
    assert winner(found.cells[0].differences[0]) == 0
    assert found.sweeps[0].leader is None


# What can't be paired


def test_only_glyphs_that_every_model_was_scored_on_are_paired() -> None:
    full = model([np.arange(9) < 6], ["nominal"])
    keep = np.array([0, 2, 3, 7, 8])
    part = replace(
        model([np.ones(5, bool)], ["nominal"], indices=keep),
        labels=full.labels[keep],
        answers=full.labels[None, keep],
    )
    found = compare([full, part], [])
    assert (found.glyphs, found.missing) == (5, (4, 0))
    assert [part.correct for part in found.cells[0].accuracies if part] == [3, 5]
    assert (only(found).only_first, only(found).only_second) == (0, 2)


def test_a_cell_that_a_model_failed_in_is_in_no_test_of_it() -> None:
    cells = ["nominal", "a"]
    rng = np.random.default_rng(2)
    reads = [rng.random((2, 50)) < 0.7 for _ in range(3)]
    models = [model(read, cells) for read in reads]
    models[1] = model(reads[1][:1], cells[:1])
    found = compare(models, [sweep("blur", cells)])
    assert found.tests == 3 + 1
    assert found.cell("a").accuracies[1] is None
    assert [(d.first, d.second) for d in found.cell("a").differences] == [(0, 2)]
    assert found.sweeps[0].means is None
    assert [pair.mean is None for pair in found.sweeps[0].pairs] == [True, False, True]


RIGHT = np.ones((1, 6), bool)
ONE = model(RIGHT, ["nominal"])
UNLIKE = {
    "another recipe": (replace(ONE, recipe_digest="f" * 64), r"not of one recipe(.|\n)*fffffff"),
    "other glyphs": (replace(ONE, glyphs_digest="e" * 64), r"not of one set of glyphs(.|\n)*count"),
    "other classes": (replace(ONE, classes=("a", "b", "c")), "their classes differ"),
    "no glyph in common": (replace(ONE, indices=np.arange(6) + 6), "no glyph was scored for all"),
    "other labels": (replace(ONE, labels=(ONE.labels + 1) % 3), "the true classes differ"),
}


@pytest.mark.parametrize(("other", "says"), UNLIKE.values(), ids=UNLIKE)
def test_what_can_not_be_compared_is_refused_and_why(other: Answered, says: str) -> None:
    with pytest.raises(InkdriftError, match=rf"old and new: (.|\n)*{says}"):
        compare([ONE, other], [], names=["old", "new"])


def test_one_model_is_no_comparison() -> None:
    with pytest.raises(InkdriftError, match="it takes two models"):
        compare([ONE], [])


def test_a_model_that_one_writer_alone_prefers_is_not_called_better() -> None:
    # Six writers of 20 glyphs; the second model misreads all of one writer's, and no other.
    wrote = np.repeat(np.arange(6), 20)
    pair = (np.ones((1, 120), np.bool_), (wrote > 0)[None])
    alone, known = (
        compare([model(right, ["nominal"], writers=who) for right in pair], [])
        for who in (None, wrote)
    )
    assert winner(only(alone)) == 0
    assert winner(only(known)) is None
    assert known.cells[0].accuracies[1] is not None
    assert known.cells[0].accuracies[1].method == "Wilson score, widened for writers"


def test_writers_stay_with_their_glyphs_where_models_left_some_out() -> None:
    wrote = np.repeat(np.arange(6), 20)
    kept = np.flatnonzero(np.arange(120) % 20 != 7)
    rng = np.random.default_rng(8)
    right = rng.random((2, 120)) < 0.7
    whole = model(right[:1], ["nominal"], writers=wrote)
    part = model(right[1:, kept], ["nominal"], indices=kept.astype(np.int64), writers=wrote[kept])
    labels = (np.arange(120) % 3).astype(np.uint8)[kept]
    answers = np.where(right[1:, kept], labels, (labels + 1) % 3).astype(np.uint8)
    found = compare([whole, replace(part, labels=labels, answers=answers)], [])
    shared = [
        replace(
            model(one[None], ["nominal"], writers=wrote[kept]),
            labels=labels,
            answers=np.where(one, labels, (labels + 1) % 3).astype(np.uint8)[None],
        )
        for one in right[:, kept]
    ]
    assert only(found) == only(compare(shared, []))
