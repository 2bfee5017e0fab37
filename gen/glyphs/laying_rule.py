"""By what rule a mark is laid into its frame: the geometry alone, for any kind of mark."""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Real

CENTRED = ("centre of mass", "centre of mass, whole px", "box centred")
"""Rules that look at where the mark is and bring it to the middle."""


def laid_by(
    rule: str, ratio: Real, box: Real, centroid: Real, frame: tuple[int, int], *, fitted: bool
) -> Real:
    """How far marks move, once they are resized, to lie in a frame by a rule.

    Parameters
    ----------
    rule
        One of `CENTRED`. "centre of mass" and "box centred" bring the centroid, or the
        middle of the box, to the centre of the frame, 13.5 of 28 px. "centre of mass,
        whole px" moves by whole pixels, so that the centroid comes within half a px of
        index H // 2, 14 of 28: what was measured on the MNIST files.
    ratio
        ndarray of shape (n,): by how much each is resized about the origin beforehand.
    box
        ndarray of shape (n, 4): top, left, bottom, right of each, outer edges, px.
    centroid
        ndarray of shape (n, 2), (y, x), px.
    frame
        (H, W), px.
    fitted
        Whether marks are resized to a box. Those of the whole-px rule are then first
        laid on the pixel grid.

    Returns
    -------
    ndarray of shape (n, 2): a point p goes to ratio p + this.

    Examples
    --------
    >>> box, middle = np.array([[1.5, 1.5, 5.5, 3.5]]), np.array([[3.2, 2.5]])
    >>> laid_by("box centred", np.ones(1), box, middle, (28, 28), fitted=False).tolist()
    [[10.0, 11.0]]
    >>> laid_by("centre of mass, whole px", np.ones(1), box, middle, (28, 28),
    ...         fitted=False).tolist()
    [[11.0, 12.0]]
    """
    scaled = ratio[:, None]
    centre = np.array([(frame[0] - 1) / 2, (frame[1] - 1) / 2])
    if rule == "centre of mass":
        return np.asarray(centre - scaled * centroid)
    if rule == "centre of mass, whole px":
        laid = _on_grid(scaled * box[:, :2]) if fitted else 0.0
        index = np.array([frame[0] // 2, frame[1] // 2])
        return np.asarray(laid + np.floor(index - (scaled * centroid + laid) + 0.5))
    return np.asarray(centre - scaled * (box[:, :2] + box[:, 2:]) / 2)


def _on_grid(edge: Real) -> Real:
    """The shift that brings an outer edge to the nearest line between two pixels."""
    return np.floor(edge + 1.0) - 0.5 - edge
