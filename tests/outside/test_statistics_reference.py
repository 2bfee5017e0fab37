"""The statistics agree with scipy's on counts that nobody picked."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from gen.evaluate.intervals import clopper_pearson, wilson_score
from gen.evaluate.multiple import holm
from gen.evaluate.paired import mcnemar_exact, newcombe_paired

SAME_SUMS = 1e-12  # the same closed form, summed in another order
SAME_ROOT = 1e-9  # both invert the beta law by iteration
SAME_TAIL = 1e-10  # relative; two ways of summing a binomial tail

share = st.integers(1, 5000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
level = st.sampled_from([0.8, 0.9, 0.95, 0.99])


@settings(deadline=None)
@given(share, level)
def test_wilson_agrees_with_scipy(counts: tuple[int, int], confidence: float) -> None:
    k, n = counts
    known = binomtest(k, n).proportion_ci(confidence, method="wilson")
    got = wilson_score(k, n, confidence=confidence)
    np.testing.assert_allclose(got, (known.low, known.high), rtol=0, atol=SAME_SUMS)


@settings(deadline=None)
@given(share, level)
def test_clopper_pearson_agrees_with_scipy(counts: tuple[int, int], confidence: float) -> None:
    k, n = counts
    known = binomtest(k, n).proportion_ci(confidence, method="exact")
    got = clopper_pearson(k, n, confidence=confidence)
    np.testing.assert_allclose(got, (known.low, known.high), rtol=0, atol=SAME_ROOT)


@settings(deadline=None)
@given(st.integers(0, 3000), st.integers(0, 3000))
def test_mcnemars_exact_test_is_scipys_test_of_a_fair_coin(b: int, c: int) -> None:
    known = binomtest(b, b + c).pvalue if b + c else 1.0
    assert float(mcnemar_exact(b, c)) == pytest.approx(known, rel=SAME_TAIL, abs=1e-300)


@settings(deadline=None)
@given(share)
def test_a_share_and_its_complement_have_mirrored_intervals(counts: tuple[int, int]) -> None:
    k, n = counts
    for interval in (wilson_score, clopper_pearson):
        low, high = interval(k, n)
        mirrored = interval(n - k, n)
        np.testing.assert_allclose((1 - high, 1 - low), mirrored, rtol=0, atol=SAME_ROOT)


@settings(deadline=None)
@given(st.lists(st.integers(0, 400), min_size=4, max_size=4).filter(any))
def test_swapping_the_pair_mirrors_the_paired_interval(counts: list[int]) -> None:
    a, b, c, d = counts
    low, high = newcombe_paired(a, b, c, d)
    swapped = newcombe_paired(a, c, b, d)
    np.testing.assert_allclose((-high, -low), swapped, rtol=0, atol=SAME_SUMS)
    assert -1 <= low <= (b - c) / (a + b + c + d) <= high <= 1


@settings(deadline=None)
@given(st.integers(1, 10**6), st.floats(0.5, 0.999))
def test_the_ends_are_exactly_nought_and_one_at_the_ends(n: int, confidence: float) -> None:
    for interval in (wilson_score, clopper_pearson):
        low, high = interval(np.array([0, n]), n, confidence=confidence)
        assert low[0] == 0.0
        assert high[1] == 1.0
        assert high[0] > 0.0
        assert low[1] < 1.0


# Coverage by summing the binomial law; 0.9568 and 0.9372 recomputed with scipy 1.17.
@pytest.mark.parametrize(("n", "p", "coverage"), [(20, 0.9, 0.9568), (50, 0.97, 0.9372)])
def test_wilson_covers_the_truth_as_often_as_it_is_known_to(
    n: int, p: float, coverage: float
) -> None:
    k = np.arange(n + 1)
    low, high = wilson_score(k, n)
    covered = binom.pmf(k, n, p)[(low <= p) & (p <= high)].sum()
    assert covered == pytest.approx(coverage, abs=5e-5)


@settings(deadline=None)
@given(st.lists(st.floats(0, 1), min_size=1, max_size=40))
def test_holm_steps_down_as_the_definition_says(p_values: list[float]) -> None:
    # Written out from the definition: the j-th smallest of m times (m - j + 1), running maximum.
    order = sorted(range(len(p_values)), key=lambda i: p_values[i])
    largest, slow = 0.0, [0.0] * len(p_values)
    for rank, i in enumerate(order):
        largest = max(largest, min(1.0, (len(p_values) - rank) * p_values[i]))
        slow[i] = largest
    fast = holm(p_values)
    np.testing.assert_allclose(fast, slow, rtol=0, atol=SAME_SUMS)
    ranked = fast[np.argsort(p_values, kind="stable")]
    assert all(first <= second for first, second in pairwise(ranked))


def test_counts_given_as_arrays_give_what_they_give_one_by_one() -> None:
    k, n = np.array([0, 3, 9, 10]), 10
    np.testing.assert_array_equal(
        np.array(wilson_score(k, n)).T, [wilson_score(int(one), n) for one in k]
    )
    np.testing.assert_array_equal(mcnemar_exact(k, 4), [mcnemar_exact(int(one), 4) for one in k])


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: wilson_score(1, 0), "n must be at least 1"),
        (lambda: wilson_score(3, 2), "between 0 and n"),
        (lambda: clopper_pearson(-1, 2), "between 0 and n"),
        (lambda: wilson_score(1, 2, confidence=1.0), "confidence must be between 0 and 1"),
        (lambda: mcnemar_exact(-1, 2), "can't be below 0"),
        (lambda: newcombe_paired(0, 0, 0, 0), "n must be at least 1"),
        (lambda: newcombe_paired(1, -1, 0, 0), "can't be below 0"),
        (lambda: holm([0.1, float("nan")]), "between 0 and 1"),
        (lambda: holm([[0.1]]), "one axis"),
    ],
)
def test_counts_that_make_no_sense_are_refused(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=words):
        call()
