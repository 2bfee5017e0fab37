"""A distribution as a table of levels, each with its exact share of all 64-bit words.

A level is a whole multiple of a step: the one nearest to what is drawn. Its chance
is the share of the distribution that is nearest to it. The shares are counted in
2**-64ths, whole numbers, once for a distribution; to draw is then to look up where a
random word falls. No sine, logarithm or fraction is worked out for a glyph, so any
two machines draw the same levels, and each is as likely as it should be to 2**-64.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal, localcontext
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from gen.core.draws import Words
from gen.recipe.catalogue import Level
from gen.recipe.distributions import reach
from gen.recipe.drawn import Discrete, Distribution, Normal, Triangular, Uniform
from gen.render.normal_curve import normal_shares

ALL = 1 << 64
_DIGITS = 50


@dataclass(frozen=True)
class Chances:
    """Levels and how likely each is.

    Attributes
    ----------
    levels
        Amounts ascending, or names as written; each has a chance.
    ends
        ndarray, uint64, ascending: a word below the first lies below the range, one
        from there to below the second draws the first level, and so on; one from the
        last on draws the last level, or lies above the range if `above` isn't 0.
    below, above
        How many 2**-64ths of the distribution lie outside the range. They are laid at
        the nearest level inside.
    """

    levels: tuple[Level, ...]
    ends: Words
    below: int
    above: int

    def draw(self, words: Words) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """Which level each word draws, and whether it was clipped to the range.

        Parameters
        ----------
        words
            ndarray of uint64, any shape.

        Returns
        -------
        two ndarrays of that shape
            Indices of `levels`, intp; and bool.
        """
        place = np.searchsorted(self.ends, words, side="right")
        last = len(self.levels)
        return np.clip(place - 1, 0, last - 1), (place == 0) | (place > last)

    @property
    def clipped_share(self) -> float:
        """The share of the distribution that lies outside the range."""
        return (self.below + self.above) / ALL


@lru_cache(maxsize=256)
def chances(
    drawn: Distribution,
    *,
    step: float = 0.0,
    low: float | None = None,
    high: float | None = None,
    whole: bool = False,
) -> Chances:
    """The table of a distribution.

    Parameters
    ----------
    drawn
        The distribution.
    step
        Levels are whole multiples of it; of single values, as they are.
    low, high
        The range that levels are clipped to; None where there is no limit.
    whole
        Whether only whole numbers make sense: from low to high all are then equally
        likely in a uniform distribution, while elsewhere the first and the last
        multiple of the step get what is nearest to them, half as much.

    Raises
    ------
    ValueError
        If no multiple of the step lies in the range.

    Examples
    --------
    >>> table = chances(Uniform(0.0, 1.0), step=0.5)
    >>> table.levels, [int(end) * 4 // ALL for end in table.ends]
    ((0.0, 0.5, 1.0), [0, 1, 3])
    """
    if isinstance(drawn, Discrete):
        weights = [Fraction(repr(weight)) for weight in drawn.weights]
        shares = [Fraction(0), *accumulate(weights)]
        return _table(drawn.values, [_counted(share / shares[-1]) for share in shares])
    with localcontext(Context(prec=_DIGITS)):
        size = Decimal(repr(step))
        first, last = (_nearest(end / size) for end in reach(drawn))
        least = first if low is None else _whole(Decimal(repr(low)) / size, ROUND_CEILING)
        most = last if high is None else _whole(Decimal(repr(high)) / size, ROUND_FLOOR)
        if least > most:
            raise ValueError(f"no multiple of {step} from {low} to {high}")
        from_, to = (min(max(end, least), most) for end in (first, last))
        levels = tuple(float(size * k) + 0.0 for k in range(from_, to + 1))
        ends = list(_ends(drawn, size, from_, to - from_ + 2, whole=whole))
    # What lies beyond the outermost levels is theirs unless the range cut it off.
    if first >= least:
        ends[0] = 0
    if last <= most:
        ends[-1] = ALL
    return _table(levels, ends)


def _table(levels: tuple[Level, ...], ends: list[int]) -> Chances:
    """Levels that have a chance, from the ends of all."""
    kept = [place for place in range(len(levels)) if ends[place + 1] > ends[place]]
    if not kept:  # the whole distribution lies on one side of the range
        kept = [0 if ends[0] == ALL else len(levels) - 1]
    starts = [ends[0], *(ends[place] for place in kept[1:]), ends[-1]]
    return Chances(
        tuple(levels[place] for place in kept),
        np.array([end for end in starts if end < ALL], dtype=np.uint64),
        ends[0],
        ALL - ends[-1],
    )


def _ends(
    drawn: Normal | Uniform | Triangular, step: Decimal, first: int, count: int, *, whole: bool
) -> Iterator[int]:
    """How many 2**-64ths lie below each border between two levels."""
    half = Decimal("0.5")
    if isinstance(drawn, Normal):
        mean, sd = Decimal(repr(drawn.mean)), Decimal(repr(drawn.sd))
        for share in normal_shares(((first - half) * step - mean) / sd, step / sd, count):
            yield _counted(Fraction(share))
        return
    low, high = Fraction(repr(drawn.low)), Fraction(repr(drawn.high))
    size = Fraction(step)
    if whole and isinstance(drawn, Uniform):
        low, high = low - size / 2, high + size / 2
    for k in range(first, first + count):
        at = min(max((k - Fraction(1, 2)) * size, low), high)
        if isinstance(drawn, Uniform):
            yield _counted((at - low) / (high - low))
            continue
        mode = Fraction(repr(drawn.mode))
        if at <= mode and mode > low:
            yield _counted((at - low) ** 2 / ((high - low) * (mode - low)))
        else:
            yield _counted(1 - (high - at) ** 2 / ((high - low) * (high - mode)))


def _counted(share: Fraction) -> int:
    """A share in 2**-64ths, to the nearest."""
    return math.floor(share * ALL + Fraction(1, 2))


def _nearest(amount: Decimal) -> int:
    return _whole(amount + Decimal("0.5"), ROUND_FLOOR)


def _whole(amount: Decimal, rounding: str) -> int:
    return int(amount.to_integral_value(rounding))
