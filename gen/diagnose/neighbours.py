"""Whose shape is like whose: nearest neighbours, and what they say of labels."""

from __future__ import annotations

import numpy as np

from gen.diagnose.features import Features
from gen.glyphs.base import Real, Whole

NEAREST = 5
FOR_AGREEMENT = 3
_SAME = 0.9995
"""Likeness from which two pictures are one and the same, which says nothing of style."""


def flat(shapes: Features) -> Features:
    """Shapes as rows."""
    return np.ascontiguousarray(shapes).reshape(len(shapes), -1)


def votes(shapes: Features, others: Features, labels: Whole, classes: int) -> Whole:
    """The class that most of each shape's nearest others have, ndarray of shape (n,)."""
    return _majority(nearest(shapes, others), labels, classes)


def nearest(shapes: Features, others: Features, count: int = NEAREST) -> Whole:
    """Indices of the others nearest to each shape, (n, count), the nearest first."""
    likeness = flat(shapes) @ flat(others).T
    count = min(count, likeness.shape[1])
    return np.argsort(-likeness, axis=1, kind="stable")[:, :count]


def _majority(found: Whole, labels: Whole, classes: int) -> Whole:
    said = np.zeros((len(found), classes))
    # A nearer one breaks a tie.
    for rank in range(found.shape[1]):
        said[np.arange(len(found)), labels[found[:, rank]]] += 1 - 0.01 * rank
    return np.asarray(said.argmax(axis=1))


def nearest_alike(shapes: Features, labels: Whole) -> float:
    """Median likeness of each shape to the nearest of its class that isn't itself; 0 to 1."""
    rows = flat(shapes)
    best = np.full(len(rows), np.nan)
    for label in np.unique(labels):
        chosen = np.flatnonzero(labels == label)
        if len(chosen) < 3:
            continue
        likeness = rows[chosen] @ rows[chosen].T
        np.fill_diagonal(likeness, -1)
        best[chosen] = likeness.max(axis=1)
    return float(np.nanmedian(best)) if np.isfinite(best).any() else float("nan")


def agreement(shapes: Features, chosen: Whole, labels: Whole, shifts: tuple[int, ...]) -> Real:
    """How often nearest neighbours carry a glyph's label, at each shift of the labels.

    Parameters
    ----------
    shapes
        Of the chosen glyphs.
    chosen
        Their indices in the set, ndarray of shape (n,).
    labels
        Of the whole set, ndarray of shape (N,).
    shifts
        At shift s the picture at i is given the label at i + s.

    Returns
    -------
    ndarray of shape (shifts,): shares between 0 and 1.
    """
    likeness = flat(shapes) @ flat(shapes).T
    likeness[likeness > _SAME] = -1  # itself, and copies of it
    np.fill_diagonal(likeness, -1)
    found = np.argsort(-likeness, axis=1, kind="stable")[:, :FOR_AGREEMENT]
    shares = []
    for shift in shifts:
        own = labels[(chosen + shift) % len(labels)]
        shares.append(float((own[found] == own[:, None]).mean()))
    return np.array(shares)
