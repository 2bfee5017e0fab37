"""The statistics agree with scipy's and scikit-learn's on data that nobody picked."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid
from scipy.stats import binom, binomtest, bootstrap, norm
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss, log_loss

from gen.evaluate.answers import Answers
from gen.evaluate.bootstrap import Resampled
from gen.evaluate.confidence import calibration
from gen.evaluate.intervals import clopper_pearson, proportions, wilson_score
from gen.evaluate.multiple import holm
from gen.evaluate.paired import mcnemar_exact, newcombe_paired
from gen.evaluate.percentiles import percentile
from gen.evaluate.results import Calibration
from gen.evaluate.sheet import Record, Row
from gen.evaluate.summary import area, crossings

SAME_SUMS = 1e-12  # the same closed form, summed in another order
SAME_ROOT = 1e-9  # both invert the beta law by iteration
SAME_TAIL = 1e-10  # relative; two ways of summing a binomial tail
SINGLE = 2e-6  # shares are held in single precision, and a loss is steep at small ones
DRAWS = 2000

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
        (lambda: wilson_score(1, 0), "n must be over 0"),
        (lambda: wilson_score(3, 2), "between 0 and n"),
        (lambda: clopper_pearson(-1, 2), "between 0 and n"),
        (lambda: wilson_score(1, 2, confidence=1.0), "confidence must be between 0 and 1"),
        (lambda: mcnemar_exact(-1, 2), "can't be below 0"),
        (lambda: mcnemar_exact([3, -1], 2), "can't be below 0"),
        (lambda: newcombe_paired([3, -1], 1, 4, 0), "can't be below 0"),
        (lambda: newcombe_paired(0, 0, 0, 0), "n must be over 0"),
        (lambda: newcombe_paired(1, -1, 0, 0), "can't be below 0"),
        (lambda: holm([0.1, float("nan")]), "between 0 and 1"),
        (lambda: holm([[0.1]]), "one axis"),
    ],
)
def test_counts_that_make_no_sense_are_refused(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=words):
        call()


def judged(given: np.ndarray, labels: np.ndarray, *, bins: int = 15) -> Calibration:
    """What is said of probabilities (N, C) for classes (N,)."""
    said = given.argmax(axis=1)
    record = Record.of(Answers(said, given.max(axis=1), given), labels, np.zeros(len(labels)))
    assert record.shares is not None
    found = calibration(Row(record.answered, said == labels, *record.shares, 0.0), bins=bins)
    assert found is not None
    return found


@settings(deadline=None, max_examples=50)
@given(st.integers(2, 12), st.integers(1, 300), st.integers(0, 10**6), st.floats(0.05, 5))
def test_brier_score_and_log_loss_agree_with_scikit_learn(
    classes: int, n: int, seed: int, spread: float
) -> None:
    # Its brier_score_loss counts the event of two classes alone, in all versions; for more
    # classes that of each class against the rest adds up to the score of 1950.
    rng = np.random.default_rng(seed)
    given = rng.dirichlet([spread] * classes, n)
    labels = rng.integers(0, classes, n)
    found = judged(given, labels)
    each = [brier_score_loss(labels == k, given[:, k], pos_label=True) for k in range(classes)]
    assert found.brier == pytest.approx(sum(each), abs=SINGLE)
    # Its clipping, where a probability is 0 in single precision, differs from ours.
    if given[np.arange(n), labels].min() > 1e-12:
        known = log_loss(labels, given, labels=list(range(classes)))
        assert found.log_loss == pytest.approx(known, abs=SINGLE)


@settings(deadline=None, max_examples=50)
@given(st.integers(1, 400), st.integers(1, 20), st.integers(0, 10**6))
def test_bins_agree_with_scikit_learns_calibration_curve(n: int, bins: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    sure = 0.5 + rng.random(n) / 2
    right = rng.random(n) < sure
    found = judged(np.stack([sure, 1 - sure], axis=1), np.where(right, 0, 1), bins=bins)
    share, mean = calibration_curve(right, sure, n_bins=bins, strategy="uniform")
    assert [one.accuracy.value for one in found.bins] == pytest.approx(share.tolist(), abs=1e-12)
    assert [one.confidence for one in found.bins] == pytest.approx(mean.tolist(), abs=SINGLE)
    weights = np.array([one.n for one in found.bins]) / n
    assert found.ece == pytest.approx((weights * abs(share - mean)).sum(), abs=SINGLE)


@settings(deadline=None, max_examples=50)
@given(st.integers(2, 30), st.integers(0, 10**6))
def test_areas_agree_with_scipys_trapezoids(levels: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    amounts = np.cumsum(0.01 + rng.random(levels)) - 5
    accuracies = rng.random((7, levels))
    known = trapezoid(accuracies, amounts, axis=1) / (amounts[-1] - amounts[0])
    np.testing.assert_allclose(area(amounts, accuracies), known, rtol=0, atol=SAME_SUMS)


@settings(deadline=None)
@given(st.lists(share, min_size=1, max_size=5), st.sampled_from(["wilson", "clopper-pearson"]))
def test_shares_carry_scipys_interval_of_the_name(
    counts: list[tuple[int, int]], interval: str
) -> None:
    method = {"wilson": "wilson", "clopper-pearson": "exact"}[interval]
    got = proportions([k for k, _ in counts], [n for _, n in counts], interval=interval)
    for one, (k, n) in zip(got, counts, strict=True):
        known = binomtest(k, n).proportion_ci(method=method)
        assert (one.correct, one.n, one.value) == (k, n, k / n)
        assert (one.low, one.high) == pytest.approx((known.low, known.high), abs=SAME_ROOT)


def monte_carlo(values: np.ndarray) -> float:
    """Four standard errors of the distance between two 2.5 % ends, each of 2,000 draws.

    The error of a quantile is sqrt(q (1 - q) / draws) over the density there, here that of a
    normal law with the spread of the draws.
    """
    density = norm.pdf(norm.ppf(0.025)) / values.std()
    return float(4 * np.sqrt(2 * 0.025 * 0.975 / DRAWS) / density)


FIGURES = {
    "accuracy": lambda shares: shares[:, 0],
    "difference": lambda shares: shares[:, 1] - shares[:, 0],
    "area": lambda shares: area(np.array([0.0, 1.0, 2.5, 4.0]), shares),
    "level of 0.7": lambda shares: crossings(np.array([0.0, 1.0, 2.5, 4.0]), shares, 0.7),
}


@pytest.mark.parametrize("name", FIGURES)
@pytest.mark.parametrize("n", [60, 400])
def test_intervals_agree_with_scipys_bootstrap_of_the_same_glyphs(name: str, n: int) -> None:
    # scipy.stats.bootstrap, method "percentile", glyphs drawn whole: the same draws of the four
    # levels, another generator and another rule for quantiles.
    rng = np.random.default_rng(n)
    right = rng.random(n) < np.array([[0.95], [0.9], [0.6], [0.3]]) + rng.normal(0, 0.03, n)
    figure = FIGURES[name]
    drawn = Resampled.of(n, draws=DRAWS)
    values = figure(drawn.accuracy(right))
    found = percentile(values, float(figure(right.mean(axis=1)[None])[0]), drawn.method)
    known = bootstrap(
        (np.arange(n),),
        lambda picks: figure(right[:, picks].mean(axis=1)[None])[0],
        n_resamples=DRAWS,
        vectorized=False,
        method="percentile",
        random_state=rng,
    ).confidence_interval
    step = 1 / n if name in ("accuracy", "difference") else 0.0  # a share moves by whole glyphs
    allowed = monte_carlo(values) + step
    assert allowed < values.std(), "the comparison can tell a wrong interval"
    assert (found.low, found.high) == pytest.approx((known.low, known.high), abs=allowed)
