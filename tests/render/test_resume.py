"""A run that is ended at any moment goes on where it was, and ends with the same bytes."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gen import write_strokes
from gen.core.errors import OutputError
from gen.render import stress_set
from gen.render.stress_set import write_stress_set
from tests.render.stress_support import TEXT, environment, files, pictures, python, recipe

KILLS = 5
COUNT = "600"


def command(folder: Path, text: Path, *more: str) -> list[str]:
    return [
        *(sys.executable, "-m", "gen", "render", str(text), "--count", COUNT),
        *("--into", str(folder), *more),
    ]


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
@pytest.mark.parametrize("workers", ["1", "2"])
@pytest.mark.parametrize("kind", ["npz", "png"])
def test_killed_again_and_again_it_ends_with_the_same_bytes(
    tmp_path: Path, workers: str, kind: str
) -> None:
    text = tmp_path / "recipe.toml"
    text.write_text(TEXT)
    how = ("--format", kind, "--workers", workers)
    undisturbed = command(tmp_path / "undisturbed", text, *how, "--quiet")
    subprocess.run(undisturbed, env=environment(), check=True)
    draw = random.Random(f"{workers} {kind}")
    journal = tmp_path / ".set.part" / "journal.jsonl"
    killed, done_at_kill = 0, []
    for number in range(KILLS):
        with subprocess.Popen(
            command(tmp_path / "set", text, *how, "--quiet"),
            env=environment(),
            stderr=subprocess.DEVNULL,
        ) as running:
            until = time.monotonic() + 60
            while running.poll() is None and time.monotonic() < until:
                # The first line is what the run is of; then comes a line a cell.
                if journal.exists() and journal.read_bytes().count(b"\n") > number:
                    break
                time.sleep(0.002)
            time.sleep(draw.uniform(0.0, 0.08))
            if running.poll() is None:
                running.kill()
                killed += 1
        if journal.exists():
            done_at_kill.append(journal.read_bytes().count(b'"cell"'))
        if (tmp_path / "set").exists():  # it was quicker than the killer
            assert files(tmp_path / "set") == files(tmp_path / "undisturbed")
            break
    assert killed >= 3
    assert done_at_kill == sorted(done_at_kill), "what was done was not lost"
    final = subprocess.run(
        command(tmp_path / "set", text, *how, "--overwrite"),
        env=environment(),
        check=True,
        capture_output=True,
        text=True,
    )
    assert number < KILLS - 1 or "cells were whole already: gone on" in final.stderr
    assert files(tmp_path / "set") == files(tmp_path / "undisturbed")
    assert not journal.parent.exists()


ENDED_AT = """
import os, sys
from pathlib import Path
from gen.render import stress_set
from gen.render.stress_set import write_stress_set
from tests.render.stress_support import pictures, recipe

folder, place = Path(sys.argv[1]), sys.argv[2]
move, replace = stress_set.move_in, Path.replace
moved = []

def ended(*arguments):
    if place == "after the move":
        move(*arguments)
    os._exit(9)

def halfway(self, target):
    made = replace(self, target)
    moved.append(target)
    if len(moved) == 3:
        os._exit(9)
    return made

def move_halfway(*arguments):
    Path.replace = halfway
    move(*arguments)

