"""Draws of glyphs and of writers, and the ends of intervals."""

from __future__ import annotations

import hashlib
import math
import tracemalloc

import numpy as np
import pytest
from scipy.stats import norm, t

from gen.evaluate import bootstrap
from gen.evaluate.bootstrap import MOST_UNITS, Resampled
from gen.evaluate.percentiles import order_ends, percentile

SAME_DRAWS = "d02f4b8b0159f25c"
FOUR_ERRORS = 4.0  # of a Monte-Carlo figure: passed by chance once in 16,000 times


def test_each_draw_holds_as_many_glyphs_as_there_are() -> None:
    drawn = Resampled.of(301)
    assert drawn.weights.shape == (2000, 301)
    assert (drawn.weights.sum(axis=1, dtype=int) == 301).all()
    assert (drawn.drawn, drawn.method) == (
        "glyphs",
        "expanded bootstrap percentile, 2,000 draws of glyphs",
    )


def test_the_draws_are_the_same_on_every_machine() -> None:
    weights = Resampled.of(1001, draws=20, seed=5).weights
    assert hashlib.sha256(weights.tobytes()).hexdigest().startswith(SAME_DRAWS)
    assert (Resampled.of(1001, draws=9, seed=5).weights == weights[:9]).all()
    assert (Resampled.of(1001, draws=9, seed=6).weights != weights[:9]).any()


def test_a_draw_can_be_made_again_with_numpys_own_generator_and_plain_integers() -> None:
    # numpy.random.Philox (its raw words are Philox4x64-10, counter raised by 1 first): the
    # counter is (draw, 0, block, 0), the key (seed, purpose), and each word gives two picks.
    n, seed, purpose = 11, 3, int.from_bytes(hashlib.sha256(b"bootstrap").digest()[:8], "big")
    for draw, weights in enumerate(Resampled.of(n, draws=4, seed=seed).weights):
        raw: list[int] = []
        for block in range(2):
            counter = (draw + (block << 128) - 1) % 2**256
            raw += (
                np.random.Philox(counter=counter, key=seed + (purpose << 64)).random_raw(4).tolist()
            )
        six = raw[:6]
        halves = [word >> 32 for word in six] + [word & 0xFFFFFFFF for word in six]
        picks = [half * n >> 32 for half in halves[:n]]
        assert weights.tolist() == [picks.count(unit) for unit in range(n)]


def test_weights_are_spread_as_those_of_a_fair_draw() -> None:
    # A binomial count of n picks at 1/n each: mean 1, variance 1 - 1/n, and two glyphs
    # share -1/n. Errors of the means are those of 2,000 draws of 400 glyphs.
    n, draws = 400, 2000
    weights = Resampled.of(n, draws=draws).weights.astype(float)
    assert abs(weights.var() - (1 - 1 / n)) < FOUR_ERRORS * math.sqrt(3 / (n * draws))
    by_glyph = weights.mean(axis=0)
    assert abs(by_glyph - 1).max() < 5 / math.sqrt(draws)  # the largest of 400 normal deviates
    # Glyphs next to each other share a random word; they must not go together.
    together = ((weights[:, ::2] - 1) * (weights[:, 1::2] - 1)).mean()
    assert abs(together + 1 / n) < FOUR_ERRORS / math.sqrt(n / 2 * draws)


