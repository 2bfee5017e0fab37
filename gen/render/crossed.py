"""What the manifest says about grids and blends, and the pictures of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from gen.glyphs.base import Pixels, Whole
from gen.render.engine import Renderer
from gen.render.plan import Plan, PlannedBlend, PlannedGrid, PlannedSweep
from gen.render.table_sheet import blend_sheet, grid_sheet

Sheet = dict[str, str]


def table_sheets(renderer: Renderer, glyphs: Whole) -> Iterator[tuple[str, Pixels]]:
    """The pictures of a plan's grids and blends, in this order, with names for their files.

    Parameters
    ----------
    renderer
        With the plan.
    glyphs
        Indices of the glyphs to show; a grid shows the first of them.
    """
    for grid in renderer.plan.grids:
        yield f"grid-{grid.number:02d}", grid_sheet(renderer, grid, int(glyphs[0]))
    for blend in renderer.plan.blends:
        yield f"blend-{blend.number:02d}", blend_sheet(renderer, blend, glyphs)


def said_tables(plan: Plan, sheets: list[Sheet]) -> dict[str, Any]:
    """The manifest's part about grids and blends.

    Parameters
    ----------
    plan
        What was rendered.
    sheets
        The path and digest of each picture of `table_sheets`, in that order.
    """
    crossed = len(plan.grids)
    return {
        "grids": [
            _grid(grid) | sheet for grid, sheet in zip(plan.grids, sheets[:crossed], strict=True)
        ],
        "blends": [
            _blend(blend) | sheet
            for blend, sheet in zip(plan.blends, sheets[crossed:], strict=True)
        ],
    }


def said_lengths(plan: Plan) -> dict[str, Any]:
    """What lengths on paper were told in px by; empty when nothing was stated."""
    ruler = plan.recipe.ruler
    stated = {"scan_dpi": ruler.scan_dpi, "glyph_height_px": ruler.glyph_height_px}
    kept = {key: value for key, value in stated.items() if value is not None}
    return {"lengths": kept} if kept else {}


def said_sweep(side: PlannedSweep) -> dict[str, Any]:
    """A sweep or a side of a grid; lengths on paper as they were written, and in px."""
    return {
        "title": side.title,
        "perturbation": side.sweep.perturbation,
        "unit": side.sweep.unit,
        "nominal": side.nominal,
        "levels": list(side.levels),
        **({} if side.levels_px is None else {"levels_px": list(side.levels_px)}),
    }


def _grid(grid: PlannedGrid) -> dict[str, Any]:
    return {
        "title": grid.title,
        "down": said_sweep(grid.down),
        "across": said_sweep(grid.across),
        "cells": [[cell.name for cell in row] for row in grid.cells],
    }


def _blend(blend: PlannedBlend) -> dict[str, Any]:
    return {
        "title": blend.blend.title,
        "parts": [
            {
                "title": part.title,
                **part.part.said,
                **({} if part.px_per_unit is None else {"px_per_unit": part.px_per_unit}),
                "least": part.chances.levels[0],
                "greatest": part.chances.levels[-1],
                "clipped_share": part.chances.clipped_share,
            }
            for part in blend.parts
        ],
        "cells": [cell.name for cell in blend.cells],
    }
