"""Several changes at once: blends under the floor, grids that cost more than their sides."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from gen.evaluate.results import Evaluation, Forecast, GridMap, LossShare, Point
from gen.report.causes import is_file_fault
from gen.report.finding import FORECAST, HIDDEN_BLUR, TOGETHER, Finding
from gen.report.places import place
from gen.report.values import blend_values, share_values
from gen.report.words import listed, percent, quoted

# Beyond what the intervals explain, the two together must cost this much more than
# the sum of what each costs alone.
TOGETHER_GAP = 0.05


@dataclass(frozen=True)
class Crossing:
    """A cell of a grid beside the two cells with one of its changes only.

    Attributes
    ----------
    down, across
        Levels.
    both, down_alone, across_alone, nominal
        The four points.
    """

    down: float | str
    across: float | str
    both: Point
    down_alone: Point
    across_alone: Point
    nominal: Point

    @property
    def more(self) -> float:
        """How much more the two cost together than their drops added up."""
        return self._sum - self.both.accuracy.value

    @property
    def least(self) -> float:
        """Lower end of the 95 % interval of `more`.

        By the method of variance estimates recovery, which takes the ends of the
        four intervals: G. Y. Zou and A. Donner, Stat. Med. 27 (2008) 1693-1702. The
        four are taken for independent, which is wide where glyphs are the same.
        """
        down, across = self.down_alone.accuracy, self.across_alone.accuracy
        none, both = self.nominal.accuracy, self.both.accuracy
        return self.more - math.sqrt(
            (down.value - down.low) ** 2
            + (across.value - across.low) ** 2
            + (none.high - none.value) ** 2
            + (both.high - both.value) ** 2
        )

    @property
    def _sum(self) -> float:
        alone = self.down_alone.accuracy.value + self.across_alone.accuracy.value
        return alone - self.nominal.accuracy.value


def worse_together(evaluation: Evaluation) -> Iterator[Finding]:
    """Grids in which two changes cost more together than their drops added up."""
    found = []
    for number, grid in enumerate(evaluation.grids):
        clear = [cross for cross in crossings(grid) if cross.least > TOGETHER_GAP]
        if clear and not any(is_file_fault(side) for side in (grid.down, grid.across)):
            found.append((number, grid, max(clear, key=lambda cross: cross.more)))
    if not found:
        return
    parts = [
        f"{grid.down.title} and {grid.across.title} (most of all "
        f"{place(grid.down, cross.down)} and {place(grid.across, cross.across)})"
        for _, grid, cross in found
    ]
    says = (
        f"Together these cost more than what each costs alone, added up: {listed(parts)}; "
        "the range of one sweep is too wide where the other change happens too."
    )
    told = [
        {
            "grid": number,
            "down": cross.down,
            "across": cross.across,
            "both": share_values(cross.both.accuracy),
            "down_alone": share_values(cross.down_alone.accuracy),
            "across_alone": share_values(cross.across_alone.accuracy),
            "more": cross.more,
            "more_low": cross.least,
        }
        for number, _, cross in found
    ]
    yield Finding(TOGETHER, says, {"grids": told})


def crossings(grid: GridMap) -> Iterator[Crossing]:
    """The cells of a grid where both sides are off nominal, beside those with one change only.

    None where the grid doesn't hold both nominal levels, or the model failed.
    """
    rows, columns = list(grid.down.levels), list(grid.across.levels)
    if grid.down.nominal not in rows or grid.across.nominal not in columns:
        return
    r0, c0 = rows.index(grid.down.nominal), columns.index(grid.across.nominal)
    nominal = grid.points[r0][c0]
    for r, down in enumerate(rows):
        for c, across in enumerate(columns):
            four = grid.points[r][c], grid.points[r][c0], grid.points[r0][c]
            both, down_alone, across_alone = four
            if r == r0 or c == c0 or not (both and down_alone and across_alone and nominal):
                continue
            yield Crossing(down, across, both, down_alone, across_alone, nominal)


def under_forecast(evaluation: Evaluation) -> Iterator[Finding]:
    """Blends of which less than the floor is to be expected."""
    found = [
        (number, blend)
        for number, blend in enumerate(evaluation.blends)
        if blend.accuracy.value < evaluation.floor
    ]
    if not found or evaluation.baseline.accuracy.value < evaluation.floor:
        return
    parts = []
    for _, blend in found:
        most = costliest(blend)
        parts.append(quoted(blend.title) + (f" ({most.title} costs most)" if most else ""))
    says = (
        f"The forecast for {listed(parts)} is under the floor of {percent(evaluation.floor)}: "
        "marks that stray so in several ways at once are read less well than that."
    )
    if all(blend.accuracy.high >= evaluation.floor for _, blend in found):
        says = f"{says[:-1]}, though by no more than chance could explain."
    told = [{"blend": number, **blend_values(blend)} for number, blend in found]
    yield Finding(FORECAST, says, {"floor": evaluation.floor, "blends": told})


def costliest(blend: Forecast) -> LossShare | None:
    """The part of a blend that explains most of its loss; None where nothing is lost."""
    told = [part for part in blend.parts if part.share is not None and part.share > 0]
    return max(told, key=lambda part: part.share or 0.0, default=None)


def hidden_blur(evaluation: Evaluation) -> Iterator[Finding]:
    """Levels where resampling's own blur could explain a part of the drop."""
    found = [
        (index, curve, blur)
        for index, curve in enumerate(evaluation.curves)
        if curve.summary
        for blur in curve.summary.hidden_blur
    ]
    if not found:
        return
    titles = listed(list(dict.fromkeys(curve.title for _, curve, _ in found)), most=12)
    says = (
        f"At some levels of {titles} resampling blurs the mark a little as well, which could "
        "explain over a tenth of the drop there: not all of it comes from the change itself."
    )
    told = [
        {
            "curve": index,
            "level": blur.level,
            "sigma_px": blur.sigma_px,
            "drop": blur.drop,
            "share": blur.share,
        }
        for index, _, blur in found
    ]
    yield Finding(HIDDEN_BLUR, says, {"levels": told})


def worst_cell(grid: GridMap) -> tuple[float | str, float | str, Point] | None:
    """The cell of a grid that is read worst; of equals the first."""
    cells = [
        (down, across, point)
        for down, row in zip(grid.down.levels, grid.points, strict=True)
        for across, point in zip(grid.across.levels, row, strict=True)
        if point is not None
    ]
    return min(cells, key=lambda cell: cell[2].accuracy.value, default=None)
