"""What `gen recipe diff` says: all that differs, and nothing else."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import permutations
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from gen.cli.recipe import recipe as command
from gen.perturb.recipes import parse_recipe, read_recipe
from gen.recipe.differences import differences
from gen.recipe.model import Ruler
from gen.recipe.shelf import shelf_names

PAGE = (Path(__file__).parents[2] / "recipes" / "README.md").read_text("utf-8")
WHOLE = "\n".join(re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)[:4])
"""The examples of the reference page together: each kind of table is in it."""

CHANGES = [
    ('title = "Mount drift"', 'title = "Night"', 'title: "Mount drift" in A, "Night" in B'),
    ('note = "Positive is down."', "", "translation along y, note: only in A"),
    ('note = "Positive is down."', 'note = "Up."', "translation along y, note: another text in B"),
    ("seed = 7", "seed = 8", "seed: 7 in A, 8 in B"),
    ("seed = 7", "seed = 7\nscan_dpi = 200", "scan_dpi: none in A, 200 in B"),
    (
        "{from = -4, to = 4, step = 1}",
        "{from = -4, to = 4, step = 0.5}",
        "translation along y: levels -4 to 4 by 1 px in A, -4 to 4 by 0.5 px in B",
    ),
    (
        "levels = [0.5, 0.75, 1, 1.5]",
        "levels = [0.5, 1.5]",
        "stroke-width: levels 0.5, 0.75, 1, 1.5 ratio in A, 0.5, 1.5 ratio in B",
    ),
    (
        'unit = "ratio"\nlevels = [0.5, 0.75, 1, 1.5]',
        'unit = "px"\nlevels = [0, 1, 2]',
        "stroke-width: levels 0.5, 0.75, 1, 1.5 ratio in A, 0 to 2 by 1 px in B",
    ),
    (
        '["as drawn", "centre of mass", "top left"]',
        '["as drawn", "centre of mass", "top"]',
        'placement with box_px 20, margin_px 0: levels "top left" only in A; "top" only in B',
    ),
    (
        '["as drawn", "centre of mass", "top left"]',
        '["as drawn", "top left", "centre of mass"]',
        "placement with box_px 20, margin_px 0: levels in another order",
    ),
    (
        "levels = [-10, 0, 10]",
        "levels = [-20, 0, 20]",
        "grid of rotation about the frame by translation along x: down, levels -10 to 10 by 10 deg "
        "in A, -20 to 20 by 20 deg in B",
    ),
    (
        'note = "A crate that comes in skewed also comes in late."',
        "",
        "grid of rotation about the frame by translation along x, note: only in A",
    ),
    ("draws = 2", "draws = 3", 'blend "What the depot\'s camera does", draws: 2 in A, 3 in B'),
    (
        "normal = {mean = 0.5, sd = 1}",
        "uniform = {low = -1, high = 1}",
        'blend "What the depot\'s camera does", translation along y: normal, mean 0.5, sd 1, in '
        "steps of 0.015625 px in A, uniform, low -1, high 1, in steps of 0.015625 px in B",
    ),
    (
        "keeps = 0.97",
        "keeps = 0.96",
        "required at nominal: keeps 0.97 in A, keeps 0.96 in B",
    ),
    (
        "within = 2",
        "within = 1",
        "required of translation along x: keeps 0.95 from -2 to 2 px, judged on the lower end in A"
        ", keeps 0.95 from -1 to 1 px, judged on the lower end in B",
    ),
    (
        "drop = 0.02",
        "drop = 0.03",
        'required of blend "What belt two does": drops by no more than 0.02 in A, drops by no more '
        "than 0.03 in B",
    ),
    (
        'note = "Agreed with the packing shed."',
        "",
        'required of blend "What belt two does", note: only in A',
    ),
]


@pytest.mark.parametrize(("old", "new", "line"), CHANGES, ids=[line for *_, line in CHANGES])
def test_one_change_is_one_line(old: str, new: str, line: str) -> None:
    assert WHOLE.count(old) >= 1
    ours, theirs = parse_recipe(WHOLE), parse_recipe(WHOLE.replace(old, new, 1))
    assert differences(ours, theirs) == (line,)
    assert len(differences(theirs, ours)) == 1


@pytest.mark.parametrize("kind", ["sweeps", "grids", "blends", "requirements"])
def test_what_is_in_one_alone_is_said_to_be(kind: str) -> None:
    whole = parse_recipe(WHOLE)
    for gone in range(len(getattr(whole, kind))):
        fewer = getattr(whole, kind)[:gone] + getattr(whole, kind)[gone + 1 :]
        less = replace(whole, **{kind: fewer})
        (line,) = differences(whole, less)
        assert ": only in A, " in line
        assert differences(less, whole) == (line.replace(": only in A, ", ": only in B, "),)


def test_another_order_is_said_once_and_only_when_it_is_another() -> None:
    whole = parse_recipe(WHOLE)
    turned = replace(whole, sweeps=tuple(reversed(whole.sweeps)))
    assert differences(whole, turned) == ("the sweeps stand in another order",)
    shorter = replace(whole, sweeps=whole.sweeps[1:])
    assert [line.split(":")[1] for line in differences(whole, shorter)] == [
        " only in A, levels -4 to 4 by 1 px"
    ]
    blend = replace(whole.blends[0], parts=tuple(reversed(whole.blends[0].parts)))
    assert differences(whole, replace(whole, blends=(blend, *whole.blends[1:]))) == (
        'blend "What the depot\'s camera does", the parts stand in another order',
    )


def test_nothing_is_said_exactly_of_recipes_that_are_the_same() -> None:
    texts = [WHOLE, *(WHOLE.replace(old, new, 1) for old, new, _ in CHANGES)]
    read = [parse_recipe(text) for text in texts]
    read += [read_recipe(name) for name in shelf_names()]
    for one, other in permutations(read, 2):
        assert differences(one, other)
        assert one != other
    for each, text in zip(read, texts, strict=False):
        assert differences(each, parse_recipe(f"# again\n{text}")) == ()


def test_levels_that_look_alike_in_short_are_told_apart() -> None:
    head = 'title = "a"\n[[sweep]]\nperturbation = "blur"\nunit = "px"\nlevels = '
    many = [0, 1, *(2 + each / 8 for each in range(20))]
    ours = parse_recipe(f"{head}{many}")
    theirs = parse_recipe(f"{head}{[*many[:5], 2.4, *many[6:]]}")
    assert differences(ours, theirs) == ("blur: levels 2.375 only in A; 2.4 only in B",)


def test_required_levels_that_look_alike_in_short_are_told_apart() -> None:
    many = [0, 1, *(2 + each / 8 for each in range(20))]
    other = [*many[:5], 2.4, *many[6:]]
    head = 'title = "a"\n[[sweep]]\nperturbation = "blur"\nunit = "px"\nlevels = '
    asked = '\n[[require]]\nperturbation = "blur"\nunit = "px"\nkeeps = 0.9\nlevels = '
    ours, theirs = (
        parse_recipe(f"{head}{sorted({*many, *other})}{asked}{levels}") for levels in (many, other)
    )
    assert differences(ours, theirs) == ("required of blur: levels 2.375 only in A; 2.4 only in B",)


def test_titles_that_are_long_are_told_apart() -> None:
    ours, theirs = (parse_recipe(f'title = "{"a" * 90}{end}"') for end in "xy")
    assert len(differences(ours, theirs)) == 1


def test_how_levels_are_written_makes_no_difference() -> None:
    ours = parse_recipe(WHOLE)
    listed = WHOLE.replace("{from = -4, to = 4, step = 1}", str(list(range(-4, 5))))
    assert listed != WHOLE
    assert differences(ours, parse_recipe(listed)) == ()


def test_a_length_that_no_unit_needs_is_told_too() -> None:
    whole = parse_recipe(WHOLE)
    assert differences(whole, replace(whole, ruler=Ruler(None, 20.0))) == (
        "glyph_height_px: none in A, 20 in B",
    )


def diffed(*names: object) -> Result:
    return CliRunner().invoke(command, ["diff", *map(str, names)])


def test_the_command_ends_with_0_when_they_are_the_same(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text('extends = "first-look"\ntitle = "A first look"\n')
    ended = diffed("first-look", tmp_path / "mine.toml")
    assert (ended.exit_code, ended.stdout) == (0, "")
    digest = read_recipe("first-look").digest[:12]
    assert ended.stderr == (
        f"A         first-look, digest {digest}\n"
        f"B         {tmp_path / 'mine.toml'}, digest {digest}\n"
        "result    the same recipe\n"
    )


def test_the_command_ends_with_1_when_they_differ(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(
        'extends = "first-look"\ntitle = "A first look"\n'
        'leave_out.sweep = [{perturbation = "blur"}]\n[[sweep]]\nperturbation = "translation"\n'
        'unit = "px"\nlevels = {from = -4, to = 4, step = 1}\nnote = "Positive is right."\n'
    )
    ended = diffed("first-look", tmp_path / "mine.toml")
    assert ended.exit_code == 1
    assert ended.stdout == (
        "translation along x: levels -6 to 6 by 1 px in A, -4 to 4 by 1 px in B\n"
        "blur: only in A, levels 0, 0.5, 0.75, 1, 1.5, 2, 3 px\n"
    )
    assert ended.stderr.endswith("result    2 differences; other pictures\n")


def test_words_alone_leave_the_pictures_the_same(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text('extends = "first-look"\ntitle = "Mine"\n')
    ended = diffed("first-look", tmp_path / "mine.toml")
    assert ended.exit_code == 1
    assert ended.stdout == 'title: "A first look" in A, "Mine" in B\n'
    assert ended.stderr.endswith("result    1 difference; the same pictures\n")