stress_set.move_in = move_halfway if place == "halfway" else ended
write_stress_set(recipe(), pictures(30), folder, only=["translation"], overwrite=True)
"""


@pytest.mark.parametrize("place", ["before the move", "halfway", "after the move"])
@pytest.mark.parametrize("before", ["nothing", "another set"])
def test_killed_while_it_gives_things_their_names_it_goes_on_with_that(
    tmp_path: Path, place: str, before: str
) -> None:
    if place == "halfway" and before == "nothing":
        pytest.skip("a folder that isn't there gets its name in one step")
    folder = tmp_path / "set"
    if before == "another set":
        write_stress_set(recipe(), pictures(), folder, only=["blur"])
        (folder / "harvest.txt").write_text("12 crates")
    done = python(ENDED_AT, str(folder), place, check=False)
    assert done.returncode == 9, done.stderr
    assert (tmp_path / ".set.part").is_dir()
    made = write_stress_set(recipe(), pictures(30), folder, only=["translation"])
    expected = write_stress_set(recipe(), pictures(30), tmp_path / "expected", only=["translation"])
    assert made == expected
    there = files(folder)
    if before == "another set":
        assert there.pop("harvest.txt") == b"12 crates"
    assert there == files(tmp_path / "expected")
    assert not (tmp_path / ".set.part").exists()


def stop_after(cells: int) -> Callable[[int, int], None]:
    """Progress that is interrupted when so many cells of 60 pictures are done."""

    def told(done: int, total: int) -> None:
        if done > cells * 60:
            raise KeyboardInterrupt

    return told


def part_of_a_run(folder: Path, **settings: Any) -> list[str]:
    """A run that is interrupted in its third cell, and what it said."""
    said: list[str] = []
    with pytest.raises(KeyboardInterrupt):
        write_stress_set(
            recipe(),
            settings.pop("glyphs", None) or pictures(),
            folder,
            block=16,
            progress=stop_after(2),
            say=said.append,
            **settings,
        )
    return said


def test_an_interrupt_keeps_what_is_whole_and_says_where(tmp_path: Path) -> None:
    said = part_of_a_run(tmp_path / "set")
    place = tmp_path / ".set.part"
    assert said == [
        f"2 of 6 cells are kept in {place}; the same command goes on from there, and to throw "
        "them away, remove that folder"
    ]
    assert {path.name for path in place.iterdir()} == {"journal.jsonl", "lock", "whole"}
    assert len(list((place / "whole" / "cells").iterdir())) == 2
    assert not (tmp_path / "set").exists()


def test_an_interrupt_before_any_cell_is_whole_leaves_nothing(tmp_path: Path) -> None:
    said: list[str] = []
    with pytest.raises(KeyboardInterrupt):
        write_stress_set(
            recipe(),
            pictures(),
            tmp_path / "a" / "set",
            progress=stop_after(-1),
            say=said.append,
        )
    assert said == []
    assert list(tmp_path.iterdir()) == []


def test_cells_that_are_whole_are_not_rendered_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    part_of_a_run(tmp_path / "set")
    todo: list[str] = []
    run = stress_set.run_here

    def noted(job: Any, asked: Any, **settings: Any) -> Any:
        todo.extend(cell.name for cell in asked.values())
        return run(job, asked, **settings)

    monkeypatch.setattr(stress_set, "run_here", noted)
    write_stress_set(recipe(), pictures(), tmp_path / "set")
    assert len(todo) == 4
    assert "nominal" not in todo


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"kind": "idx"}, "it was another format"),
        ({"glyphs": pictures(61)}, "it was other glyphs"),
        ({"glyphs": write_strokes(count=60)}, "it was other glyphs"),
        ({"text": TEXT.replace("1.2", "1.3")}, "it was another recipe"),
        ({"text": TEXT.replace("seed = 3", "seed = 4")}, "it was another recipe"),
    ],
    ids=["format", "glyphs", "strokes", "recipe", "seed"],
)
def test_what_is_left_of_other_work_is_thrown_away_and_said(
    tmp_path: Path, other: dict[str, Any], words: str
) -> None:
    part_of_a_run(tmp_path / "set")
    said: list[str] = []
    asked = recipe(other.pop("text", TEXT))
    glyphs = other.pop("glyphs", None) or pictures()
    write_stress_set(asked, glyphs, tmp_path / "set", say=said.append, **other)
    assert said == [
        f"what an earlier run left in {tmp_path / '.set.part'} was thrown away: {words}"
    ]
    write_stress_set(asked, glyphs, tmp_path / "fresh", **other)
    assert files(tmp_path / "set") == files(tmp_path / "fresh")


def test_glyphs_that_only_claim_to_be_the_same_are_not_taken_for_it(tmp_path: Path) -> None:
    part_of_a_run(tmp_path / "set")
    glyphs = pictures()
    glyphs.images[5, 14, 14] ^= 1
    said: list[str] = []
    write_stress_set(recipe(), glyphs, tmp_path / "set", say=said.append)
    assert "it was other glyphs" in said[0]


@pytest.mark.parametrize("harm", ["a byte", "an end", "a file", "a line", "half a line", "a word"])
def test_what_came_to_harm_meanwhile_is_made_anew(tmp_path: Path, harm: str) -> None:
    part_of_a_run(tmp_path / "set")
    journal = tmp_path / ".set.part" / "journal.jsonl"
    cells = sorted((tmp_path / ".set.part" / "whole" / "cells").iterdir())
    raw = cells[0].read_bytes()
    lines = journal.read_bytes().splitlines(keepends=True)
    if harm == "a byte":
        cells[0].write_bytes(raw[:-300] + bytes([raw[-300] ^ 1]) + raw[-299:])
    elif harm == "an end":
        cells[0].write_bytes(raw[:-300])
    elif harm == "a file":
        cells[0].unlink()
    elif harm == "a line":
        journal.write_bytes(b"".join(lines[:-1]))
    elif harm == "half a line":
        journal.write_bytes(b"".join(lines)[:-40])
    else:
        journal.write_bytes(lines[0] + b'{"cell": {"name": 3}}\n' + b"".join(lines[1:]))
    write_stress_set(recipe(), pictures(), tmp_path / "set")
    write_stress_set(recipe(), pictures(), tmp_path / "expected")
    assert files(tmp_path / "set") == files(tmp_path / "expected")


def test_a_picture_that_came_to_harm_meanwhile_is_made_anew(tmp_path: Path) -> None:
    from PIL import Image

    part_of_a_run(tmp_path / "set", kind="png")
    (path, *_) = (tmp_path / ".set.part" / "whole" / "cells").glob("nominal/*/*.png")
    Image.new("L", (28, 28), 7).save(path)
    write_stress_set(recipe(), pictures(), tmp_path / "set", kind="png")
    write_stress_set(recipe(), pictures(), tmp_path / "expected", kind="png")
    assert files(tmp_path / "set") == files(tmp_path / "expected")


def test_cells_of_a_subset_serve_the_whole_and_the_other_way_round(tmp_path: Path) -> None:
    said: list[str] = []
    part_of_a_run(tmp_path / "set")
    write_stress_set(recipe(), pictures(), tmp_path / "set", only=["blur"], say=said.append)
    assert said == ["1 of 2 cells were whole already: gone on from there"]
    write_stress_set(recipe(), pictures(), tmp_path / "expected", only=["blur"])
    assert files(tmp_path / "set") == files(tmp_path / "expected")


def test_a_title_may_change_between_two_parts_of_a_run(tmp_path: Path) -> None:
    part_of_a_run(tmp_path / "set")
    text = TEXT.replace("everything", "all sorts")
    made = write_stress_set(recipe(text), pictures(), tmp_path / "set")
    assert made["recipe"]["title"] == "A little of all sorts"
    assert json.loads((tmp_path / "set" / "manifest.json").read_text("utf-8")) == made


def test_a_set_that_was_taken_away_after_the_move_is_made_again(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    assert python(ENDED_AT, str(folder), "after the move", check=False).returncode == 9
    folder.rename(tmp_path / "elsewhere")
    write_stress_set(recipe(), pictures(30), folder, only=["translation"])
    assert files(folder) == files(tmp_path / "elsewhere")


def test_a_set_half_moved_does_not_let_other_work_overwrite_it(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    assert python(ENDED_AT, str(folder), "after the move", check=False).returncode == 9
    with pytest.raises(OutputError, match="the folder isn't empty"):
        write_stress_set(recipe(), pictures(31), folder)


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM], ids=["Ctrl-C", "SIGTERM"])
def test_an_interrupt_ends_the_workers_too_without_a_traceback(
    tmp_path: Path, number: signal.Signals
) -> None:
    text = tmp_path / "recipe.toml"
    text.write_text(TEXT)
    running = subprocess.Popen(
        command(tmp_path / "set", text, "--workers", "2", "--count", "20000"),
        env=environment(),
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,  # so that a terminal's Ctrl-C, which all get, can be sent
    )
    part = tmp_path / ".set.part"
    until = time.monotonic() + 60
    while (
        time.monotonic() < until and running.poll() is None and not list(part.glob("run-*/*/*.npz"))
    ):
        time.sleep(0.01)
    os.killpg(running.pid, number) if number == signal.SIGINT else running.send_signal(number)
    _, said = running.communicate(timeout=60)
    assert running.returncode == (130 if number == signal.SIGINT else 143)
    assert "Traceback" not in said
    assert not list(part.glob("run-*"))
    with pytest.raises(ProcessLookupError):  # no worker is left in its group
        for _ in range(500):
            os.killpg(running.pid, 0)
            time.sleep(0.02)


@pytest.mark.skipif(sys.platform != "linux", reason="looks for processes where Linux lists them")
def test_workers_do_not_outlive_a_run_that_is_killed(tmp_path: Path) -> None:
    text = tmp_path / "recipe.toml"
    text.write_text(TEXT)
    running = subprocess.Popen(
        command(tmp_path / "set", text, "--workers", "2", "--count", "50000", "--quiet"),
        env=environment(),
        start_new_session=True,
    )
    until = time.monotonic() + 60
    part = tmp_path / ".set.part"
    while running.poll() is None and len(list(part.glob("run-*/*/*.npz"))) < 2:
        assert time.monotonic() < until
        time.sleep(0.01)
    assert running.poll() is None
    running.kill()
    running.wait()
    with pytest.raises(ProcessLookupError):
        for _ in range(1000):
            os.killpg(running.pid, 0)
            time.sleep(0.02)
