"""curves.csv: one row a level, for spreadsheets and other programs."""

from __future__ import annotations

import csv
import io

from gen.evaluate.results import Curve, Evaluation, Point
from gen.recipe.model import Level
from gen.report.document import rounded

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
    "difference",
    "difference_low",
    "difference_high",
    "p_value",
    "p_holm",
    "confidence_right",
    "confidence_wrong",
    "ink_lost",
)

# What makes a spreadsheet take a cell for a formula.
_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def as_csv(evaluation: Evaluation) -> str:
    """All curves as text after RFC 4180: CRLF line ends, quotes doubled, a header row.

    Text that a spreadsheet would take for a formula gets an apostrophe in front,
    which spreadsheets read as "this is text". Amounts stay numbers.

    Parameters
    ----------
    evaluation
        A scored model.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for number, curve in enumerate(evaluation.curves, 1):
        for point in curve.points:
            writer.writerow([_cell(value) for value in _row(number, curve, point)])
    return out.getvalue()


def _row(number: int, curve: Curve, point: Point) -> list[Level | None]:
    options = "; ".join(f"{k}={v}" for k, v in curve.options if v is not None)
    gap = point.difference
    differs: list[Level | None] = [None] * 5
    if gap is not None:
        differs = [gap.value, gap.low, gap.high, gap.p_value, gap.p_holm]
    return [
        number,
        curve.title,
        curve.perturbation,
        options,
        curve.unit,
        point.level,
        "yes" if point.level == curve.nominal else "no",
        point.accuracy.n,
        point.accuracy.correct,
        point.accuracy.value,
        point.accuracy.low,
        point.accuracy.high,
        *differs,
        point.confidence_right,
        point.confidence_wrong,
        point.ink_lost,
    ]


def _cell(value: Level | None) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.startswith(_STARTS_A_FORMULA) else value
    if isinstance(value, int):
        return str(value)
    return f"{rounded(value):.6g}"
