"""Lines right across pictures: ruled and squared paper, and the edges of a box."""

from __future__ import annotations

import numpy as np

from gen.diagnose.measures import Measures
from gen.glyphs.base import Pixels

RULED = 0.7
"""Share of pictures with a line right across from which on paper counts as ruled: a stroke of a
mark that fills its frame is such a line too, in up to six pictures of ten."""
_SHARE = 5
"""Percentile of a row that is its own level: hardly any mark covers so much of one."""
_LEAST, _NOISES, _THIN_PX = 30.0, 1.5, 3
_LEAST_SIDE_PX = 16
"""In smaller frames a mark may well reach from side to side."""


def ruled_share(images: Pixels, measured: Measures) -> float:
    """Share of pictures in which a thin row or column is inked nearly from end to end.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright.
    measured
        Their measures.

    Examples
    --------
    >>> from gen.diagnose.measures import measure
    >>> plain = np.zeros((4, 28, 28), np.uint8)
    >>> plain[:, 6:22, 12:15] = 255
    >>> lined = plain.copy()
    >>> lined[:2, 24] = 150
    >>> ruled_share(plain, measure(plain)), ruled_share(lined, measure(lined))
    (0.0, 0.5)
    """
    if min(images.shape[1:]) < _LEAST_SIDE_PX:
        return 0.0
    least = np.maximum(_LEAST, _NOISES * np.nan_to_num(measured["noise"]))[:, None]
    lined = []
    for axis in (2, 1):
        level = np.percentile(images, _SHARE, axis=axis)
        level -= np.median(level, axis=1, keepdims=True)
        # Thin: within three px on either side there is paper again.
        room = np.pad(level, ((0, 0), (_THIN_PX, _THIN_PX)))
        beside = [room[:, at : at + level.shape[1]] for at in range(2 * _THIN_PX + 1)]
        before, after = np.min(beside[:_THIN_PX], axis=0), np.min(beside[_THIN_PX + 1 :], axis=0)
        lined.append((level - np.maximum(before, after) > least).any(axis=1))
    return float((lined[0] | lined[1]).mean())
