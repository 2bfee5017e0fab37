"""A remedy whose amounts are fitted, and when one is surely better than another."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gen.diagnose.families import Family
from gen.diagnose.operations import Chain
from gen.evaluate.paired import mcnemar_exact

Mask = NDArray[np.bool_]
Real = NDArray[np.float64]

WORTH_A_STEP = 0.03
"""Gain in accuracy from which on a further step may be worth its while."""
SURE_OF_A_STEP = 0.01
_WRITERS = 4


@dataclass(frozen=True)
class Fit:
    """A remedy of one family or more, its amounts fitted.

    Attributes
    ----------
    families
        In the order in which they are done.
    first, second, whole
        The steps fitted on the first half, on the second, and on all glyphs.
    right
        ndarray of shape (n,), bool: each glyph judged by the half that it isn't in.
    worth
        ndarray of shape (n,), float64: the same, with how surely.
    """

    families: tuple[Family, ...]
    first: Chain
    second: Chain
    whole: Chain
    right: Mask
    worth: Real

    @property
    def rank(self) -> int:
        """How much it takes for granted, over all its families."""
        return sum(family.rank for family in self.families)

    @cached_property
    def accuracy(self) -> float:
        """Share of the glyphs that is read rightly."""
        return float(self.right.mean())

    @property
    def names(self) -> tuple[str, ...]:
        """Names of its families."""
        return tuple(family.name for family in self.families)


def surely_better(fit: Fit, than: Fit, *, alpha: float = SURE_OF_A_STEP) -> bool:
    """Whether a remedy reads more glyphs than another, by enough and not by chance.

    McNemar's exact test on the same glyphs, at 1 % unless said otherwise.
    """
    gain = fit.accuracy - than.accuracy
    return gain >= WORTH_A_STEP and paired_p(fit.right, than.right) < alpha


def paired_p(here: Mask, before: Mask) -> float:
    """McNemar's exact p-value of two remedies on the same glyphs."""
    return float(mcnemar_exact(np.sum(here & ~before), np.sum(before & ~here)))


def best_first(fits: Iterable[Fit]) -> list[Fit]:
    """By how well and how surely glyphs are read; of equals the simplest first."""
    return sorted(fits, key=lambda fit: (-float(fit.worth.mean()), fit.rank))


def halves(labels: NDArray[np.intp], writers: NDArray[np.intp] | None) -> Mask:
    """Part glyphs into two halves: within each class every second one, or whole writers.

    Parameters
    ----------
    labels
        ndarray of shape (n,).
    writers
        ndarray of shape (n,) or None. Of four writers or more each is in one half only.

    Returns
    -------
    ndarray of shape (n,), bool: the first half.
    """
    first = np.zeros(len(labels), np.bool_)
    if writers is not None and len(names := np.unique(writers)) >= _WRITERS:
        return np.isin(writers, names[::2])
    turn = 0
    for label in np.unique(labels):
        places = np.flatnonzero(labels == label)
        first[places[turn::2]] = True
        turn = (turn + len(places)) % 2
    return first
