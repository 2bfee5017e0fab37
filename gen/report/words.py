"""How amounts, places and shares are put into words, the same everywhere."""

from __future__ import annotations

import re
from collections.abc import Sequence

from gen.evaluate.results import Curve, Estimate, Point, Proportion, Side, Tolerance
from gen.recipe.model import Level
from gen.report.names import isolated

Swept = Curve | Side
"""What has levels in a unit."""

# Their amounts have a direction, so the sign is always written.
_DIRECTED = {"translation", "rotation", "slant", "stroke-width", "row-slip"}
# Units that a person writes otherwise.
_UNITS = {"quarters": "quarter turns", "height": "of its height"}
_LEAST_P = 0.001
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
    # z: what rounds to nought has no sign.
    return f"{100 * share:z.1f} %"


def interval_words(part: Proportion) -> str:
    """A share with its interval: "91.2 % (89.9 to 92.4 %)"."""
    return f"{measured(part.value)} ({100 * part.low:.1f} to {100 * part.high:.1f} %)"


def points(difference: float) -> str:
    """A difference of shares in percentage points, with its sign.

    Examples
    --------
    >>> points(-0.042)
    '-4.2 points'
    """
    return f"{100 * difference:+z.1f} points"


def span(low: float, high: float) -> str:
    """The interval of a difference, in points.

    Examples
    --------
    >>> span(-0.06, -0.0004)
    '(-6.0 to +0.0)'
    """
    return f"({100 * low:+z.1f} to {100 * high:+z.1f})"


def p_figure(p_value: float) -> str:
    """A p-value in a column of its own, three figures behind the point.

    Examples
    --------
    >>> p_figure(0.0421), p_figure(1e-9)
    ('0.042', '< 0.001')
    """
    return f"< {_LEAST_P:g}" if p_value < _LEAST_P else f"{p_value:.3f}"


def p_words(p_value: float) -> str:
    """A p-value in a sentence.

    Examples
    --------
    >>> p_words(0.0421), p_words(1e-9)
    ('p = 0.042', 'p < 0.001')
    """
    told = p_figure(p_value)
    return f"p {told}" if told.startswith("<") else f"p = {told}"


def count(n: int) -> str:
    """How many, with thousands set off.

    Examples
    --------
    >>> count(960), count(10000)
    ('960', '10,000')
    """
    return f"{n:,}"


def kept_together(text: str) -> str:
    """The same text with spaces that no line is broken at between figures and units.

    Examples
    --------
    >>> kept_together("at +3 px, 90 %")
    'at +3\\xa0px, 90\\xa0%'
    """
    return re.sub(r"(?<=\d) (?=%|px|mm|deg|bytes?\b)|(?<=\bp) (?=[<=])|(?<=[<=]) ", "\u00a0", text)


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
    return f"\u201c{isolated(name)}\u201d"


def number(swept: Swept, level: Level) -> str:
    """The level without its unit: "+3", "0.5", "1,600", "box centred"."""
    if isinstance(level, str):
        return level
    rounded = round(level, 6) + 0.0
    # Six figures, as everywhere, and all of a whole number.
    plain = f"{rounded:,.0f}" if rounded == round(rounded) else f"{rounded:,.6g}"
    return f"+{plain}" if rounded > 0 and _signed(swept) else plain


def amount(swept: Swept, level: Level) -> str:
    """The level with its unit: "+3 px", "ratio 1.1", "box centred"; "with" or "without" a fault."""
    if isinstance(level, str):
        return level
    unit = swept.unit
    if unit == "times":
        return "with" if level else "without"
    if unit in {"ratio", "quality"}:
        return f"{unit} {number(swept, level)}"
    if unit == "share":
        return f"{100 * level:.4g} %"
    unit = _UNITS.get(unit, unit)
    if abs(level) == 1 and unit.endswith("s"):
        unit = unit[:-1]
    return f"{number(swept, level)} {unit}".rstrip()


def at(swept: Swept, level: Level) -> str:
    """The level after a figure in a table: "at +3 px", "with"."""
    return amount(swept, level) if swept.unit == "times" else f"at {amount(swept, level)}"


def range_words(curve: Curve, tolerance: Tolerance) -> str:
    """The tolerance as a range: "-2.1 to +1.8 px", "past -8 to +1.8 px".

    "past" stands before an end that was still inside when the levels ran out.
    """
    if by_name(curve):
        return listed([amount(curve, level) for level in inside(curve, tolerance)]) or "none"
    if tolerance.low is None or tolerance.high is None:
        return "none"
    # A curve whose first level is nominal (blur) has nothing to be open towards.
    levels = _amounts(curve)
    past_low = tolerance.open_low and not tolerance.low == curve.nominal == levels[0]
    past_high = tolerance.open_high and not tolerance.high == curve.nominal == levels[-1]
    low, high = _end(curve, tolerance.low), _end(curve, tolerance.high)
    if low == high and not (past_low or past_high):
        return f"{amount(curve, curve.nominal)} only"  # no wider than can be told
    low = f"past {low}" if past_low else low
    high = f"past {high}" if past_high else high
    return spanned(curve, low, high)


def spanned(swept: Swept, low: str, high: str) -> str:
    """Two numbers as a range in the unit: "-2 to +2 px", "quality 30 to 100", "0.8 to 1.2"."""
    if swept.unit == "ratio":
        return f"{low} to {high}"
    if swept.unit == "quality":
        return f"quality {low} to {high}"
    unit = {"share": "%"}.get(swept.unit, _UNITS.get(swept.unit, swept.unit))
    return f"{low} to {high} {unit}"


def end_words(curve: Curve, estimate: Estimate) -> str:
    """The interval of an end of a range, of a half-drop or the like, without the unit.

    "past" stands before an end that lies beyond the levels tried; empty where the
    estimate has no interval.

    Parameters
    ----------
    curve
        The sweep.
    estimate
        The figure, in the curve's unit.
    """
    if estimate.low is None and estimate.high is None:
        return ""
    amounts = [float(level) for level in _amounts(curve)]
    ends = []
    for end, last in ((estimate.low, min(amounts)), (estimate.high, max(amounts))):
        ends.append(f"past {_end(curve, last)}" if end is None else _end(curve, end))
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def ends_words(curve: Curve) -> str:
    """The intervals of the ends of the tolerance: "(-2.8 to -2.4, +2.4 to +2.8)", or nothing."""
    summary = curve.summary
    if summary is None or by_name(curve):
        return ""
    ends = [summary.tolerance_low, summary.tolerance_high]
    told = [end_words(curve, end) for end in ends if end is not None]
    # No line is broken within an interval.
    told = [words.replace(" ", "\u00a0") for words in told if words]
    return f"({', '.join(told)})" if told else ""


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


def rounded_amount(swept: Swept, level: float) -> str:
    """An amount that was found and not set, with its unit: "+2.6 px"."""
    return amount(swept, round(level, _PLACES.get(swept.unit, 1)))


def _end(swept: Swept, level: float) -> str:
    """An end of a range: ends lie on lines between levels, and finer than this says nothing."""
    rounded = round(level, _PLACES.get(swept.unit, 1))
    return f"{100 * rounded:.4g}" if swept.unit == "share" else number(swept, rounded)


def _signed(swept: Swept) -> bool:
    if swept.nominal != 0:
        return False
    levels = _amounts(swept) if isinstance(swept, Curve) else swept.levels
    negative = any(not isinstance(level, str) and level < 0 for level in levels)
    return negative or swept.perturbation in _DIRECTED
