"""What is drawn follows the distribution that is stated: held to scipy.stats."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import special, stats

from gen.core.draws import words
from gen.recipe.distributions import usual_step
from gen.recipe.drawn import Discrete, Distribution, Normal, Triangular, Uniform
from gen.render.chances import ALL, Chances, chances
from gen.render.normal_curve import normal_shares

# A busy machine is no fault of the code.
unhurried = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=60)

SHARE = 1e-12  # scipy's own distribution functions are good to a few 1e-16, its tails to 1e-13
DRAWS = 200_000
FALSE_ALARM = 1e-9  # the chance that a right table fails a test of its draws

DRAWN = {
    "normal": (Normal(0.3, 1.2), stats.norm(0.3, 1.2)),
    "narrow normal": (Normal(1.0, 0.05), stats.norm(1.0, 0.05)),
    "uniform": (Uniform(-2.0, 3.0), stats.uniform(-2.0, 5.0)),
    "triangular": (Triangular(-1.0, 0.5, 4.0), stats.triang(0.3, -1.0, 5.0)),
    "triangular, mode at its low end": (Triangular(0.0, 0.0, 1.0), stats.triang(0.0, 0.0, 1.0)),
    "triangular, mode at its high end": (Triangular(0.0, 1.0, 1.0), stats.triang(1.0, 0.0, 1.0)),
}


def table_of(drawn: Distribution) -> tuple[Chances, float]:
    assert not isinstance(drawn, Discrete)
    step = float(usual_step(drawn))
    return chances(drawn, step=step), step


def upper_shares(table: Chances) -> NDArray[np.float64]:
    """The share of draws up to each level, from the table alone."""
    ends = [int(end) for end in table.ends[1:]]
    return np.array(
        [float(Fraction(end, ALL)) for end in ends] + [1.0] * (len(table.levels) - len(ends))
    )


def drawn_levels(table: Chances, count: int = DRAWS, seed: int = 5) -> NDArray[np.float64]:
    some = words(seed, "test of draws", np.arange(count))[:, 0]
    return np.array(table.levels)[table.draw(some)[0]]


def worst_gap(levels: NDArray[np.float64], frozen: stats.rv_continuous, step: float) -> float:
    """Greatest gap between the shares drawn and stated, at the borders between two levels."""
    found, counts = np.unique(levels, return_counts=True)
    return float(np.abs(counts.cumsum() / len(levels) - frozen.cdf(found + step / 2)).max())


def widest_gap(count: int) -> float:
    """What the gap stays under but for the chance of a false alarm.

    Dvoretzky, Kiefer and Wolfowitz (1956) with Massart's constant (1990): a gap over e
    has a chance of at most 2 exp(-2 n e^2), whatever the distribution.
    """
    return math.sqrt(math.log(2 / FALSE_ALARM) / (2 * count))


def test_the_normal_curve_is_scipys() -> None:
    points = np.arange(-9 * 64, 9 * 64 + 1) / 64
    ours = [float(x) for x in normal_shares(Decimal(-9), Decimal("0.015625"), len(points))]
    # scipy.special.ndtr, of the Cephes library; relative, so that the far tail counts too.
    np.testing.assert_allclose(ours, special.ndtr(points), rtol=1e-13)


def test_the_normal_curve_has_its_published_quantiles() -> None:
    # The two-sided 95 % and 99 % points of any table, to the digits of Wichura's
    # algorithm AS 241 (1988), as scipy.special.ndtri has them.
    for share, point in ((0.975, "1.959963984540054"), (0.995, "2.575829303548901")):
        (found,) = normal_shares(Decimal(point), Decimal(1), 1)
        assert abs(float(found) - share) < 1e-15


def test_the_normal_curve_is_the_same_by_any_way_to_a_point() -> None:
    (at_once,) = normal_shares(Decimal("3.7"), Decimal(1), 1)
    *_, in_steps = normal_shares(Decimal(-4), Decimal("0.07"), 111)
    assert abs(at_once - in_steps) < Decimal("1e-30")


@pytest.mark.parametrize("name", DRAWN)
def test_each_level_has_the_share_that_is_nearest_to_it(name: str) -> None:
    drawn, frozen = DRAWN[name]
    table, step = table_of(drawn)
    levels = np.array(table.levels)
    np.testing.assert_allclose(
        upper_shares(table)[:-1], frozen.cdf(levels + step / 2)[:-1], rtol=0, atol=SHARE
    )
    assert table.clipped_share == 0.0
    np.testing.assert_array_equal(np.round(levels / step), levels / step)


@pytest.mark.parametrize("name", DRAWN)
def test_draws_follow_the_distribution(name: str) -> None:
    drawn, frozen = DRAWN[name]
    table, step = table_of(drawn)
    assert worst_gap(drawn_levels(table), frozen, step) < widest_gap(DRAWS)


def test_draws_of_a_slightly_wider_distribution_would_be_found_out() -> None:
    table = chances(Normal(0.3, 1.3), step=1 / 64)
    assert worst_gap(drawn_levels(table), stats.norm(0.3, 1.2), 1 / 64) > widest_gap(DRAWS)


@pytest.mark.parametrize("name", DRAWN)
def test_draws_have_the_moments_of_the_distribution(name: str) -> None:
    drawn, frozen = DRAWN[name]
    table, step = table_of(drawn)
    levels = drawn_levels(table)
    mean, variance, _, kurtosis = (float(m) for m in frozen.stats("mvsk"))
    # Six standard errors; rounding to a step adds step^2 / 12 of variance (Sheppard).
    assert abs(levels.mean() - mean) < 6 * math.sqrt(variance / DRAWS)
    spread = math.sqrt((kurtosis + 2) / DRAWS) * variance
    assert abs(levels.var() - variance - step**2 / 12) < 6 * spread


def test_single_values_come_as_often_as_their_weights_say() -> None:
    table = chances(Discrete(("a", "b", "c"), (1.0, 2.0, 5.0)))
    place, clipped = table.draw(words(1, "weights", np.arange(DRAWS))[:, 0])
    expected = DRAWS * np.array([1, 2, 5]) / 8
    assert stats.chisquare(np.bincount(place), expected).pvalue > FALSE_ALARM
    assert not clipped.any()


def test_whole_numbers_of_a_uniform_distribution_are_equally_likely() -> None:
    table = chances(Uniform(-2.0, 2.0), step=1.0, whole=True)
    assert table.levels == (-2.0, -1.0, 0.0, 1.0, 2.0)
    np.testing.assert_allclose(upper_shares(table), np.arange(1, 6) / 5, rtol=0, atol=SHARE)
    fractions = chances(Uniform(-2.0, 2.0), step=1.0)
    np.testing.assert_allclose(
        upper_shares(fractions), [1 / 8, 3 / 8, 5 / 8, 7 / 8, 1], rtol=0, atol=SHARE
    )


def test_tails_are_laid_at_the_ends_of_the_range_and_counted() -> None:
    step = 1 / 64
    table = chances(Normal(0.5, 1.0), step=step, low=-1.0, high=2.0)
    assert (table.levels[0], table.levels[-1]) == (-1.0, 2.0)
    frozen = stats.norm(0.5, 1.0)
    share = frozen.cdf(-1 - step / 2) + frozen.sf(2 + step / 2)
    assert abs(table.clipped_share - share) < SHARE
    _, clipped = table.draw(words(3, "tails", np.arange(DRAWS))[:, 0])
    low, high = stats.binom(DRAWS, share).interval(1 - FALSE_ALARM)
    assert low <= clipped.sum() <= high


@pytest.mark.parametrize(("mean", "end"), [(30.0, 5.0), (-30.0, -5.0)])
def test_a_distribution_beyond_the_range_is_all_at_its_end(mean: float, end: float) -> None:
    table = chances(Normal(mean, 1.0), step=0.25, low=-5.0, high=5.0)
    place, clipped = table.draw(np.array([0, 1 << 63, ALL - 1], np.uint64))
    assert table.levels == (end,)
    assert not place.any()
    assert clipped.all()
    assert table.clipped_share == 1.0


def test_the_least_and_the_greatest_word_draw_the_outermost_levels() -> None:
    table = chances(Uniform(0.0, 1.0), step=0.25)
    place, clipped = table.draw(np.array([0, ALL - 1], np.uint64))
    assert place.tolist() == [0, 4]
    assert not clipped.any()


def test_a_range_without_a_multiple_of_the_step_is_refused() -> None:
    with pytest.raises(ValueError, match=r"no multiple of 4\.0 from 0\.5 to 3\.0"):
        chances(Normal(1.0, 1.0), step=4.0, low=0.5, high=3.0)


amounts = st.decimals(-50, 50, places=3, allow_nan=False).map(float)
steps = st.sampled_from([1.0, 0.5, 0.1, 1 / 64, 0.3])


@unhurried
@given(ends=st.lists(amounts, min_size=3, max_size=3, unique=True), step=steps)
def test_any_triangle_has_scipys_shares(ends: list[float], step: float) -> None:
    low, mode, high = sorted(ends)
    table = chances(Triangular(low, mode, high), step=step)
    frozen = stats.triang((mode - low) / (high - low), low, high - low)
    np.testing.assert_allclose(
        upper_shares(table)[:-1],
        frozen.cdf(np.array(table.levels) + step / 2)[:-1],
        rtol=0,
        atol=1e-9,  # scipy works with (mode - low) / (high - low), which loses some digits
    )


@unhurried
@given(mean=amounts, sd=st.floats(0.05, 40.0).map(lambda x: round(x, 3)), step=steps)
def test_any_normal_distribution_has_scipys_shares(mean: float, sd: float, step: float) -> None:
    table = chances(Normal(mean, sd), step=step)
    assert list(table.levels) == sorted(set(table.levels))
    np.testing.assert_allclose(
        upper_shares(table)[:-1],
        stats.norm(mean, sd).cdf(np.array(table.levels) + step / 2)[:-1],
        rtol=0,
        atol=SHARE,
    )
