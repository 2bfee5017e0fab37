"""What a good grid, blend or length is read as, and schema and reader of one mind about it."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from gen.core.errors import InkdriftError, RecipeError
from gen.recipe.distributions import FIELDS
from gen.recipe.drawn import Blend, Discrete, Normal, Part, Triangular, Uniform
from gen.recipe.lengths import Ruler, as_px, find_unit, length_unit, unit_names
from gen.recipe.model import Catalogue, Grid, Recipe, Sweep
from gen.recipe.reader import parse_recipe
from gen.recipe.schema import recipe_schema
from tests.recipe.conftest import ENTRIES

# A busy machine is no fault of the code.
unhurried = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=80)

HEAD = 'title = "Mount drift"\n'
CATALOGUE: Catalogue = {entry.name: entry for entry in ENTRIES}
VALIDATOR = Draft202012Validator(recipe_schema(CATALOGUE))


def read(text: str) -> Recipe:
    return parse_recipe(HEAD + text, CATALOGUE)


def part(**keys: Any) -> dict[str, Any]:
    return {"perturbation": "blur", "unit": "px"} | keys


def one_blend(*parts: dict[str, Any], **keys: Any) -> dict[str, Any]:
    return {"title": "a", "blend": [{"title": "b", "part": list(parts)} | keys]}


def as_toml(value: Any) -> str:
    """Plain values as TOML; JSON's strings, numbers and lists are TOML's too."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {as_toml(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(as_toml(each) for each in value) + "]"
    return json.dumps(value)


def document(data: dict[str, Any]) -> str:
    return "\n".join(f"{key} = {as_toml(value)}" for key, value in data.items())


def test_a_grid_is_read_from_tables_inline_or_of_their_own() -> None:
    inline = read(
        '[[grid]]\ndown = {perturbation = "rotation", unit = "deg", levels = [5, -5]}\n'
        'across = {perturbation = "blur", unit = "px", levels = {from = 0, to = 1, count = 3}}\n'
        'note = "n"\n'
    )
    spread = read(
        '[[grid]]\nnote = "n"\n[grid.down]\nperturbation = "rotation"\nunit = "deg"\n'
        'levels = [-5, 5]\n[grid.across]\nperturbation = "blur"\nunit = "px"\n'
        "levels = [0, 0.5, 1]\n"
    )
    assert inline == spread
    assert inline.grids == (
        Grid(
            Sweep("rotation", "deg", (-5.0, 5.0), (("about", "frame"),)),
            Sweep("blur", "px", (0.0, 0.5, 1.0)),
            "n",
        ),
    )
    assert str(spread.grids[0].across.where) == "recipe:8: grid 1, across"


def test_a_blend_is_read_whole() -> None:
    recipe = read(
        '[[blend]]\ntitle = " The depot "\ndraws = 3\nnote = "n"\n'
        '[[blend.part]]\nperturbation = "translation"\nunit = "px"\nalong = "y"\n'
        "normal = {mean = 0.5, sd = 1}\n"
        '[[blend.part]]\nperturbation = "scale"\nunit = "ratio"\n'
        "triangular = {low = 0.8, mode = 1, high = 1.1}\nstep = 0.05\n"
        '[[blend.part]]\nperturbation = "row-slip"\nunit = "bytes"\n'
        "uniform = {low = -4, high = 4}\n"
        '[[blend.part]]\nperturbation = "placement"\nunit = "rule"\n'
        'discrete = {values = ["top left", "as drawn"]}\n'
    )
    about, box = (("about", "frame"),), (("box_px", None),)
    assert recipe.blends == (
        Blend(
            "The depot",
            (
                Part("translation", "px", Normal(0.5, 1.0), 1 / 64, (("along", "y"),)),
                Part("scale", "ratio", Triangular(0.8, 1.0, 1.1), 0.05, about),
                Part("row-slip", "bytes", Uniform(-4.0, 4.0), 1.0),
                Part("placement", "rule", Discrete(("top left", "as drawn"), (1.0, 1.0)), 0.0, box),
            ),
            3,
            "n",
        ),
    )
    assert str(recipe.blends[0].parts[2].where) == "recipe:16: blend 1, part 3"


