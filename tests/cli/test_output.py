"""What is printed, and where: data on standard output, talk on standard error."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gen.cli.process import quoted
from tests.cli.support import Ended, Shed, environment

Called = Callable[..., Ended]

REPORT = ("report", "models.py:centre", "small.toml", "--count", "40", "--into", "out")


def test_json_has_standard_output_to_itself_however_the_model_prints(shed: Shed) -> None:
    ended = shed.gen(*REPORT, "--json")
    assert ended.code == 0
    assert json.loads(ended.out) == json.loads((shed.folder / "out" / "report.json").read_text())
    told = ("printed at import", "written at import", "printed while answ", "written while answ")
    assert [said for said in told if said not in ended.err] == []


def test_the_summary_has_standard_output_to_itself_too(shed: Shed) -> None:
    ended = shed.gen(*REPORT)
    assert ended.out.startswith("NOT SAFE TO RELY ON\n")
    assert "printed" not in ended.out
    assert "written at import" not in ended.out


def test_quiet_leaves_the_summary_alone(shed: Shed, called: Called) -> None:
    (shed.folder / "mute.py").write_text("def model(x):\n    return [0] * len(x)\n")
    ended = called(
        "report", "mute.py:model", "small.toml", "--count", "40", "--into", "o", "--quiet"
    )
    assert (ended.code, ended.err) == (0, "")
    assert "nominal   10.0 %" in ended.out


def test_the_notes_come_in_the_order_of_the_work(shed: Shed, called: Called) -> None:
    ended = called(*REPORT, "--show-input")
    names = [line[:10].strip() for line in ended.err.splitlines() if not line.startswith("printed")]
    heads = [name for name in names if name]
    assert heads == [
        *("glyphs", "model", "handed", "answers", "classes", "read", "careful"),
        *("input", "time", "written"),
    ]


def test_the_saved_input_is_exactly_what_the_model_was_handed(shed: Shed, called: Called) -> None:
    arguments = ("report", "models.py:keeper", "small.toml", "--count", "300", "--into", "out")
    ended = called(*arguments, "--show-input", "--values", "-1..1", "--takes-ink", "dark")
    assert ended.code == 0
    saved = np.load(shed.folder / "out" / "input.npy")
    handed = np.load(shed.folder / "seen-000.npy")
    assert (saved.dtype, saved.shape) == (handed.dtype, handed.shape)
    assert saved.tobytes() == handed.tobytes()
    assert len(np.unique(saved)) > 2  # neither can be empty
    facts = json.loads((shed.folder / "out" / "input.json").read_text())
    assert (facts["shape"], facts["least"], facts["greatest"]) == (list(handed.shape), -1.0, 1.0)
    assert facts["mean"] == pytest.approx(handed.mean(dtype=np.float64), rel=0, abs=0)
    assert f"input     float32 {handed.shape}\n" in ended.err


def pasted(command: str) -> list[str]:
    """The arguments that a shell makes of a command line."""
    done = subprocess.run(
        ["bash", "-c", f"printf '%s\\0' {command}"], capture_output=True, check=True
    )
    return done.stdout.decode("utf-8", "surrogateescape").split("\0")[:-1]


@pytest.mark.parametrize("columns", ["40", "80", "300"])
def test_the_command_line_to_do_it_again_can_be_pasted(shed: Shed, columns: str) -> None:
    (shed.folder / "my models.py").write_text("def it_s(x):\n    return [0] * len(x)\n")
    into = "out of 'the' \"shed\"\n$HOME"
    arguments = ["report", "my models.py:it_s", "small.toml", "--count", "20", "--into", into]
    ended = shed.gen(*arguments, COLUMNS=columns)
    assert ended.code == 0
    command = ended.out[ended.out.index("again     ") + 10 :]
    assert pasted(command) == ["python", "-m", "gen", *arguments, "--overwrite"]
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    # And what is pasted runs, though the folder is full now.
    again = subprocess.run(
        ["bash", "-c", command],
        cwd=shed.folder,
        env=environment(PATH=path),
        capture_output=True,
        check=False,
    )
    assert again.returncode == 0, again.stderr


@pytest.mark.parametrize(
    "word", ["plain", "", "two words", "it's", "a\nb", "\udcff", "$(ls)", "é\\"]
)
def test_a_quoted_word_comes_back_from_a_shell_as_it_was(word: str) -> None:
    assert quoted(word).isprintable()
    assert pasted(quoted(word)) == [word]


def test_a_word_that_needs_no_quotes_gets_none() -> None:
    assert quoted("models.py:right") == "models.py:right" == shlex.quote("models.py:right")


def test_forty_columns_are_enough(shed: Shed) -> None:
    # What can't be broken, a word of the command line, is short here.
    ended = shed.gen(*REPORT, "--quiet", COLUMNS="40")
    assert max(map(len, ended.out.splitlines())) <= 40


@pytest.mark.parametrize("settings", [{"NO_COLOR": "1"}, {"TERM": "dumb"}, {}])
def test_nothing_that_is_piped_holds_signs_for_a_terminal(
    shed: Shed, settings: dict[str, str]
) -> None:
    ended = shed.gen(*REPORT, **settings)
    assert ended.code == 0
    assert "\x1b" not in ended.out + ended.err


def test_an_earlier_report_leaves_nothing_among_the_files_of_a_later_one(
    shed: Shed, called: Called
) -> None:
    out = shed.folder / "out"
    out.mkdir()
    for name in ("grids.csv", "answers.npz", "mine.csv"):
        (out / name).write_text("of another day")
    assert called(*REPORT, "--overwrite").code == 0
    assert not (out / "grids.csv").exists()
    assert (out / "answers.npz").read_bytes()[:2] == b"PK"
    assert (out / "mine.csv").read_text() == "of another day"


def test_a_terminal_without_block_characters_gets_plain_ones(shed: Shed) -> None:
    ended = shed.gen(*REPORT, PYTHONIOENCODING="latin-1")
    assert ended.code == 0
    assert ended.out.isascii()
    assert "translation along x  ___" in ended.out
    assert 'it answers "3" nearly' in ended.out
