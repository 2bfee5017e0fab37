"""From points to curves: what stands at each level, tolerance and peak."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass

from gen.evaluate.points import Points
from gen.evaluate.results import Curve, Peak, Point
from gen.evaluate.tolerance import tolerance
from gen.recipe.model import Level
from gen.render.plan import PlannedSweep

ALPHA = 0.05
"""A peak counts as away from nominal below this corrected p-value."""


@dataclass(frozen=True)
class Reach:
    """The answered levels round nominal with no failed one between.

    A level at which the model fails isn't kept, so that a range that gets so far ends
    before it.

    Attributes
    ----------
    first, last
        Places of the outermost two among the levels that were answered; of names, of all.
    limits
        Least and greatest amount that a tolerance can have: those of the perturbation, or
        the outermost level where the next one failed.
    """

    first: int
    last: int
    limits: tuple[float, float]

    @classmethod
    def of(cls, sweep: PlannedSweep, failed: Container[str], *, frame: tuple[int, int]) -> Reach:
        """Of a planned sweep, some of whose cells may be among the failed, nominal not."""
        answered = [cell.name not in failed for cell in sweep.cells]
        limits = sweep.limits(frame)
        if isinstance(sweep.nominal, str):
            return cls(0, sum(answered) - 1, limits)
        first = last = sweep.levels.index(sweep.nominal)
        while first > 0 and answered[first - 1]:
            first -= 1
        while last + 1 < len(answered) and answered[last + 1]:
            last += 1
        if first > 0:
            limits = (float(sweep.levels[first]), limits[1])
        if last + 1 < len(answered):
            limits = (limits[0], float(sweep.levels[last]))
        before = sum(answered[:first])
        return cls(before, before + last - first, limits)


def make_curve(sweep: PlannedSweep, points: Points, *, reach: Reach, floor: float) -> Curve:
    """A sweep as a curve; levels that the model could not answer are left out.

    Parameters
    ----------
    sweep
        As planned.
    points
        Makes the points.
    reach
        How far a tolerance may go.
    floor
        The accuracy that a tolerance keeps.
    """
    told = [
        (level, cell.name)
        for level, cell in zip(sweep.levels, sweep.cells, strict=True)
        if cell.name not in points.sheet.failed
    ]
    line = tuple(points.point(cell, level=level) for level, cell in told)
    said = sweep.sweep
    near = line[reach.first : reach.last + 1]
    kept = tolerance(
        [point.level for point in near],
        [point.accuracy.value for point in near],
        nominal=sweep.nominal,
        floor=floor,
        limits=reach.limits,
        whole=sweep.unit.whole,
    )
    return Curve(
        perturbation=said.perturbation,
        unit=said.unit,
        nominal=sweep.nominal,
        options=said.options,
        title=sweep.title,
        points=line,
        tolerance=kept,
        peak=find_peak(line, sweep.nominal),
        px_per_unit=sweep.px_per_unit,
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
