"""What is written of a recipe is read again as the same recipe."""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from gen.perturb.recipes import parse_recipe, read_recipe
from gen.recipe.shelf import shelf_names
from gen.recipe.starter import STARTER
from gen.recipe.writer import recipe_text

PAGE = (Path(__file__).parents[2] / "recipes" / "README.md").read_text("utf-8")
WHOLE = "\n".join(re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)[:4])

# A busy machine is no fault of the code.
unhurried = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def plain(text: str) -> dict[str, Any]:
    return tomllib.loads(text, parse_float=Decimal)


@pytest.mark.parametrize("name", ["the page", "the starter", *shelf_names()])
def test_a_recipe_is_the_same_when_it_has_been_written(name: str) -> None:
    texts = {"the page": WHOLE, "the starter": STARTER}
    read = parse_recipe(texts[name]) if name in texts else read_recipe(name)
    data = plain(read.text)
    written = recipe_text(data)
    again = parse_recipe(written)
    assert again == read
    assert again.digest == read.digest
    assert plain(written) == data
    assert recipe_text(plain(written)) == written


amounts = st.one_of(
    st.integers(-(10**20), 10**20),
    st.decimals(allow_nan=False, allow_infinity=False, places=6),
    st.sampled_from(["1e5", "2.50", "-0.0", "1e-9", "1E+3", "1e0"]).map(Decimal),
)
words = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
values = st.one_of(words, st.booleans(), amounts)
deep = st.one_of(
    values,
    st.lists(values, max_size=30),
    st.dictionaries(st.sampled_from(["from", "to", "values"]), values | st.lists(values)),
)
tables = st.dictionaries(st.sampled_from(["perturbation", "levels", "note", "box_px"]), deep)


@unhurried
@example(title="\x7f", note='\x00\n\t"\\', sweeps=[], grids=[])
@given(words, words, st.lists(tables, max_size=3), st.lists(st.tuples(tables, tables), max_size=2))
def test_whatever_values_there_are_come_back(
    title: str,
    note: str,
    sweeps: list[dict[str, Any]],
    grids: list[tuple[dict[str, Any], dict[str, Any]]],
) -> None:
    sides = [{"down": down, "across": across, "note": note} for down, across in grids]
    data = {"title": title, "note": note, "sweep": sweeps, "grid": sides}
    back = plain(recipe_text(data))
    assert back == {key: value for key, value in data.items() if value or key in ("title", "note")}


def test_no_line_of_a_list_is_longer_than_a_person_reads_easily() -> None:
    levels = [f"{each / 8:.3f}" for each in range(200)]
    text = recipe_text({"title": "a", "sweep": [{"levels": [Decimal(each) for each in levels]}]})
    assert max(map(len, text.split("\n"))) <= 100
    assert plain(text)["sweep"][0]["levels"] == [Decimal(each) for each in levels]
