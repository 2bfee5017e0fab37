"""What a good requirement is read as, and schema and reader of one mind about it."""

from __future__ import annotations

import tomllib

import pytest
from jsonschema import Draft202012Validator

from gen.core.errors import InkdriftError, RecipeError
from gen.recipe.model import Catalogue, Recipe, Requirement
from gen.recipe.reader import parse_recipe
from gen.recipe.require import MOST_REQUIREMENTS
from gen.recipe.schema import recipe_schema
from tests.recipe.conftest import ENTRIES

CATALOGUE: Catalogue = {entry.name: entry for entry in ENTRIES}
VALIDATOR = Draft202012Validator(recipe_schema(CATALOGUE))

HEAD = """
title = "Mount drift"
scan_dpi = 200
[[sweep]]
perturbation = "translation"
unit = "px"
levels = [-2, -1.5, 1, 2, 3]
[[sweep]]
perturbation = "translation"
unit = "mm"
levels = [0.1, 0.2]
[[sweep]]
perturbation = "scale"
unit = "ratio"
levels = [0.8, 0.9, 1.1, 1.2]
[[sweep]]
perturbation = "blur"
unit = "px"
levels = {from = 0, to = 2, step = 0.5}
[[sweep]]
perturbation = "placement"
unit = "rule"
levels = ["top left", "box centred"]
[[blend]]
title = "A season"
[[blend.part]]
perturbation = "blur"
unit = "px"
uniform = {low = 0, high = 1}
"""
BY = {
    "px": 'perturbation = "translation"\nunit = "px"\n',
    "mm": 'perturbation = "translation"\nunit = "mm"\n',
    "ratio": 'perturbation = "scale"\nunit = "ratio"\n',
    "blur": 'perturbation = "blur"\nunit = "px"\n',
    "rule": 'perturbation = "placement"\nunit = "rule"\n',
}


def read(text: str) -> Recipe:
    return parse_recipe(f"{HEAD}[[require]]\n{text}", CATALOGUE)


def one(text: str) -> Requirement:
    (part,) = read(text).requirements
    return part


@pytest.mark.parametrize(
    ("text", "levels", "ends"),
    [
        ("px|within = 2", (-2.0, -1.5, 0.0, 1.0, 2.0), (-2.0, 2.0)),
        ("px|from = -1.5\nto = 1", (-1.5, 0.0, 1.0), (-1.5, 1.0)),
        ("px|from = 0\nto = 3", (0.0, 1.0, 2.0, 3.0), (0.0, 3.0)),
        ("px|levels = [2, -2]", (-2.0, 2.0), None),
        ("mm|from = 0.1\nto = 0.2", (0.1, 0.2), (0.1, 0.2)),
        # 1 - 0.2 and 1 + 0.2 are counted in decimal, as levels are.
        ("ratio|within = 0.2", (0.8, 0.9, 1.0, 1.1, 1.2), (0.8, 1.2)),
        ("blur|within = 1", (0.0, 0.5, 1.0), (0.0, 1.0)),
        ('rule|levels = ["as drawn", "top left"]', ("as drawn", "top left"), None),
    ],
)
def test_the_levels_that_are_judged(
    text: str, levels: tuple[float | str, ...], ends: tuple[float, float] | None
) -> None:
    which, asked = text.split("|")
    part = one(f"{BY[which]}{asked}\nkeeps = 0.9")
    assert (part.levels, part.ends) == (levels, ends)


def test_options_left_out_take_their_defaults_as_in_a_sweep() -> None:
    assert one(f"{BY['px']}within = 2\nkeeps = 0.9").options == (("along", "x"),)
    with pytest.raises(RecipeError, match=r'(?s)no sweep tests this.*along "y"'):
        one(f'{BY["px"]}along = "y"\nwithin = 2\nkeeps = 0.9')


def test_a_unit_is_not_taken_for_another_though_both_are_lengths() -> None:
    with pytest.raises(RecipeError, match=r'unit "height"|"height" can\'t be told'):
        one('perturbation = "translation"\nunit = "height"\nwithin = 0.1\nkeeps = 0.9')


