"""A picture in the characters of a terminal, for whoever has no screen but that."""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Pixels, Real

UPPER, LOWER, WHOLE, FAINT = "\u2580", "\u2584", "\u2588", "\u2591"
SHADES = " .,-=+*#"
"""Bare paper to full ink where blocks can't be shown, in eight equal steps."""
INKED = 128
"""The grey level from which on half a character is filled: half ink."""
_PALE = 40  # below this a character stays empty; resampling leaves such a rim round a mark
_ROWS = 2  # of pixels in a character, which is about twice as high as it is wide


def drawn(image: Pixels, width: int, blocks: bool = True) -> list[str]:
    r"""Draw a picture with characters, as large as it is or smaller.

    Parameters
    ----------
    image
        ndarray of shape (H, W), uint8, ink bright.
    width
        The most columns. A high picture is made smaller than that, so that it never
        has more than half as many lines.
    blocks
        Whether to draw with half blocks, two pixels to a character: full ink is a filled
        half, and what is paler but no paper a light shade. Else one of eight ASCII
        shades stands for the mean of the two.

    Returns
    -------
    Lines of text, all equally long.

    Raises
    ------
    ValueError
        If there is no room, or nothing to draw.

    Notes
    -----
    A picture that is too large is averaged over areas, so that thin strokes pale but
    never vanish between samples.

    Examples
    --------
    >>> corner = np.zeros((4, 4), np.uint8)
    >>> corner[1:, 1] = corner[3, 1:] = 255
    >>> for line in drawn(corner, 40, blocks=False):
    ...     print(f"|{line}|")
    | =  |
    | #==|
    >>> drawn(corner, 40) == [" \u2584  ", " \u2588\u2584\u2584"]
    True
    """
    high, wide = image.shape
    if width < 1 or not image.size:
        raise ValueError(f"can't draw {high} x {wide} px in {width} columns")
    columns = max(1, min(wide, width, round(width * wide / high)))
    most = max(1, (width + 1) // _ROWS)
    lines = min(most, max(1, round(high * columns / wide / _ROWS)))
    cells = averaged(averaged(image.astype(np.float64), lines * _ROWS).T, columns).T
    pairs = cells.reshape(lines, _ROWS, columns).transpose(0, 2, 1)
    one = _half_blocks if blocks else _shade
    return ["".join(one(float(up), float(low)) for up, low in line) for line in pairs]


def _half_blocks(upper: float, lower: float) -> str:
    if upper >= INKED and lower >= INKED:
        return WHOLE
    if upper >= INKED:
        return UPPER
    if lower >= INKED:
        return LOWER
    return FAINT if (upper + lower) / 2 >= _PALE else " "


def _shade(upper: float, lower: float) -> str:
    mean = (upper + lower) / 2
    return SHADES[min(len(SHADES) - 1, int(mean * len(SHADES) / 255))]


def averaged(rows: Real, count: int) -> Real:
    """So many rows instead, each the mean of what it covers of the old ones."""
    edges = np.linspace(0, len(rows), count + 1)
    below = np.arange(len(rows))
    covers = np.minimum(edges[1:, None], below + 1) - np.maximum(edges[:-1, None], below)
    weights = np.maximum(covers, 0.0)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True) @ rows)
