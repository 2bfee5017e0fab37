"""Help that teaches: every example in it runs as it stands."""

from __future__ import annotations

import gzip
import shlex
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

from gen.cli.main import CODES, COMMANDS, ENDED, INTERRUPTED, VARIABLES, cli
from gen.cli.report import MISSED
from gen.core.errors import InkdriftError
from gen.glyphs.paper.layout import Plan
from gen.glyphs.strokes import write_strokes
from gen.render.pictures import nominal_pictures
from tests.cli.support import SMALL, Ended, Shed, idx
from tests.glyphs.paper.camera import filled

Called = Callable[..., Ended]

ALWAYS_THERE = """
import numpy as np


def model(pictures):
    return np.arange(len(pictures)) % 10
"""


def commands(
    group: click.Group = cli, before: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Every command, and those inside it."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        yield (*before, name), command
        if isinstance(command, click.Group):
            yield from commands(command, (*before, name))


def examples(command: click.Command) -> list[str]:
    """The command lines under "Example" in its help."""
    lines = (command.help or "").splitlines()
    found: list[str] = []
    inside = False
    for line in lines:
        if line.strip() in ("Example:", "Examples:", "Start with:"):
            inside = True
        elif inside and line.strip().startswith("gen "):
            found.append(line.strip())
        elif inside and line.strip() not in ("", "\b"):
            inside = False
    return found


ALL = dict(commands())


@pytest.mark.parametrize("name", ALL, ids=" ".join)
def test_each_command_has_an_example_of_itself(name: tuple[str, ...]) -> None:
    if isinstance(ALL[name], click.Group):
        pytest.skip("its own commands have them")
    said = examples(ALL[name])
    assert said
    # What follows may be what comes next, with another command.
    assert said[0].split()[1 : 1 + len(name)] == list(name)


def call(folder: Path, line: str) -> Ended:
    """Run a command line as it stands, in a folder."""
    words = shlex.split(line)
    assert words[0] == "gen"
    return Shed(folder).gen(*words[1:], INKDRIFT_CACHE=str(folder.parent / "cache"))


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the examples speak of: a model, drawings, files as MNIST has them, reports, a set."""
    folder = tmp_path_factory.mktemp("desk") / "desk"
    folder.mkdir()
    (folder / "my_model.py").write_text(ALWAYS_THERE)
    (folder / "small.toml").write_text(SMALL)
    glyphs = write_strokes(count=100)
    images = nominal_pictures(glyphs)
    labels = glyphs.labels.astype(np.uint8)
    for name in ("train", "t10k"):
        for kind, array in (("images-idx3", images), ("labels-idx1", labels)):
            (folder / f"{name}-{kind}-ubyte.gz").write_bytes(gzip.compress(idx(array)))
    for place, (image, label) in enumerate(zip(images, labels, strict=True)):
        into = folder / "my-drawings" / str(label)
        into.mkdir(parents=True, exist_ok=True)
        Image.fromarray(image).save(into / f"{place}.png")
    plan = Plan(tuple("0123456789"), 3)
    for number, name in enumerate(("belt-one", "belt-two")):
        Image.fromarray(filled(plan, seed=number).page).save(folder / f"{name}.jpg", quality=95)
    for line in (
        "gen report my_model.py:model small.toml --count 30 --into old-report",
        "gen report my_model.py:model small.toml --count 30 --into new-report",
        "gen render small.toml --count 20 --into stress",
        "gen collect belt-one.jpg belt-two.jpg --into drawings",
    ):
        ended = call(folder, line)
        assert ended.code == 0, ended.err
    return folder


EVERY = [("gen", line) for line in examples(cli)] + [
    (" ".join(name), line) for name, command in ALL.items() for line in examples(command)
]


# What an example says may be no; of the others all is well.
MAY_SAY_NO = {"diagnose", "recipe diff"}


@pytest.mark.parametrize(("name", "line"), dict.fromkeys(EVERY), ids=lambda part: part)
def test_the_example_runs_as_it_stands(desk: Path, tmp_path: Path, name: str, line: str) -> None:
    here = tmp_path / "desk"
    shutil.copytree(desk, here)
    words = shlex.split(line)
    if "--into" in words:
        into = here / words[words.index("--into") + 1]
        shutil.rmtree(into, ignore_errors=True)
    before = set(here.rglob("*"))
    ended = call(here, line)
    assert ended.code in ((0, 1) if name in MAY_SAY_NO else (0,)), ended.err
    assert ended.out or ended.err or set(here.rglob("*")) > before
    if "--into" in words:
        assert into.exists()


def test_the_help_of_the_whole_lists_exit_codes_and_environment_variables() -> None:
    said = " ".join(CliRunner().invoke(cli, ["--help"]).stdout.split())
    assert list(CODES) == ["0", "1", "2", f"{INTERRUPTED}", f"{ENDED}"] == [*"012", "130", "143"]
    assert (MISSED, InkdriftError.exit_code) == (1, 2)
    for name, meaning in (*CODES.items(), *VARIABLES.items()):
        assert f"{name} {meaning}" in said


@pytest.mark.parametrize("name", VARIABLES)
def test_each_variable_that_help_names_is_read_somewhere(name: str) -> None:
    package = Path(sys.modules["gen"].__file__ or "").parent
    read = [path for path in package.rglob("*.py") if f'environ.get("{name}")' in path.read_text()]
    assert read


def test_every_line_of_the_table_of_commands_ends_in_a_full_stop() -> None:
    assert all(line.endswith(".") and line[0].isupper() for _, line in COMMANDS.values())


@pytest.mark.parametrize("name", [(), ("recipe",)], ids=" ".join)
def test_no_line_of_a_table_of_commands_is_cut_short(
    called: Called, monkeypatch: pytest.MonkeyPatch, name: tuple[str, ...]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert "..." not in called(*name, "--help").out.partition("Commands:")[2]


@pytest.mark.parametrize("columns", ["40", "60", "200"])
@pytest.mark.parametrize("name", [(), *ALL], ids=" ".join)
def test_help_fits_the_terminal_but_for_what_is_to_be_pasted(
    called: Called, monkeypatch: pytest.MonkeyPatch, name: tuple[str, ...], columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    ended = called(*name, "--help")
    assert (ended.code, ended.err) == (0, "")
    pasted = [line.strip() for line in (cli if not name else ALL[name]).help.splitlines()]  # type: ignore[union-attr]
    long = [
        line
        for line in ended.out.splitlines()
        if len(line) > int(columns) and line.strip() not in pasted and "[" not in line
    ]
    assert long == []
