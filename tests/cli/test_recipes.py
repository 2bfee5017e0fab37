"""Recipes that can't be used: the file and the line, all problems at once."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.cli.support import Ended, Shed

Called = Callable[..., Ended]

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
