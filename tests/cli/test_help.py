"""Help that teaches: every example in it runs as it stands, in an empty folder."""

from __future__ import annotations

import re
import shlex
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from PIL import Image

from gen.cli.main import CODES, COMMANDS, ENDED, INTERRUPTED, VARIABLES, cli
from gen.cli.report import MISSED
from gen.cli.usage import examples
from gen.core.errors import InkdriftError
from gen.glyphs.paper.layout import Plan
from tests.cli.support import Ended, Shed
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


ALL = dict(commands())


@pytest.mark.parametrize("name", ALL, ids=" ".join)
def test_each_command_has_an_example_of_itself(name: tuple[str, ...]) -> None:
    # What stands before may make what it needs, and what follows may be what comes next.
    assert list(name) in [line.split()[1 : 1 + len(name)] for line in examples(ALL[name])]


def call(folder: Path, line: str) -> Ended:
    """Run a command line as it stands, in a folder."""
    words = shlex.split(line)
    assert words[0] == "gen"
    return Shed(folder).gen(*words[1:], INKDRIFT_CACHE=str(folder.parent / "cache"))


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the demo writes: made once, since many examples begin with it."""
    folder = tmp_path_factory.mktemp("demo")
    ended = call(folder, DEMO)
    assert ended.code == 0, ended.err
    return folder / "inkdrift-demo"


DEMO = "gen demo --into inkdrift-demo"
EVERY = {"gen": cli, **{" ".join(name): ALL[name] for name in ALL if examples(ALL[name])}}
# What an example says may be no; of the others all is well.
MAY_SAY_NO = {"diagnose", "recipe diff"}


@pytest.mark.parametrize("name", EVERY)
def test_the_example_runs_as_it_stands(demo: Path, tmp_path: Path, name: str) -> None:
    here = tmp_path / "here"
    here.mkdir()
    if name == "collect":  # which needs photographs, and then a model of one's own
        (here / "my_model.py").write_text(ALWAYS_THERE)
        for number, photo in enumerate(("belt-one", "belt-two")):
            page = filled(Plan(tuple("0123456789"), 3), seed=number).page
            Image.fromarray(page).save(here / f"{photo}.jpg", quality=95)
    for line in examples(EVERY[name]):
        if line == DEMO:
            shutil.copytree(demo, here / "inkdrift-demo")
            continue
        before = set(here.rglob("*"))
        ended = call(here, line)
        assert ended.code in ((0, 1) if name in MAY_SAY_NO else (0,)), ended.err
        assert ended.out or ended.err or set(here.rglob("*")) > before
        words = shlex.split(line)
        if "--into" in words:
            assert (here / words[words.index("--into") + 1]).exists()


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


def test_options_that_commands_share_stand_under_headings_behind_a_commands_own(
    called: Called,
) -> None:
    heads = re.findall(r"^\S.*:$", called("report", "--help").out, re.MULTILINE)
    shared = ["Glyphs:", "Fitting marks into the frame:", "What the model takes:"]
    assert heads[heads.index("Options:") :] == ["Options:", *shared]
    for name, command in ALL.items():
        out = called(*name, "--help").out
        for param in command.params:
            if isinstance(param, click.Option):
                told = re.findall(rf"^  (?:-\w, )?{param.opts[-1]}(?![\w-])", out, re.MULTILINE)
                assert len(told) == 1, (name, param.opts)


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