@pytest.mark.parametrize("writers", [None, np.arange(90) % 7, np.arange(90) // 2])
def test_accuracy_is_that_of_the_glyphs_drawn_one_by_one(
    rng: np.random.Generator, writers: np.ndarray | None
) -> None:
    right = rng.random((6, 90)) < 0.7
    drawn = Resampled.of(90, writers=writers, draws=30)
    got = drawn.accuracy(right)
    for weights, shares in zip(drawn.weights, got, strict=True):
        units = np.repeat(np.arange(len(weights)), weights)
        members = [[unit] for unit in units]
        if writers is not None:
            members = [np.flatnonzero(writers == unit).tolist() for unit in units]
        picked = [glyph for unit in members for glyph in unit]
        assert shares.tolist() == [right[at, picked].sum() / len(picked) for at in range(6)]


def test_glyphs_stay_paired_over_levels_and_curves(rng: np.random.Generator) -> None:
    right = rng.random((5, 80)) < 0.5
    drawn = Resampled.of(80, draws=100)
    whole = drawn.accuracy(right)
    np.testing.assert_array_equal(whole[:, 2:3], drawn.accuracy(right[2:3]))
    same = drawn.accuracy(np.stack([right[0], right[0], ~right[0]]))
    np.testing.assert_array_equal(same[:, 0], same[:, 1])
    np.testing.assert_allclose(same[:, 0] + same[:, 2], 1.0, rtol=0, atol=1e-15)


def test_blocks_of_draws_change_nothing(
    rng: np.random.Generator, monkeypatch: pytest.MonkeyPatch
) -> None:
    right = rng.random((3, 500)) < 0.8
    before = Resampled.of(500, draws=50)
    shares = before.accuracy(right)
    monkeypatch.setattr(bootstrap, "_AT_ONCE", 1300)
    after = Resampled.of(500, draws=50)
    np.testing.assert_array_equal(before.weights, after.weights)
    np.testing.assert_array_equal(after.accuracy(right), shares)


def test_large_sums_are_as_exact_as_small_ones() -> None:
    # 3 million glyphs of 9 writers: a draw can hold nine times the largest writer, 2**24 passed.
    writers = np.repeat(np.arange(9), 333_333)
    right = np.zeros((1, len(writers)), bool)
    right[0, ::3] = True
    drawn = Resampled.of(len(writers), writers=writers, draws=4)
    assert set(drawn.accuracy(right)[:, 0].tolist()) == {1 / 3}


def test_writers_are_drawn_from_five_on() -> None:
    few = Resampled.of(40, writers=np.arange(40) % 4, draws=3)
    assert few.drawn == "glyphs"
    assert few.method.endswith("3 draws of glyphs, as there are fewer than 5 writers")
    drawn = Resampled.of(40, writers=np.arange(40) % 5 * 17, draws=3)
    assert (drawn.drawn, drawn.weights.shape) == ("writers", (3, 5))
    assert drawn.method == "expanded bootstrap percentile, 3 draws of writers"


@pytest.mark.parametrize("ordered", [False, True])
def test_very_many_glyphs_are_drawn_in_groups_with_the_same_spread(
    rng: np.random.Generator, ordered: bool
) -> None:
    n, share = 5 * MOST_UNITS + 7, 0.8
    right = rng.random(n) < share
    if ordered:  # sorted sets must come out alike: groups are put together by chance
        right.sort()
    drawn = Resampled.of(n, draws=2000)
    assert drawn.method == "expanded bootstrap percentile, 2,000 draws of glyphs in groups of 5"
    assert sorted(np.unique(drawn.sizes).tolist()) == [5, 6]
    spread = drawn.accuracy(right[None]).std()
    truth = math.sqrt(right.mean() * (1 - right.mean()) / n)
    # A spread of 2,000 draws is known to 1 / sqrt(4000) = 1.6 %, of 20,000 groups to 0.5 %.
    assert abs(spread / truth - 1) < FOUR_ERRORS * math.hypot(0.0158, 0.005)


def test_very_many_writers_are_grouped_whole() -> None:
    wrote = np.arange(3 * 2 * MOST_UNITS) // 3
    drawn = Resampled.of(len(wrote), writers=wrote, draws=1)
    assert drawn.method == "expanded bootstrap percentile, 1 draws of writers in groups of 2"
    assert drawn.unit is not None
    assert set(drawn.sizes.tolist()) == {6}
    by_writer = drawn.unit.reshape(-1, 3)
    assert (by_writer == by_writer[:, :1]).all()


def test_memory_is_bounded_however_many_glyphs_there_are(rng: np.random.Generator) -> None:
    n, draws = 20 * MOST_UNITS, 100
    right = rng.random((4, n)) < 0.9
    Resampled.of(10, draws=1)  # imports and caches
    tracemalloc.start()
    Resampled.of(n, draws=draws).accuracy(right)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # The weights take draws * MOST_UNITS = 2 MB, and each of some passing arrays 8 bytes a
    # glyph; one byte for each glyph in each draw would be 40 MB.
    assert peak < 10 * 8 * n < draws * n


def test_slightly_too_many_glyphs_go_in_ones_and_twos() -> None:
    drawn = Resampled.of(MOST_UNITS + 1, draws=1)
    assert drawn.method.endswith("glyphs in groups of 1 or 2")
    assert drawn.sizes.sum() == MOST_UNITS + 1


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Resampled.of(0), "at least 1 glyph"),
        (lambda: Resampled.of(3, draws=0), "at least 1 glyph and 1 draw"),
        (lambda: Resampled.of(3, writers=np.arange(4)), "one a glyph"),
    ],
)
def test_draws_that_make_no_sense_are_refused(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=words):
        call()


