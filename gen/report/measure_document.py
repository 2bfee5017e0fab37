"""measure.json: what drawings show, as plain values."""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from gen.diagnose.differences import SetDifference
from gen.diagnose.effect import Interval
from gen.diagnose.measures import MEASURES, QUANTILES
from gen.diagnose.set_finding import SetFinding
from gen.report.json_values import rounded, schema_of
from gen.report.measure_set import Drawings, MeasuredSet


def as_dict(drawings: Drawings) -> dict[str, Any]:
    """A measured set as values that JSON knows, the same at every rerun.

    Figures have six significant digits; null stands for what isn't told. There are no times
    in it, and no paths but those that the person typed.

    Returns
    -------
    dict, valid against `schema`.
    """
    document = {
        "verdict": drawings.verdict,
        "findings": [finding_values(finding) for finding in drawings.findings],
        "glyphs": _set(drawings.here),
        "against": None if drawings.against is None else _set(drawings.against),
        "differences": [difference_values(row) for row in drawings.differences],
        "versions": dict(drawings.run.versions),
        "command": drawings.run.command,
    }
    plain: dict[str, Any] = rounded(document)
    return plain


def as_json(drawings: Drawings) -> str:
    """The same as text."""
    return json.dumps(as_dict(drawings), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def schema() -> dict[str, Any]:
    """The JSON Schema of measure.json.

    Examples
    --------
    >>> schema()["title"]
    'Inkdrift measures'
    """
    return schema_of("measure.json")


def _set(here: MeasuredSet) -> dict[str, Any]:
    source = here.provenance
    return {
        "source": source.name,
        "kind": source.kind,
        "digest": source.digest,
        "ink": source.ink,
        "notes": list(source.notes),
        "frame": list(here.frame),
        "count": here.measures.count,
        "classes": list(here.classes),
        "counts": here.pictures.counts.tolist(),
        "measures": [
            {
                "name": name,
                "unit": measure.unit,
                "meaning": measure.meaning,
                "told": int(np.isfinite(here.measures[name]).sum()),
                "quantiles": {
                    str(share): float(value)
                    for share, value in zip(QUANTILES, here.measures.quantiles(name), strict=True)
                },
            }
            for name, measure in MEASURES.items()
        ],
    }


def finding_values(finding: SetFinding) -> dict[str, Any]:
    """One kind of fault, found or ruled out."""
    return {
        "kind": finding.kind,
        "says": finding.says,
        "found": finding.found,
        "evidence": dict(finding.evidence),
    }


def difference_values(row: SetDifference) -> dict[str, Any]:
    """One measure of two sets."""
    return {
        "name": row.measure.name,
        "unit": row.measure.unit,
        "here": row.here,
        "there": row.there,
        "difference": _interval(row.shift),
        "delta": _interval(row.delta),
        "p_value": row.p_value,
        "p_holm": row.p_holm,
    }


def _interval(interval: Interval) -> dict[str, float]:
    return {"value": interval.value, "low": interval.low, "high": interval.high}
