"""Which interval a share carries, and how often each kind holds the truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from gen.core.errors import InkdriftError
from gen.evaluate.intervals import INTERVALS, interval_of, proportions


@pytest.mark.parametrize(
    ("name", "method", "low"),
    [("wilson", "Wilson score", 0.0624), ("clopper-pearson", "Clopper-Pearson", 0.0578)],
)
def test_the_interval_can_be_chosen_by_name(name: str, method: str, low: float) -> None:
    # R. G. Newcombe, Statist. Med. 17 (1998) 857-872, Table I: 15 of 148, methods 3 and 5.
    function, said = interval_of(name)
    assert said == method
    assert round(float(function(15, 148)[0]), 4) == low
    (share,) = proportions(15, 148, interval=name)
    assert (share.method, round(share.low, 4)) == (method, low)


@pytest.mark.parametrize("name", ["wald", "Wilson", "", None, 0.95, ["wilson"]])
def test_an_unknown_interval_is_refused_with_those_that_there_are(name: object) -> None:
    with pytest.raises(InkdriftError, match=r'no such interval(.|\n)*"wilson", "clopper-pearson"'):
        interval_of(name)  # type: ignore[arg-type]


def test_shares_are_plain_numbers() -> None:
    (share,) = proportions(np.int64(3), np.int64(4))
    assert [type(one) for one in (share.correct, share.n, share.value, share.low)] == [
        int,
        int,
        float,
        float,
    ]


def test_no_shares_are_no_shares() -> None:
    assert proportions([], []) == ()


@pytest.mark.parametrize("n", [5, 20, 50, 148])
def test_clopper_and_pearson_never_hold_the_truth_too_seldom_and_wilson_does_on_the_mean(
    n: int,
) -> None:
    # By summing the binomial law (scipy) over all outcomes, for true shares from 1 % to 99 %.
    truths = np.arange(1, 100) / 100
    outcomes = np.arange(n + 1)
    chances = binom.pmf(outcomes, n, truths[:, None])
    holds = {}
    for name, (function, _) in INTERVALS.items():
        low, high = function(outcomes, n)
        inside = (low <= truths[:, None]) & (truths[:, None] <= high)
        holds[name] = (chances * inside).sum(axis=1)
    assert holds["clopper-pearson"].min() >= 0.95
    assert holds["clopper-pearson"].mean() > holds["wilson"].mean()
    # L. D. Brown, T. T. Cai and A. DasGupta, Stat. Sci. 16 (2001) 101-133 have Wilson's mean
    # close to 95 % and single dips well below it (from memory); summed here.
    assert abs(holds["wilson"].mean() - 0.95) < 0.01
    assert holds["wilson"].min() < 0.94
