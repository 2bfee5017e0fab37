"""How the process behaves: start-up, pipes, closed streams, full disks, signals."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.support import Shed, environment

GEN = [sys.executable, "-m", "gen"]
HEAVY = {"cv2", "PIL", "scipy", "numpy"}
LOADED = """
import sys
sys.argv = ["gen", *{arguments}]
from gen.__main__ import main
try:
    main()
except SystemExit:
    pass
print(*sorted(name for name in sys.modules if "." not in name), file=sys.stderr)
"""


@pytest.mark.parametrize(
    "arguments",
    [["--help"], ["--version"], ["report", "--help"], ["render", "-h"], ["recipe", "--help"]],
    ids=" ".join,
)
def test_asking_for_help_loads_nothing_heavy(shed: Shed, arguments: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOADED.format(arguments=arguments)],
        env=environment(),
        capture_output=True,
        text=True,
        check=True,
    )
    assert ("Usage: " in done.stdout) or ("Inkdrift, version" in done.stdout)
    loaded = set(done.stderr.split())
    assert "click" in loaded
    assert loaded & HEAVY == set()


def test_rendering_loads_numpy_so_that_the_list_of_modules_can_be_trusted(shed: Shed) -> None:
    arguments = ["render", "small.toml", "--count", "2", "--into", "out", "--quiet"]
    done = subprocess.run(
        [sys.executable, "-c", LOADED.format(arguments=arguments)],
        cwd=shed.folder,
        env=environment(),
        capture_output=True,
        text=True,
        check=True,
    )
    assert "numpy" in done.stderr.split()


def test_run_as_a_module_it_calls_itself_so(shed: Shed) -> None:
    assert shed.gen("--help").out.startswith("Usage: python -m gen ")


@pytest.mark.parametrize(
    "arguments",
    [
        ["recipe", "show", "first-look"],
        ["report", "models.py:right", "small.toml", "--count", "20", "--into", "out", "--json"],
        ["--help"],
    ],
    ids=["show", "report", "help"],
)
def test_a_reader_who_leaves_early_hears_nothing_of_it(shed: Shed, arguments: list[str]) -> None:
    reading, writing = os.pipe()
    os.close(reading)  # gone before the first word: every write meets a broken pipe
    try:
        done = subprocess.run(
            [*GEN, *arguments],
            cwd=shed.folder,
            env=environment(),
            stdout=writing,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    finally:
        os.close(writing)
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
    assert "BrokenPipe" not in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize("arguments", [["recipe", "show", "first-look"], ["--help"]], ids=str)
def test_standard_output_without_room_is_one_clear_error(shed: Shed, arguments: list[str]) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [*GEN, *arguments],
            env=environment(),
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.endswith(
        "standard output: can't be written\n  got       No space left on device\n"
    )
    assert "Traceback" not in done.stderr


@pytest.mark.skipif(os.name == "nt", reason="closes streams as a POSIX shell does")
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-"])
@pytest.mark.parametrize("model", ["right", "boom"])
def test_closed_streams_are_no_fault(shed: Shed, closed: str, model: str) -> None:
    line = f'"$0" -m gen report models.py:{model} small.toml --count 20 --into out {closed}'
    done = subprocess.run(
        ["bash", "-c", line, sys.executable],
        cwd=shed.folder,
        env=environment(),
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Traceback" not in done.stderr
    good = model == "right"
    assert done.returncode == (0 if good else 2)
    assert (shed.folder / "out" / "report.json").exists() == good


WAITS = """
import sys, time
def wait(place):
    print("waiting", place, file=sys.stderr, flush=True)
    time.sleep(60)
if "{place}" == "import":
    wait("import")
calls = 0
def model(pictures):
    global calls
    calls += 1
    if "{place}" == "scoring" and calls > 2:
        wait("scoring")
    return [0] * len(pictures)
"""

# Runs the command with one function replaced by a wait, to be interrupted just there.
HELD = """
import sys, time
import {module} as module
def wait(*arguments, **settings):
    whole(*arguments, **settings)
    print("waiting", file=sys.stderr, flush=True)
    time.sleep(60)
whole = module.{name}
module.{name} = wait
sys.argv = ["gen", *sys.argv[1:]]
from gen.__main__ import main
main()
"""
REPORT = ["report", "waits.py:model", "small.toml", "--count", "20", "--into", "a/out"]
# So many glyphs that the first cell is still being rendered when the interrupt comes.
RENDER = ["render", "small.toml", "--count", "50000", "--into", "a/out"]
PLACES = {
    "import": [*GEN, *REPORT],
    "scoring": [*GEN, *REPORT],
    "rendering": [*GEN, *RENDER],
    "writing": [
        *(sys.executable, "-c", HELD.format(module="gen.report.object", name="write_report")),
        *REPORT,
    ],
}


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
@pytest.mark.parametrize(
    ("number", "code", "says"),
    [
        (signal.SIGINT, 130, "interrupted; nothing was left half-written\n"),
        (signal.SIGTERM, 143, "asked to end; nothing was left half-written\n"),
    ],
    ids=["Ctrl-C", "SIGTERM"],
)
@pytest.mark.parametrize("place", PLACES)
def test_an_interrupt_leaves_nothing_behind(
    shed: Shed, place: str, number: signal.Signals, code: int, says: str
) -> None:
    (shed.folder / "waits.py").write_text(WAITS.format(place=place))
    before = shed.names()
    with subprocess.Popen(
        PLACES[place],
        cwd=shed.folder,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as running:
        assert running.stderr is not None
        if place == "rendering":
            while not any(".part" in name for name in shed.names()):
                assert running.poll() is None, "it ended before it wrote anything"
                time.sleep(0.01)
        else:
            assert any(line.startswith("waiting") for line in running.stderr)
        during = shed.names()
        running.send_signal(number)
        out, err = running.communicate(timeout=50)
    assert (running.returncode, out) == (code, "")
    assert err.endswith(says)
    assert "Traceback" not in err
    assert shed.names() == before
    if place in ("rendering", "writing"):
        assert any(".part" in name for name in during), "there was something to leave behind"
