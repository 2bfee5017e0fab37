"""Completion: what a shell is told, and what bash, zsh and fish make of it."""

from __future__ import annotations

import json
import os
import shutil
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from gen.cli.complete import FOREIGN
from gen.cli.main import COMMANDS, cli
from gen.cli.shells import SHELLS, words_of
from gen.core.errors import RecipeError
from gen.glyphs.foreign import KINDS
from gen.perturb import CATALOGUE
from gen.recipe.shelf import shelf_names
from tests.cli.support import Ended, Shed, environment
from tests.cli.terminal import Terminal, in_a_terminal

Called = Callable[..., Ended]
needs_posix = pytest.mark.skipif(os.name == "nt", reason="terminals as POSIX has them")


def needs(shell: str) -> pytest.MarkDecorator:
    return pytest.mark.skipif(shutil.which(shell) is None, reason=f"{shell} is not installed")


@pytest.fixture
def belt(shed: Shed, monkeypatch: pytest.MonkeyPatch) -> Shed:
    """The shed with a folder and a name that has a space, as the place where one is."""
    (shed.folder / "summer tags").mkdir()
    (shed.folder / "summer tags" / "late.toml").write_text('title = "Late"\n')
    (shed.folder / "notes.txt").write_text("12 crates")
    monkeypatch.chdir(shed.folder)
    return shed