@pytest.mark.parametrize(
    ("stated", "step"),
    [
        ("normal = {mean = 0, sd = 1}", 2**-6),
        ("normal = {mean = 0, sd = 30}", 2**-6),
        ("normal = {mean = 0, sd = 0.05}", 2**-11),
        ("uniform = {low = -1, high = 1}", 2**-6),
        ("triangular = {low = 0, mode = 0, high = 0.3}", 2**-8),
    ],
)
def test_a_step_that_is_left_out_is_fine_beside_unit_and_spread(stated: str, step: float) -> None:
    text = (
        f'[[blend]]\ntitle = "b"\n[[blend.part]]\nperturbation = "rotation"\nunit = "deg"\n{stated}'
    )
    assert read(text).blends[0].parts[0].step == step


def test_a_recipe_without_grids_and_blends_has_the_digest_that_it_always_had() -> None:
    recipe = read('seed = 3\n[[sweep]]\nperturbation = "blur"\nunit = "px"\nlevels = [0, 1]\n')
    # What was hashed before there were grids and blends.
    said = (
        '{"seed":3,"sweeps":[{"levels":[0.0,1.0],"options":{},"perturbation":"blur","unit":"px"}]}'
    )
    assert recipe.digest == hashlib.sha256(said.encode()).hexdigest()


@pytest.mark.parametrize(
    ("mm", "dpi", "px"),
    [(0.5, 300.0, 5.905511811), (2.5, 200.0, 19.685039370), (0.7, 600.0, 16.535433071)],
)
def test_millimetres_are_the_px_that_arithmetic_gives(mm: float, dpi: float, px: float) -> None:
    # One inch is 25.4 mm (International yard and pound agreement, 1959), to nine places.
    assert round(Ruler(scan_dpi=dpi).in_px(mm, "mm"), 9) == px


@unhurried
@given(
    tenths=st.integers(-100_000, 100_000),
    dpi=st.integers(10, 24_000),
    height=st.integers(10, 40_960),
)
def test_any_length_is_the_float_nearest_to_the_true_one(
    tenths: int, dpi: int, height: int
) -> None:
    ruler = Ruler(scan_dpi=dpi / 10, glyph_height_px=height / 10)
    length = Fraction(tenths, 10_000)
    told = float(f"{tenths}e-4")
    assert ruler.in_px(told, "mm") == float(length * Fraction(dpi, 10) / Fraction(254, 10))
    assert ruler.in_px(told, "height") == float(length * Fraction(height, 10))


@unhurried
@given(dpi=st.integers(10, 24_000).map(lambda n: n / 10))
def test_what_is_in_range_on_paper_is_in_range_in_px(dpi: float) -> None:
    entry = CATALOGUE["stroke-width"]
    ruler = Ruler(scan_dpi=dpi)
    unit = find_unit(entry, "mm", ruler)
    assert unit.low is not None
    assert unit.high is not None
    for end, limit in ((unit.low, -10.0), (unit.high, 10.0)):
        px, name = as_px(end, "mm", ruler)
        assert name == "px"
        assert abs(float(px)) <= 10.0
        assert abs(float(px) - limit) < 1e-9 * 10


def test_lengths_on_paper_go_where_px_with_nominal_0_go() -> None:
    assert unit_names(CATALOGUE["translation"]) == ("px", "mm", "height")
    assert unit_names(CATALOGUE["stroke-width"]) == ("px", "ratio", "mm", "height")
    for name in ("rotation", "scale", "placement", "row-slip"):
        assert length_unit(CATALOGUE[name]) is None


@pytest.mark.parametrize("unit", ["mm", "height"])
def test_a_length_without_its_scale_names_the_key_that_is_missing(unit: str) -> None:
    key = {"mm": "scan_dpi", "height": "glyph_height_px"}[unit]
    text = f'[[sweep]]\nperturbation = "blur"\nunit = "{unit}"\nlevels = [0.1]\n'
    with pytest.raises(RecipeError, match=f'recipe:4: sweep 1, unit: "{unit}" .* without "{key}"'):
        read(text)
    assert read(f"{key} = 100\n{text}").sweeps[0].levels == (0.1,)


@pytest.mark.parametrize(
    "keys",
    [
        {"uniform": {"low": 0, "high": 1}},
        {"uniform": {"low": 0, "high": 1}, "step": 0.25},
        {"normal": {"mean": 1, "sd": 0.5}},
        {"triangular": {"low": 0, "mode": 0, "high": 1}},
        {"discrete": {"values": [0, 1]}},
        {"discrete": {"values": [0, 1], "weights": [1, 0.5]}},
        {"perturbation": "mirror", "unit": "times", "normal": {"mean": 0.5, "sd": 1}},
        {"perturbation": "mirror", "unit": "times", "uniform": {"low": 0, "high": 1}, "step": 1},
        {"perturbation": "translation", "along": 45, "normal": {"mean": 0, "sd": 1}},
    ],
)
def test_schema_and_reader_both_take_a_part(keys: dict[str, Any]) -> None:
    data = one_blend(part(**keys), draws=2)
    assert not list(VALIDATOR.iter_errors(data))
    assert len(parse_recipe(document(data), CATALOGUE).blends) == 1


