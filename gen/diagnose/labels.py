"""Remedies of labels: a list out of step with the pictures, classes in another order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from gen.diagnose.families import Family
from gen.diagnose.fits import Fit, surely_better
from gen.diagnose.operations import CLASS_ORDER, LABEL_SHIFT, Chain, Operation
from gen.diagnose.search import Search
from gen.diagnose.workbench import SURE
from gen.glyphs.base import Whole

_FARTHEST = 1000
_NAMED = 12

Mask = NDArray[np.bool_]


class Labels:
    """The labels of the pictures on a bench, and what they would be otherwise.

    Parameters
    ----------
    search
        Pictures, model and halves.
    listed
        ndarray of shape (N,): every label of the list, in its order.
    chosen
        ndarray of shape (n,): the places in the list of the pictures on the bench.
    classes
        Class names.

    Attributes
    ----------
    tried
        Every remedy that was tried, which is what p-values are corrected for.
    """

    def __init__(
        self, search: Search, listed: Whole, chosen: Whole, classes: Sequence[str]
    ) -> None:
        self._search = search
        self._classes = classes
        self.tried: list[Fit] = []
        reach = min(_FARTHEST, len(listed) // 2)  # the list is taken for a ring
        shifts = [k for k in range(-reach, reach + 1) if k]
        # The whole list moves, also where only some of its pictures are looked at.
        self._moved = {k: np.roll(listed, k)[chosen] for k in shifts}

    def fits(self, thrown: Sequence[Family]) -> list[Fit]:
        """Both remedies of labels alone, and after a switch where only that helps.

        Parameters
        ----------
        thrown
            Families that are on or off.
        """
        nothing = self._search.nothing
        alone = [self.shifted((), ()), self.reordered((), ())]
        self.tried += alone
        best = max([nothing, *alone], key=lambda fit: fit.accuracy)
        better = []
        for family in thrown:
            for amounts in family.coarse:
                chain = family.make(amounts)
                trial = self._search.bench.trial(chain)
                if (trial.answered < 0).any():
                    continue
                switch = Fit((family,), chain, chain, chain, trial.right, trial.worth)
                after = [self.shifted((family,), chain), self.reordered((family,), chain)]
                self.tried += after
                better += [
                    fit for fit in after if surely_better(fit, best) and surely_better(fit, switch)
                ]
        return [*alone, *sorted(better, key=lambda fit: -fit.accuracy)[:1]]

    def shifted(self, families: tuple[Family, ...], chain: Chain) -> Fit:
        """The labels moved along the list by a few places.

        The best shift of each half is judged on the other.

        Parameters
        ----------
        families, chain
            What is done to the pictures before.
        """
        answered = self._search.bench.trial(chain).answered
        rights = {k: answered == labels for k, labels in self._moved.items()}

        def best(which: Mask) -> int:
            return max(rights, key=lambda k: (float(rights[k][which].mean()), -abs(k)))

        fitted = [best(which) for which in self._parts]
        family = Family(LABEL_SHIFT, (), lambda _: (), rank=1)
        steps = [Operation(LABEL_SHIFT, float(k), "places") for k in fitted]
        halves = rights[fitted[0]], rights[fitted[1]]
        return self._fit((*families, family), [(*chain, step) for step in steps], halves)

    def reordered(self, families: tuple[Family, ...], chain: Chain) -> Fit:
        """The classes named in another order: the one that suits one half, judged on the other.

        The order is an assignment problem on the confusion matrix (H. W. Kuhn, Naval Research
        Logistics Quarterly 2 (1955) 83-97, as scipy solves it).

        Parameters
        ----------
        families, chain
            What is done to the pictures before.
        """
        answered, labels = self._search.bench.trial(chain).answered, self._search.bench.labels
        orders = [
            _order(answered[which], labels[which], len(self._classes)) for which in self._parts
        ]
        family = Family(CLASS_ORDER, (), lambda _: (), rank=2)
        steps = [
            Operation(
                CLASS_ORDER, in_words(order, self._classes), "order", named(order, self._classes)
            )
            for order in orders
        ]
        first, second = (order[answered] == labels for order in orders[:2])
        return self._fit((*families, family), [(*chain, step) for step in steps], (first, second))

    @property
    def _parts(self) -> tuple[Mask, Mask, Mask]:
        first = self._search.halves
        return first, ~first, np.ones_like(first)

    def _fit(
        self, families: tuple[Family, ...], chains: list[Chain], by_half: tuple[Mask, Mask]
    ) -> Fit:
        """The first half is judged by what was fitted on the second, and the other way round."""
        first, second, whole = chains
        right = np.where(self._search.halves, by_half[1], by_half[0])
        return Fit(families, first, second, whole, right, right * (1 + SURE))


def _order(answered: Whole, labels: Whole, count: int) -> Whole:
    """For each answer the class that it stands for."""
    from scipy.optimize import linear_sum_assignment

    times = np.bincount(answered * count + labels, minlength=count**2).reshape(count, count)
    # Where nothing is known, a class stays what it is called.
    answers, stands_for = linear_sum_assignment(times + 0.5 * np.eye(count), maximize=True)
    order = np.arange(count)
    order[answers] = stands_for
    return order


def named(order: Whole, classes: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Pairs of what is answered and the class that it stands for, where they differ.

    Examples
    --------
    >>> named(np.array([1, 0, 2]), "abc")
    (('a', 'b'), ('b', 'a'))
    """
    return tuple((classes[k], classes[j]) for k, j in enumerate(order) if k != j)


def in_words(order: Whole, classes: Sequence[str]) -> str:
    """Which answers stand for which classes: "0 is 3, 3 is 0"; those that stay are left out.

    A turn of the whole list by one is said as that, and of many only the first are named.

    Examples
    --------
    >>> in_words(np.array([1, 2, 0]), "abc")
    'each is the class that follows it'
    >>> in_words(np.array([1, 0, 2]), "abc")
    '"a" is "b", "b" is "a"'
    """
    count = len(classes)
    if count > 2 and (order == (np.arange(count) + 1) % count).all():
        return "each is the class that follows it"
    if count > 2 and (order == (np.arange(count) - 1) % count).all():
        return "each is the class before it"
    moved = [f'"{classes[k]}" is "{classes[order[k]]}"' for k in range(count) if order[k] != k]
    more = f" and {len(moved) - _NAMED} more" if len(moved) > _NAMED else ""
    return ", ".join(moved[:_NAMED]) + more or "as they are"
