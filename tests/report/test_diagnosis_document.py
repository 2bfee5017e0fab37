"""diagnosis.json: valid against its schema, which describes every key and refuses the rest."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from gen.diagnose.results import VERDICTS
from gen.report.diagnosis_document import schema
from gen.report.diagnosis_make import DiagnosisReport, make_diagnosis
from gen.report.diagnosis_words import headline, named
from gen.report.json_text import json_text
from tests.report.diagnosis_support import (
    MOVE,
    ORDER,
    READING,
    drawn,
    explained,
    read,
    remedy,
    without_remedy,
)

PARTS = ("perturbation", "amount", "unit", "options")
KEYS = ("steps", "accuracy", "low", "high", "gain", "p_value", "says", "side", "equally")


def every_kind() -> Iterator[DiagnosisReport]:
    yield explained()
    yield explained(remedy(READING))
    yield explained(remedy(ORDER))
    for verdict in VERDICTS:
        if verdict != "explained":
            yield without_remedy(verdict)


@pytest.mark.parametrize("report", list(every_kind()), ids=lambda r: r.verdict)
def test_every_kind_of_diagnosis_is_valid(report: DiagnosisReport) -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.validate(report.as_dict(), schema())


def test_a_real_diagnosis_is_valid_and_names_the_move() -> None:
    stored = make_diagnosis(read, drawn()).as_dict()
    jsonschema.validate(stored, schema())
    assert stored["verdict"] == "explained"
    first = stored["remedies"][0]
    step = {"perturbation": "translation", "amount": -2.0, "unit": "px", "options": {"along": "x"}}
    assert first["steps"] == [step]
    assert (first["accuracy"], stored["mended"]["file"]) == (1.0, "mended.npz")
    assert first["gain"] == pytest.approx(1 - stored["baseline"]["accuracy"], abs=1e-6)


def test_the_figures_are_those_of_the_diagnosis() -> None:
    report = explained()
    stored, told = report.as_dict(), report.diagnosis.remedies[0]
    assert set(stored) == set(schema()["required"]) == set(schema()["properties"])
    for key in KEYS:
        assert key in stored["remedies"][0]
    assert set(PARTS) == set(stored["remedies"][0]["steps"][0])
    first = stored["remedies"][0]
    assert (first["n"], first["correct"], first["accuracy"]) == (60, 57, 0.95)
    assert first["low"] == pytest.approx(told.accuracy.low, rel=1e-5)
    assert (first["gain"], first["p_value"], first["equally"]) == (
        0.45,
        2e-8,
        ["row-slip -2 bytes"],
    )
    assert [row["name"] for row in stored["differences"]][:1] == [
        report.diagnosis.differences[0].measure.name  # type: ignore[attr-defined]
    ]
    (varied,) = stored["variations"]
    assert (varied["perturbation"], varied["low"], varied["high"]) == ("translation", 0.0, 2.4)
    assert varied["says"] == report.diagnosis.variations[0].says
    assert [(one["kind"], one["found"]) for one in stored["checks"]] == [
        ("placement", True),
        ("blanks", False),
    ]


@pytest.mark.parametrize("key", list(schema()["required"]))
def test_the_schema_refuses_a_document_that_lacks_a_key(key: str) -> None:
    stored = explained().as_dict()
    del stored[key]
    with pytest.raises(jsonschema.ValidationError, match=f"'{key}' is a required property"):
        jsonschema.validate(stored, schema())


FALSE = {
    "another verdict": ("verdict", "ill", "is not one of"),
    "a share over one": ("baseline", {"n": 1, "correct": 2, "accuracy": 2.0, "low": 0, "high": 1},
                         "greater than the maximum"),
    "a remedy of no step": ("remedies", [{**explained().as_dict()["remedies"][0], "steps": []}],
                            "should be non-empty"),
    "a key that nobody knows": ("surprise", 1, "Additional properties are not allowed"),
}  # fmt: skip


@pytest.mark.parametrize(("key", "value", "says"), FALSE.values(), ids=FALSE)
def test_the_schema_refuses_what_is_false(key: str, value: object, says: str) -> None:
    with pytest.raises(jsonschema.ValidationError, match=says):
        jsonschema.validate(explained().as_dict() | {key: value}, schema())


def parts_of(part: Any, where: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    yield where, part
    for name, inner in part.get("properties", {}).items():
        yield from parts_of(inner, f"{where}/{name}")
    for key in ("items", "additionalProperties"):
        if isinstance(part.get(key), dict):
            yield from parts_of(part[key], f"{where}/{key}")
    for number, inner in enumerate(part.get("oneOf", ())):
        yield from parts_of(inner, f"{where}/{number}")


def test_the_schema_describes_every_key() -> None:
    every = list(parts_of(schema()))
    assert len(every) > 60
    assert [where for where, part in every if not part.get("description")] == []


def test_the_same_diagnosis_gives_the_same_bytes(tmp_path: Path) -> None:
    first, second = (make_diagnosis(read, drawn()).save(tmp_path / name) for name in "ab")
    assert set(first) == {"diagnosis.html", "diagnosis.json", "mended.npz"}
    for name, path in first.items():
        assert path.read_bytes() == second[name].read_bytes(), name
    assert (
        first["diagnosis.json"].read_text("utf-8")
        == json_text(make_diagnosis(read, drawn()).as_dict()) + "\n"
    )


def test_each_verdict_has_a_headline_of_its_own() -> None:
    told = {headline(report.diagnosis).partition(":")[0] for report in every_kind()}
    assert len(told) == 4
    both = remedy(MOVE, READING)
    assert explained(both).headline == f"2 changes together give accuracy back: {named(both)}"
