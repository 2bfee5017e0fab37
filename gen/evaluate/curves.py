"""From tallies to curves: intervals, differences from nominal, tolerance and peak."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from gen.evaluate.intervals import WILSON, wilson_score
from gen.evaluate.multiple import holm
from gen.evaluate.paired import NEWCOMBE, mcnemar_exact, newcombe_paired
from gen.evaluate.results import ClassScore, Curve, Difference, Peak, Point, Proportion
from gen.evaluate.tally import Tally
from gen.evaluate.tolerance import tolerance
from gen.recipe.model import Level
from gen.render.plan import Cell, Plan, PlannedSweep

ALPHA = 0.05
"""A peak counts as away from nominal below this corrected p-value."""


def make_curves(
    plan: Plan, tallies: Mapping[Cell, Tally], classes: Sequence[str], *, floor: float
) -> tuple[Point, tuple[Curve, ...]]:
    """The nominal point, and a curve a sweep.

    Holm's correction runs over every level of every sweep that isn't nominal, as
    often as it is listed.

    Parameters
    ----------
    plan
        What was planned.
    tallies
        The counts of every cell of the plan.
    classes
        Class names.
    floor
        The accuracy that a tolerance keeps.
    """
    nominal = tallies[plan.cells[0]]
    points = {
        cell: make_point(cell, tallies[cell], nominal if at else None, classes)
        for at, cell in enumerate(plan.cells)
    }
    listed = [cell for sweep in plan.sweeps for cell in sweep.cells if cell != plan.cells[0]]
    differences = [_difference(points[cell]) for cell in listed]
    adjusted = holm([difference.p_value for difference in differences])
    corrected = dict(
        zip(
            listed,
            (replace(d, p_holm=float(p)) for d, p in zip(differences, adjusted, strict=True)),
            strict=True,
        )
    )
    curves = []
    for sweep in plan.sweeps:
        line = tuple(
            replace(points[cell], level=level, difference=corrected.get(cell))
            for level, cell in zip(sweep.levels, sweep.cells, strict=True)
        )
        curves.append(_curve(sweep, line, plan.frame, floor))
    return points[plan.cells[0]], tuple(curves)


def make_point(
    cell: Cell,
    tally: Tally,
    nominal: Tally | None,
    classes: Sequence[str],
    *,
    level: Level = "nominal",
) -> Point:
    """One cell as a point; `p_holm` is still the uncorrected p-value.

    Parameters
    ----------
    cell, tally
        What was rendered, and its counts.
    nominal
        The counts at nominal; None when this is nominal.
    classes
        Class names.
    level
        The amount; a curve puts in its own, and the baseline keeps "nominal".
    """
    counts, right = tally.class_counts, tally.class_correct
    shown = np.flatnonzero(counts).tolist()
    low, high = wilson_score(
        np.append(right[shown], tally.correct), np.append(counts[shown], tally.n)
    )
    per_class = tuple(
        ClassScore(
            classes[place],
            _proportion(int(right[place]), int(counts[place]), float(low[at]), float(high[at])),
        )
        for at, place in enumerate(shown)
    )
    wrong = tally.n - tally.correct
    told = tally.has_confidence
    return Point(
        level=level,
        accuracy=_proportion(tally.correct, tally.n, float(low[-1]), float(high[-1])),
        difference=None if nominal is None else _against(tally, nominal),
        per_class=per_class,
        confidence_right=tally.confidence_right / tally.correct if told and tally.correct else None,
        confidence_wrong=tally.confidence_wrong / wrong if told and wrong else None,
        ink_lost=tally.ink_lost / tally.n,
        cell=cell.name,
    )


def find_peak(points: Sequence[Point], nominal: Level) -> Peak:
    """The level where most glyphs are read rightly; of equals, the one nearest nominal.

    Parameters
    ----------
    points
        Of one curve, nominal among them, differences corrected.
    nominal
        The level at which nothing changes.
    """

    def rank(point: Point) -> tuple[float, float]:
        if isinstance(nominal, str) or isinstance(point.level, str):
            away = 0.0 if point.level == nominal else 1.0
        else:
            away = abs(point.level - nominal)
        return point.accuracy.value, -away

    best = max(points, key=rank)
    gain = None if best.level == nominal else best.difference
    return Peak(
        level=best.level,
        accuracy=best.accuracy.value,
        gain=gain,
        off_nominal=gain is not None and gain.p_holm < ALPHA and gain.low > 0,
    )


def _curve(
    sweep: PlannedSweep, points: tuple[Point, ...], frame: tuple[int, int], floor: float
) -> Curve:
    said = sweep.sweep
    kept = tolerance(
        sweep.levels,
        [point.accuracy.value for point in points],
        nominal=sweep.nominal,
        floor=floor,
        limits=sweep.limits(frame),
        whole=sweep.unit.whole,
    )
    return Curve(
        perturbation=said.perturbation,
        unit=said.unit,
        nominal=sweep.nominal,
        options=said.options,
        title=sweep.title,
        points=points,
        tolerance=kept,
        peak=find_peak(points, sweep.nominal),
        px_per_unit=sweep.px_per_unit,
    )


def _difference(point: Point) -> Difference:
    assert point.difference is not None, "only nominal has none, and nominal isn't listed"
    return point.difference


def _against(here: Tally, nominal: Tally) -> Difference:
    """Paired difference; what both read rightly follows from the counts of each."""
    both = here.correct - here.only_here
    neither = here.n - both - here.only_here - here.only_nominal
    low, high = newcombe_paired(both, here.only_here, here.only_nominal, neither)
    p_value = float(mcnemar_exact(here.only_here, here.only_nominal))
    return Difference(
        value=(here.correct - nominal.correct) / here.n,
        low=float(low),
        high=float(high),
        only_nominal=here.only_nominal,
        only_level=here.only_here,
        p_value=p_value,
        p_holm=p_value,
        method=NEWCOMBE,
    )


def _proportion(correct: int, n: int, low: float, high: float) -> Proportion:
    return Proportion(correct, n, correct / n, low, high, WILSON)
