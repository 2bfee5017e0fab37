"""Remedies of labels: a list out of step with the pictures, classes in another order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from gen.diagnose.families import Family
from gen.diagnose.operations import Operation
from gen.diagnose.search import Fit
from gen.diagnose.workbench import SURE, Trial
from gen.glyphs.base import Whole

LABEL_SHIFT, CLASS_ORDER = "label shift", "class order"
_FARTHEST = 20

Mask = NDArray[np.bool_]


def shifted(trial: Trial, labels: Whole, halves: Mask) -> Fit:
    """The labels moved along the list by a few places, the best shift of each half judged on
    the other.

    Parameters
    ----------
    trial
        What the model says to the pictures as they are.
    labels
        ndarray of shape (n,), in the order of the file.
    halves
        Which glyphs are in the first half.
    """
    shifts = [k for k in range(-_FARTHEST, _FARTHEST + 1) if k and abs(k) < len(labels)]
    rights = {k: trial.answered == np.roll(labels, k) for k in shifts or [0]}

    def best(which: Mask) -> int:
        return max(rights, key=lambda k: (float(rights[k][which].mean()), -abs(k)))

    everyone = np.ones(len(labels), np.bool_)
    first, second, whole = best(halves), best(~halves), best(everyone)
    family = Family(LABEL_SHIFT, (), lambda _: (), rank=1)
    chains = [(Operation(LABEL_SHIFT, float(k), "places"),) for k in (first, second, whole)]
    right = np.where(halves, rights[second], rights[first])
    return Fit((family,), chains[0], chains[1], chains[2], right, right * (1 + SURE))


def reordered(trial: Trial, labels: Whole, halves: Mask, classes: Sequence[str]) -> Fit:
    """The classes named in another order: the order that suits one half best, judged on the
    other.

    The order is an assignment problem on the confusion matrix (H. W. Kuhn, Naval Research
    Logistics Quarterly 2 (1955) 83-97, as scipy solves it).

    Parameters
    ----------
    trial, labels, halves
        As for `shifted`.
    classes
        Class names.
    """
    count = len(classes)

    def best(which: Mask) -> Whole:
        return _order(trial.answered[which], labels[which], count)

    everyone = np.ones(len(labels), np.bool_)
    first, second, whole = best(halves), best(~halves), best(everyone)
    right = np.where(halves, second[trial.answered] == labels, first[trial.answered] == labels)
    family = Family(CLASS_ORDER, (), lambda _: (), rank=2)
    chains = [
        (Operation(CLASS_ORDER, in_words(order, classes), "order", named(order, classes)),)
        for order in (first, second, whole)
    ]
    return Fit((family,), chains[0], chains[1], chains[2], right, right * (1 + SURE))


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

    A turn of the whole list by one is said as that.

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
    return ", ".join(moved) or "as they are"
