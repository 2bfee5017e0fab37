"""Each file in bad/ stands beside the whole message that it should get."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gen.core.errors import CombinedError, InkdriftError, RecipeError
from gen.recipe.model import Catalogue
from gen.recipe.reader import parse_recipe, read_recipe

BAD = Path(__file__).parent / "bad"
RECIPES = sorted(path.stem for path in BAD.glob("*.toml"))


@pytest.mark.parametrize("name", RECIPES)
def test_a_bad_recipe_gets_its_whole_message(
    name: str, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(BAD)
    with pytest.raises((RecipeError, CombinedError), match=rf"^{name}\.toml") as caught:
        read_recipe(f"{name}.toml", catalogue)
    assert f"{caught.value}\n" == (BAD / f"{name}.txt").read_text("utf-8")


@pytest.mark.parametrize("name", RECIPES)
def test_the_line_that_is_named_holds_the_key_that_is_named(
    name: str, catalogue: Catalogue
) -> None:
    # Independent of the stored messages: a wrong line stored there would show here.
    text = (BAD / f"{name}.toml").read_text("utf-8")
    with pytest.raises(InkdriftError, match="recipe") as caught:
        parse_recipe(text, catalogue)
    errors = caught.value.errors if isinstance(caught.value, CombinedError) else (caught.value,)
    for error in errors:
        place, _, rest = error.where.partition(": ")
        if ":" not in place:
            continue
        line = text.split("\n")[int(place.split(":")[1]) - 1]
        key = rest.split(", ")[-1]
        if error.fact.startswith("unknown key"):
            assert error.fact.split('"')[1] in line
        elif key.startswith("item "):
            assert str(error.got).split()[0].strip('"') in line or "table" in str(error.got)
        elif re.fullmatch(r"(blend|grid|part|require) \d+", key):
            assert line.startswith(f"[[{key.split()[0]}") or f".{key.split()[0]}]]" in line
        elif key and not key.startswith("sweep "):
            assert f"{key} =" in line or line == f"[{key}]"


def test_every_stored_message_has_its_recipe() -> None:
    assert sorted(path.stem for path in BAD.glob("*.txt")) == RECIPES


def test_several_problems_come_together_and_one_comes_alone(catalogue: Catalogue) -> None:
    with pytest.raises(CombinedError, match="seed") as both:
        parse_recipe("seed = -1", catalogue)
    assert [error.fact for error in both.value.errors] == [
        'missing key "title"',
        "a seed must be a whole number",
    ]
    with pytest.raises(RecipeError, match="seed"):
        parse_recipe('title = "a"\nseed = -1', catalogue)


def test_the_stored_message_would_not_fit_another_catalogue(catalogue: Catalogue) -> None:
    text = (BAD / "unknown-names.toml").read_text("utf-8")
    fewer = {name: entry for name, entry in catalogue.items() if name != "paling"}
    with pytest.raises(CombinedError, match="Rotations") as caught:
        parse_recipe(text, fewer, file="unknown-names.toml")
    assert f"{caught.value}\n" != (BAD / "unknown-names.txt").read_text("utf-8")
