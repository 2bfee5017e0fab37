"""Lettering for contact sheets: plain capitals as pen strokes on a 4 x 6 grid.

A font file would be drawn a little differently by each version of the library
that draws it, and sheets are compared byte for byte. These letters go through
the same exact coverage as the glyphs.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np

from gen.glyphs.base import Pixels, Strokes
from gen.render.coverage import draw

# Each point is a digit for x (0 to 4, left to right) and one for y (0 top, 6 base line).
_LINES = {
    "0": "10 30 41 45 36 16 05 01 10|14 32",
    "1": "02 20 26|06 46",
    "2": "01 10 30 41 42 06 46",
    "3": "00 40 22 32 43 45 36 16 05",
    "4": "36 30 04 44",
    "5": "40 00 02 32 43 45 36 16 05",
    "6": "41 30 10 01 05 16 36 45 44 33 03",
    "7": "00 40 16",
    "8": "10 30 41 42 33 13 02 01 10|13 04 05 16 36 45 44 33",
    "9": "43 13 02 01 10 30 41 45 36 16 05",
    "A": "06 20 46|14 34",
    "B": "03 33 42 41 30 00 06 36 45 44 33",
    "C": "41 30 10 01 05 16 36 45",
    "D": "00 20 42 44 26 06 00",
    "E": "40 00 06 46|03 33",
    "F": "40 00 06|03 33",
    "G": "41 30 10 01 05 16 36 45 43 23",
    "H": "00 06|40 46|03 43",
    "I": "10 30|20 26|16 36",
    "J": "20 40|30 35 26 16 05",
    "K": "00 06|40 03 46",
    "L": "00 06 46",
    "M": "06 00 23 40 46",
    "N": "06 00 46 40",
    "O": "10 30 41 45 36 16 05 01 10",
    "P": "06 00 30 41 42 33 03",
    "Q": "10 30 41 45 36 16 05 01 10|34 46",
    "R": "06 00 30 41 42 33 03|23 46",
    "S": "41 30 10 01 02 13 33 44 45 36 16 05",
    "T": "00 40|20 26",
    "U": "00 05 16 36 45 40",
    "V": "00 26 40",
    "W": "00 16 22 36 40",
    "X": "00 46|40 06",
    "Y": "00 23 40|23 26",
    "Z": "00 40 06 46",
    "+": "03 43|21 25",
    "-": "03 43",
    ".": "26 26",
    ",": "25 17",
    ":": "22 22|25 25",
    "/": "06 40",
    "(": "30 21 25 36",
    ")": "10 21 25 16",
    "=": "02 42|04 44",
    "%": "06 40|00 01|45 46",
}
_ADVANCE = 6.0
_UNKNOWN = "00 40 46 06 00"


def text_size(text: str, height_px: float) -> tuple[int, int]:
    """Height and width in whole px of a line of text with capitals `height_px` high."""
    unit = height_px / 6
    return int(np.ceil(height_px * 1.6)), int(np.ceil((len(text) * _ADVANCE + 1) * unit))


@lru_cache(maxsize=1024)
def write(text: str, height_px: float) -> Pixels:
    """A line of text as ink.

    Parameters
    ----------
    text
        Letters are written as capitals; what isn't known becomes a small box.
    height_px
        Height of the capitals, px.

    Returns
    -------
    ndarray of the shape that `text_size` gives, uint8, ink bright.

    Examples
    --------
    >>> write("+3 px", 8.0).shape
    (13, 42)
    """
    unit = height_px / 6
    pieces = []
    for place, letter in enumerate(text.upper()):
        if letter == " ":
            continue
        for line in _LINES.get(letter, _UNKNOWN).split("|"):
            points = [(int(p[1]), int(p[0]) + place * _ADVANCE) for p in line.split()]
            pieces += list(pairwise(points))
    size = text_size(text, height_px)
    if not pieces:
        return np.zeros(size, np.uint8)
    top = np.array([height_px * 0.3, unit])
    segments = np.array(pieces, dtype=float)[None] * unit + top
    pen = np.full((1, len(pieces)), max(1.0, height_px / 8))
    image: Pixels = draw(Strokes(segments, pen), size)[0]
    image.setflags(write=False)
    return image
