"""The search for remedies, which must not cheat.

Glyphs are parted into two halves. Whatever has an amount is fitted on one half and judged
on the other, both ways round, so that every glyph is judged once by a remedy that was
chosen without it (cross-fitting).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cached_property

import numpy as np

from gen.diagnose.families import Amounts, Family
from gen.diagnose.fits import (
    SURE_OF_A_STEP,
    Fit,
    Mask,
    Real,
    best_first,
    surely_better,
)
from gen.diagnose.operations import Chain
from gen.diagnose.workbench import Workbench

GOOD_ENOUGH = 0.95
"""Accuracy from which on no further step is looked for."""
_MOVES = frozenset({"translation", "row slip", "placement"})
"""Of these one is enough: a second would only move the marks once more."""
_BEAM = 4
"""Remedies of one step that are tried with a second; three with a third."""
_PROMISING = 0.02
"""Gain from which on a remedy is worth a second step; the best one always is."""
_SURE_OF_A_SCRAP = 0.001
_NEAR_NOMINAL = 1e-6
_AS_GOOD = 0.5
"""Errors of a paired mean by which amounts of one family can't be told apart."""


class Search:
    """Fits families on halves of the glyphs.

    Parameters
    ----------
    bench
        Pictures and model.
    halves
        ndarray of shape (n,), bool: which glyphs are in the first half.
    may_follow
        Whether a family may be put after another; all of them when left out.
    progress
        Called after every fit with (fits done, fits in all as far as can be said).
    """

    def __init__(
        self,
        bench: Workbench,
        halves: Mask,
        may_follow: Callable[[Family], bool] = lambda family: True,
        progress: Callable[[int, int], None] | None = None,
    ) -> None:
        self.bench = bench
        self.halves = halves
        self.may_follow = may_follow
        self.tried: list[Fit] = []
        self._fitted: dict[tuple[str, ...], Fit] = {}
        self._progress = progress
        self._in_all = 0

    @cached_property
    def nothing(self) -> Fit:
        """No remedy at all."""
        trial = self.bench.trial()
        return Fit((), (), (), (), trial.right, trial.worth)

    def fit(self, base: Fit, family: Family) -> Fit:
        """Put a family after a remedy, its amounts fitted on each half and on all.

        What has been fitted before is given back as it is.
        """
        names = (*base.names, family.name)
        if names in self._fitted:
            return self._fitted[names]
        everyone = np.ones(len(self.halves), np.bool_)
        chains = [
            self._best(start, family, which)
            for start, which in (
                (base.first, self.halves),
                (base.second, ~self.halves),
                (base.whole, everyone),
            )
        ]
        # The first half is judged by what was fitted on the second.
        on_first, on_second = (self.bench.trial(chain) for chain in (chains[1], chains[0]))
        fit = Fit(
            (*base.families, family),
            chains[0],
            chains[1],
            chains[2],
            np.where(self.halves, on_first.right, on_second.right),
            np.where(self.halves, on_first.worth, on_second.worth),
        )
        self._fitted[names] = fit
        self.tried.append(fit)
        if self._progress is not None:
            # How many follow hangs on what is found, so that the end is told by the caller.
            self._in_all = max(self._in_all, len(self.tried) + 1)
            self._progress(len(self.tried), self._in_all)
        return fit

    def singles(self, found: Iterable[Family]) -> list[Fit]:
        """Every family alone, the best first."""
        return best_first(self.fit(self.nothing, family) for family in found)

    def longer(
        self, found: Sequence[Family], starts: Sequence[Fit], best: Fit
    ) -> tuple[Fit, list[Fit]]:
        """Every family after each of some remedies.

        Returns
        -------
        (best, all of them)
            The best of them if it is surely better than the best so far, else that.
        """
        fits = best_first(
            self.fit(start, family)
            for start in starts
            for family in found
            if family.name not in start.names
            and not (family.name in _MOVES and _MOVES & set(start.names))
        )
        better = [fit for fit in fits if surely_better(fit, best)]
        return (better[0] if better else best), fits

    def search(self, found: Sequence[Family], switches: Sequence[Family], most: int = 3) -> Fit:
        """The best remedy: of one step, and of more only where they are surely better.

        Parameters
        ----------
        found
            The families.
        switches
            Those of which two may be needed at once.
        most
            The most families in a chain.
        """
        self._in_all = len(found) + (_BEAM * len(found) if most > 1 else 0)
        singles = self.singles(found)
        best = singles[0]
        thrown = [fit for fit in singles if fit.families[0] in switches]
        best, fits = self.longer(switches, thrown, best)
        beam = [
            fit
            for fit in best_first([*singles[:_BEAM], *fits[:2], best])
            if fit is best or fit.accuracy - self.nothing.accuracy >= _PROMISING
        ]
        if best.accuracy < GOOD_ENOUGH and most > 1:
            starts = [
                fit
                for fit in beam
                if len(fit.families) < most
                and (fit is best or all(self.may_follow(family) for family in fit.families))
            ]
            found = [family for family in found if self.may_follow(family)]
            best, fits = self.longer(found, starts, best)
            if len(best.families) == 2 and best.accuracy < GOOD_ENOUGH and most > 2:
                best, _ = self.longer(found, best_first([best, *fits])[:3], best)
        return self.shortened(best)

    def shortened(self, fit: Fit) -> Fit:
        """The same without any family whose absence costs nothing sure."""
        for place in range(len(fit.families)) if len(fit.families) > 1 else ():
            rest = self.nothing
            for family in (*fit.families[:place], *fit.families[place + 1 :]):
                rest = self.fit(rest, family)
            scrap = fit.families[place].is_scrap(fit.whole)
            if not surely_better(fit, rest, alpha=_SURE_OF_A_SCRAP if scrap else SURE_OF_A_STEP):
                return self.shortened(rest)
        return fit

    def likeliest(self, start: Chain, family: Family, which: Mask) -> list[Amounts]:
        """The amounts of a family after which a model is as sure as it should be.

        Larger values make any model surer, right or wrong, so that sureness alone can't
        choose among them. Of those that do nearly as well the one that is met most often
        comes first.
        """
        fits = {
            amounts: float(
                self.bench.trial((*start, *family.make(amounts))).likelihood[which].mean()
            )
            for amounts in family.coarse
        }
        least = max(fits.values()) - family.likeness
        return [amounts for amounts, fit in fits.items() if fit >= least]

    def _best(self, start: Chain, family: Family, which: Mask) -> Chain:
        """The best amounts on some glyphs, from coarse to fine."""
        scores: dict[Amounts, float] = {}

        def far(amounts: Amounts) -> float:
            return sum(abs(a - family.nominal) for a in amounts if not isinstance(a, str))

        def worth(amounts: Amounts) -> Real:
            return self.bench.trial((*start, *family.make(amounts))).worth[which]

        def score(amounts: Amounts) -> float:
            if amounts not in scores:
                # Of equals the one that changes least.
                scores[amounts] = float(worth(amounts).mean()) - _NEAR_NOMINAL * far(amounts)
            return scores[amounts]

        best = max(family.begin(alone=not start), key=score)
        for step in family.steps:
            best = max([best, *family.near(best, step)], key=score)
        if family.steps:
            # A model grows surer a little beyond the true amount: the least of those that
            # can't be told from the best.
            top = worth(best)
            level = [
                amounts
                for amounts in scores
                if (less := top - worth(amounts)).mean()
                <= _AS_GOOD * less.std() / np.sqrt(max(len(less), 1)) + 1e-12
            ]
            best = min(level, key=lambda amounts: (far(amounts), -scores[amounts]))
        if family.likeness:
            best = self.likeliest(start, family, which)[0]
        return (*start, *family.make(best))
