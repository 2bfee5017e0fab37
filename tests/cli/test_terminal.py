"""On a terminal, and where there is none: emphasis, bars, widths, pipes."""

from __future__ import annotations

import json
import os
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from gen.cli.emphasis import may_style, with_missed, with_verdict
from tests.cli.support import Shed, environment
from tests.cli.terminal import in_a_terminal, without_signs

pytestmark = pytest.mark.skipif(os.name == "nt", reason="terminals as POSIX has them")

GEN = [sys.executable, "-m", "gen"]
REPORT = [*GEN, "report", "quiet.py:right", "needs.toml", "--count", "40", "--into", "out"]
BOLD, RED_AND_BOLD, RESET = "\x1b[1m", "\x1b[31m\x1b[1m", "\x1b[0m"
NEEDS = """
[[require]]
perturbation = "translation"
unit = "px"
within = 1
keeps = 0.9
"""


@pytest.fixture
def desk(shed: Shed) -> Shed:
    """Models that print nothing, and a recipe that they miss."""
    (shed.folder / "quiet.py").write_text(
        "import time\n"
        "def right(x):\n    return [0] * len(x)\n"
        "def slow(x):\n    time.sleep(0.4)\n    return [0] * len(x)\n"
    )
    small = (shed.folder / "small.toml").read_text()
    (shed.folder / "needs.toml").write_text(small + NEEDS)
    return shed


def on_a_terminal(
    desk: Shed, arguments: list[str], *, columns: int = 80, piped: tuple[str, ...] = (), **env: str
) -> tuple[str, str, int]:
    """What a terminal got, what a pipe got, and the exit code."""
    settings = {"TERM": "xterm", "INKDRIFT_CACHE": str(desk.folder.parent / "cache"), **env}
    with in_a_terminal(
        arguments, folder=desk.folder, env=environment(**settings), columns=columns, piped=piped
    ) as (terminal, program):
        pipe = program.stdout or program.stderr
        # Both are read at once: a terminal that nobody reads holds its program up.
        with ThreadPoolExecutor(1) as reader:
            through = reader.submit(pipe.read if pipe else bytes)
            terminal.to_the_end()
        code = program.wait()
    return terminal.raw.replace("\r\n", "\n"), through.result().decode(), code


def bars_of(seen: str, label: str) -> list[str]:
    """Each state of a bar, in the order in which they were shown."""
    lines = without_signs(seen).replace("\r", "\n").splitlines()
    return [line.rstrip() for line in lines if line.startswith(label)]


def test_the_verdict_and_what_is_missed_stand_out(desk: Shed) -> None:
    seen, _, code = on_a_terminal(desk, REPORT, piped=("stderr",))
    assert code == 1
    assert seen.startswith(f"{BOLD}NOT SAFE TO RELY ON{RESET}\n")
    assert f"\nrequired  {RED_AND_BOLD}missed{RESET}: " in seen
    # Very sparing: these two are all.
    assert seen.count("\x1b[") == 5


@pytest.mark.parametrize(
    "env", [{"NO_COLOR": "1"}, {"NO_COLOR": "0"}, {"TERM": "dumb"}, {"TERM": ""}], ids=str
)
def test_emphasis_is_off_where_it_is_not_wanted(desk: Shed, env: dict[str, str]) -> None:
    seen, _, code = on_a_terminal(desk, REPORT, piped=("stderr",), **env)
    assert code == 1
    assert seen.startswith("NOT SAFE TO RELY ON\n")
    assert "\x1b" not in seen


def test_an_empty_no_color_says_nothing(desk: Shed) -> None:
    # https://no-color.org: "when present and not an empty string (regardless of its value)"
    seen, _, _ = on_a_terminal(desk, REPORT, piped=("stderr",), NO_COLOR="")
    assert seen.startswith(BOLD)


def test_what_goes_into_a_pipe_is_plain_while_the_terminal_shows_a_bar(desk: Shed) -> None:
    seen, through, code = on_a_terminal(desk, REPORT, piped=("stdout",))
    assert code == 1
    assert through.startswith("NOT SAFE TO RELY ON\n")
    assert "\x1b" not in through
    assert "scoring  [" in seen
    assert f"{RED_AND_BOLD}missed{RESET}    translation along x" in seen


