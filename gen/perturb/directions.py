"""Lines along which something happens: x, y, or an angle."""

from __future__ import annotations

from gen.core.exact import cos_sin_deg
from gen.recipe.model import Level, Option


def along_option(meaning: str, default: str = "x") -> Option:
    """The option `along`: x, y, or degrees anticlockwise from x."""
    return Option(
        "along", default=default, choices=("x", "y"), low=-360.0, high=360.0, meaning=meaning
    )


def way(along: Level | None) -> tuple[float, float]:
    """The unit vector (dy, dx) of a line; y is down, an angle anticlockwise as seen.

    Examples
    --------
    >>> way("x"), way("y"), way(90.0)
    ((0.0, 1.0), (1.0, 0.0), (-1.0, 0.0))
    """
    if along is None or along == "x":
        return 0.0, 1.0
    if along == "y":
        return 1.0, 0.0
    cosine, sine = cos_sin_deg(float(along))
    return 0.0 - sine, cosine


def in_words(along: Level | None) -> str:
    """The line for a heading: "along x", "along 30 deg".

    Examples
    --------
    >>> in_words("x"), in_words(30.0)
    ('along x', 'along 30 deg')
    """
    if along is None or isinstance(along, str):
        return f"along {along or 'x'}"
    return f"along {along:g} deg"
