"""Recipes that can't be used: the file and the line, all problems at once."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from tests.cli.support import Ended, Shed

Called = Callable[..., Ended]

TWO = ("one", "two")
HEAD = 'title = "Bad"\n[[sweep]]\nperturbation = "blur"\nunit = "px"\n'


@pytest.mark.parametrize("command", ["check", "render", "report"])
@pytest.mark.parametrize(
    ("line", "message"),
    [
        (
            "levels = [nan]",
            "bad.toml:5: sweep 1, levels, item 1: a level must be a finite number\n"
            "  got       nan\n"
            "  allowed   0 to 16 px\n",
        ),
        (
            "levels = [1, -1]",
            "bad.toml:5: sweep 1, levels, item 2: a level is out of range\n"
            "  got       -1 px\n"
            "  allowed   0 to 16 px\n",
        ),
        (
            'levels = [1]\ncolour = "red"',
            'bad.toml:6: sweep 1: unknown key "colour"\n',
        ),
    ],
    ids=["NaN", "out of range", "unknown key"],
)
def test_a_recipe_that_cannot_be_read_is_told_with_its_line(
    shed: Shed, called: Called, command: str, line: str, message: str
) -> None:
    (shed.folder / "bad.toml").write_text(HEAD + line + "\n")
    before = shed.names()
    arguments = {
        "check": ("recipe", "check", "bad.toml"),
        "render": ("render", "bad.toml", "--into", "out"),
        "report": ("report", "models.py:right", "bad.toml", "--into", "out"),
    }
    ended = called(*arguments[command])
    assert (ended.code, ended.out) == (2, "")
    # What is allowed of keys grows with the format; the rest is whole.
    assert ended.err.startswith(message) if "unknown" in message else ended.err == message
    assert shed.names() == before


@pytest.mark.parametrize("command", ["render", "report"])
def test_a_level_that_the_frame_cannot_hold_is_told_with_its_place(
    shed: Shed, called: Called, command: str
) -> None:
    text = (shed.folder / "small.toml").read_text("utf-8").replace("[-1, 0, 1]", "[0, 30]")
    (shed.folder / "far.toml").write_text(text)
    model = ["models.py:centre"] if command == "report" else []
    ended = called(command, *model, "far.toml", "--count", "5", "--into", "out", "--quiet")
    assert (ended.code, ended.out) == (2, "")
    ours = ended.err[ended.err.index("far.toml") :]
    assert ours == (
        "far.toml:3: sweep 1: a level is out of range\n"
        "  got       30 px\n"
        "  allowed   -27 to 27 px for a 28 x 28 frame\n"
        "  try       a level inside the range, or a larger frame\n"
    )
    assert "printed while answering" not in ended.err
    assert not (shed.folder / "out").exists()


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("smal.toml", "small.toml"),
        ("recipes/frist.toml", "recipes/first.toml"),
        ("frist-look", "first-look"),
        ("small", "small.toml"),
    ],
)
def test_a_recipe_that_is_not_there_is_told_with_the_nearest_name(
    shed: Shed, called: Called, name: str, hint: str
) -> None:
    (shed.folder / "recipes").mkdir()
    (shed.folder / "recipes" / "first.toml").write_text('title = "First"\n')
    ended = called("render", name, "--into", "out")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.endswith(f'  try       "{hint}"\n')


def test_a_new_recipe_is_whole_or_not_there(
    shed: Shed, called: Called, monkeypatch: pytest.MonkeyPatch
) -> None:
    import errno
    from pathlib import Path

    before = shed.names()

    def half(self: Path, text: str, **settings: object) -> int:
        self.write_bytes(text.encode("utf-8")[:100])
        raise OSError(errno.ENOSPC, "No space left on device", str(self))

    with monkeypatch.context() as full:
        full.setattr(Path, "write_text", half)
        ended = called("recipe", "new", "mine.toml")
    assert ended == Ended(
        2, "", "mine.toml: can't be written\n  got       No space left on device\n"
    )
    assert shed.names() == before
    assert called("recipe", "new", "mine.toml").code == 0
    assert called("recipe", "check", "mine.toml").code == 0


def test_a_stress_set_of_a_recipe_that_extends_another_stands_alone(
    shed: Shed, called: Called
) -> None:
    shelf = shed.folder / "shelf"
    shelf.mkdir()
    (shelf / "base.toml").write_text((shed.folder / "small.toml").read_text("utf-8"))
    (shelf / "mine.toml").write_text(
        'extends = "base.toml"\ntitle = "Mine"\nseed = 3\n'
        '[[sweep]]\nperturbation = "blur"\nunit = "px"\nlevels = [0, 1]\n'
    )
    asked = called("recipe", "show", "shelf/mine.toml")
    assert called("render", "shelf/mine.toml", "--count", "5", "--into", "one", "--quiet").code == 0
    # On another machine there is the stress set alone.
    (shelf / "base.toml").unlink()
    (shelf / "mine.toml").unlink()
    assert (shed.folder / "one" / "recipe.toml").read_text("utf-8") == asked.out
    assert called("verify", "one", "--quiet").code == 0
    again = called("render", "one/recipe.toml", "--count", "5", "--into", "two", "--quiet")
    assert again.code == 0
    manifests = [json.loads((shed.folder / each / "manifest.json").read_text()) for each in TWO]
    assert manifests[0]["digest"] == manifests[1]["digest"]
    assert manifests[0]["recipe"] == manifests[1]["recipe"]
    assert manifests[0]["recipe"]["digest"] in asked.err
    assert len(manifests[0]["cells"]) == 4


def test_a_report_holds_what_came_of_a_recipe_that_extends_another(
    shed: Shed, called: Called
) -> None:
    (shed.folder / "mine.toml").write_text('extends = "small.toml"\ntitle = "Mine"\n')
    asked = called("recipe", "show", "mine.toml")
    ended = called("report", "models.py:right", "mine.toml", "--count", "5", "--into", "out")
    assert ended.code == 0
    held = json.loads((shed.folder / "out" / "report.json").read_text("utf-8"))["recipe"]
    assert held["text"] == asked.out
    assert held["digest"] in asked.err


def test_a_level_of_a_base_that_the_frame_cannot_hold_is_told_with_its_place(
    shed: Shed, called: Called
) -> None:
    text = (shed.folder / "small.toml").read_text("utf-8").replace("[-1, 0, 1]", "[0, 30]")
    (shed.folder / "far.toml").write_text(text)
    (shed.folder / "mine.toml").write_text('extends = "far.toml"\ntitle = "Mine"\n')
    ended = called("render", "mine.toml", "--count", "5", "--into", "out", "--quiet")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err == (
        "far.toml:3: sweep 1, extended by mine.toml: a level is out of range\n"
        "  got       30 px\n"
        "  allowed   -27 to 27 px for a 28 x 28 frame\n"
        "  try       a level inside the range, or a larger frame\n"
    )


def test_recipes_are_compared_and_the_code_says_whether_they_are_the_same(
    shed: Shed, called: Called
) -> None:
    (shed.folder / "mine.toml").write_text('extends = "small.toml"\ntitle = "Small"\nseed = 2\n')
    assert called("recipe", "diff", "small.toml", "small.toml").code == 0
    ended = called("recipe", "diff", "small.toml", "mine.toml")
    assert (ended.code, ended.out) == (1, "seed: 0 in A, 2 in B\n")
    ended = called("recipe", "diff", "small.toml", "none.toml")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith("none.toml: there is no such file\n")
