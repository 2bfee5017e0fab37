"""The pictures of a page: chosen glyphs, rendered, with what the model said to each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from gen.evaluate.confused import distance
from gen.evaluate.foreign import pictures as foreign_pictures
from gen.evaluate.results import Curve, Evaluation, GridMap
from gen.evaluate.sheet import Row, Sheet
from gen.glyphs.base import RasterGlyphs, StrokeGlyphs
from gen.render.engine import Renderer
from gen.render.plan import Cell, Plan
from gen.report import chosen
from gen.report.causes import is_switch
from gen.report.shown import (
    Followed,
    Picture,
    Pixels,
    Said,
    Shown,
    ShownBlend,
    ShownGrid,
    ShownKind,
    ShownSweep,
)

FOLLOWED = 6
MISREAD = 6
AT_NOMINAL = 12
DRAWN = 12
STRANGERS = 6
GAINED = 2
MOST_SIDE_PX = 64
"""A larger frame is shown smaller, by the mean of whole squares of pixels."""


def shown_of(
    plan: Plan, glyphs: RasterGlyphs | StrokeGlyphs, evaluation: Evaluation, sheet: Sheet
) -> Shown:
    """Choose and render what a page shows of an evaluation.

    Parameters
    ----------
    plan
        What was scored, for the frame of the glyphs.
    glyphs
        The glyphs that were scored.
    evaluation, sheet
        What came of it, and every answer.

    Returns
    -------
    Shown
        Six glyphs are followed through all levels (`chosen.followed`), and up to six
        that are misread stand beside each level (`chosen.misread`).
    """
    showing = _Showing(plan, glyphs, sheet)
    seed = plan.recipe.seed
    return Shown(
        sweeps=tuple(showing.sweep(curve) for curve in evaluation.curves),
        grids=tuple(showing.grid(grid) for grid in evaluation.grids),
        blends=tuple(
            showing.blend(blend.cells[0])
            for blend in plan.blends
            if blend.cells[0].name not in sheet.failed
        )
        if evaluation.blends
        else (),
        at_nominal=showing.at_nominal(),
        strangers=tuple(
            ShownKind(
                marks.kind,
                _smaller(foreign_pictures(marks.kind, glyphs, count=STRANGERS, seed=seed)),
            )
            for marks in evaluation.foreign
        ),
    )


class _Showing:
    """Renders chosen glyphs; each cell is rendered once for all that is shown of it."""

    def __init__(self, plan: Plan, glyphs: RasterGlyphs | StrokeGlyphs, sheet: Sheet) -> None:
        self.sheet = sheet
        self.glyph_at = np.flatnonzero(sheet.scored)  # of a place in a row, which glyph
        self.nominal = plan.cells[0]
        self.cells = {cell.name: cell for cell in plan.cells}
        self.base = sheet.row(self.nominal.name)
        self.renderer = Renderer(plan, glyphs)
        told = [
            cell.name for sweep in plan.sweeps for cell in sweep.cells if cell.name in sheet.told
        ]
        self.followed = chosen.followed(sheet, self.nominal.name, told, FOLLOWED)

    def sweep(self, curve: Curve) -> ShownSweep:
        rows = [self.sheet.row(point.cell) for point in curve.points]
        wrong = [chosen.misread(self.sheet, row, self.base, MISREAD) for row in rows]
        strips: list[list[Picture]] = []
        misread: list[tuple[Picture, ...]] = []
        for point, row, places in zip(curve.points, rows, wrong, strict=True):
            here = self.pictures(self.cells[point.cell], row, [*self.followed, *places])
            strips.append(here[: len(self.followed)])
            misread.append(tuple(here[len(self.followed) :]))
        lost_at = self._first_lost(curve, rows)
        return ShownSweep(
            followed=tuple(_through(list(each)) for each in zip(*strips, strict=True)),
            misread=tuple(misread),
            first_lost=()
            if lost_at is None
            else tuple(p for p in misread[lost_at] if self._was_right(p)),
            first_lost_at=lost_at,
            gained=self._gained(curve),
        )

    def grid(self, grid: GridMap) -> ShownGrid:
        one = self.followed[:1]
        return ShownGrid(
            tuple(
                tuple(
                    None
                    if point is None
                    else self.pictures(self.cells[point.cell], self.sheet.row(point.cell), one)[0]
                    for point in row
                )
                for row in grid.points
            )
        )

    def blend(self, cell: Cell) -> ShownBlend:
        row = self.sheet.row(cell.name)
        few = np.linspace(0, len(row.answered) - 1, min(DRAWN, len(row.answered))).astype(int)
        return ShownBlend(tuple(self.pictures(cell, row, few.tolist())))

    def at_nominal(self) -> tuple[Picture, ...]:
        places = chosen.misread(self.sheet, self.base, self.base, AT_NOMINAL)
        return tuple(self.pictures(self.nominal, self.base, places))

    def pictures(self, cell: Cell, row: Row, places: Sequence[int]) -> list[Picture]:
        """Glyphs in one cell, each with what was said to it there."""
        if not places:
            return []
        block = self.renderer.block(self.glyph_at[list(places)])
        images = _smaller(block.render(cell).images)
        nominal = _smaller(block.nominal)
        classes, labels = self.sheet.classes, self.sheet.labels
        return [
            Picture(
                glyph=int(self.glyph_at[place]),
                true=classes[labels[place]],
                image=images[i],
                said=Said(
                    classes[row.answered[place]],
                    None if row.confidence is None else float(row.confidence[place]),
                    bool(row.right[place]),
                ),
                before=None if cell == self.nominal else nominal[i],
            )
            for i, place in enumerate(places)
        ]

    def _gained(self, curve: Curve) -> tuple[Picture, ...]:
        """What the peak reads rightly and nominal doesn't, where it is off nominal."""
        if not curve.peak.off_nominal:
            return ()
        peak = next(point for point in curve.points if point.level == curve.peak.level)
        row = self.sheet.row(peak.cell)
        places = np.flatnonzero(row.right & ~self.base.right)
        if self.base.confidence is not None:
            places = places[np.argsort(-self.base.confidence[places], kind="stable")]
        few = places[:GAINED].tolist()
        before = self.pictures(self.nominal, self.base, few)
        there = self.pictures(self.cells[peak.cell], row, few)
        return tuple(
            replace(picture, before_said=was.said)
            for picture, was in zip(there, before, strict=True)
        )

    def _first_lost(self, curve: Curve, rows: list[Row]) -> int | None:
        """The level nearest to nominal that loses a glyph which nominal reads rightly."""
        if isinstance(curve.nominal, str) or is_switch(curve):
            return None
        losing = [
            (distance(point.level, curve.nominal), place)
            for place, (point, row) in enumerate(zip(curve.points, rows, strict=True))
            if (self.base.right & ~row.right).any()
        ]
        return min(losing)[1] if losing else None

    def _was_right(self, picture: Picture) -> bool:
        place = int(np.searchsorted(self.glyph_at, picture.glyph))
        return bool(self.base.right[place])


def _through(pictures: list[Picture]) -> Followed:
    return Followed(
        glyph=pictures[0].glyph,
        true=pictures[0].true,
        images=np.stack([picture.image for picture in pictures]),
        said=tuple(picture.said for picture in pictures),
    )


def _smaller(images: Pixels) -> Pixels:
    """Pictures of at most 64 px a side: the mean of whole squares of pixels, paper at the edge."""
    n, high, wide = images.shape
    by = -(-max(high, wide) // MOST_SIDE_PX)
    if by == 1:
        return images
    padded = np.pad(images, ((0, 0), (0, -high % by), (0, -wide % by)))
    squares = padded.reshape(n, padded.shape[1] // by, by, padded.shape[2] // by, by)
    means: Pixels = np.rint(squares.mean(axis=(2, 4))).astype(np.uint8)
    return means
