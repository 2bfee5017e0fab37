"""Shares of glyphs with intervals that know who wrote them, where that is known."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.intervals import interval_of
from gen.evaluate.results import Proportion
from gen.evaluate.writers import WIDENED, Writers, design_effect, student_effect

Whole = NDArray[np.intp]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Shares:
    """Makes shares.

    Where 5 writers or more wrote the glyphs of a share, its interval is the one asked for
    on effective counts: never narrower than for independent glyphs, and its name says so.

    Attributes
    ----------
    interval
        "wilson" or "clopper-pearson".
    writers
        Of the glyphs; None when they aren't known or too few.
    few
        What the name of an interval ends with where writers are known and too few.

    Examples
    --------
    Of 12 writers two are misread every other time:

    >>> hits = np.ones(240, bool)
    >>> hits[0:40:2] = False
    >>> share = Shares(writers=Writers.of(np.arange(240) // 20)).of(hits)
    >>> f"{share.value:.3f}, from {share.low:.2f}; {share.method}"
    '0.917, from 0.72; Wilson score, widened for writers'
    >>> f"{Shares().of(hits).low:.2f}"
    '0.87'
    """

    interval: str = "wilson"
    writers: Writers | None = None
    few: str = ""

    @classmethod
    def knowing(cls, writers: NDArray[Any] | None, interval: str = "wilson") -> Shares:
        """For glyphs of writers who are known, or not.

        Parameters
        ----------
        writers
            ndarray of shape (N,), or None.
        interval
            "wilson" or "clopper-pearson".

        Examples
        --------
        >>> Shares.knowing(np.arange(60) % 3).of(np.arange(60) < 50).method
        'Wilson score, for these 3 writers alone'
        """
        known = Writers.of(writers)
        few = ""
        if writers is not None and known is None:
            count = len(np.unique(writers))
            few = f", for {'this writer' if count == 1 else f'these {count} writers'} alone"
        return cls(interval, known, few)

    def some(self, indices: Whole) -> Shares:
        """For some of the glyphs only."""
        return replace(self, writers=self.writers and self.writers.some(indices))

    def of(self, hits: Mask) -> Proportion:
        """How many of all glyphs; there is at least 1."""
        share = self.by(hits, np.zeros(len(hits), np.intp), 1)[0]
        assert share is not None, "there are glyphs"
        return share

    def by(self, hits: Mask, group: Whole, groups: int) -> tuple[Proportion | None, ...]:
        """How many of the glyphs of each group; None for one without glyphs.

        Parameters
        ----------
        hits
            ndarray of shape (N,), bool.
        group
            ndarray of shape (N,), intp, from 0.
        groups
            How many groups there are.
        """
        ends, name = interval_of(self.interval)
        n = np.bincount(group, minlength=groups)
        correct = np.bincount(group[hits], minlength=groups)
        effect = np.full(groups, np.nan)
        if self.writers is not None:
            sizes = self.writers.sums(1.0, group, groups)
            effect = design_effect(self.writers.sums(hits, group, groups), correct, sizes)
            effect *= student_effect(n, np.count_nonzero(sizes, axis=0))
        held = n > 0
        less = np.where(np.isnan(effect), 1.0, effect)[held]
        low, high = np.empty(groups), np.empty(groups)
        low[held], high[held] = ends(correct[held] / less, n[held] / less)
        rows = zip(correct.tolist(), n.tolist(), low.tolist(), high.tolist(), effect, strict=True)
        return tuple(
            Proportion(k, of, k / of, below, above, name + (self.few if np.isnan(e) else WIDENED))
            if of
            else None
            for k, of, below, above, e in rows
        )
