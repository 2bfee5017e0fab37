"""The JSON Schema that ships, judged by the jsonschema package."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from gen.core.errors import InkdriftError
from gen.perturb import CATALOGUE
from gen.recipe.model import Catalogue
from gen.recipe.reader import parse_recipe
from gen.recipe.schema import SCHEMA_FILE, recipe_schema, schema_text
from gen.recipe.shelf import find_recipe, shelf_names
from gen.recipe.starter import STARTER

BAD = Path(__file__).parent / "bad"

# What only the reader can see: relations between values, floats that TOML has and
# JSON hasn't, and sums over a whole recipe.
READER_ALONE = {
    "steps-that-miss",
    "far-too-many-levels",
    "too-large-a-grid",
    "requirements-that-nothing-tests",
}
# No values come out of these.
NOT_TOML = {"a-key-written-twice", "never-closed", "not-toml"}


def validator(catalogue: Catalogue) -> Draft202012Validator:
    return Draft202012Validator(recipe_schema(catalogue))


def one_sweep(**keys: Any) -> dict[str, Any]:
    sweep = {"perturbation": "translation", "unit": "px", "levels": [0, 1]} | keys
    return {"title": "Mount drift", "sweep": [sweep]}


def test_the_committed_file_is_what_the_catalogue_gives() -> None:
    # To write it anew: SCHEMA_FILE.write_text(schema_text(CATALOGUE), "utf-8").
    assert SCHEMA_FILE.read_text("utf-8") == schema_text(CATALOGUE)


def test_the_committed_file_is_itself_a_schema() -> None:
    Draft202012Validator.check_schema(json.loads(SCHEMA_FILE.read_text("utf-8")))


@pytest.mark.parametrize("name", shelf_names())
def test_a_shipped_recipe_is_valid(name: str) -> None:
    data = tomllib.loads(find_recipe(name).read_text("utf-8"))
    assert not list(validator(CATALOGUE).iter_errors(data))


def test_the_starter_is_valid() -> None:
    assert not list(validator(CATALOGUE).iter_errors(tomllib.loads(STARTER)))


@pytest.mark.parametrize("path", sorted(BAD.glob("*.toml")), ids=lambda path: path.stem)
def test_a_bad_recipe_is_not_valid(path: Path, catalogue: Catalogue) -> None:
    if path.stem in NOT_TOML:
        with pytest.raises(tomllib.TOMLDecodeError, match="at"):
            tomllib.loads(path.read_text("utf-8"))
        return
    valid = validator(catalogue).is_valid(tomllib.loads(path.read_text("utf-8")))
    assert valid == (path.stem in READER_ALONE)


@pytest.mark.parametrize(
    "keys",
    [
        {},
        {"along": "y"},
        {"along": 45},
        {"levels": {"from": -4, "to": 4, "step": 0.5}},
        {"levels": {"from": -4, "to": 4, "count": 5}},
        {"note": "sags"},
        {"perturbation": "placement", "unit": "rule", "levels": ["top left"], "box_px": 20},
        {"perturbation": "row-slip", "unit": "bytes", "levels": [-1, 2.0]},
        {"perturbation": "stroke-width", "unit": "ratio", "levels": [0.5]},
    ],
)
def test_schema_and_reader_both_take_it(keys: dict[str, Any], catalogue: Catalogue) -> None:
    data = one_sweep(**keys)
    assert not list(validator(catalogue).iter_errors(data))
    assert len(parse_recipe(as_toml(data), catalogue).sweeps) == 1


@pytest.mark.parametrize(
    "keys",
    [
        {"along": "across"},
        {"along": 400},
        {"about": "mark"},
        {"seed": 1},
        {"unit": "ratio"},
        {"levels": []},
        {"levels": [1, 1]},
        {"levels": [True]},
        {"levels": ["1"]},
        {"levels": {"from": 0, "to": 1}},
        {"levels": {"from": 0, "to": 1, "step": 0}},
        {"levels": {"from": 0, "to": 1, "step": 1, "count": 2}},
        {"levels": {"from": 0, "to": 1, "count": 1}},
        {"perturbation": "zebra"},
        {"perturbation": "stroke-width", "unit": "ratio", "levels": [0.05]},
        {"perturbation": "placement", "unit": "rule", "levels": [1]},
        {"perturbation": "placement", "unit": "rule", "levels": ["top left"], "box_px": 0.5},
        {"perturbation": "row-slip", "unit": "bytes", "levels": [0.5]},
    ],
)
def test_schema_and_reader_both_refuse_it(keys: dict[str, Any], catalogue: Catalogue) -> None:
    data = one_sweep(**keys)
    assert not validator(catalogue).is_valid(data)
    with pytest.raises(InkdriftError, match="sweep 1"):
        parse_recipe(as_toml(data), catalogue)


EXTENDS = {"title": "Mine", "extends": "first-look"}


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"extends": "build-gate"},
        {"leave_out": {}},
        {"leave_out": {"sweep": [{"perturbation": "translation", "along": "y"}]}},
        {"extends": "build-gate", "leave_out": {"require": [{"nominal": True}]}},
    ],
)
def test_schema_and_reader_both_take_what_extends(more: dict[str, Any]) -> None:
    data = EXTENDS | more
    assert not list(validator(CATALOGUE).iter_errors(data))
    assert parse_recipe(as_plain_toml(data), CATALOGUE).title == "Mine"


@pytest.mark.parametrize(
    "more",
    [
        {"extends": ""},
        {"extends": ["first-look"]},
        {"extends": "/base.toml"},
        {"extends": "~/base.toml"},
        {"extends": "C:/base.toml"},
        {"extends": "deep\\base.toml"},
        {"extends": "deep/base"},
        {"leave_out": {"sweeps": []}},
        {"leave_out": {"sweep": ["blur"]}},
        {"leave_out": {"sweep": {"perturbation": "blur"}}},
        {"leave_out": {"sweep": [{"perturbation": "blur", "unit": "px"}]}},
        {"leave_out": {"sweep": [{"along": "y"}]}},
        {"leave_out": {"grid": [{"down": {"perturbation": "blur"}}]}},
        {"leave_out": {"blend": [{"title": " "}]}},
        {"leave_out": {"require": [{"nominal": False}]}},
        {"leave_out": {"require": [{}]}},
        {"leave_out": []},
    ],
)
def test_schema_and_reader_both_refuse_what_extends(more: dict[str, Any]) -> None:
    data = EXTENDS | more
    assert not validator(CATALOGUE).is_valid(data)
    with pytest.raises(InkdriftError, match=r"extends|leave_out"):
        parse_recipe(as_plain_toml(data), CATALOGUE)


def test_schema_and_reader_both_want_something_to_leave_out_of() -> None:
    data = {"title": "Mine", "leave_out": {"blend": [{"title": "a"}]}}
    assert not validator(CATALOGUE).is_valid(data)
    with pytest.raises(InkdriftError, match="nothing to leave out of"):
        parse_recipe(as_plain_toml(data), CATALOGUE)


def as_plain_toml(data: dict[str, Any]) -> str:
    return "\n".join(f"{key} = {said(value)}" for key, value in data.items())


def said(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {said(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(said, value)) + "]"
    return json.dumps(value)


def as_toml(data: dict[str, Any]) -> str:
    """A recipe's plain values as TOML; JSON's strings, numbers and lists are TOML's too."""

    rows = [f"title = {said(data['title'])}"]
    for sweep in data["sweep"]:
        rows += ["[[sweep]]", *(f"{key} = {said(value)}" for key, value in sweep.items())]
    return "\n".join(rows)
