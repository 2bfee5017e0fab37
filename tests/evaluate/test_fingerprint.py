"""A fingerprint changes with whatever a model is made of that can be seen, and else not."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from gen.evaluate.model import load_model, wrap_model
from gen.evaluate.recorded import opened_files

ROOT = Path(__file__).resolve().parents[2]

READER = """
import os
from pathlib import Path

import lids

here = Path(__file__).parent
weight = float((here / "weight.txt").read_text())
(here / "written.txt").write_text(f"by process {os.getpid()}")
(here / "written.txt").read_text()

def net(x):
    return [len((here / "late.txt").read_text())] * len(x)

def other(x):
    return [1] * len(x)
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "readers"
    made.mkdir()
    files = {
        "reader.py": READER,
        "lids.py": "import deeper.inks\n",
        "weight.txt": "1",
        "late.txt": "1",
        "unasked.py": "1",
        "reader.toml": "layout = 'flat'\n",
        "program.sh": "#!/bin/sh\nexec cat list.txt\n",
        "list.txt": "a\n",
    }
    for name, text in files.items():
        (made / name).write_text(text, encoding="utf-8")
    (made / "deeper").mkdir()
    (made / "deeper" / "inks.py").write_text("", encoding="utf-8")
    (made / "program.sh").chmod(0o755)
    return made


def print_of(folder: Path, spec: str, **options: Any) -> str:
    """A fingerprint as a process of its own finds it, as runs on two days would."""
    asks = (
        "import sys; from gen.evaluate.model import load_model;"
        f"print(load_model(sys.argv[1], **{options!r}).fingerprint)"
    )
    done = subprocess.run(
        [sys.executable, "-c", asks, spec],
        cwd=folder,
        env={"PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.strip()


def test_it_is_a_sha_256_and_the_same_in_every_process(folder: Path) -> None:
    first = print_of(folder, "reader.py:net")
    assert len(first) == 64
    assert int(first, 16) >= 0
    assert print_of(folder, "reader.py:net") == first


@pytest.mark.parametrize(
    "name", ["reader.py", "lids.py", "deeper/inks.py", "weight.txt", "reader.toml"]
)
def test_it_changes_with_every_file_that_the_model_is_made_of(folder: Path, name: str) -> None:
    before = print_of(folder, "reader.py:net")
    path = folder / name
    path.write_text(path.read_text("utf-8") + "\n", encoding="utf-8")
    assert print_of(folder, "reader.py:net") != before


@pytest.mark.parametrize("name", ["late.txt", "unasked.py", "written.txt", "new.txt"])
def test_it_does_not_change_with_other_files_in_the_folder(folder: Path, name: str) -> None:
    """What is read only when the model is asked isn't seen, which its module says."""
    before = print_of(folder, "reader.py:net")
    (folder / name).write_text("changed", encoding="utf-8")
    assert print_of(folder, "reader.py:net") == before


def test_it_changes_with_the_name_and_with_what_is_handed_over(folder: Path) -> None:
    prints = [
        print_of(folder, "reader.py:net"),
        print_of(folder, "reader.py:other"),
        print_of(folder, "reader.py:net", expects={"dtype": "uint8"}),
        print_of(folder, "reader.py:net", expects={"batch": 3}),
        print_of(folder, "reader:net"),
    ]
    assert len(set(prints)) == len(prints)


@pytest.mark.parametrize(
    ("spec", "name"),
    [
        ("program:./program.sh list.txt", "program.sh"),
        ("program:./program.sh list.txt", "list.txt"),
        ("program:sh program.sh", "program.sh"),
        ("reader:net", "weight.txt"),
    ],
)
def test_a_program_and_a_module_are_told_by_their_files(folder: Path, spec: str, name: str) -> None:
    before = print_of(folder, spec)
    assert print_of(folder, spec) == before
    path = folder / name
    path.write_text(path.read_text("utf-8") + "\n", encoding="utf-8")
    assert print_of(folder, spec) != before


def test_a_program_is_told_by_its_command(folder: Path) -> None:
    assert print_of(folder, "program:cat -n") != print_of(folder, "program:cat -v")


def test_what_was_opened_for_a_module_counts_when_it_is_loaded_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    (folder / "scales_of_fingerprints.py").write_text(
        "open('weight.txt').close()\ndef net(x): ...\n"
    )
    first = load_model("scales_of_fingerprints:net").fingerprint
    assert load_model("scales_of_fingerprints:net").fingerprint == first
    (folder / "weight.txt").write_text("2")
    assert load_model("scales_of_fingerprints:net").fingerprint != first


def test_a_model_that_is_there_already_has_none() -> None:
    assert wrap_model(lambda x: [0] * len(x)).fingerprint is None


def test_only_what_is_read_is_recorded_and_only_while_it_is_asked_for(tmp_path: Path) -> None:
    read, written, both, later = (tmp_path / name for name in "abcd")
    for path in (read, both, later):
        path.write_text("x")
    with opened_files() as inside:
        with opened_files() as innermost:
            both.read_text()
            read.read_text()
        both.write_text("y")
        written.write_text("y")
        with pytest.raises(FileNotFoundError, match="nowhere"):
            (tmp_path / "nowhere").read_text()
    later.read_text()
    assert innermost == [both, read]
    assert inside == [read]
