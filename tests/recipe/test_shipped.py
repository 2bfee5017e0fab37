"""The recipes that ship: each can be used as it stands, and its figures are what it says."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path

import pytest

from gen.perturb.recipes import read_recipe
from gen.recipe.identity import named
from gen.recipe.lengths import MM_PER_INCH
from gen.recipe.model import Recipe, Sweep
from gen.recipe.shelf import shelf_file, shelf_names, shelf_titles
from gen.render.plan import make_plan

PAGE = (Path(__file__).parents[2] / "recipes" / "README.md").read_text("utf-8")
FRAME = (28, 28)
WANTED = {
    "build-gate",
    "camera-mount-drift",
    "decoder-faults",
    "first-look",
    "out-of-focus",
    "phone-photo-of-paper",
    "skewed-sheet",
    "small-and-large-writing",
    "worn-pen",
}

# Line widths in mm, ISO 128-20:1996 and ISO 128-2:2020; seen in secondary sources that
# quote the table, with the rule that each is the root of 2 times the one before.
LINE_WIDTHS_MM = (0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0)
# Nominal heights of lettering in mm, ISO 3098-0:1997 (ISO 3098-1:2015); seen likewise.
LETTERING_MM = (1.8, 2.5, 3.5, 5.0, 7.0, 10.0, 14.0, 20.0)
# Type B of ISO 3098: the line is a tenth of the height.
TYPE_B = 10

# A level is written to two digits after the point, in mm or as a ratio.
WRITTEN = 0.005


def swept(recipe: Recipe, perturbation: str, unit: str) -> Sweep:
    (found,) = (s for s in recipe.sweeps if (s.perturbation, s.unit) == (perturbation, unit))
    return found


def numbers(sweep: Sweep) -> list[float]:
    return [float(level) for level in sweep.levels]


def test_there_are_the_recipes_that_people_ask_for() -> None:
    assert set(shelf_names()) == WANTED


@pytest.mark.parametrize("name", shelf_names())
def test_a_shipped_recipe_says_when_to_use_it_and_where_its_levels_come_from(name: str) -> None:
    recipe = read_recipe(name)
    assert recipe.title == shelf_titles()[name]
    assert recipe.note
    text = shelf_file(name).read_text("utf-8")
    comment = re.match(r"(?:#[^\n]*\n)+", text)
    assert comment is not None
    assert "Use it when" in comment[0]
    assert re.search(r"levels\s+come from", comment[0])
    assert max(map(len, comment[0].split("\n"))) <= 95


@pytest.mark.parametrize("name", shelf_names())
def test_a_shipped_recipe_is_planned_whole_and_has_its_row_on_the_page(name: str) -> None:
    recipe = read_recipe(name)
    plan = make_plan(recipe, FRAME)
    assert plan.left_out == ()
    assert len(plan.sweeps) == len(recipe.sweeps)
    assert len(plan.grids) == len(recipe.grids)
    assert len(plan.blends) == len(recipe.blends)
    row = rf"^\| \[{name}\]\({name}\.toml\) \| [^|]+ \| {len(plan.cells)} \|$"
    assert re.search(row, PAGE, re.MULTILINE), f"{name}: {len(plan.cells)} pictures of a mark"


def test_the_page_lists_no_recipe_that_does_not_ship() -> None:
    assert set(re.findall(r"^\| \[([\w-]+)\]\(\1\.toml\)", PAGE, re.MULTILINE)) == WANTED


def test_a_shipped_recipe_extends_another_and_keeps_what_it_does_not_override() -> None:
    sheet, phone = read_recipe("skewed-sheet"), read_recipe("phone-photo-of-paper")
    assert [Path(file).name for file in phone.extends] == ["skewed-sheet.toml"]
    ours = {named(s.perturbation, s.options): s for s in sheet.sweeps}
    theirs = {named(s.perturbation, s.options): s for s in phone.sweeps}
    assert theirs["slant about the frame"] == ours["slant about the frame"]
    assert theirs["aspect about the frame"] == ours["aspect about the frame"]
    assert theirs["rotation about the frame"] != ours["rotation about the frame"]
    assert "quarter-turns" in set(ours) - set(theirs)
    assert phone.grids == ()


def test_the_phone_is_swept_through_all_that_its_blend_is_made_of_but_place_and_size() -> None:
    phone = read_recipe("phone-photo-of-paper")
    (blend,) = phone.blends
    alone = {(s.perturbation, s.options) for s in phone.sweeps}
    mixed = {(p.perturbation, p.options) for p in blend.parts}
    assert {perturbation for perturbation, _ in mixed - alone} == {"translation", "scale"}


# What a figure that is written with so many digits may be.
def may_be(written: float) -> tuple[float, float]:
    half = 0.005 if written < 0.5 else 0.05 if written < 5 else 0.5
    return written - half, written + half


@pytest.mark.parametrize("series", [LINE_WIDTHS_MM, LETTERING_MM], ids=["widths", "heights"])
def test_each_of_a_series_is_the_root_of_2_times_the_one_before_as_rounded(
    series: tuple[float, ...],
) -> None:
    for before, after in pairwise(series):
        (low, high), (least, most) = may_be(before), may_be(after)
        assert least / high <= math.sqrt(2) <= most / low


def test_a_series_that_grows_otherwise_would_be_noticed() -> None:
    (low, high), (least, most) = may_be(0.25), may_be(0.4)
    assert not least / high <= math.sqrt(2) <= most / low


def test_the_worn_pen_has_the_line_widths_of_the_standard() -> None:
    worn = read_recipe("worn-pen")
    usual = 0.5
    widths = [round(usual + level, 2) for level in numbers(swept(worn, "stroke-width", "mm"))]
    assert widths == list(LINE_WIDTHS_MM)
    first, second = worn.grids
    for side in (first.across, second.down):
        assert {round(usual + float(level), 2) for level in side.levels} <= set(LINE_WIDTHS_MM)


def test_the_worn_pen_names_its_standards_and_says_how_they_are_known() -> None:
    said = " ".join(shelf_file("worn-pen").read_text("utf-8").replace("\n#", " ").split())
    for standard in ("ISO 128-2:2020", "ISO 3098-1:2015", "ISO 9175-1:1988"):
        assert standard in said
    assert "secondary sources" in said
    # Nobody saw it: what is only remembered must not look like a source.
    assert "ISO 9175-1:1988 has, from memory alone," in said


def test_the_worn_pen_goes_with_the_lettering_of_the_standard() -> None:
    worn = read_recipe("worn-pen")
    height = 0.5 * TYPE_B
    assert height in LETTERING_MM
    heights = [round(height * float(level), 1) for level in worn.grids[0].down.levels]
    assert heights == list(LETTERING_MM[:5])
    # As many px as the MNIST files have for a mark's height (LeCun, Cortes and Burges).
    assert worn.ruler.in_px(height, "mm") == 20.0
    assert worn.ruler.scan_dpi == 20 / 5 * float(MM_PER_INCH)


def test_small_and_large_writing_has_the_heights_of_the_standard() -> None:
    scales = numbers(swept(read_recipe("small-and-large-writing"), "scale", "ratio"))
    for height in LETTERING_MM[:5]:
        assert any(abs(scale - height / 5) <= WRITTEN for scale in scales)
    assert max(scales) * 20 <= FRAME[0]


def test_the_blur_is_that_of_the_lens_in_the_comment() -> None:
    # Thin lens: the blur disc in the plane of focus is A |S2 - S1| / S2, with A the opening;
    # a disc of diameter c has a variance of c**2 / 16 along each axis.
    focal_mm, f_number, focus_mm = 50.0, 2.0, 500.0
    levels = numbers(swept(read_recipe("out-of-focus"), "blur", "mm"))
    asked = (0, 5, 10, 15, 20, 30, 40, 60, 80)
    for level, off_mm in zip(levels, asked, strict=True):
        disc_mm = focal_mm / f_number * off_mm / (focus_mm + off_mm)
        assert abs(level - disc_mm / 4) <= WRITTEN
    text = shelf_file("out-of-focus").read_text("utf-8")
    assert (
        "so 5 10 15 20 30 40 60 80 mm too far are 0.06 0.12 0.18 0.24 0.35 0.46 0.67 0.86" in text
    )


def test_a_sheet_seen_at_an_angle_is_narrower_by_its_cosine() -> None:
    for name in ("skewed-sheet", "phone-photo-of-paper"):
        ratios = numbers(swept(read_recipe(name), "aspect", "ratio"))
        narrow = [math.cos(math.radians(angle)) for angle in (45, 30, 20)]
        asked = [*narrow, 1.0, *(1 / ratio for ratio in reversed(narrow))]
        for ratio, right in zip(ratios, asked, strict=True):
            assert abs(ratio - right) <= WRITTEN + 1e-9


def test_the_slant_goes_to_that_of_sloped_lettering() -> None:
    # ISO 3098: sloped lettering leans 15 degrees to the right of upright.
    assert max(numbers(swept(read_recipe("skewed-sheet"), "slant", "deg"))) == 15.0


def test_a_camera_that_sinks_has_the_sizes_of_one_over_its_distance() -> None:
    sizes = numbers(swept(read_recipe("camera-mount-drift"), "scale", "ratio"))
    for size, lower_mm in zip(sizes, (-40, -20, 0, 20, 40), strict=True):
        assert abs(size - 400 / (400 - lower_mm)) <= WRITTEN
    tilted_px = 400 * math.tan(math.radians(0.1)) * 4
    assert abs(tilted_px - 2.8) <= 0.05


def test_the_decoder_starts_where_the_header_of_an_idx_file_has_its_numbers() -> None:
    # The IDX format: 4 bytes of kind, then 4 for each dimension; three for pictures.
    slips = numbers(swept(read_recipe("decoder-faults"), "row-slip", "bytes"))
    header = 4 + 3 * 4
    assert {float(header - read) for read in (12, 8, 4, 0)} <= set(slips)
    assert [-slip for slip in reversed(slips)] == slips


def test_the_grid_of_turns_and_mirrors_has_all_eight_ways_to_store_a_picture() -> None:
    # TIFF 6.0, tag Orientation: eight values.
    (grid,) = read_recipe("decoder-faults").grids
    assert len(grid.down.levels) * len(grid.across.levels) == 8
