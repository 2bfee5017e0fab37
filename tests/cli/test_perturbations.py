"""The list of what may happen to a mark, and one of it shown."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from gen.cli.perturbation_strip import strip_lines
from gen.cli.perturbation_text import sweep_lines
from gen.cli.shown_levels import MOST, shown_levels
from gen.perturb import CATALOGUE, PERTURBATIONS
from gen.perturb.base import STATIONS
from gen.perturb.recipes import parse_recipe
from gen.recipe.catalogue import Entry, Unit
from gen.render.plan import make_plan
from tests.cli.support import Ended, Shed

Called = Callable[..., Ended]
ONES = [
    pytest.param(entry, unit, id=f"{entry.name}, {unit.name}")
    for entry in CATALOGUE.values()
    for unit in entry.units
]


@pytest.mark.parametrize("columns", ["40", "60", "100"])
def test_each_is_listed_under_its_station_with_unit_range_nominal_and_meaning(
    called: Called, monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    ended = called("perturbations")
    assert (ended.code, ended.err) == (0, "")
    lines = ended.out.splitlines()
    assert max(map(len, lines)) <= int(columns)
    heads = [line.partition(":")[0] for line in lines if line and not line.startswith(" ")]
    assert heads == list(STATIONS)
    whole = " ".join(ended.out.split())
    at = -1
    for entry in CATALOGUE.values():
        at = whole.index(f" {entry.name} ", at + 1)
        following = whole[at:]
        for unit in entry.units:
            told = f"one of {len(unit.names)} " if unit.names else unit.allowed
            nominal = f'"{unit.nominal}"' if unit.names else f"{unit.nominal:.10g}"
            assert 0 < following.index(told) < following.index(f"nominal {nominal}")
        assert entry.meaning in following


def test_the_values_are_those_of_the_catalogue(called: Called) -> None:
    ended = called("perturbations", "--json")
    assert (ended.code, ended.err) == (0, "")
    told = json.loads(ended.out)["perturbations"]
    assert [each["name"] for each in told] == list(CATALOGUE)
    for each, entry in zip(told, CATALOGUE.values(), strict=True):
        assert (each["station"], each["meaning"]) == (entry.station, entry.meaning)
        assert [part["name"] for part in each["options"]] == [one.name for one in entry.options]
        for part, unit in zip(each["units"], entry.units, strict=True):
            assert (part["unit"], part["nominal"]) == (unit.name, unit.nominal)
            assert (part["low"], part["high"], part["whole"]) == (unit.low, unit.high, unit.whole)
            assert tuple(part["shown"]) == shown_levels(entry, unit)


def test_the_values_of_one_are_those_it_has_in_the_list(called: Called) -> None:
    every = json.loads(called("perturbations", "--json").out)["perturbations"]
    one = json.loads(called("perturbations", "blur", "--json").out)["perturbations"]
    assert one == [each for each in every if each["name"] == "blur"]


@pytest.mark.parametrize(("entry", "unit"), ONES)
def test_the_levels_shown_are_a_few_in_range_with_nominal(entry: Entry, unit: Unit) -> None:
    levels = shown_levels(entry, unit)
    assert unit.nominal in levels
    assert 2 <= len(levels) <= MOST
    assert len(set(levels)) == len(levels)
    options: dict[str, Any] = {option.name: option.default for option in entry.options}
    for level in levels:
        PERTURBATIONS[entry.name].check(
            level, unit=unit, options=options, frame=(28, 28), where="here"
        )


def test_where_nothing_is_known_of_a_unit_its_range_is_taken_in_even_steps() -> None:
    one = Entry("tilt", "pose", "", (Unit("turns", nominal=0.0, low=-3.0, high=6.0),))
    assert shown_levels(one, one.units[0]) == (-3.0, -2.0, -1.0, 0.0, 2.0, 4.0, 6.0)
    lost = Entry("lost", "file", "", (Unit("rows", nominal=0.0, low=0.0, high=12.0, whole=True),))
    assert shown_levels(lost, lost.units[0]) == (0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0)


@pytest.mark.parametrize("width", [30, 80])
@pytest.mark.parametrize(("entry", "unit"), ONES)
def test_the_sweep_that_is_told_is_a_recipe_of_the_levels_shown(
    entry: Entry, unit: Unit, width: int
) -> None:
    lines = sweep_lines(entry, unit, width=width)
    recipe = parse_recipe("\n".join(['title = "One"', *lines]))
    assert recipe.sweeps[0].levels == shown_levels(entry, unit)
    make_plan(recipe, (28, 28))


@pytest.mark.parametrize("blocks", [True, False])
@pytest.mark.parametrize("width", [20, 40, 80])
@pytest.mark.parametrize(("entry", "unit"), ONES)
def test_the_strip_fits_and_names_every_level(
    entry: Entry, unit: Unit, width: int, blocks: bool
) -> None:
    lines = strip_lines(entry, unit, width=width, blocks=blocks)
    assert max(map(len, lines)) <= max(width, 24)  # the longest name of a rule has 24 letters
    assert sum(line.count(", nominal") for line in lines) == 1
    text = "\n".join(lines)
    for level in shown_levels(entry, unit):
        assert (level if isinstance(level, str) else f"{level:g}") in text
    assert blocks or text.isascii()


def test_marks_that_move_right_are_drawn_further_right() -> None:
    entry = CATALOGUE["translation"]
    lines = strip_lines(entry, entry.units[0], width=20, blocks=True)
    # One below the other: the mean place of what is drawn, picture for picture.
    pictures: list[list[int]] = [[]]
    for line in lines[lines.index("") :]:
        if line.startswith(("+", "-", "0")):
            pictures.append([])
        pictures[-1] += [place for place, c in enumerate(line) if c in "\u2580\u2584\u2588"]
    middles = [float(np.mean(places)) for places in pictures if places]
    assert len(middles) == len(shown_levels(entry, entry.units[0]))
    assert middles == sorted(middles)


def test_one_is_told_with_everything_about_it(called: Called) -> None:
    ended = called("perturbations", "rotation", "--quiet")
    assert (ended.code, ended.err) == (0, "")
    for part in (
        "station   pose",
        "-180 to 180 deg, nominal 0",
        "about",
        "[[sweep]]",
        "0, nominal",
    ):
        assert part in ended.out
    assert "\u2588" in ended.out


def test_a_length_is_told_with_its_units_on_paper(called: Called) -> None:
    out = " ".join(called("perturbations", "blur").out.split())
    assert "or in mm, for which the recipe states scan_dpi" in out
    assert "scan_dpi" not in called("perturbations", "rotation").out


def test_another_unit_can_be_asked_for(called: Called) -> None:
    out = called("perturbations", "noise", "--unit", "electrons").out
    assert 'unit = "electrons"' in out
    assert called("perturbations", "noise", "--unit", "electron") == Ended(
        2,
        "",
        "--unit: noise isn't shown in this unit\n"
        '  got       "electron"\n'
        '  allowed   "grey levels", "electrons"\n'
        '  try       "electrons"\n',
    )


def test_a_picture_holds_dark_ink_on_paper_and_says_where_it_is(shed: Shed, called: Called) -> None:
    ended = called("perturbations", "blur", "--into", "blur.png")
    assert (ended.code, ended.err) == (0, "written   blur.png\n")
    with Image.open(shed.folder / "blur.png") as picture:
        grey = np.asarray(picture)
    assert grey.ndim == 2 and grey[0, 0] == 255 and grey.min() == 0
    assert grey.shape[1] > 7 * 56 > grey.shape[0] > 3 * 56
    # Blur takes the darkness from the strokes: the last column is paler than the first.
    first, last = grey[40:, :64], grey[40:, -64:]
    assert first.min() < last.min()


def test_without_a_place_the_picture_goes_to_the_cache_folder_and_no_other(
    shed: Shed, called: Called, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = tmp_path / "a cache"
    monkeypatch.setenv("INKDRIFT_CACHE", str(cache))
    before = shed.names()
    for words, name in (("blur",), "blur"), (("noise", "--unit", "electrons"), "noise-electrons"):
        file = cache / "perturbations" / f"{name}.png"
        ended = called("perturbations", *words)
        assert (ended.code, ended.err) == (0, f"written   {file}\n")
        asked = called("perturbations", *words, "--into", "asked.png", "--overwrite")
        assert asked.out == ended.out
        assert file.read_bytes() == (shed.folder / "asked.png").read_bytes()
    assert shed.names() - before == {"asked.png"}


@pytest.mark.parametrize("arguments", [(), ("blur", "--quiet"), ("blur", "--json")])
def test_where_nobody_would_be_told_of_it_no_picture_is_drawn(
    called: Called, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...]
) -> None:
    monkeypatch.setenv("INKDRIFT_CACHE", str(tmp_path / "a cache"))
    ended = called("perturbations", *arguments)
    assert (ended.code, ended.err) == (0, "")
    assert not (tmp_path / "a cache").exists()


def test_a_cache_that_can_not_be_written_costs_the_picture_alone(
    called: Called, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("12 crates")
    monkeypatch.setenv("INKDRIFT_CACHE", str(tmp_path / "file"))
    ended = called("perturbations", "blur")
    assert ended.code == 0
    assert "0, nominal" in ended.out
    assert ended.err.startswith("picture   --into FILE.png draws one; ")


def test_a_name_that_is_not_there_is_told_with_its_nearest(called: Called) -> None:
    assert called("perturbations", "rotatoin") == Ended(
        2,
        "",
        'there is no perturbation "rotatoin"\n'
        f"  allowed   {', '.join(CATALOGUE)}\n"
        "  try       gen perturbations rotation\n",
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ("--into", "a.png"),
            "--into: this goes with the name of one perturbation\n"
            "  try       gen perturbations NAME --into ...\n",
        ),
        (
            ("blur", "--into", "a.jpg"),
            "a.jpg: a picture is written as PNG\n"
            "  allowed   a name that ends in .png\n"
            "  try       a.png\n",
        ),
        (
            ("blur", "--into", "there.png"),
            "there.png: this file is there already\n  try       another name, or --overwrite\n",
        ),
        (
            ("blur", "--into", "nowhere/a.png"),
            "nowhere/a.png: its folder isn't there\n  try       make it first\n",
        ),
        (
            ("blur", "--into", "folder.png"),
            "folder.png: is a folder, not a file\n  try       another name\n",
        ),
    ],
    ids=lambda part: " ".join(part) if isinstance(part, tuple) else "",
)
def test_a_picture_that_cannot_be_written_is_refused_before_anything_is_printed(
    shed: Shed, called: Called, arguments: tuple[str, ...], message: str
) -> None:
    (shed.folder / "there.png").write_text("12 crates")
    (shed.folder / "folder.png").mkdir()
    assert called("perturbations", *arguments) == Ended(2, "", message)
    assert (shed.folder / "there.png").read_text() == "12 crates"


def test_an_older_picture_is_replaced_when_asked(shed: Shed, called: Called) -> None:
    (shed.folder / "there.png").write_text("12 crates")
    ended = called("perturbations", "blur", "--into", "there.png", "--overwrite", "--quiet")
    assert (ended.code, ended.err) == (0, "")
    assert (shed.folder / "there.png").read_bytes().startswith(b"\x89PNG")


def test_plain_characters_are_enough(shed: Shed) -> None:
    ended = shed.gen("perturbations", "slant", PYTHONIOENCODING="ascii")
    assert ended.code == 0
    assert ended.out.isascii() and "#" in ended.out
