"""report.json: an evaluation and its findings as plain values."""

from __future__ import annotations

import json
import math
from importlib import resources
from typing import Any

from gen.evaluate.results import Curve, Difference, Evaluation, Peak, Point, Proportion, Tolerance
from gen.report.checks import chance
from gen.report.findings import Finding, verdict
from gen.report.run import RunInfo

DIGITS = 6


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
    document = {
        "verdict": verdict(findings),
        "findings": [
            {"kind": finding.kind, "says": finding.says, "evidence": finding.evidence}
            for finding in findings
        ],
        "floor": evaluation.floor,
        "baseline": _point(evaluation.baseline),
        "chance": {"guess": guess, "majority": majority, "majority_class": commonest},
        "curves": [_curve(curve) for curve in evaluation.curves],
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
    """The document as it is stored and printed: UTF-8 text of two-space JSON."""
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of report.json.

    Examples
    --------
    >>> schema()["$schema"]
    'https://json-schema.org/draft/2020-12/schema'
    """
    text = resources.files("gen.report").joinpath("report.schema.json").read_text("utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def rounded(value: Any) -> Any:
    """The same values with every figure at six significant digits.

    Examples
    --------
    >>> rounded({"share": 0.123456789, "p": [1.23456789e-12, 3]})
    {'share': 0.123457, 'p': [1.23457e-12, 3]}
    """
    if isinstance(value, dict):
        return {str(key): rounded(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(item) for item in value]
    if value is None or isinstance(value, (bool, str)):
        return value
    # numpy's scalars are no JSON values; int() and float() make them so.
    if isinstance(value, float) or not hasattr(value, "__index__"):
        number = float(value)
        if not math.isfinite(number):
            return None
        return float(f"{number:.{DIGITS}g}") + 0.0
    return int(value)


def _share(part: Proportion) -> dict[str, Any]:
    return {
        "n": part.n,
        "correct": part.correct,
        "accuracy": part.value,
        "low": part.low,
        "high": part.high,
    }


def _point(point: Point) -> dict[str, Any]:
    return {
        "level": point.level,
        **_share(point.accuracy),
        "difference": _difference(point.difference),
        "per_class": [{"class": c.name, **_share(c.accuracy)} for c in point.per_class],
        "confidence_right": point.confidence_right,
        "confidence_wrong": point.confidence_wrong,
        "ink_lost": point.ink_lost,
        "cell": point.cell,
    }


def _difference(part: Difference | None) -> dict[str, Any] | None:
    if part is None:
        return None
    return {
        "value": part.value,
        "low": part.low,
        "high": part.high,
        "only_nominal": part.only_nominal,
        "only_level": part.only_level,
        "p_value": part.p_value,
        "p_holm": part.p_holm,
    }


def _curve(curve: Curve) -> dict[str, Any]:
    return {
        "perturbation": curve.perturbation,
        "title": curve.title,
        "unit": curve.unit,
        "nominal": curve.nominal,
        "options": dict(curve.options),
        "tolerance": _tolerance(curve.tolerance),
        "peak": _peak(curve.peak),
        "points": [_point(point) for point in curve.points],
    }


def _tolerance(part: Tolerance) -> dict[str, Any]:
    return {
        "floor": part.floor,
        "low": part.low,
        "high": part.high,
        "open_low": part.open_low,
        "open_high": part.open_high,
        "levels": list(part.levels),
    }


def _peak(part: Peak) -> dict[str, Any]:
    return {
        "level": part.level,
        "accuracy": part.accuracy,
        "off_nominal": part.off_nominal,
        "gain": _difference(part.gain),
    }


def _methods(evaluation: Evaluation) -> dict[str, str | None]:
    differences = [p.difference for c in evaluation.curves for p in c.points if p.difference]
    return {
        "interval": evaluation.baseline.accuracy.method,
        "difference": differences[0].method if differences else None,
    }
