"""Drawing glyphs anew: how far chance could have moved any figure of a curve.

Each draw takes as many glyphs as there are, with repeats, and keeps each of them whole:
what was said of it at every level of every curve. Where the same people wrote many
glyphs each, whole writers are drawn, because their glyphs succeed and fail together.

References
----------
B. Efron and R. J. Tibshirani, An Introduction to the Bootstrap (1993), chapters 6 and
13; of clusters, A. C. Davison and D. V. Hinkley, Bootstrap Methods and their
Application (1997), section 3.8 (chapters from memory); of the expanded tails, T. C.
Hesterberg, Am. Stat. 69 (2015) 371-386.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.draws import words
from gen.evaluate.percentiles import TAIL, percentile
from gen.evaluate.results import Estimate

Real = NDArray[np.float64]
Whole = NDArray[np.intp]

DRAWS = 2000
FEWEST_WRITERS = 5
"""With fewer, drawing writers says nothing; glyphs are drawn instead."""
MOST_UNITS = 20_000
"""Past this many, glyphs are drawn in groups of equal size that chance puts together.

That estimates the same spread, itself known to sqrt(1 / (2 * 20,000)) = 0.5 %, and bounds
time and memory however many glyphs there are.
"""

_AT_ONCE = 200_000  # picks in hand: their arrays then stay in cache


@dataclass(frozen=True)
class Resampled:
    """Draws with replacement, made once and used for every figure of an evaluation.

    Attributes
    ----------
    weights
        ndarray of shape (draws, units), uint8: how often each unit is in each draw.
        Each row sums to the number of units, so that 255 is out of reach but for
        fewer than 256 units, and not passed by those.
    unit
        ndarray of shape (N,), intp: the unit that each glyph belongs to; None when each
        glyph is its own.
    sizes
        ndarray of shape (units,), intp: glyphs of each unit.
    drawn
        "glyphs" or "writers".
    method
        In words: "expanded bootstrap percentile, 2,000 draws of glyphs".

    Examples
    --------
    >>> right = np.array([[True] * 90 + [False] * 10])
    >>> drawn = Resampled.of(100)
    >>> drawn.method
    'expanded bootstrap percentile, 2,000 draws of glyphs'
    >>> found = drawn.estimate(drawn.accuracy(right)[:, 0], 0.9)
    >>> found.low, found.high
    (0.83, 0.95)
    """

    weights: NDArray[np.uint8]
    unit: Whole | None
    sizes: Whole
    drawn: str
    method: str

    @classmethod
    def of(
        cls,
        n: int,
        *,
        writers: NDArray[Any] | None = None,
        draws: int = DRAWS,
        seed: int = 0,
    ) -> Resampled:
        """Make the draws.

        Parameters
        ----------
        n
            Glyphs, at least 1.
        writers
            ndarray of shape (n,), who wrote each; None when that isn't known. From 5
            writers on, writers are drawn.
        draws
            How many draws, at least 1.
        seed
            The same seed gives the same draws on every machine.

        Raises
        ------
        ValueError
            If there is no glyph or no draw, or writers aren't one a glyph.
        """
        if n < 1 or draws < 1:
            raise ValueError("there must be at least 1 glyph and 1 draw")
        unit: Whole | None = None
        units, drawn = n, "glyphs"
        if writers is not None:
            if np.shape(writers) != (n,):
                raise ValueError(f"writers must be one a glyph, ({n},), got {np.shape(writers)}")
            names, place = np.unique(writers, return_inverse=True)
            if len(names) >= FEWEST_WRITERS:
                unit, units, drawn = place.astype(np.intp).reshape(n), len(names), "writers"
        few = f", as there are fewer than {FEWEST_WRITERS} writers"
        said = drawn if writers is None or unit is not None else drawn + few
        if units > MOST_UNITS:
            group = _groups(units, seed)
            unit = group if unit is None else group[unit]
            said = f"{drawn} in groups of {round(units / MOST_UNITS):,}"
            if units < 2 * MOST_UNITS:
                said = f"{drawn} in groups of 1 or 2"
            units = MOST_UNITS
        sizes = np.ones(n, np.intp) if unit is None else np.bincount(unit, minlength=units)
        return cls(
            weights=_drawn(units, draws, seed),
            unit=unit,
            sizes=sizes,
            drawn=drawn,
            method=f"expanded bootstrap percentile, {draws:,} draws of {said}",
        )

    @property
    def tail(self) -> float:
        """Share of the draws that a 95 % interval leaves out on each side.

        Draws of m units vary by sqrt((m - 1) / m) of what they should, and by the normal law
        where Student's belongs: the tails are as much smaller as makes that good.

        Examples
        --------
        >>> [round(Resampled.of(n, draws=1).tail, 4) for n in (5, 12, 400)]
        [0.001, 0.0108, 0.0245]
        """
        from scipy.special import ndtr, stdtrit

        units = len(self.sizes)
        if units < 2:  # all draws are alike
            return TAIL
        wide = math.sqrt(units / (units - 1)) * stdtrit(units - 1, 1 - TAIL)
        return float(ndtr(-wide))

    def estimate(self, values: Real, value: float) -> Estimate:
        """A figure of the glyphs as they are with the interval that its draws give it.

        Parameters
        ----------
        values, value
            As for `percentile`.
        """
        return percentile(values, value, self.method, tail=self.tail)

    def accuracy(self, right: NDArray[np.bool_]) -> Real:
        """Accuracy of every draw at every level.

        Parameters
        ----------
        right
            ndarray of shape (L, N), bool: which glyphs were read rightly at each level.

        Returns
        -------
        ndarray of shape (draws, L), float64.

        Notes
        -----
        Counts are whole numbers all the way and divided once, so that no order of
        summing, number of threads or library can change a bit.
        """
        units = len(self.sizes)
        # Nothing in a draw can pass this: all picks falling on the largest unit.
        exact = np.float32 if units * int(self.sizes.max()) < 2**24 else np.float64
        hits = np.empty((units, len(right) + 1), exact)
        for at, level in enumerate(right):
            if self.unit is None:
                hits[:, at] = level
            else:
                hits[:, at] = np.bincount(self.unit[level], minlength=units)
        hits[:, -1] = self.sizes
        counts = np.empty((len(self.weights), len(right) + 1))
        step = max(1, 5 * _AT_ONCE // units)
        for start in range(0, len(counts), step):
            part = slice(start, start + step)
            counts[part] = self.weights[part].astype(exact) @ hits
        shares: Real = counts[:, :-1] / counts[:, -1:]
        return shares


def _drawn(units: int, draws: int, seed: int) -> NDArray[np.uint8]:
    """How often each unit comes up when as many are picked as there are, draw by draw.

    A pick is the upper half of (32 random bits times the number of units): some units
    are likelier than others by 20,000 in 2**32 at most, which nothing shows.
    """
    weights = np.empty((draws, units), np.uint8)
    half = np.uint64(32)
    step = max(1, _AT_ONCE // units)
    for start in range(0, draws, step):
        which = np.arange(start, min(start + step, draws))
        word = words(seed, "bootstrap", which, count=-(-units // 2))
        bits = np.concatenate([word >> half, word & np.uint64(2**32 - 1)], axis=1)[:, :units]
        picks = ((bits * np.uint64(units)) >> half).astype(np.intp)
        picks += (np.arange(len(which)) * units)[:, None]
        counts = np.bincount(picks.reshape(-1), minlength=len(which) * units)
        weights[which] = counts.reshape(len(which), units)
    return weights


def _groups(units: int, seed: int) -> Whole:
    """Which of the groups each unit falls in, by chance; sizes differ by one at most."""
    order = np.argsort(words(seed, "bootstrap groups", np.arange(units))[:, 0], kind="stable")
    group = np.empty(units, np.intp)
    group[order] = np.arange(units) % MOST_UNITS
    return group
