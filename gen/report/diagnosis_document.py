"""diagnosis.json: why a model fails, as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.diagnose.differences import SetDifference
from gen.diagnose.results import Expected, Remedy, Variation
from gen.diagnose.set_finding import SetFinding
from gen.report.diagnosis_mended import MENDED
from gen.report.json_values import rounded, schema_of
from gen.report.measure_document import difference_values, finding_values
from gen.report.values import fields, share_values

if TYPE_CHECKING:
    from gen.report.diagnosis_make import DiagnosisReport

Values = dict[str, Any]


def as_dict(report: DiagnosisReport) -> Values:
    """A diagnosis as values that JSON knows, valid against `schema`.

    Figures have six significant digits. There are no times in it, and no paths but those
    that the person typed.
    """
    found, mended = report.diagnosis, report.mended
    plain: Values = rounded(
        {
            "verdict": found.verdict,
            "says": list(found.says),
            "baseline": share_values(found.baseline),
            "floor": found.floor,
            "remedies": [_remedy(each) for each in found.remedies],
            "ruled_out": list(found.ruled_out),
            "tried": found.tried,
            "expected": [_expected(each) for each in found.expected],
            "variations": [_variation(each) for each in found.variations],
            "differences": [
                difference_values(row)
                for row in found.differences
                if isinstance(row, SetDifference)
            ],
            "checks": [
                finding_values(each) for each in found.checks if isinstance(each, SetFinding)
            ],
            "mended": None
            if mended is None
            else {
                "file": None if mended.images is None else MENDED,
                "options": list(mended.options),
                "says": mended.says,
            },
            "model": found.model,
            "glyphs": found.glyphs,
            "versions": dict(report.run.versions),
            "command": report.run.command,
        }
    )
    return plain


def schema() -> Values:
    """The JSON Schema (2020-12) of diagnosis.json.

    Examples
    --------
    >>> schema()["title"]
    'Inkdrift diagnosis'
    """
    return schema_of("diagnosis.json")


def _remedy(remedy: Remedy) -> Values:
    return {
        "steps": [
            {**fields(step, "perturbation", "amount", "unit"), "options": dict(step.options)}
            for step in remedy.steps
        ],
        **share_values(remedy.accuracy),
        **fields(remedy, "gain", "p_value", "says", "wrong", "change", "side", "equally"),
    }


def _expected(each: Expected) -> Values:
    return {
        **fields(each, "title", "unit", "level"),
        "predicted": share_values(each.predicted),
        "seen": share_values(each.seen),
    }


def _variation(each: Variation) -> Values:
    return fields(each, "title", "perturbation", "unit", "low", "high", "loss", "says")
