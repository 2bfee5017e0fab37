"""A report as one side of a comparison: its answers, its sweeps, and what to call its model."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from gen.core.errors import InkdriftError
from gen.evaluate.answered import Answered
from gen.evaluate.compared import BlendOfCells, GridOfCells, SweepOfCells
from gen.evaluate.results import Evaluation, Side
from gen.recipe.model import Level
from gen.report.answers_file import ANSWERS, read_answers
from gen.report.kept_pictures import PICTURES, Kept, kept_of, read_pictures
from gen.report.object import Report
from gen.report.shown import Shown
from gen.report.write import DOCUMENT

_UNREADABLE = (
    KeyError,
    TypeError,
    ValueError,
    AttributeError,
    RecursionError,
    OverflowError,
)
"""What plain values raise when they aren't what a report holds."""


@dataclass(frozen=True, eq=False)
class Scored:
    """One model's report, read.

    Attributes
    ----------
    name
        What the model is called in the comparison.
    model
        What the report says of it, whole.
    report
        The folder as it was given; empty for a report that was never a file.
    answered
        Every answer.
    sweeps, grids, blends
        Which cells belong together.
    nominal
        Name of the nominal cell.
    glyphs, recipe
        In words.
    version
        Of the package that made it.
    pictures
        Some glyphs in some cells.
    """

    name: str
    model: str
    report: str
    answered: Answered
    sweeps: tuple[SweepOfCells, ...]
    grids: tuple[GridOfCells, ...]
    blends: tuple[BlendOfCells, ...]
    nominal: str
    glyphs: str
    recipe: str
    version: str
    pictures: Kept


def read_scored(report: Path | str | Report) -> Scored:
    """Read a report's folder, its report.json, or take a report that is there in Python.

    Raises
    ------
    InkdriftError
        If it can't be read, isn't a report, or holds no answers of single glyphs.
    """
    return _of_report(report) if isinstance(report, Report) else _of_folder(Path(report))


def _short(model: str) -> str:
    """The model's name, without what was understood of it."""
    name, found, _ = model.partition(": handed ")
    return name if found else model.partition(": ")[0]


def _of_report(report: Report) -> Scored:
    made = report.evaluation
    if report.sheet is None:
        raise InkdriftError(
            _short(made.model),
            "this report holds no answers of single glyphs, so nothing can be paired",
            hint="compare what make_report gives, or the folders that it saves",
        )
    return Scored(
        name=_short(made.model),
        model=made.model,
        report="",
        answered=Answered.of(
            report.sheet, glyphs_digest=made.glyphs_digest, recipe_digest=made.recipe_digest
        ),
        sweeps=tuple(
            SweepOfCells(
                Side(
                    curve.perturbation, curve.unit, curve.nominal, curve.options, curve.title,
                    tuple(point.level for point in curve.points),
                ),
                tuple(point.cell for point in curve.points),
            )
            for curve in made.curves
        ),
        grids=_grids_of(made),
        blends=tuple(BlendOfCells(blend.title, blend.cells) for blend in made.blends),
        nominal=made.baseline.cell,
        glyphs=made.glyphs,
        recipe=made.recipe,
        version=dict(report.run.versions).get("inkdrift", ""),
        pictures=kept_of(made, report.shown or Shown()),
    )  # fmt: skip


def _grids_of(made: Evaluation) -> tuple[GridOfCells, ...]:
    """Grids that were scored whole; one with a failed cell is in its report alone."""
    return tuple(
        GridOfCells(
            grid.title,
            grid.down,
            grid.across,
            tuple(tuple(point.cell for point in row if point is not None) for row in grid.points),
        )
        for grid in made.grids
        if all(point is not None for row in grid.points for point in row)
    )


def _of_folder(place: Path) -> Scored:
    folder = place.parent if place.name == DOCUMENT else place
    path = folder / DOCUMENT
    held = _document(path)
    if not (folder / ANSWERS).exists():
        raise InkdriftError(
            str(folder),
            f"there is no {ANSWERS} in it, so nothing can be paired",
            hint="make the report again; every report has it now",
        )
    answered = read_answers(folder / ANSWERS)
    try:
        model = _text(held["model"]["name"])
        read = Scored(
            name=_short(model),
            model=model,
            report=str(folder),
            answered=answered,
            sweeps=tuple(_sweep(curve) for curve in held["curves"]),
            grids=tuple(
                _grid(grid)
                for grid in held.get("grids", ())
                if all(point is not None for row in grid["points"] for point in row)
            ),
            blends=tuple(_blend(blend) for blend in held.get("blends", ()) if blend.get("cells")),
            nominal=_text(held["baseline"]["cell"]),
            glyphs=_text(held["glyphs"]["source"]),
            recipe=_text(held["recipe"]["title"]),
            version=_text(held["versions"].get("inkdrift", "")),
            pictures={},
        )
        digests = (_text(held["glyphs"]["digest"]), _text(held["recipe"]["digest"]))
    except _UNREADABLE as error:
        raise InkdriftError(
            str(path), "this is no report of ours", got=f"{type(error).__name__}: {error}"
        ) from error
    if digests != (answered.glyphs_digest, answered.recipe_digest):
        raise InkdriftError(
            str(folder),
            f"{ANSWERS} is of another run than {DOCUMENT}",
            hint="make the report again",
        )
    pictures = read_pictures(folder / PICTURES, glyphs_digest=digests[0], recipe_digest=digests[1])
    return replace(read, pictures=pictures)


def _document(path: Path) -> dict[str, Any]:
    try:
        held = json.loads(path.read_bytes())
    except OSError as error:
        raise InkdriftError(
            str(path),
            "can't be read",
            got=error.strerror or error,
            allowed="the folder of a report, or its report.json",
        ) from error
    except (ValueError, RecursionError) as error:
        raise InkdriftError(str(path), "this is no JSON", got=error) from error
    if not isinstance(held, dict):
        raise InkdriftError(str(path), "this is no report of ours", got=type(held).__name__)
    return held


def _sweep(curve: dict[str, Any]) -> SweepOfCells:
    levels = tuple(_level(point["level"]) for point in curve["points"])
    side = _side(curve, levels)
    if side.nominal not in levels:
        raise ValueError("a curve without its nominal level")
    return SweepOfCells(side, tuple(_text(point["cell"]) for point in curve["points"]))


def _grid(grid: dict[str, Any]) -> GridOfCells:
    down, across = (
        _side(grid[key], tuple(_level(level) for level in grid[key]["levels"]))
        for key in ("down", "across")
    )
    cells = tuple(tuple(_text(point["cell"]) for point in row) for row in grid["points"])
    if len(cells) != len(down.levels) or {len(row) for row in cells} != {len(across.levels)}:
        raise ValueError("a grid whose cells aren't one a pair of levels")
    return GridOfCells(_text(grid["title"]), down, across, cells)


def _blend(blend: dict[str, Any]) -> BlendOfCells:
    cells = blend["cells"]
    if not isinstance(cells, list):
        raise TypeError("cells of a blend that are no list")
    return BlendOfCells(_text(blend["title"]), tuple(_text(cell) for cell in cells))


def _side(held: dict[str, Any], levels: tuple[Level, ...]) -> Side:
    options = tuple(
        (_text(name), None if value is None else _level(value))
        for name, value in held["options"].items()
    )
    return Side(
        _text(held["perturbation"]),
        _text(held["unit"]),
        _level(held["nominal"]),
        options,
        _text(held["title"]),
        levels,
    )


def _level(value: object) -> Level:
    if isinstance(value, str):
        return value
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise TypeError(f"{value!r} is no level")
    return float(value)


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    return value
