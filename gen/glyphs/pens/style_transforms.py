"""Transforms as a style states them: other units than in the attribute, and an origin.

References
----------
CSS Transforms Module Level 1 (W3C): sections 6 (the box that an origin is of), 5 (the
origin) and 11 (the functions); from memory.
"""

from __future__ import annotations

import re

from gen.core.errors import GlyphError
from gen.glyphs.pens.shapes import Page
from gen.glyphs.pens.transforms import Matrix, checked, one_of, parse_length, refuse_many

_CALL = re.compile(r"\s*+([a-zA-Z0-9]+)\(([^()]*+)\)\s*+")
_VALUE = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)(deg|grad|rad|turn)?")
_DEG = {"deg": 1.0, "grad": 0.9, "rad": 57.29577951308232, "turn": 360.0, None: 1.0}
_NAMES = {
    **{"translatex": "translate", "translatey": "translate", "rotatez": "rotate"},
    **{"scalex": "scale", "scaley": "scale", "skew": "skewX", "skewx": "skewX", "skewy": "skewY"},
}
_SHARE = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}


def parse_style_transform(where: str, text: str, page: Page | None) -> Matrix | None:
    """What a style's `transform` does; None where that isn't known.

    Parameters
    ----------
    where
        The element, for errors.
    text
        Such as "translate(3px, 10%) rotate(0.25turn)".
    page
        (top, left, height, width) of what percentages are of; None where there is none.

    Raises
    ------
    GlyphError
        If it runs out of range, or is far too long.

    Examples
    --------
    >>> parse_style_transform("tag", "rotate(0.25turn) scaleX(2)", None)
    Matrix(a=0.0, b=2.0, c=-1.0, d=0.0, e=0.0, f=0.0)
    >>> parse_style_transform("tag", "perspective(9px)", None) is None
    True
    """
    whole, at = Matrix(), 0
    if text.strip().lower() == "none":
        return whole
    refuse_many(where, text)
    while at < len(text):
        call = _CALL.match(text, at)
        step = None if call is None else _step(where, call[1].lower(), call[2], page)
        if call is None or step is None:
            return None
        whole, at = checked(where, whole.after(step)), call.end()
    return whole


def about(where: str, matrix: Matrix, origin: str | None, page: Page | None) -> Matrix | None:
    """The same about another point than (0, 0); None where that point isn't known.

    Examples
    --------
    >>> turn = parse_style_transform("tag", "rotate(180deg)", None)
    >>> about("tag", turn, "right 3px", (0.0, 0.0, 8.0, 10.0))
    Matrix(a=-1.0, b=0.0, c=-0.0, d=-1.0, e=20.0, f=6.0)
    """
    if origin is None:
        return matrix
    words = origin.lower().split()
    if words[:1] and words[0] in ("top", "bottom"):
        words[:2] = [words[1] if len(words) > 1 else "center", words[0]]
    if not 1 <= len(words) <= 2 + (words[2:] in (["0"], ["0px"])):
        return None
    sides = (None, None) if page is None else (page[3], page[2])
    x, y = (
        _length(where, word, side) for word, side in zip((*words, "center"), sides, strict=False)
    )
    if x is None or y is None:
        return None
    return checked(where, Matrix(e=x, f=y).after(matrix).after(Matrix(e=-x, f=-y)))


def _step(where: str, name: str, inside: str, page: Page | None) -> Matrix | None:
    """One function of a list."""
    words = inside.replace(",", " ").split()
    if name.startswith("translate"):
        sides = (None, None) if page is None else (page[3], page[2])
        words = ["0", *words] if name == "translatey" else words
        if not 1 <= len(words) <= (1 if name == "translatex" else 2):
            return None
        values = [_length(where, word, side) for word, side in zip(words, sides, strict=False)]
    else:
        read = _angle if name.startswith(("rotate", "skew")) else _number
        values = [read(word) for word in words]
    numbers = [value for value in values if value is not None]
    if len(numbers) != len(values):
        return None
    if name == "skew" and len(numbers) == 2:
        # Both slants at once, which is not one after the other.
        x, y = (one_of(where, "skewX", [angle]) for angle in numbers)
        return None if x is None or y is None else Matrix(b=y.c, c=x.c)
    if name in ("scalex", "scaley") and len(numbers) == 1:
        numbers = [numbers[0], 1.0] if name == "scalex" else [1.0, numbers[0]]
    return one_of(where, _NAMES.get(name, name), numbers)


def _length(where: str, word: str, of: float | None) -> float | None:
    if word in _SHARE:
        word = f"{100 * _SHARE[word]:g}%"
    if word in ("0", "0%"):
        return 0.0
    try:
        return parse_length(where, word, of)
    except GlyphError:
        return None


def _number(word: str) -> float | None:
    found = _VALUE.fullmatch(word.removesuffix("%"))
    if found is None or found[2]:
        return None
    return float(found[1]) * (0.01 if word.endswith("%") else 1.0)


def _angle(word: str) -> float | None:
    found = _VALUE.fullmatch(word)
    return None if found is None else float(found[1]) * _DEG[found[2]]
