"""report.json: valid against the schema that ships, and the same at every rerun."""

from __future__ import annotations

import json
from dataclasses import replace
from types import ModuleType
from typing import Any

import jsonschema
import numpy as np
import pytest

from gen.report.document import as_dict, as_text, schema
from gen.report.finding import KINDS
from gen.report.findings import find
from gen.report.json_values import rounded
from gen.report.run import RunInfo

RUN = RunInfo("gen report m.py:read r.toml", "seed = 1\n")
PLANTED = ["healthy", "slipped", "fragile", "few", "guessing", "thorough"]


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


def unexplained(whole: dict[str, Any]) -> list[str]:
    """Keys that say nothing about themselves, and neither does what they refer to."""
    lost = []

    def look(node: Any, path: str) -> None:
        if isinstance(node, list):
            for each in node:
                look(each, path)
        if not isinstance(node, dict):
            return
        for key, value in node.get("properties", {}).items():
            referred = whole["$defs"].get(str(value.get("$ref", "")).rpartition("/")[2], {})
            if not (value.get("description") or referred.get("description")):
                lost.append(f"{path}.{key}")
            look(value, f"{path}.{key}")
        for inner in ("items", "anyOf", "additionalProperties"):
            look(node.get(inner), path)

    look(whole, "")
    for name, node in whole["$defs"].items():
        look(node, name)
    return lost


def test_every_key_is_explained_in_the_schema() -> None:
    assert unexplained(schema()) == []


def test_the_look_for_unexplained_keys_finds_them() -> None:
    bare = schema()
    del bare["properties"]["verdict"]["description"]
    del bare["$defs"]["calibration"]["properties"]["bins"]["items"]["properties"]["from"][
        "description"
    ]
    del bare["$defs"]["share"]["description"]
    assert ".verdict" in unexplained(bare)
    assert "calibration.bins.from" in unexplained(bare)


def test_what_was_added_is_stored_as_it_was_scored(planted: ModuleType) -> None:
    made = planted.thorough()
    document = told(made)
    calibration = document["baseline"]["calibration"]
    assert calibration["brier"] == float(f"{made.baseline.calibration.brier:.6g}")
    assert [each["n"] for each in calibration["bins"]] == [
        b.n for b in made.baseline.calibration.bins
    ]
    assert document["baseline"]["misread"] == [[0, 1, 3]]
    summary = document["curves"][0]["summary"]
    assert summary["half_high"]["high"] is None
    assert summary["half_high"]["beyond"] == 0.3
    assert summary["first_class"]["class"] == "4"
    assert [len(row) for row in document["grids"][0]["points"]] == [4, 4, 4, 4]
    assert document["blends"][0]["parts"][1]["share"] == 0.7
    assert document["marks_of_no_class"]["declining"]["threshold"] == 0.87
    assert document["behaviour"]["alone"] == 2
    assert document["failed"][0]["cell"] == "01-translation-x+9px"
    assert [part["kept"] for part in document["requirements"]] == [False, True]
    assert document["methods"]["resampled"] == "glyphs"


def test_a_cell_of_a_grid_that_failed_is_null(planted: ModuleType) -> None:
    made = planted.thorough()
    (grid,) = made.grids
    holed = replace(grid, points=((None, *grid.points[0][1:]), *grid.points[1:]))
    document = told(replace(made, grids=(holed,)))
    validator().validate(document)
    assert document["grids"][0]["points"][0][0] is None


def test_imbalance_is_that_of_the_classes_that_occur(planted: ModuleType) -> None:
    made = replace(planted.healthy(), counts=(400, 100, 100, 100, 100, 50, 50, 50, 50, 0))
    chance = told(made)["chance"]
    assert chance == {
        "guess": 0.1,
        "majority": 0.4,
        "majority_class": "0",
        "imbalance": 8.0,
        "rarest_class": "5",
    }


def test_text_is_json_with_on_a_line_what_fits_on_one(planted: ModuleType) -> None:
    document = told(planted.thorough())
    text = as_text(document)
    assert json.loads(text) == document
    assert max(len(line) for line in text.splitlines() if "says" not in line) < 200
    short = {"n": 3, "names": ["a", "b"], "none": [], "empty": {}, "text": "line\nline"}
    assert as_text(short) == json.dumps(short) + "\n"
    long = {"numbers": list(range(60)), "words": ["w" * 60, "v" * 60]}
    assert json.loads(as_text(long)) == long
    with pytest.raises(ValueError, match="not JSON compliant"):
        as_text({"n": float("nan")})


def test_many_classes_at_many_levels_stay_within_a_few_megabytes(planted: ModuleType) -> None:
    """133 levels of 36 classes, every pair of which is confused at half of them."""
    classes = tuple("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    pairs = tuple((i, j, 1) for i in range(36) for j in range(36) if i != j)
    levels = [k / 10 for k in range(-66, 67)]
    wide = planted.curve(
        "translation", "px", levels, planted.bell(0, 3), options=(("along", "x"),), n=1296,
        classes=classes,
    )  # fmt: skip
    points = tuple(
        replace(
            p,
            misread=pairs if abs(float(p.level)) > 3.3 else pairs[:100],
            calibration=planted.calibration(p.accuracy.value, 0.9),
        )
        for p in wide.points
    )
    made = planted.evaluation(replace(wide, points=points), n=1296, classes=classes)
    size = len(as_text(told(made)).encode())
    assert size < 4_000_000