def test_everything_said_of_a_requirement_is_kept() -> None:
    part = one('blend = "A season"\ndrop = 0.02\njudged_on = "lower end"\nnote = " agreed "')
    assert (part.blend, part.keeps, part.drop) == ("A season", None, 0.02)
    assert (part.judged_on, part.note, part.of_nominal) == ("lower end", "agreed", False)
    assert one("nominal = true\nkeeps = 1").of_nominal


def test_requirements_are_not_in_the_digest_of_what_decides_the_pixels() -> None:
    plain = parse_recipe(HEAD, CATALOGUE)
    assert read("nominal = true\nkeeps = 0.9").digest == plain.digest
    assert read("nominal = true\nkeeps = 0.9") != plain


def test_a_sweep_that_is_wrong_is_said_once_and_not_again_of_the_requirement() -> None:
    wrong = HEAD.replace("levels = [-2, -1.5, 1, 2, 3]", "levels = [true]")
    with pytest.raises(RecipeError, match="sweep 1, levels, item 1"):
        parse_recipe(f"{wrong}[[require]]\n{BY['px']}within = 2\nkeeps = 0.9", CATALOGUE)


def test_there_is_an_end_to_requirements() -> None:
    some = "[[require]]\nnominal = true\nkeeps = 0.9\n"
    assert len(parse_recipe(HEAD + some * MOST_REQUIREMENTS, CATALOGUE).requirements) == 1000
    with pytest.raises(RecipeError, match="too many requirements"):
        parse_recipe(HEAD + some * (MOST_REQUIREMENTS + 1), CATALOGUE)


GOOD = [
    *(f"{BY['px']}{ends}\nkeeps = 0.9" for ends in ("within = 2", "from = -2\nto = 1")),
    f"{BY['px']}levels = [1]\ndrop = 0.1",
    f'{BY["px"]}levels = {{from = 1, to = 3, step = 1}}\nkeeps = 0.9\njudged_on = "estimate"',
    f'{BY["rule"]}levels = ["top left"]\nkeeps = 0.9\nnote = "n"',
    "nominal = true\nkeeps = 1",
    'blend = "A season"\ndrop = 0.999',
]
BAD = [
    f"{BY['px']}keeps = 0.9",
    f"{BY['px']}within = 0\nkeeps = 0.9",
    f"{BY['px']}within = 2\nlevels = [1]\nkeeps = 0.9",
    f"{BY['px']}from = 1\nkeeps = 0.9",
    f"{BY['px']}within = 2\nto = 2\nkeeps = 0.9",
    f"{BY['px']}within = 2\nkeeps = 0.9\ndrop = 0.1",
    f"{BY['px']}within = 2",
    f"{BY['px']}within = 2\nkeeps = 1.5",
    f"{BY['px']}within = 2\ndrop = 1",
    f'{BY["px"]}within = 2\nabout = "mark"\nkeeps = 0.9',
    f"{BY['ratio']}from = 0.01\nto = 1.1\nkeeps = 0.9",
    f"{BY['rule']}within = 1\nkeeps = 0.9",
    f'{BY["rule"]}levels = ["middle"]\nkeeps = 0.9',
    'perturbation = "translation"\nwithin = 2\nkeeps = 0.9',
    "nominal = false\nkeeps = 0.9",
    "nominal = true\ndrop = 0.1",
    'nominal = true\nunit = "px"\nkeeps = 0.9',
    'blend = "A season"\nnominal = true\nkeeps = 0.9',
    "blend = 3\nkeeps = 0.9",
    'blend = "A season"\nkeeps = 0.9\njudged_on = "upper end"',
    "keeps = 0.9",
]


@pytest.mark.parametrize("text", GOOD)
def test_schema_and_reader_both_take_it(text: str) -> None:
    assert VALIDATOR.is_valid(tomllib.loads(f"{HEAD}[[require]]\n{text}"))
    assert len(read(text).requirements) == 1


@pytest.mark.parametrize("text", BAD)
def test_schema_and_reader_both_refuse_it(text: str) -> None:
    assert not VALIDATOR.is_valid(tomllib.loads(f"{HEAD}[[require]]\n{text}"))
    with pytest.raises(InkdriftError, match="require 1"):
        read(text)