def test_json_on_a_terminal_is_json(desk: Shed) -> None:
    seen, _, _ = on_a_terminal(desk, [*REPORT, "--json"], piped=("stderr",))
    assert "\x1b" not in seen
    assert json.loads(seen) == json.loads((desk.folder / "out" / "report.json").read_text())


def test_no_file_holds_signs_for_a_terminal(desk: Shed) -> None:
    arguments = [*REPORT, "--junit", "out/junit.xml", "--show-input"]
    on_a_terminal(desk, arguments)
    texts = [
        path
        for path in (desk.folder / "out").iterdir()
        if path.suffix not in (".npz", ".npy", ".png")
    ]
    assert {path.suffix for path in texts} >= {".html", ".json", ".csv", ".xml"}
    assert [path.name for path in texts if b"\x1b" in path.read_bytes()] == []


def test_quiet_shows_no_bar(desk: Shed) -> None:
    seen, _, _ = on_a_terminal(desk, [*REPORT, "--quiet"], piped=("stdout",))
    assert "scoring" not in seen
    assert seen.startswith(f"{RED_AND_BOLD}missed")


def test_a_dumb_terminal_gets_no_bar_and_no_signs(desk: Shed) -> None:
    seen, _, _ = on_a_terminal(desk, REPORT, TERM="dumb")
    assert "\x1b" not in seen
    assert "scoring" not in seen
    assert "\nwritten   out/report.html" in seen


@pytest.mark.parametrize("columns", [40, 57])
def test_a_narrow_terminal_is_not_run_over(desk: Shed, columns: int) -> None:
    seen, _, _ = on_a_terminal(desk, REPORT, columns=columns, piped=("stderr",), NO_COLOR="1")
    assert max(map(len, seen.splitlines())) <= columns
    assert "\u2588" in seen


@pytest.mark.parametrize("columns", [40, 80])
def test_a_bar_says_how_much_time_is_left_and_fits(desk: Shed, columns: int) -> None:
    slow = [*GEN, "report", "quiet.py:slow", "small.toml", "--count", "20", "--into", "out"]
    seen, _, code = on_a_terminal(desk, slow, columns=columns, piped=("stdout",))
    assert code == 0
    bars = bars_of(seen, "scoring")
    assert any("%  00:00:0" in line for line in bars)
    assert "100%" in bars[-1]
    assert max(map(len, bars)) <= columns


LONG = {
    "rendering": ["render", "small.toml", "--count", "20", "--into", "set"],
    "verifying": ["verify", "stress"],
    "scoring": ["report", "quiet.py:right", "small.toml", "--count", "20", "--into", "r"],
    "searching": ["diagnose", "quiet.py:right", "--glyphs", "strokes", "--count", "60"],
    "measuring": ["measure", "strokes", "--count", "60"],
    "comparing": ["compare", "one", "two", "--into", "both"],
    "training the right reader": ["demo", "--into", "demo"],
}


@pytest.mark.parametrize("label", LONG)
def test_whatever_may_take_long_has_a_bar_that_reaches_its_end(desk: Shed, label: str) -> None:
    cache = str(desk.folder.parent / "cache")
    if label == "verifying":
        assert desk.gen(*LONG["rendering"][:-1], "stress").code == 0
    if label == "comparing":
        for name in ("one", "two"):
            assert desk.gen(*LONG["scoring"][:-1], name, INKDRIFT_CACHE=cache).code == 0
    seen, _, code = on_a_terminal(desk, [*GEN, *LONG[label]], piped=("stdout",))
    assert code in (0, 1), seen
    bars = bars_of(seen, label)
    assert bars and "100%" in bars[-1]
    # The cursor is hidden while a bar moves, and shown again.
    assert seen.rfind("\x1b[?25h") > seen.rfind("\x1b[?25l") >= 0


WRITES = {name: LONG[name] for name in ("rendering", "scoring", "comparing")} | {
    "diagnosing": [*LONG["searching"], "--into", "why"],
    "measuring": [*LONG["measuring"], "--into", "measured"],
    "drawing": ["perturbations", "blur", "--into", "blur.png"],
}


