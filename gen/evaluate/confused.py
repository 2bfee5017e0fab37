"""Which class breaks first as marks stray, and which two are confused most."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.multiple import holm
from gen.evaluate.paired import mcnemar_exact
from gen.evaluate.results import Confused, FirstClass, Point
from gen.evaluate.shares import Shares
from gen.evaluate.sheet import Sheet
from gen.recipe.model import Level

Whole = NDArray[np.intp]

FEWEST = 5
"""A class with fewer glyphs is never said to break."""
ALPHA = 0.05


def distance(level: Level, nominal: Level) -> float:
    """How far a level is from nominal; all names but nominal are equally far."""
    if isinstance(level, str) or isinstance(nominal, str):
        return 0.0 if level == nominal else 1.0
    return abs(level - nominal)


def first_class(points: Sequence[Point], *, nominal: Level, floor: float) -> FirstClass | None:
    """The class that falls under the floor nearest to nominal.

    A class counts that has at least 5 glyphs and holds the floor at nominal, by its
    estimate. It is under the floor where its interval ends below it. Of classes that fall
    equally near, the one that is read worse there.

    Parameters
    ----------
    points
        Of one curve.
    nominal
        The level at which nothing changes.
    floor
        The accuracy to keep.

    Returns
    -------
    FirstClass
        None when none falls.
    """
    base = next(point for point in points if point.level == nominal)
    holding = {
        one.name
        for one in base.per_class
        if one.accuracy.n >= FEWEST and one.accuracy.value >= floor
    }
    fallen = [
        FirstClass(one.name, point.level, one.accuracy)
        for point in points
        if point.level != nominal
        for one in point.per_class
        if one.name in holding and one.accuracy.high < floor
    ]
    return min(
        fallen,
        key=lambda one: (distance(one.level, nominal), one.accuracy.value),
        default=None,
    )


def most_confused(
    points: Sequence[Point],
    sheet: Sheet,
    *,
    nominal: Level,
    shares: Shares | None = None,
    sweeps: int = 1,
) -> Confused | None:
    """The two classes that a sweep makes the model confuse most.

    A pair is a true class and another that is answered. It is significant at a level when
    more of the class's glyphs are read so there than at nominal, by McNemar's exact test
    on the same glyphs after Holm's correction over all levels off nominal and all pairs
    that occur at nominal or at any of them, and Bonferroni's for the sweeps of a report. Of
    the pairs that are significant anywhere, the one with most such answers off nominal
    beyond what nominal has at each level is taken, and given at its significant level
    nearest to nominal; of two as near, the one with more such answers.

    Parameters
    ----------
    points
        Of one curve.
    sheet
        Where the cells of its points are told.
    nominal
        The level at which nothing changes.
    shares
        What makes the share; left out, Wilson's for independent glyphs.
    sweeps
        How many sweeps are looked at so.

    Returns
    -------
    Confused
        None when no pair is significant.

    Notes
    -----
    The test takes glyphs as independent, whoever wrote them; the interval of the share
    doesn't.
    """
    base = next(point for point in points if point.level == nominal)
    off = [point for point in points if point.level != nominal]
    if not off:
        return None
    labels, classes = sheet.labels, len(sheet.classes)
    before = sheet.row(base.cell).answered.astype(np.intp)
    told = [_pairs(labels, before, sheet.row(point.cell).answered, classes) for point in off]
    here = np.stack([only_here for only_here, _ in told])
    there = np.stack([only_before for _, only_before in told])
    occurring = np.flatnonzero((here + there).any(axis=0))
    if not len(occurring):
        return None
    here, there = here[:, occurring], there[:, occurring]
    p_holm = holm(mcnemar_exact(here, there).reshape(-1)).reshape(here.shape)
    significant = (sweeps * p_holm < ALPHA) & (here > there)
    excess = np.where(significant.any(axis=0), (here - there).sum(axis=0), np.iinfo(np.intp).min)
    pair = int(excess.argmax())
    if not significant[:, pair].any():
        return None
    true, answered = divmod(int(occurring[pair]), classes)
    base_count = np.count_nonzero((labels == true) & (before == answered))
    counts = base_count + here[:, pair] - there[:, pair]
    at = min(
        np.flatnonzero(significant[:, pair]).tolist(),
        key=lambda one: (distance(off[one].level, nominal), -counts[one]),
    )
    glyphs = np.flatnonzero(labels == true)
    read_so = sheet.row(off[at].cell).answered[glyphs] == answered
    share = (shares or Shares()).some(glyphs).of(read_so)
    return Confused(sheet.classes[true], sheet.classes[answered], off[at].level, share)


def _pairs(
    labels: Whole, before: Whole, answered: NDArray[np.int16], classes: int
) -> tuple[Whole, Whole]:
    """Glyphs that are misread so at a level only, and at nominal only, by pair of classes."""
    now = answered.astype(np.intp)
    changed = now != before
    new, old = changed & (now != labels), changed & (before != labels)
    size = classes * classes
    return (
        np.bincount(labels[new] * classes + now[new], minlength=size),
        np.bincount(labels[old] * classes + before[old], minlength=size),
    )
