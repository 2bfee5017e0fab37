"""How amounts, places and shares are put into words, the same everywhere."""

from __future__ import annotations

import re
from collections.abc import Sequence

from gen.evaluate.results import Curve, Point, Tolerance
from gen.recipe.model import Level

# Their amounts have a direction, so the sign is always written.
_DIRECTED = {"translation", "rotation", "slant", "stroke-width", "row-slip"}
# Read better as "a blur of 1 px" than as "1 px of blur".
_NOUNS = {"row-slip", "blur", "motion-blur", "value-range", "noise", "shadow", "contrast", "jpeg"}
# Figures behind the point of the ends of a range; 1 for units that aren't here.
_PLACES = {"ratio": 2, "share": 2, "mm": 2, "height": 3}


def percent(share: float) -> str:
    """A share that somebody set, such as the floor, in percent.

    Examples
    --------
    >>> percent(0.9), percent(0.925)
    ('90 %', '92.5 %')
    """
    return f"{round(100 * share, 4):g} %"


def measured(share: float) -> str:
    """A measured share in percent, one decimal.

    Examples
    --------
    >>> measured(0.91349)
    '91.3 %'
    """
    return f"{100 * share:.1f} %"


def points(difference: float) -> str:
    """A difference of shares in percentage points, with its sign.

    Examples
    --------
    >>> points(-0.042)
    '-4.2 points'
    """
    return f"{100 * difference:+.1f} points"


def kept_together(text: str) -> str:
    """The same text with spaces that no line is broken at between figures and units.

    Examples
    --------
    >>> kept_together("at +3 px, 90 %")
    'at +3\\xa0px, 90\\xa0%'
    """
    return re.sub(r"(?<=\d) (?=%|px|deg|bytes?\b)|(?<=\bp) (?=[<=])|(?<=[<=]) ", "\u00a0", text)


def listed(words: Sequence[str], most: int = 6) -> str:
    """Words as a list in a sentence; a long one is cut and the rest counted.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"])
    ('a', 'a and b', 'a, b and c')
    >>> listed(list("abcde"), most=3)
    'a, b, c and 2 more'
    """
    if len(words) > most:
        return f"{', '.join(words[:most])} and {len(words) - most} more"
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def quoted(name: str) -> str:
    """A name that somebody else chose, set off from the sentence round it."""
    return f"\u201c{name}\u201d"


def number(curve: Curve, level: Level) -> str:
    """The level without its unit: "+3", "0.5", "box centred"."""
    if isinstance(level, str):
        return level
    rounded = round(level, 6) + 0.0
    return f"{rounded:+g}" if _signed(curve) and rounded else f"{rounded:g}"


def amount(curve: Curve, level: Level) -> str:
    """The level with its unit: "+3 px", "ratio 1.1", "box centred"; "with" or "without" a fault."""
    if isinstance(level, str):
        return level
    if curve.unit == "times":
        return "with" if level else "without"
    if curve.unit == "ratio":
        return f"ratio {number(curve, level)}"
    unit = curve.unit
    if abs(level) == 1 and unit.endswith("s"):
        unit = unit[:-1]
    return f"{number(curve, level)} {unit}"


def place(curve: Curve, level: Level) -> str:
    """The level as a sentence has it: "at +3 px along x (right)", "with axis swap".

    Along x plus is right and along y plus is down; turns are anticlockwise when positive.
    """
    if isinstance(level, str):
        return f"with {curve.title} {quoted(level)}"
    if curve.unit == "times":
        return f"{amount(curve, level)} {curve.title}"
    along = str(dict(curve.options).get("along"))
    if curve.perturbation == "translation" and along in {"x", "y"}:
        way = _way(level, {"x": ("right", "left"), "y": ("down", "up")}[along])
        return f"at {amount(curve, level)} along {along}{way}"
    if curve.unit == "ratio":
        return f"at {number(curve, level)} times the {curve.title}"
    if curve.perturbation in _NOUNS:
        return f"at a {curve.title} of {amount(curve, level)}"
    way = _way(level, ("anticlockwise", "clockwise")) if curve.perturbation == "rotation" else ""
    return f"at {amount(curve, level)} of {curve.title}{way}"


def at(curve: Curve, level: Level) -> str:
    """The level after a figure in a table: "at +3 px", "with"."""
    return amount(curve, level) if curve.unit == "times" else f"at {amount(curve, level)}"


def range_words(curve: Curve, tolerance: Tolerance) -> str:
    """The tolerance as a range: "-2.1 to +1.8 px", "past -8 to +1.8 px".

    "past" stands before an end that was still inside when the levels ran out.
    """
    if by_name(curve):
        return listed([amount(curve, level) for level in inside(curve, tolerance)]) or "none"
    if tolerance.low is None or tolerance.high is None:
        return "none"
    if tolerance.low == tolerance.high and not (tolerance.open_low or tolerance.open_high):
        return f"{amount(curve, curve.nominal)} only"
    # Ends lie on lines between levels; finer than this says nothing.
    places = _PLACES.get(curve.unit, 1)
    low, high = (number(curve, round(end, places)) for end in (tolerance.low, tolerance.high))
    # A curve whose first level is nominal (blur) has nothing to be open towards.
    starts = tolerance.low == curve.nominal == _amounts(curve)[0]
    ends = tolerance.high == curve.nominal == _amounts(curve)[-1]
    low = f"past {low}" if tolerance.open_low and not starts else low
    high = f"past {high}" if tolerance.open_high and not ends else high
    return f"{low} to {high}" if curve.unit == "ratio" else f"{low} to {high} {curve.unit}"


def by_name(curve: Curve) -> bool:
    """Whether the levels are names, or so few that a line through them means nothing."""
    return len(curve.points) <= 2 or any(isinstance(p.level, str) for p in curve.points)


def inside(curve: Curve, tolerance: Tolerance) -> list[Level]:
    """The levels of a curve by name that are inside its tolerance."""
    low, high = tolerance.low, tolerance.high
    return [
        point.level
        for point in curve.points
        if point.level in tolerance.levels
        or (
            not isinstance(point.level, str)
            and low is not None
            and high is not None
            and low <= point.level <= high
        )
    ]


def extremes(curve: Curve) -> tuple[Point, Point]:
    """The peak, and the lowest point; of equals the first."""
    best = next(point for point in curve.points if point.level == curve.peak.level)
    return best, min(curve.points, key=lambda point: point.accuracy.value)


def _amounts(curve: Curve) -> list[Level]:
    return [point.level for point in curve.points]


def _signed(curve: Curve) -> bool:
    if curve.nominal != 0:
        return False
    negative = any(not isinstance(p.level, str) and p.level < 0 for p in curve.points)
    return negative or curve.perturbation in _DIRECTED


def _way(level: float, ways: tuple[str, str]) -> str:
    if level == 0:
        return ""
    return f" ({ways[0] if level > 0 else ways[1]})"
