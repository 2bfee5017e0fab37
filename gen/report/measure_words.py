"""Amounts of measures in words, with as many digits as they are good for."""

from __future__ import annotations

import math

import numpy as np

from gen.diagnose.differences import SetDifference
from gen.diagnose.effect import Interval
from gen.diagnose.measures import MEASURES, Measure, Measures
from gen.report.words import p_figure

_DIGITS = {"px": 2, "deg": 1, "grey levels": 1, "share": 3, "": 1}


def figure(value: float, measure: Measure, *, signed: bool = False) -> str:
    """One amount without its unit; a dash where there is none.

    Examples
    --------
    >>> from gen.diagnose.measures import MEASURES
    >>> figure(1.234, MEASURES["centroid_dx_px"], signed=True)
    '+1.23'
    """
    if not math.isfinite(value):
        return "\u2013"
    digits = _DIGITS[measure.unit]
    rounded = round(value, digits) + 0.0  # no minus before nothing
    return f"{rounded:+.{digits}f}" if signed else f"{rounded:.{digits}f}"


def moved(row: SetDifference) -> str:
    """How much a set lies over the other, with its interval."""
    low, high = (figure(end, row.measure, signed=True) for end in (row.shift.low, row.shift.high))
    return f"{figure(row.shift.value, row.measure, signed=True)} ({low} to {high})"


def effect(delta: Interval) -> str:
    """Cliff's delta with its interval."""
    return f"{delta.value:+.2f} ({delta.low:+.2f} to {delta.high:+.2f})"


def named(measure: Measure) -> str:
    """A measure's title with its unit."""
    return f"{measure.title}, {measure.unit}" if measure.unit else measure.title


def difference_heads(other: str) -> list[str]:
    """The heads over `difference_row`, with a word for the other set."""
    return ["measure", "here", other, "difference (95 %)", "Cliff's delta (95 %)", "p, Holm"]


def difference_row(row: SetDifference) -> list[str]:
    """A measure of two sets as cells of a table."""
    return [
        named(row.measure),
        figure(row.here, row.measure),
        figure(row.there, row.measure),
        moved(row),
        effect(row.delta),
        p_figure(row.p_holm),
    ]


def quantile_row(measures: Measures, name: str) -> list[str]:
    """The quantiles of a measure as cells of a table, and how many marks told it."""
    measure = MEASURES[name]
    return [
        named(measure),
        *(figure(value, measure) for value in measures.quantiles(name)),
        f"{int(np.isfinite(measures[name]).sum()):,}",
    ]
