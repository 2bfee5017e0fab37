"""Transforms and lengths of SVG.

References
----------
CSS Transforms Module Level 1 (W3C), section 8, the `transform` attribute of SVG; SVG 2,
section 8.9, units; CSS Values and Units Module Level 3, section 6.2: 96 px to an inch.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np

from gen.core.errors import GlyphError
from gen.core.exact import cos_sin_deg, tan_deg
from gen.glyphs.base import Real
from gen.glyphs.pens.drawing import MOST_UNITS

_NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_NUMBERS = re.compile(_NUMBER)
_CALL = re.compile(r"[\s,]*+([A-Za-z]+)\s*+\(([^()]*+)\)")
_LENGTH = re.compile(rf"\s*+({_NUMBER})(px|pt|pc|mm|cm|in|Q|q|%)?\s*+")
_PX = {"px": 1.0, "pt": 96 / 72, "pc": 16.0, "mm": 96 / 25.4, "cm": 96 / 2.54, "in": 96.0}
_PX |= {"Q": 96 / 101.6, "q": 96 / 101.6}
MOST_CALLS = 1000
_COUNTS = {
    "matrix": (6,),
    "translate": (1, 2),
    "scale": (1, 2),
    "rotate": (1, 3),
    "skewX": (1,),
    "skewY": (1,),
}


@dataclass(frozen=True)
class Matrix:
    """x' = a x + c y + e, y' = b x + d y + f, in the letters of the standard."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def after(self, first: Matrix) -> Matrix:
        """`first`, then this one."""
        return Matrix(
            self.a * first.a + self.c * first.b,
            self.b * first.a + self.d * first.b,
            self.a * first.c + self.c * first.d,
            self.b * first.c + self.d * first.d,
            self.a * first.e + self.c * first.f + self.e,
            self.b * first.e + self.d * first.f + self.f,
        )

    def of(self, points: Real) -> Real:
        """Points of shape (..., 2), (x, y), moved."""
        x, y = points[..., 0], points[..., 1]
        return np.stack(
            [(self.a * x + self.c * y) + self.e, (self.b * x + self.d * y) + self.f], -1
        )

    @property
    def size(self) -> float:
        """By how much lengths grow: the square root of how much areas do."""
        return math.sqrt(abs(self.a * self.d - self.b * self.c))

    @property
    def even(self) -> bool:
        """Whether lengths grow alike in every direction, so that a round pen stays round."""
        one, other = self.a**2 + self.b**2, self.c**2 + self.d**2
        across = self.a * self.c + self.b * self.d
        near = 1e-6 * max(one, other)
        return abs(one - other) <= near and abs(across) <= near


def parse_transform(where: str, text: str) -> Matrix:
    """The transform that an attribute states.

    Raises
    ------
    GlyphError
        If it isn't a list of transforms, or runs out of range.

    Examples
    --------
    >>> parse_transform("tag", "translate(3) rotate(90)")
    Matrix(a=0.0, b=1.0, c=-1.0, d=0.0, e=3.0, f=0.0)
    """
    whole, at = Matrix(), 0
    if text.strip() == "none":
        return whole
    text = text.rstrip(" \t\r\n\f,")
    refuse_many(where, text)
    while at < len(text):
        call = _CALL.match(text, at)
        name = call.group(1) if call is not None else ""
        if call is None or name not in _COUNTS:
            raise GlyphError(
                where, "not a transform", got=repr(text[at : at + 40]), allowed=", ".join(_COUNTS)
            )
        numbers = [float(number) for number in _NUMBERS.findall(call.group(2))]
        left = _NUMBERS.sub("", call.group(2)).strip(" \t\r\n\f,")
        if left or len(numbers) not in _COUNTS[name]:
            allowed = f"{' or '.join(map(str, _COUNTS[name]))} numbers in {name}"
            raise GlyphError(where, "not a transform", got=call.group(0)[:40], allowed=allowed)
        _in_range(where, numbers)
        whole = checked(where, whole.after(_matrix(name, numbers)))
        at = call.end()
    return whole


def refuse_many(where: str, text: str) -> None:
    """Refuse a list that would take long to go through and that nobody wrote."""
    if text.count("(") > MOST_CALLS:
        raise GlyphError(
            where,
            "there are more transforms of one element than drawings have",
            got=f"{text.count('('):,}",
            allowed=f"{MOST_CALLS:,}",
        )


def one_of(where: str, name: str, numbers: list[float]) -> Matrix | None:
    """What one function does, by its name in the attribute; None where there is no such."""
    if len(numbers) not in _COUNTS.get(name, ()):
        return None
    _in_range(where, numbers)
    return checked(where, _matrix(name, numbers))


def checked(where: str, matrix: Matrix) -> Matrix:
    """The same, if points that it moves can still be told apart."""
    _in_range(where, [matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f])
    return matrix


def _in_range(where: str, numbers: list[float]) -> None:
    if not all(abs(number) <= MOST_UNITS for number in numbers):
        allowed = f"-{MOST_UNITS:g} to {MOST_UNITS:g}"
        raise GlyphError(where, "a transform is out of range", got=numbers, allowed=allowed)


def _matrix(name: str, numbers: list[float]) -> Matrix:
    first = numbers[0]
    if name == "matrix":
        return Matrix(*numbers)
    if name == "translate":
        return Matrix(e=first, f=numbers[1] if len(numbers) > 1 else 0.0)
    if name == "scale":
        return Matrix(a=first, d=numbers[1] if len(numbers) > 1 else first)
    if name in ("skewX", "skewY"):
        return Matrix(**{"c" if name == "skewX" else "b": tan_deg(first)})
    cos, sin = cos_sin_deg(first)
    turn = Matrix(cos, sin, -sin, cos)
    if len(numbers) == 1:
        return turn
    x, y = numbers[1:]
    return Matrix(e=x, f=y).after(turn).after(Matrix(e=-x, f=-y))


def parse_length(where: str, text: str, percent_of: float | None) -> float:
    """A length in user units.

    Parameters
    ----------
    where
        The element, for errors.
    text
        Such as "3", "0.5mm" or "2%".
    percent_of
        What 100% is; None where that isn't known.

    Raises
    ------
    GlyphError
        If it is none, or in units that depend on type.

    Examples
    --------
    >>> parse_length("tag", "1in", None), parse_length("tag", "5%", 40.0)
    (96.0, 2.0)
    """
    found = _LENGTH.fullmatch(text)
    if found is None or (found.group(2) == "%" and percent_of is None):
        raise GlyphError(
            where,
            "not a length",
            got=repr(text[:40]),
            allowed=f"a number, or with {', '.join(_PX)}",
        )
    value, unit = float(found.group(1)), found.group(2)
    if unit == "%":
        value *= (percent_of or 0.0) / 100
    else:
        value *= _PX[unit or "px"]
    if not abs(value) <= MOST_UNITS:
        raise GlyphError(where, "a length is out of range", got=text[:40])
    return value
