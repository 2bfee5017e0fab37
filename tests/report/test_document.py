"""report.json: valid against the schema that ships, and the same at every rerun."""

from __future__ import annotations

import json
from dataclasses import replace
from types import ModuleType
from typing import Any

import jsonschema
import numpy as np
import pytest

from gen.report.document import as_dict, as_text, rounded, schema
from gen.report.finding import KINDS
from gen.report.findings import find
from gen.report.run import RunInfo

RUN = RunInfo("gen report m.py:read r.toml", "seed = 1\n")
PLANTED = ["healthy", "slipped", "fragile", "few", "guessing"]


def told(evaluation: Any, run: RunInfo = RUN) -> dict[str, Any]:
    return as_dict(evaluation, find(evaluation), run)


def validator() -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(schema())


def test_the_schema_is_itself_valid() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())


@pytest.mark.parametrize("name", PLANTED)
def test_a_report_is_valid_after_it_has_been_through_json(planted: ModuleType, name: str) -> None:
    document = told(getattr(planted, name)())
    validator().validate(json.loads(as_text(document)))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("verdict",), "fine"),
        (("baseline", "accuracy"), 1.2),
        (("baseline", "surprise"), 1),
        (("curves", 0, "points", 0, "n"), -1),
        (("curves", 0, "points", 0, "level"), None),
        (("curves", 0, "peak", "off_nominal"), "yes"),
        (("findings", 0, "kind"), "something else"),
        (("findings",), []),
        (("took_seconds",), 3.0),
    ],
)
def test_the_schema_refuses_what_a_report_never_holds(
    planted: ModuleType, path: tuple[str | int, ...], value: Any
) -> None:
    document: Any = told(planted.slipped())
    at = document
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    assert not validator().is_valid(document)


@pytest.mark.parametrize("key", list(schema()["required"]))
def test_no_part_of_a_report_may_be_missing(planted: ModuleType, key: str) -> None:
    document = told(planted.slipped())
    del document[key]
    assert not validator().is_valid(document)


def test_the_schema_knows_every_kind_of_finding() -> None:
    kinds = schema()["properties"]["findings"]["items"]["properties"]["kind"]["enum"]
    assert sorted(kinds) == sorted(KINDS)


def test_times_are_not_stored_so_that_a_rerun_gives_the_same_file(planted: ModuleType) -> None:
    made = planted.slipped()
    later = replace(made, seconds=(("rendering", 99.0),))
    assert as_text(told(made)) == as_text(told(later))
    assert "seconds" not in as_text(told(made))


def test_figures_are_those_of_the_evaluation_to_six_digits(planted: ModuleType) -> None:
    made = planted.slipped()
    document = told(made)
    for curve, stored in zip(made.curves, document["curves"], strict=True):
        for point, kept in zip(curve.points, stored["points"], strict=True):
            assert kept["level"] == point.level
            assert (kept["n"], kept["correct"]) == (point.accuracy.n, point.accuracy.correct)
            assert kept["accuracy"] == float(f"{point.accuracy.value:.6g}")
            assert kept["low"] == float(f"{point.accuracy.low:.6g}")
            assert (kept["difference"] is None) == (point.level == curve.nominal)


def test_a_tiny_p_value_is_not_rounded_to_nothing() -> None:
    assert rounded({"p": 1.23456789e-30}) == {"p": 1.23457e-30}


def test_numbers_of_numpy_become_numbers_of_json() -> None:
    plain = rounded({"n": np.int64(3), "x": np.float32(0.5), "yes": True, "none": None})
    assert json.dumps(plain) == '{"n": 3, "x": 0.5, "yes": true, "none": null}'


def test_what_is_not_a_number_becomes_null() -> None:
    assert rounded([float("nan"), float("inf")]) == [None, None]


def test_the_recipe_is_kept_whole(planted: ModuleType) -> None:
    text = 'title = "Crate tags"\n# a comment\n'
    assert told(planted.healthy(), RunInfo("", text))["recipe"]["text"] == text


def test_the_versions_that_figures_hang_on_are_named(planted: ModuleType) -> None:
    import scipy

    versions = told(planted.healthy())["versions"]
    assert versions["numpy"] == np.__version__
    assert versions["scipy"] == scipy.__version__
    assert set(versions) == {"inkdrift", "python", "numpy", "scipy"}
