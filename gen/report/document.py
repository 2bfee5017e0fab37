"""report.json: an evaluation and its findings as plain values."""

from __future__ import annotations

from typing import Any

from gen.evaluate.results import Evaluation
from gen.report.checks import chance
from gen.report.few import imbalance
from gen.report.findings import Finding, verdict
from gen.report.json_text import json_text
from gen.report.json_values import rounded, schema_of
from gen.report.run import RunInfo
from gen.report.values import (
    behaviour_values,
    blend_values,
    curve_values,
    declining_values,
    foreign_values,
    grid_values,
    point_values,
    requirement_values,
)


def as_dict(evaluation: Evaluation, findings: tuple[Finding, ...], run: RunInfo) -> dict[str, Any]:
    """The whole report as values that JSON knows, the same at every rerun.

    Figures have six significant digits. There are no times in it, and no paths
    but those that the person typed.

    Parameters
    ----------
    evaluation, findings, run
        What was scored, what it says, and how it was run.

    Returns
    -------
    dict, valid against `schema`.
    """
    guess, majority, commonest = chance(evaluation)
    ratio, rarest = imbalance(evaluation)
    document = {
        "verdict": verdict(findings),
        "findings": [
            {"kind": finding.kind, "says": finding.says, "evidence": finding.evidence}
            for finding in findings
        ],
        "floor": evaluation.floor,
        "requirements": [requirement_values(part) for part in evaluation.requirements],
        "baseline": point_values(evaluation.baseline),
        "chance": {
            "guess": guess,
            "majority": majority,
            "majority_class": commonest,
            "imbalance": ratio,
            "rarest_class": rarest,
        },
        "curves": [curve_values(curve) for curve in evaluation.curves],
        "grids": [grid_values(grid) for grid in evaluation.grids],
        "blends": [blend_values(blend) for blend in evaluation.blends],
        "marks_of_no_class": {
            "kinds": [foreign_values(marks) for marks in evaluation.foreign],
            "declining": declining_values(evaluation.declining),
        },
        "behaviour": behaviour_values(evaluation.behaviour),
        "failed": [{"cell": failed.cell, "why": failed.why} for failed in evaluation.failed],
        "classes": list(evaluation.classes),
        "counts": list(evaluation.counts),
        "confusion": [list(row) for row in evaluation.confusion],
        "left_out": list(evaluation.left_out),
        "methods": _methods(evaluation),
        "model": {"name": evaluation.model, "answers": evaluation.answers},
        "glyphs": {"source": evaluation.glyphs, "digest": evaluation.glyphs_digest},
        "recipe": {
            "title": evaluation.recipe,
            "digest": evaluation.recipe_digest,
            "text": run.recipe_text,
        },
        "versions": dict(run.versions),
        "command": run.command,
    }
    plain: dict[str, Any] = rounded(document)
    return plain


def as_text(document: dict[str, Any]) -> str:
    """The document as it is stored and printed: JSON, with on one line whatever fits on one."""
    return json_text(document) + "\n"


def schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of report.json.

    Examples
    --------
    >>> schema()["$schema"]
    'https://json-schema.org/draft/2020-12/schema'
    """
    return schema_of("report.json")


def _methods(evaluation: Evaluation) -> dict[str, str | None]:
    differences = [p.difference for c in evaluation.curves for p in c.points if p.difference]
    areas = [curve.summary.area for curve in evaluation.curves if curve.summary]
    return {
        "interval": evaluation.baseline.accuracy.method,
        "difference": differences[0].method if differences else None,
        "summary": areas[0].method if areas else None,
        "resampled": evaluation.resampled or None,
    }
