"""A glyph before and after, in characters."""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Pixels
from gen.report.drawn import averaged

SHADES = " \u2591\u2592\u2593\u2588"
PLAIN_SHADES = " .+%@"
_WIDEST = 28
_GAP = "   "


def drawn(image: Pixels, shades: str = SHADES) -> list[str]:
    """A glyph as lines of characters, each twice as high as wide.

    Parameters
    ----------
    image
        ndarray of shape (H, W), uint8, ink bright.
    shades
        From bare paper to full ink.

    Examples
    --------
    >>> dot = np.zeros((4, 6), np.uint8)
    >>> dot[0:2, 2:4] = 255
    >>> drawn(dot, PLAIN_SHADES)
    ['  @@  ', '      ']
    """
    height, width = image.shape
    across = min(width, _WIDEST)
    down = max(1, round(height * across / width / 2))
    cells = averaged(averaged(image.astype(np.float64), down).T, across).T
    places = np.rint(cells / 255 * (len(shades) - 1)).astype(int)
    return ["".join(shades[place] for place in row) for row in places]


def side_by_side(
    before: Pixels, after: Pixels, heads: tuple[str, str], shades: str = SHADES
) -> list[str]:
    """Two glyphs beside each other in frames, with a line over each.

    Examples
    --------
    >>> print(*side_by_side(np.full((2, 2), 255, np.uint8), np.zeros((2, 2), np.uint8),
    ...     ("before", "after"), PLAIN_SHADES), sep="\\n")
    before   after
    +--+     +--+
    |@@|     |  |
    +--+     +--+
    """
    blocks = [_framed(drawn(image, shades)) for image in (before, after)]
    wide = max(len(heads[0]), len(blocks[0][0]))
    lines = zip([heads[0], *blocks[0]], [heads[1], *blocks[1]], strict=True)
    return [f"{left:<{wide}}{_GAP}{right}" for left, right in lines]


def _framed(lines: list[str]) -> list[str]:
    edge = f"+{'-' * len(lines[0])}+"
    return [edge, *(f"|{line}|" for line in lines), edge]