@pytest.mark.parametrize(
    "keys",
    [
        {},
        {"uniform": {"low": 0, "high": 17}},
        {"uniform": {"low": 0}},
        {"uniform": {"low": 0, "high": True}},
        {"uniform": {"low": 0, "high": 1}, "step": 0},
        {"uniform": {"low": 0, "high": 1}, "levels": [0]},
        {"uniform": {"low": 0, "high": 1}, "note": "n"},
        {"uniform": {"low": 0, "high": 1}, "normal": {"mean": 0, "sd": 1}},
        {"normal": {"mean": -1, "sd": 1}},
        {"normal": {"mean": 0, "sd": -1}},
        {"normal": {"mean": 0, "sd": 1, "low": 0}},
        {"discrete": {"values": [0, 0]}},
        {"discrete": {"values": [0], "weights": [0]}},
        {"discrete": {"values": [0]}, "step": 1},
        {"perturbation": "mirror", "unit": "times", "uniform": {"low": 0, "high": 0.5}},
        {"perturbation": "mirror", "unit": "times", "normal": {"mean": 0, "sd": 1}, "step": 0.5},
        {"perturbation": "placement", "unit": "rule", "uniform": {"low": 0, "high": 1}},
        {"perturbation": "placement", "unit": "rule", "discrete": {"values": ["middle"]}},
        {"unit": "ratio", "uniform": {"low": 0, "high": 1}},
    ],
)
def test_schema_and_reader_both_refuse_a_part(keys: dict[str, Any]) -> None:
    data = one_blend(part(**keys))
    assert not VALIDATOR.is_valid(data)
    with pytest.raises(InkdriftError, match="blend 1, part 1"):
        parse_recipe(document(data), CATALOGUE)


@pytest.mark.parametrize(
    "keys",
    [{"draws": 0}, {"draws": 1001}, {"title": " "}, {"part": []}, {"seed": 1}, {"part": "blur"}],
)
def test_schema_and_reader_both_refuse_a_blend(keys: dict[str, Any]) -> None:
    data = one_blend(part(uniform={"low": 0, "high": 1}), **keys)
    assert not VALIDATOR.is_valid(data)
    with pytest.raises(InkdriftError, match="blend 1"):
        parse_recipe(document(data), CATALOGUE)


numbers = st.decimals(-30, 30, places=2, allow_nan=False)
kinds = st.sampled_from([kind for kind in FIELDS if kind != "discrete"])


@unhurried
@given(kind=kinds, values=st.lists(numbers, min_size=3, max_size=3))
def test_the_reader_takes_just_what_makes_a_distribution(kind: str, values: list[Decimal]) -> None:
    stated = dict(zip(FIELDS[kind], values, strict=False))
    text = ", ".join(f"{key} = {value}" for key, value in stated.items())
    blend = (
        f'[[blend]]\ntitle = "b"\n[[blend.part]]\nperturbation = "translation"\nunit = "px"\n'
        f"{kind} = {{{text}}}\n"
    )
    points = list(stated.values())
    good = (
        stated["sd"] > 0
        if kind == "normal"
        else points == sorted(points) and points[0] < points[-1]
    )
    if good:
        drawn = read(blend).blends[0].parts[0].drawn
        assert [getattr(drawn, key) for key in FIELDS[kind]] == [float(value) for value in points]
    else:
        with pytest.raises(RecipeError, match="blend 1, part 1"):
            read(blend)


def test_draws_of_blends_and_pairs_of_grids_count_towards_the_levels_of_a_recipe() -> None:
    grid = (
        '[[grid]]\ndown = {perturbation = "rotation", unit = "deg", '
        "levels = {from = 0, to = 99, step = 1}}\n"
        'across = {perturbation = "blur", unit = "px", levels = {from = 0, to = 9.9, step = 0.1}}\n'
    )
    blend = (
        '[[blend]]\ntitle = "b"\ndraws = 1\n[[blend.part]]\nperturbation = "blur"\nunit = "px"\n'
        "uniform = {low = 0, high = 1}\n"
    )
    assert len(read(grid * 10).grids) == 10
    with pytest.raises(RecipeError, match=r"blend 1: too many levels in one recipe\n.*100001"):
        read(grid * 10 + blend)
