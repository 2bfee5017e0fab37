"""Shares and differences with their intervals: what every other result is made of."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Proportion:
    """A share of n with its interval.

    Attributes
    ----------
    correct, n
        Counts.
    value, low, high
        The share and the ends of its 95 % interval, between 0 and 1.
    method
        Name of the interval: "Wilson score" or "Clopper-Pearson"; with ", widened for
        writers" where it is made from effective counts, see `gen.evaluate.writers`, or with
        ", for these 3 writers alone" where writers are known and too few for that.
    """

    correct: int
    n: int
    value: float
    low: float
    high: float
    method: str


@dataclass(frozen=True)
class Difference:
    """How accuracy differs from nominal on the same glyphs.

    Attributes
    ----------
    value, low, high
        Accuracy at the level less accuracy at nominal, with its 95 % interval
        (negative is a drop).
    only_nominal, only_level
        Glyphs read rightly at one of the two only.
    p_value
        McNemar's exact test, two-sided; 0.0 stands for less than 1e-300. On effective
        counts and read by Student's law where `method` is widened for writers.
    p_holm
        The same after Holm's correction over all levels of the evaluation.
    method
        Name of the interval: "Newcombe, paired (method 10)", or with ", widened for
        writers".
    """

    value: float
    low: float
    high: float
    only_nominal: int
    only_level: int
    p_value: float
    p_holm: float
    method: str


@dataclass(frozen=True)
class Estimate:
    """A figure that the bootstrap gives an interval to.

    Attributes
    ----------
    value
        On the glyphs as they are; None when it can't be told from them.
    low, high
        Ends of its 95 % interval; None where the end lies beyond the levels tried, or
        when the figure couldn't be told in so many draws that there is no interval.
    undefined
        Share of the draws in which it couldn't be told: a tolerance when nominal
        itself is under the floor.
    beyond
        Share of the draws in which it lies beyond the levels tried.
    method
        "expanded bootstrap percentile, 2,000 draws of glyphs", or "of writers".
    """

    value: float | None
    low: float | None
    high: float | None
    undefined: float
    beyond: float
    method: str