def test_the_ends_are_the_50th_values_from_each_side_of_2000() -> None:
    found = percentile(np.random.default_rng(1).permutation(2000.0 + np.arange(2000)), 3000.0, "m")
    assert (found.value, found.low, found.high) == (3000.0, 2049.0, 3950.0)
    assert (found.undefined, found.beyond, found.method) == (0.0, 0.0, "m")


def test_few_draws_end_at_their_extremes() -> None:
    found = percentile(np.array([3.0, 1.0, 2.0]), 2.0, "m")
    assert (found.low, found.high) == (1.0, 3.0)


@pytest.mark.parametrize(
    ("beyond", "high"),
    [(49, 1950.0), (50, None)],  # the 50th from above is the first that isn't beyond, or is
)
def test_an_end_beyond_the_levels_is_no_end(beyond: int, high: float | None) -> None:
    values = np.arange(2000.0)
    values[2000 - beyond :] = np.inf
    found = percentile(values, 1000.0, "m")
    assert (found.low, found.high) == (49.0, high)
    assert found.beyond == beyond / 2000


def test_a_figure_that_can_seldom_be_told_has_no_interval_but_its_share() -> None:
    values = np.arange(2000.0)
    values[:1000] = np.nan
    half = percentile(values, 1500.0, "m")
    assert (half.undefined, half.low, half.high) == (0.5, 1024.0, 1975.0)
    values[1000] = np.nan
    most = percentile(values, math.nan, "m")
    assert (most.value, most.low, most.high, most.undefined) == (None, None, None, 0.5005)
    none = percentile(np.full(10, np.nan), math.nan, "m")
    assert (none.value, none.low, none.undefined, none.beyond) == (None, None, 1.0, 0.0)


@pytest.mark.parametrize(("draws", "place"), [(78, 0), (79, 1), (118, 1), (119, 2)])
def test_an_end_is_the_whole_part_of_a_fortieth_of_one_more_than_the_draws(
    draws: int, place: int
) -> None:
    low, high = order_ends(np.arange(float(draws)))
    assert (low, high) == (place, draws - 1 - place)


def test_tails_are_those_of_students_law_for_so_many_units() -> None:
    # T. C. Hesterberg, Am. Stat. 69 (2015) 371-386: normal(-sqrt(n / (n - 1)) t(n - 1)).
    for units in (2, 12, 400):
        known = norm.cdf(-math.sqrt(units / (units - 1)) * t.ppf(0.975, units - 1))
        assert Resampled.of(units, draws=1).tail == pytest.approx(known, rel=1e-9)
    assert Resampled.of(1, draws=1).tail == 0.025