def answered(line: str, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The values for a line, by click's own classes."""
    monkeypatch.setenv("COMP_WORDS", line)
    complete = SHELLS["fish"](cli, {}, "gen", "_GEN_COMPLETE")
    return [item.value for item in complete.get_completions(*complete.get_completion_args())]


ANSWERS = {
    "gen rep": ["report"],
    "gen ": list(COMMANDS),
    "gen nothing-of-that": [],
    "gen render x --into=sum": ["--into=summer tags/"],
    "gen report --af": ["--afresh"],
    "gen report --interval wi": ["wilson"],
    "gen report --interval=wi": ["--interval=wilson"],
    "gen report m": ["models.py"],
    "gen report models.py:r": ["models.py:right"],
    "gen report models.py:right first-l": ["first-look"],
    "gen report models.py:right su": ["summer tags/"],
    "gen report models.py:right small.": ["small.toml"],
    "gen report models.py:right 'summer tags/": ["summer tags/late.toml"],
    "gen report models.py:right summer\\ tags/l": ["summer tags/late.toml"],
    "gen recipe sh": ["show"],
    "gen recipe show first-l": ["first-look"],
    "gen render small.toml --glyphs str": ["strokes"],
    "gen render small.toml --glyphs foreign:s": ["foreign:scribble", "foreign:strangers"],
    "gen render small.toml --glyphs n": ["notes.txt"],
    "gen diagnose models.py:right --trained-on stro": ["strokes"],
    "gen measure stro": ["strokes"],
    "gen perturbations row": ["row-slip"],
    "gen completion z": ["zsh"],
    "PAPER=a4 gen recipe sh": ["show"],
}


@pytest.mark.parametrize("line", ANSWERS)
def test_each_place_of_a_line_is_completed_with_what_fits_there(
    belt: Shed, monkeypatch: pytest.MonkeyPatch, line: str
) -> None:
    assert answered(line, monkeypatch) == ANSWERS[line]


def test_every_perturbation_and_every_recipe_is_named(
    belt: Shed, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert answered("gen perturbations ", monkeypatch) == list(CATALOGUE)
    known = answered("gen render ", monkeypatch)
    assert known == [*shelf_names(), "small.toml", "summer tags/"]


def test_the_kinds_of_marks_of_no_class_are_those_that_there_are() -> None:
    assert [f"foreign:{kind}" for kind in KINDS] == list(FOREIGN)


def test_recipes_that_are_lost_leave_those_of_the_folder(
    belt: Shed, monkeypatch: pytest.MonkeyPatch
) -> None:
    def lost() -> dict[str, str]:
        raise RecipeError("", "the recipes that ship are lost")

    monkeypatch.setattr("gen.recipe.shelf.shelf_titles", lost)
    assert answered("gen render ", monkeypatch) == ["small.toml", "summer tags/"]


def test_hidden_files_are_named_when_asked_for(belt: Shed, monkeypatch: pytest.MonkeyPatch) -> None:
    (belt.folder / ".old.toml").write_text("")
    assert ".old.toml" not in answered("gen render ", monkeypatch)
    assert answered("gen render .o", monkeypatch) == [".old.toml"]


def test_a_model_file_that_does_not_parse_has_no_names(
    belt: Shed, monkeypatch: pytest.MonkeyPatch
) -> None:
    (belt.folder / "broken.py").write_text("def (")
    assert answered("gen report broken.py:", monkeypatch) == []
    assert answered("gen report nowhere.py:", monkeypatch) == []
    assert answered("gen report nowhere/", monkeypatch) == []


def test_a_model_file_is_not_run_to_be_completed(
    belt: Shed, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    assert "models.py:centre" in answered("gen report models.py:", monkeypatch)
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    ("line", "words", "word"),
    [
        ("gen", [], "gen"),
        ("gen ", [], ""),
        ("gen 'a b' c", ["a b"], "c"),
        ("gen 'a b", [], "a b"),
        ("gen a\\ b", [], "a b"),
        ("gen m.py:f ", ["m.py:f"], ""),
        ("PAPER=a4 INK='b c' gen m.py:f ", ["m.py:f"], ""),
    ],
)
def test_a_line_is_taken_apart_as_a_shell_does(line: str, words: list[str], word: str) -> None:
    assert words_of(line) == (words, word)


@pytest.mark.parametrize("line", ["gen ", "gen report models.py:right ", "gen perturbations b"])
@pytest.mark.parametrize("shell", SHELLS)
def test_completing_loads_nothing_heavy(belt: Shed, shell: str, line: str) -> None:
    code = (
        "import sys\n"
        "from gen.__main__ import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print(*sorted(name for name in sys.modules if '.' not in name), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=environment(_GEN_COMPLETE=f"{shell}_complete", COMP_WORDS=line),
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip()
    loaded = set(done.stderr.split())
    assert "click" in loaded
    assert loaded & {"numpy", "scipy", "cv2", "PIL"} == set()


def test_a_release_of_click_that_gives_no_class_back_completes_too(belt: Shed) -> None:
    # So does 8.1.0, the oldest that is allowed.
    code = (
        "import click.shell_completion as given\n"
        "add = given.add_completion_class\n"
        "given.add_completion_class = lambda *told: [add(*told)].clear()\n"
        "from gen.__main__ import main\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=environment(_GEN_COMPLETE="zsh_complete", COMP_WORDS="gen rep"),
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stderr == ""
    assert done.stdout.splitlines()[:2] == ["plain", "report"]


def test_completing_the_name_of_a_command_imports_none_of_them(belt: Shed) -> None:
    code = (
        "import sys\n"
        "from gen.__main__ import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print(*(name for name in sys.modules if name.startswith('gen.cli.')), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=environment(_GEN_COMPLETE="bash_complete", COMP_WORDS="gen re"),
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == ["plain,recipe", "plain,render", "plain,report"]
    commands = {module.partition(":")[0] for module, _ in COMMANDS.values()}
    imported = set(done.stderr.split())
    assert "gen.cli.complete" in imported
    assert not imported & commands


@pytest.mark.parametrize("shell", SHELLS)
def test_the_script_goes_to_standard_output_and_names_its_function(shell: str) -> None:
    ended = CliRunner().invoke(cli, ["completion", shell])
    assert ended.exit_code == 0
    assert "_gen_completion" in ended.stdout
    assert f"_GEN_COMPLETE={shell}_complete" in ended.stdout


def test_a_shell_that_is_not_known_is_told_with_those_that_are(called: Called) -> None:
    ended = called("completion", "basj")
    assert ended.code == 2
    assert "  allowed   bash, zsh, fish\n  try       bash\n" in ended.err


# From here on real shells. What was completed is printed as the shell took it, word by word.


@pytest.fixture
def path(tmp_path: Path) -> str:
    """A search path on which `gen` is this package."""
    folder = tmp_path / "bin"
    folder.mkdir()
    gen = folder / "gen"
    gen.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m gen "$@"\n')
    gen.chmod(gen.stat().st_mode | stat.S_IXUSR)
    return os.pathsep.join([str(folder), os.environ["PATH"]])


COMPLETED = {
    "gen rep": ["gen", "report"],
    "gen perturbations row-": ["gen", "perturbations", "row-slip"],
    "gen report models.py:rig": ["gen", "report", "models.py:right"],
    "gen report models.py:right first-": ["gen", "report", "models.py:right", "first-look"],
    "gen render small.": ["gen", "render", "small.toml"],
    "gen render sum\tla": ["gen", "render", "summer tags/late.toml"],
    "gen render x --glyphs foreign:two": ["gen", "render", "x", "--glyphs", "foreign:two marks"],
    "gen render x --glyphs 'foreign:scr": ["gen", "render", "x", "--glyphs", "foreign:scribble"],
    "gen render x --glyphs=stro": ["gen", "render", "x", "--glyphs=strokes"],
    "gen render x --into=sum": ["gen", "render", "x", "--into=summer tags/"],
    "gen render x --form\tid": ["gen", "render", "x", "--format", "idx"],
    "gen render x --into sum": ["gen", "render", "x", "--into", "summer tags/"],
}
SHELL_LINES = {
    "bash": (
        ["bash", "--noprofile", "--norc", "-i"],
        "PS1='ready> '; bind 'set bell-style none'; eval \"$(gen completion bash)\"",
    ),
    "zsh": (
        ["zsh", "-f", "-i"],
        "PS1='ready> '; unsetopt beep; autoload -Uz compinit; compinit -u -D; "
        'eval "$(gen completion zsh)"',
    ),
}
"""How a shell is begun without anybody's settings, and what it is told first."""


def begin(terminal: Terminal, shell: str) -> None:
    terminal.type(SHELL_LINES[shell][1] + "; echo set-u\\p\n")
    terminal.wait_for("^set-up$")
    terminal.wait_for("ready> $")


@needs_posix
@pytest.mark.parametrize("line", COMPLETED)
@pytest.mark.parametrize("shell", [pytest.param(name, marks=needs(name)) for name in SHELL_LINES])
def test_a_key_press_completes_the_word(belt: Shed, path: str, shell: str, line: str) -> None:
    env = environment(PATH=path, TERM="xterm", HOME=str(belt.folder.parent), ZDOTDIR="/nowhere")
    with in_a_terminal(SHELL_LINES[shell][0], folder=belt.folder, env=env, columns=200) as (
        terminal,
        _,
    ):
        begin(terminal, shell)
        for part in line.split("\t"):
            terminal.type(part + "\t")
        # To the begin of the line; there the words become those of a command that prints them.
        terminal.type("\x01printf '<%s>\\n' \n")
        terminal.wait_for("^<gen>$")
        terminal.type("echo do\\ne\n")
        terminal.wait_for("^done$")
    words = [each[1:-1] for each in terminal.seen.splitlines() if each.startswith("<")]
    if shell == "zsh":
        # It takes the slash of a folder away when something else than a path is typed next.
        words[-1] = words[-1].rstrip("/") + "/" * COMPLETED[line][-1].endswith("/")
    assert words == COMPLETED[line]


@needs_posix
@pytest.mark.parametrize("shell", [pytest.param(name, marks=needs(name)) for name in SHELL_LINES])
def test_what_may_stand_there_is_listed(belt: Shed, path: str, shell: str) -> None:
    env = environment(PATH=path, TERM="xterm", HOME=str(belt.folder.parent), ZDOTDIR="/nowhere")
    with in_a_terminal(SHELL_LINES[shell][0], folder=belt.folder, env=env, columns=200) as (
        terminal,
        _,
    ):
        begin(terminal, shell)
        terminal.type("gen re\t\t")
        for name in ("recipe", "render", "report"):
            terminal.wait_for(rf"\b{name}\b")


@needs("fish")
@pytest.mark.parametrize("line", [line for line in COMPLETED if "\t" not in line])
def test_fish_gets_the_word(belt: Shed, path: str, line: str) -> None:
    # Fish says by itself what it would complete.
    done = subprocess.run(
        [
            "fish",
            "--no-config",
            "-c",
            f"gen completion fish | source; complete -C {json.dumps(line)}",
        ],
        cwd=belt.folder,
        env=environment(PATH=path, HOME=str(belt.folder.parent)),
        capture_output=True,
        text=True,
        check=True,
    )
    found = [each.partition("\t")[0] for each in done.stdout.splitlines()]
    assert found == [COMPLETED[line][-1]]
