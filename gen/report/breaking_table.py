"""breaking.csv: where each glyph is first misread, one row a glyph and sweep."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gen.evaluate.breaking import first_misread, outwards
from gen.evaluate.results import Curve, Evaluation
from gen.evaluate.sheet import Sheet
from gen.recipe.model import Level
from gen.report.csv_text import csv_text

COLUMNS = (
    "sweep",
    "title",
    "glyph",
    "true",
    "nominal_answered",
    "below",
    "below_answered",
    "above",
    "above_answered",
)

_Columns = tuple[list[Level | None], list[Level | None]]


def breaking_as_csv(evaluation: Evaluation, sheet: Sheet) -> str:
    """The breaking point of every scored glyph in every sweep of amounts, as `csv_text` writes.

    `sweep` is numbered as in curves.csv, and `glyph` counts from 0 in the set. `below` and
    `above` are the levels nearest to nominal on either side at which the glyph is misread,
    each with the class answered there. They are empty where it is misread at no level of
    that side, and where nominal misreads it already. Sweeps of rules by name have no sides,
    and are left out.

    Parameters
    ----------
    evaluation
        A scored model.
    sheet
        What it said to every glyph.
    """
    return csv_text(
        COLUMNS,
        (
            row
            for number, curve in enumerate(evaluation.curves, 1)
            if not isinstance(curve.nominal, str)
            for row in _rows(number, curve, float(curve.nominal), sheet)
        ),
    )


def _rows(
    number: int, curve: Curve, nominal: float, sheet: Sheet
) -> Iterator[tuple[Level | None, ...]]:
    levels = [float(point.level) for point in curve.points]
    right = sheet.right([point.cell for point in curve.points])
    start = levels.index(nominal)
    names = sheet.classes
    true = [names[label] for label in sheet.labels]
    base = [names[code] for code in sheet.row(curve.points[start].cell).answered]
    none: list[Level | None] = [None] * len(true)
    sides: dict[str, _Columns] = {"down": (none, none), "up": (none, none)}
    for side, away in outwards(levels, nominal=nominal):
        sides[side] = _first(curve, sheet, away, first_misread(right[away]), right[start])
    glyphs = np.flatnonzero(sheet.scored).tolist()
    columns = zip(glyphs, true, base, *sides["down"], *sides["up"], strict=True)
    for row in columns:
        yield (number, curve.title, *row)


def _first(
    curve: Curve,
    sheet: Sheet,
    away: list[int],
    steps: np.ndarray[tuple[int, ...], np.dtype[np.intp]],
    followed: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
) -> _Columns:
    """The level of each glyph's first misread on a side, and the class answered there."""
    found: list[Level | None] = [None] * len(steps)
    said: list[Level | None] = [None] * len(steps)
    for step, at in enumerate(away):
        point = curve.points[at]
        answered = sheet.row(point.cell).answered
        for glyph in np.flatnonzero(followed & (steps == step)).tolist():
            found[glyph], said[glyph] = point.level, sheet.classes[answered[glyph]]
    return found, said