@pytest.mark.parametrize("label", WRITES)
def test_a_run_that_writes_says_at_the_end_where_everything_is(desk: Shed, label: str) -> None:
    if label == "comparing":
        for name in ("one", "two"):
            assert desk.gen(*LONG["scoring"][:-1], name).code == 0
    arguments = WRITES[label]
    ended = desk.gen(*arguments)
    into = arguments[arguments.index("--into") + 1]
    last = [line for line in ended.err.splitlines() if line.startswith("written   ")][-1]
    assert last.removeprefix("written   ").startswith(into)
    told = Path(last.removeprefix("written   ").split(",")[0])
    assert (desk.folder / told).exists()
    if label == "scoring":
        assert {path.name for path in (desk.folder / into).iterdir()} == {
            Path(word.rstrip(",")).name for word in last.split() if "." in word
        }


class Screen:
    """A stream that says whether it is a terminal."""

    def __init__(self, terminal: bool) -> None:
        self._terminal = terminal

    def isatty(self) -> bool:
        return self._terminal


def test_emphasis_needs_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert may_style(Screen(True))  # type: ignore[arg-type]
    assert not may_style(Screen(False))  # type: ignore[arg-type]
    assert not may_style(None)


def test_only_what_begins_a_line_is_marked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    screen = Screen(True)
    said = "SAFE\nnothing missed: so it says\nrequired  missed: one\n          missed: two\n"
    seen = with_verdict(said, screen)  # type: ignore[arg-type]
    marked = f"{RED_AND_BOLD}missed{RESET}"
    assert seen == (
        f"{BOLD}SAFE{RESET}\nnothing missed: so it says\n"
        f"required  {marked}: one\n          {marked}: two\n"
    )
    assert with_missed("it was missed", screen) == "it was missed"  # type: ignore[arg-type]


HOSTILE = "plum\x1b[2J\u202e"


@pytest.mark.parametrize("where", ["the model's own words", "the names of classes"])
def test_names_and_words_of_others_cannot_steer_a_terminal(desk: Shed, where: str) -> None:
    (desk.folder / "steers.py").write_text(
        f"def fails(x):\n    raise ValueError({HOSTILE!r})\n"
        "def right(x):\n    return [0] * len(x)\n"
    )
    images = np.zeros((20, 28, 28), np.uint8)
    images[:, 4:24, 12:16] = 255
    names = np.array([f"{HOSTILE}{k}" for k in range(2)])
    np.savez(desk.folder / "named.npz", images=images, labels=np.arange(20) % 2, classes=names)
    name = "fails" if where == "the model's own words" else "right"
    asked = ["report", f"steers.py:{name}", "small.toml", "--glyphs", "named.npz", "--into", "out"]
    seen, _, _ = on_a_terminal(desk, [*GEN, *asked])
    assert "plum\\u001b[2J\\u202e" in seen
    assert "\x1b[2J" not in seen
    assert "\u202e" not in seen


# A pipe would show nothing: signs that steer are taken out of what goes to one.
NAMED = {
    "check": (["check", f"{HOSTILE}.toml"], 0),
    "check of what it extends": (["check", "mine.toml"], 0),
    "show": (["show", "mine.toml"], 0),
    "diff": (["diff", f"{HOSTILE}.toml", "small.toml"], 1),
    "new": (["new", f"{HOSTILE} new.toml"], 0),
}


@pytest.mark.parametrize(("arguments", "code"), NAMED.values(), ids=NAMED)
def test_the_name_of_a_recipe_file_cannot_steer_a_terminal(
    desk: Shed, arguments: list[str], code: int
) -> None:
    (desk.folder / f"{HOSTILE}.toml").write_text('title = "Plain"\n')
    mine = f'extends = {json.dumps(f"{HOSTILE}.toml")}\ntitle = "Mine"\n'
    (desk.folder / "mine.toml").write_text(mine)
    seen, _, ended = on_a_terminal(desk, [*GEN, "recipe", *arguments])
    assert ended == code
    assert "plum\\u001b[2J\\u202e" in seen
    assert "\x1b[2J" not in seen
    assert "\u202e" not in seen


def test_a_file_that_somebody_put_into_a_stress_set_cannot_steer_a_terminal(desk: Shed) -> None:
    assert desk.gen("render", "small.toml", "--count", "5", "--into", "stress").code == 0
    (desk.folder / "stress" / "cells" / HOSTILE).write_text("12 crates")
    seen, _, code = on_a_terminal(desk, [*GEN, "verify", "stress", "--sample", "0"])
    assert code == 1
    assert "cells/plum\\u001b[2J\\u202e: not in manifest.json" in seen
    assert "\x1b[2J" not in seen
