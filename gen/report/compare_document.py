"""compare.json: a comparison as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.evaluate.compared import ComparedBlend, ComparedCell, ComparedGrid, ComparedSweep
from gen.evaluate.results import Estimate
from gen.evaluate.winning import ALPHA
from gen.report.compare_keys import KEYS
from gen.report.json_values import rounded, schema_of
from gen.report.values import fields, share_values, side_values

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison

Values = dict[str, Any]


def as_dict(comparison: Comparison) -> Values:
    """The whole comparison as values that JSON knows, valid against `schema`.

    Figures have six significant digits. There are no times in it, and no paths
    but those that the person typed.
    """
    compared, first = comparison.compared, comparison.models[0]
    plain: Values = rounded(
        {
            "verdict": comparison.verdict,
            "findings": [
                {"kind": said.kind, "says": said.says, "measured": said.measured}
                for said in comparison.findings
            ],
            "models": [
                {
                    "key": KEYS[at],
                    "name": one.name,
                    "understood": one.model,
                    "report": one.report or None,
                    "left_out": compared.missing[at],
                    "failed": [{"cell": cell, "why": why} for cell, why in one.answered.failed],
                }
                for at, one in enumerate(comparison.models)
            ],
            "glyphs": {
                "source": first.glyphs,
                "digest": first.answered.glyphs_digest,
                "compared": compared.glyphs,
                "classes": list(first.answered.classes),
                "counts": list(compared.counts),
            },
            "recipe": {"title": first.recipe, "digest": first.answered.recipe_digest},
            "tests": {"count": compared.tests, "alpha": ALPHA},
            "methods": dict(comparison.methods),
            "nominal": compared.cells[0].cell,
            "cells": [_cell(cell) for cell in compared.cells],
            "sweeps": [_sweep(sweep) for sweep in compared.sweeps],
            "grids": [_grid(grid) for grid in compared.grids],
            "blends": [_blend(blend) for blend in compared.blends],
            "command": comparison.command,
        }
    )
    return plain


def schema() -> Values:
    """The JSON Schema (2020-12) of compare.json.

    Examples
    --------
    >>> schema()["title"]
    'Inkdrift comparison'
    """
    return schema_of("compare.json")


def _cell(cell: ComparedCell) -> Values:
    return {
        "cell": cell.cell,
        "accuracies": [None if part is None else share_values(part) for part in cell.accuracies],
        "differences": [
            {
                "first": KEYS[one.first],
                "second": KEYS[one.second],
                **fields(one, "value", "low", "high"),
                **fields(one, "only_first", "only_second", "p_value", "p_holm"),
            }
            for one in cell.differences
        ],
    }


def _sweep(sweep: ComparedSweep) -> Values:
    return {
        **side_values(sweep.of.side),
        "cells": list(sweep.of.cells),
        "leads": None if sweep.leader is None else KEYS[sweep.leader],
        "means": None if sweep.means is None else list(sweep.means),
        "pairs": [
            {
                "first": KEYS[pair.first],
                "second": KEYS[pair.second],
                "first_better": list(pair.first_better),
                "second_better": list(pair.second_better),
                "mean_difference": _estimate(pair.mean),
            }
            for pair in sweep.pairs
        ],
    }


def _grid(grid: ComparedGrid) -> Values:
    return {
        "title": grid.of.title,
        "down": side_values(grid.of.down),
        "across": side_values(grid.of.across),
        "cells": [list(row) for row in grid.of.cells],
        "pairs": [
            {"first": KEYS[a], "second": KEYS[b], "first_better": won, "second_better": lost}
            for a, b, won, lost in grid.better
        ],
    }


def _blend(blend: ComparedBlend) -> Values:
    return {
        "title": blend.of.title,
        "cells": list(blend.of.cells),
        "leads": None if blend.leader is None else KEYS[blend.leader],
        "accuracies": [None if part is None else share_values(part) for part in blend.accuracies],
        "pairs": [
            {
                "first": KEYS[pair.first],
                "second": KEYS[pair.second],
                "draws": pair.draws,
                "mean_difference": _estimate(pair.mean),
            }
            for pair in blend.pairs
        ],
    }


def _estimate(part: Estimate | None) -> Values | None:
    if part is None:
        return None
    return fields(part, "value", "low", "high")
