"""curves.csv and grids.csv: one row a level or cell, for spreadsheets and other programs."""

from __future__ import annotations

from collections.abc import Iterator

from gen.evaluate.results import Curve, Evaluation, GridMap, Point
from gen.recipe.model import Level
from gen.report.csv_text import csv_text

COLUMNS = (
    "sweep",
    "title",
    "perturbation",
    "options",
    "unit",
    "level",
    "nominal",
    "n",
    "correct",
    "accuracy",
    "low",
    "high",
    "interval",
    "difference",
    "difference_low",
    "difference_high",
    "difference_interval",
    "p_value",
    "p_holm",
    "confidence_right",
    "confidence_wrong",
    "ink_lost",
    "brier",
    "log_loss",
    "ece",
)

GRID_COLUMNS = (
    "grid",
    "title",
    "down",
    "down_unit",
    "down_level",
    "across",
    "across_unit",
    "across_level",
    *COLUMNS[COLUMNS.index("n") :],
)


def as_csv(evaluation: Evaluation) -> str:
    """All curves as text after RFC 4180: CRLF line ends, quotes doubled, a header row.

    Text that a spreadsheet would take for a formula gets an apostrophe in front,
    which spreadsheets read as "this is text". Amounts stay numbers.

    Parameters
    ----------
    evaluation
        A scored model.
    """
    return csv_text(
        COLUMNS,
        (
            _row(number, curve, point)
            for number, curve in enumerate(evaluation.curves, 1)
            for point in curve.points
        ),
    )


def grids_as_csv(evaluation: Evaluation) -> str:
    """All grids in the same way, a row a cell; a cell that the model failed in has no figures.

    Parameters
    ----------
    evaluation
        A scored model.
    """
    return csv_text(
        GRID_COLUMNS,
        (row for i, grid in enumerate(evaluation.grids, 1) for row in _grid_rows(i, grid)),
    )


def _grid_rows(number: int, grid: GridMap) -> Iterator[list[Level | None]]:
    down, across = grid.down, grid.across
    for below, row in zip(down.levels, grid.points, strict=True):
        for beside, point in zip(across.levels, row, strict=True):
            yield [
                number,
                grid.title,
                down.title,
                down.unit,
                below,
                across.title,
                across.unit,
                beside,
                *_figures(point),
            ]


def _row(number: int, curve: Curve, point: Point) -> list[Level | None]:
    options = "; ".join(f"{k}={v}" for k, v in curve.options if v is not None)
    return [
        number,
        curve.title,
        curve.perturbation,
        options,
        curve.unit,
        point.level,
        "yes" if point.level == curve.nominal else "no",
        *_figures(point),
    ]


def _figures(point: Point | None) -> list[Level | None]:
    if point is None:
        return [None] * (len(COLUMNS) - COLUMNS.index("n"))
    gap, sure = point.difference, point.calibration
    differs: list[Level | None] = [None] * 6
    if gap is not None:
        differs = [gap.value, gap.low, gap.high, gap.method, gap.p_value, gap.p_holm]
    scores: list[Level | None] = [None] * 3
    if sure is not None:
        scores = [sure.brier, sure.log_loss, sure.ece]
    return [
        point.accuracy.n,
        point.accuracy.correct,
        point.accuracy.value,
        point.accuracy.low,
        point.accuracy.high,
        point.accuracy.method,
        *differs,
        point.confidence_right,
        point.confidence_wrong,
        point.ink_lost,
        *scores,
    ]
