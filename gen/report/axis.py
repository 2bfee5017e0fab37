"""Where things stand along the axis of a chart, in percent of its width."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from gen.evaluate.results import Curve

MARGIN = 5.0
# Twice the light is one step, from 16 electrons or from 100,000.
BY_RATIO = {"electrons"}
# Labels nearer to each other than this would run together: on a wide page, on a phone.
APART = 6.5
APART_PHONE = 15.0


@dataclass(frozen=True)
class Axis:
    """The amounts of a curve laid out to scale.

    Attributes
    ----------
    xs
        For each point, where it stands, percent of the width.
    shown, phone
        Indices of the points that have room for a label and a picture, on a
        wide page and on a phone.
    gap
        The least distance between two that are shown on a wide page, percent.
    low, high
        Least and greatest amount.
    by_ratio
        Whether equal ratios stand equally far apart, and not equal differences.
    """

    xs: tuple[float, ...]
    shown: frozenset[int]
    phone: frozenset[int]
    gap: float
    low: float
    high: float
    by_ratio: bool = False

    def at(self, amount: float) -> float:
        """Where an amount stands; outside the levels it is held at the end."""
        held = min(max(amount, self.low), self.high)
        return _place(held, self.low, self.high, by_ratio=self.by_ratio)


def lay_out(curve: Curve) -> Axis:
    """The axis of a curve whose levels are amounts, at least two of them different."""
    levels = [float(point.level) for point in curve.points]
    low, high = min(levels), max(levels)
    by_ratio = curve.unit in BY_RATIO and low > 0
    xs = tuple(round(_place(level, low, high, by_ratio=by_ratio), 3) for level in levels)
    peak = levels.index(float(curve.peak.level))
    first = [levels.index(float(curve.nominal)), *([peak] if curve.peak.off_nominal else [])]
    order = [*first, levels.index(low), levels.index(high), *range(len(xs))]
    shown = _spread(order, xs, APART)
    phone = _spread([*first, *sorted(shown, key=order.index)], xs, APART_PHONE)
    stand = sorted(xs[i] for i in shown)
    gap = min((b - a for a, b in pairwise(stand)), default=100.0)
    return Axis(xs, shown, phone & shown, gap, low, high, by_ratio)


def _place(level: float, low: float, high: float, *, by_ratio: bool) -> float:
    if by_ratio:
        level, low, high = (math.log(amount) for amount in (level, low, high))
    return MARGIN + (100 - 2 * MARGIN) * (level - low) / ((high - low) or 1.0)


def _spread(order: Iterable[int], xs: tuple[float, ...], apart: float) -> frozenset[int]:
    """Take points in order of importance, each only if it keeps its distance."""
    taken: list[int] = []
    for i in order:
        if all(i != j and abs(xs[i] - xs[j]) >= apart for j in taken):
            taken.append(i)
    return frozenset(taken)
