"""A grid as a map: a point for each pair of levels."""

from __future__ import annotations

from gen.evaluate.points import Points
from gen.evaluate.results import GridMap, Side
from gen.render.plan import PlannedGrid, PlannedSweep


def make_map(grid: PlannedGrid, points: Points) -> GridMap:
    """A planned grid as a map; where the model could not answer there is no point.

    Parameters
    ----------
    grid
        As planned.
    points
        Makes the points.
    """
    return GridMap(
        title=grid.title,
        down=_side(grid.down),
        across=_side(grid.across),
        points=tuple(
            tuple(
                None
                if cell.name in points.sheet.failed
                else points.point(cell.name, level=cell.name)
                for cell in row
            )
            for row in grid.cells
        ),
    )


def _side(sweep: PlannedSweep) -> Side:
    said = sweep.sweep
    return Side(
        said.perturbation, said.unit, sweep.nominal, said.options, sweep.title, sweep.levels
    )
