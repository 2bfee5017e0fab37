"""A curve in figures, each with the interval that drawing glyphs anew gives it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.bootstrap import Resampled
from gen.evaluate.breaking import breaking
from gen.evaluate.confused import distance, first_class, most_confused
from gen.evaluate.curves import Reach
from gen.evaluate.percentiles import TAIL, order_ends
from gen.evaluate.results import Breaking, Curve, Estimate, Summary
from gen.evaluate.shares import Shares
from gen.evaluate.sheet import Sheet
from gen.recipe.model import Level

Real = NDArray[np.float64]


def summarise(
    curve: Curve,
    sheet: Sheet,
    resampled: Resampled,
    *,
    guess: float,
    floor: float,
    reach: Reach | None = None,
    whole: bool = False,
    shares: Shares | None = None,
    sweeps: int = 1,
) -> Curve:
    """Fill in a curve's summary and the interval of its peak.

    Parameters
    ----------
    curve
        With its points; the cell of each is told on the sheet. Levels that the model
        failed at may be missing, nominal may not.
    sheet
        What the model said.
    resampled
        The draws, of the sheet's scored glyphs.
    guess
        Accuracy of answering without looking: half of what nominal reads better than
        this is what the half-drop levels lose. Not drawn anew.
    floor
        The accuracy that a tolerance keeps.
    reach
        How far tolerance, half-drop levels and breaking points go: a tolerance that
        reaches one of its limits ends there, and isn't beyond the levels tried. Left out,
        as far as there are points, without limits.
    whole
        Whether the unit has whole amounts only: ends of a tolerance are then whole.
    shares
        What makes shares of the sheet's scored glyphs; left out, Wilson's for independent
        glyphs.
    sweeps
        How many sweeps the report has: the pair most confused is corrected for them.

    Returns
    -------
    Curve
        The same with `summary` and `peak.levels`; `hidden_blur` is left empty.

    Notes
    -----
    Each draw is treated as the glyphs themselves are, by the rules of
    `gen.evaluate.tolerance` and of the peak; 2,000 draws of 20 levels take some
    milliseconds. A peak is a maximum, which the bootstrap follows only roughly: it is
    drawn towards the level that won by chance. McNemar's test decides what is said of it.
    """
    levels = [point.level for point in curve.points]
    right = sheet.right([point.cell for point in curve.points])
    drawn = resampled.accuracy(right)
    # The first row is the glyphs as they are, so that one rule serves both.
    seen = np.array([point.accuracy.value for point in curve.points])
    rows = np.concatenate([seen[None], drawn])
    amounts = None
    if not isinstance(curve.nominal, str):
        amounts = np.array([float(level) for level in levels])

    def told(values: Real) -> Estimate:
        return resampled.estimate(values[1:], float(values[0]))

    ends: tuple[Estimate | None, ...] = (None,) * 4
    broken: tuple[Breaking, ...] = ()
    if amounts is not None:
        nominal = float(curve.nominal)
        reach = reach or Reach(0, len(levels) - 1, (-math.inf, math.inf))
        start = levels.index(curve.nominal)
        half = half_line(rows[:, start], guess)
        below, above = (
            np.arange(start, reach.first - 1, -1),
            np.arange(start, reach.last + 1),
        )
        low = tolerance_ends(amounts[below], rows[:, below], floor, reach.limits[0])
        high = tolerance_ends(amounts[above], rows[:, above], floor, reach.limits[1])
        if whole:
            low = nominal - np.floor(nominal - low)
            high = nominal + np.floor(high - nominal)
        half_low = crossings(amounts[below], rows[:, below], half)
        half_high = crossings(amounts[above], rows[:, above], half)
        down, up = start > 0, start < len(levels) - 1
        ends = (
            told(low) if down else None,
            told(high) if up else None,
            told(half_low) if down else None,
            told(half_high) if up else None,
        )
        near = slice(reach.first, reach.last + 1)
        broken = breaking(amounts[near].tolist(), right[near], nominal=nominal)
    summary = Summary(
        tolerance_low=ends[0],
        tolerance_high=ends[1],
        half_low=ends[2],
        half_high=ends[3],
        area=told(area(amounts, rows)),
        breaking=broken,
        first_class=first_class(curve.points, nominal=curve.nominal, floor=floor),
        confused=most_confused(
            curve.points, sheet, nominal=curve.nominal, shares=shares, sweeps=sweeps
        ),
    )
    winners = peak_levels(levels, drawn, nominal=curve.nominal, tail=resampled.tail)
    peak = replace(curve.peak, levels=winners)
    return replace(curve, summary=summary, peak=peak)


def crossings(amounts: Real, accuracies: Real, line: Real | float) -> Real:
    """Where accuracy first falls under a line, going outwards.

    Parameters
    ----------
    amounts
        ndarray of shape (L,): nominal first.
    accuracies
        ndarray of shape (draws, L).
    line
        The accuracy to keep, one for all draws or ndarray of shape (draws,).

    Returns
    -------
    ndarray of shape (draws,), float64
        On the straight line between the last level that holds and the first that doesn't;
        infinite, with the sign of the way taken, where all hold; NaN where nominal doesn't.

    Examples
    --------
    >>> crossings(np.array([0.0, 1.0, 2.0]), np.array([[1.0, 0.96, 0.86]]), 0.9).round(2).tolist()
    [1.6]
    """
    keep = np.broadcast_to(np.asarray(line, dtype=np.float64), len(accuracies))
    under = accuracies < keep[:, None]
    crossed = under.any(axis=1) & ~under[:, 0]
    out = np.full(len(accuracies), math.inf if amounts[-1] >= amounts[0] else -math.inf)
    out[under[:, 0] | np.isnan(keep)] = math.nan
    row = np.flatnonzero(crossed)
    at = under[row].argmax(axis=1)
    before, after = accuracies[row, at - 1], accuracies[row, at]
    share = (before - keep[row]) / (before - after)
    out[row] = amounts[at - 1] + share * (amounts[at] - amounts[at - 1])
    return out


def tolerance_ends(amounts: Real, accuracies: Real, floor: float, limit: float) -> Real:
    """One end of the tolerance for each draw: `crossings`, ending where amounts end.

    Parameters
    ----------
    amounts, accuracies
        As for `crossings`.
    floor
        The accuracy to keep.
    limit
        The last amount that there can be on this side.
    """
    ends = crossings(amounts, accuracies, floor)
    last = float(amounts[-1])
    if abs(last - amounts[0]) >= abs(limit - amounts[0]):
        ends[np.isinf(ends)] = last
    return ends


def half_line(nominal: Real, guess: float) -> Real:
    """The accuracy at which half of what nominal reads better than a guess is lost.

    NaN where nominal reads no better than that.

    Examples
    --------
    >>> half_line(np.array([0.9, 0.1]), 0.1).tolist()
    [0.5, nan]
    """
    return np.where(nominal > guess, guess + (nominal - guess) / 2, math.nan)


def area(amounts: Real | None, accuracies: Real) -> Real:
    """Mean accuracy over the range of levels: trapezoids over the range; over names, the mean.

    Parameters
    ----------
    amounts
        ndarray of shape (L,), ascending; None for names.
    accuracies
        ndarray of shape (draws, L).

    Returns
    -------
    ndarray of shape (draws,), float64.

    Examples
    --------
    >>> area(np.array([0.0, 1.0, 3.0]), np.array([[1.0, 0.8, 0.2]])).round(4).tolist()
    [0.6333]
    """
    levels = accuracies.shape[1]
    if amounts is None or levels == 1:
        weight = np.full(levels, 1 / levels)
    else:
        gaps = np.diff(amounts)
        weight = (np.append(gaps, 0.0) + np.append(0.0, gaps)) / (2 * (amounts[-1] - amounts[0]))
    total = np.zeros(len(accuracies))
    # Level by level: a library's sum might take another order, and with it other last bits.
    for at in range(levels):
        total += accuracies[:, at] * weight[at]
    return total


def peak_levels(
    levels: Sequence[Level], drawn: Real, *, nominal: Level, tail: float = TAIL
) -> tuple[Level, ...]:
    """The levels that are the peak in 95 % of the draws.

    In each draw the peak is the level of highest accuracy; of equals, the one nearest to
    nominal, and of those the first.

    Parameters
    ----------
    levels
        Of the curve.
    drawn
        ndarray of shape (draws, L): accuracies.
    nominal
        The level at which nothing changes.
    tail
        Share of the draws that the interval leaves out on each side.

    Returns
    -------
    For amounts the two ends, by the rule of `percentile`; for names the commonest first,
    until no more than two tails are left.

    Examples
    --------
    >>> peak_levels([-1.0, 0.0, 1.0], np.array([[0.8, 0.9, 0.9]] * 50), nominal=0.0)
    (0.0, 0.0)
    """
    order = sorted(range(len(levels)), key=lambda at: distance(levels[at], nominal))
    best = np.array(order)[drawn[:, order].argmax(axis=1)]
    if not isinstance(nominal, str):
        amounts = np.array([float(level) for level in levels])
        return order_ends(np.sort(amounts[best]), tail)
    counts = np.bincount(best, minlength=len(levels))
    ranked = sorted(range(len(levels)), key=lambda at: -counts[at])
    enough = int(np.argmax(np.cumsum(counts[ranked]) >= (1 - 2 * tail) * len(drawn)))
    return tuple(levels[at] for at in ranked[: enough + 1])
