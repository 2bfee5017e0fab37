"""Blends compared: paired on the same draws, tested on the first, told over all of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import binomtest, bootstrap

from gen.evaluate.answered import Answered
from gen.evaluate.compare import compare
from gen.evaluate.compared import BlendOfCells, Compared

# The difference of two bootstraps' ends by chance: the standard error of a 2.5 % quantile of
# 2,000 draws is 0.06 of the standard error of the mean, which is under 0.03 here.
TWO_BOOTSTRAPS = 6e-3
DRAWS = ("blend-01-draw-1", "blend-01-draw-2", "blend-01-draw-3")
ONE, THREE = BlendOfCells("belt", DRAWS[:1]), BlendOfCells("belt", DRAWS)


def model(right: NDArray[np.bool_], cells: Sequence[str] = ("nominal", *DRAWS)) -> Answered:
    """A model that reads rightly what is said in each cell."""
    labels = np.zeros(right.shape[1], np.uint8)
    return Answered(
        "g", "r", ("pear", "plum"), tuple(cells), np.arange(right.shape[1]), labels,
        (~right).astype(np.uint8), None,
    )  # fmt: skip


def at_random(seed: int, share: float = 0.8, n: int = 200) -> NDArray[np.bool_]:
    """Nominal and three draws; glyphs that are hard are hard in all of them."""
    rng = np.random.default_rng(seed)
    hard = np.random.default_rng(9).normal(size=n)
    read: NDArray[np.bool_] = hard + rng.normal(size=(4, n)) < 2.2 * share
    return read


def compared(*right: NDArray[np.bool_], blend: BlendOfCells = THREE) -> Compared:
    return compare([model(one) for one in right], [], [], [blend])


def test_a_blend_is_tested_once_a_pair_on_its_first_draw() -> None:
    first, second = at_random(1), at_random(2, share=0.3)
    found = compared(first, second)
    assert [cell.cell for cell in found.cells] == ["nominal", DRAWS[0]]
    assert found.tests == 2
    (difference,) = found.cell(DRAWS[0]).differences
    a, b = first[1], second[1]
    only_a, only_b = int((a & ~b).sum()), int((~a & b).sum())
    assert (difference.only_first, difference.only_second) == (only_a, only_b)
    p = binomtest(only_a, only_a + only_b).pvalue
    assert difference.p_value == pytest.approx(p, rel=1e-12)


def test_a_blend_belongs_to_the_family_that_holm_corrects() -> None:
    rng = np.random.default_rng(5)
    first, second = np.ones((4, 100), bool), np.ones((4, 100), bool)
    second[0, rng.permutation(100)[:40]] = False
    second[1, :7] = False  # p = 2 / 2^7 alone, and twice as much if it were the smallest of two
    found = compared(first, second, blend=ONE)
    nominal, drawn = (found.cell(name).differences[0] for name in ("nominal", DRAWS[0]))
    assert nominal.p_holm == 2 * nominal.p_value
    assert drawn.p_holm == drawn.p_value == 2 / 2**7
    # One more blend, read alike, is one more test.
    more = compare(
        [model(first), model(second)],
        [],
        [],
        [ONE, BlendOfCells("barn", DRAWS[1:2])],
    )
    assert more.tests == 3
    assert more.cell(DRAWS[0]).differences[0].p_holm == 2 * 2 / 2**7
    assert more.blends[1].leader is None


def test_over_more_draws_the_difference_is_that_of_scipys_bootstrap_of_glyphs() -> None:
    first, second = at_random(3), at_random(4, share=0.5)
    (blend,) = compared(first, second).blends
    (pair,) = blend.pairs
    assert pair.draws == 3
    assert pair.mean is not None
    gap = first[1:].mean(axis=0) - second[1:].mean(axis=0)
    assert pair.mean.value == pytest.approx(gap.mean(), abs=1e-12)
    theirs = bootstrap(
        (gap,), np.mean, n_resamples=5000, method="percentile", rng=np.random.default_rng(0)
    ).confidence_interval
    np.testing.assert_allclose(
        [pair.mean.low, pair.mean.high], [theirs.low, theirs.high], rtol=0, atol=TWO_BOOTSTRAPS
    )
    for at, right in enumerate((first, second)):
        share = blend.accuracies[at]
        assert share is not None
        assert (share.correct, share.n) == (int(right[1:].sum()), 600)


def test_one_draw_is_told_by_its_cell_alone() -> None:
    found = compared(at_random(3), at_random(4), blend=ONE)
    (blend,) = found.blends
    assert blend.pairs[0].mean is None
    assert blend.accuracies == found.cell(DRAWS[0]).accuracies


@pytest.mark.parametrize(("share", "leader"), [(0.2, 0), (0.8, None)])
def test_the_one_that_is_better_on_the_first_draw_leads(share: float, leader: int | None) -> None:
    assert compared(at_random(3), at_random(4, share=share)).blends[0].leader == leader


def test_draws_that_a_model_failed_at_are_left_out_for_the_pairs_it_is_in() -> None:
    rights = [at_random(seed) for seed in (1, 2, 3)]
    models = [model(rights[0]), model(rights[1][:3], ("nominal", *DRAWS[:2])), model(rights[2])]
    (blend,) = compare(models, [], [], [THREE]).blends
    assert [(pair.first, pair.second, pair.draws) for pair in blend.pairs] == [
        (0, 1, 2), (0, 2, 3), (1, 2, 2),
    ]  # fmt: skip
    assert [share.n for share in blend.accuracies if share] == [600, 400, 600]


def test_a_model_without_answers_to_a_blend_is_in_no_test_of_it() -> None:
    rights = [at_random(seed) for seed in (1, 2)]
    found = compare([model(rights[0]), model(rights[1][:1], ("nominal",))], [], [], [THREE])
    assert found.tests == 1
    (blend,) = found.blends
    assert blend.accuracies[1] is None
    assert (blend.pairs[0].draws, blend.pairs[0].mean, blend.leader) == (0, None, None)
