"""From points to curves: what stands at each level, tolerance and peak."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.points import Points
from gen.evaluate.results import Curve, Peak, Point
from gen.evaluate.tolerance import tolerance
from gen.recipe.model import Level
from gen.render.plan import PlannedSweep

ALPHA = 0.05
"""A peak counts as away from nominal below this corrected p-value."""


def make_curve(
    sweep: PlannedSweep, points: Points, *, frame: tuple[int, int], floor: float
) -> Curve:
    """A sweep as a curve; levels that the model could not answer are left out.

    Parameters
    ----------
    sweep
        As planned.
    points
        Makes the points.
    frame
        (H, W) in px.
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
    kept = tolerance(
        [level for level, _ in told],
        [point.accuracy.value for point in line],
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
