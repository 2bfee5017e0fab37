"""Programs as models: what they may do wrong is one error, and none outlives its batch."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import ModelError
from gen.evaluate.model import Model, load_model
from gen.evaluate.pipe import Pipe

LABELS = np.arange(64) % 3
CLASSES = ("a", "b", "c")
FOUND_GONE_S = 10.0
"""How long a killed process may take to leave the system's table, on a busy machine."""

READ = """
import io, sys, time, os
import numpy as np
def pictures():
    return np.load(io.BytesIO(sys.stdin.buffer.read()))
def ink(x):
    return [x[..., 8 * k:8 * k + 8].reshape(len(x), -1).sum(axis=1) for k in range(3)]
"""
SCORES = """
for row in np.stack(ink(pictures()), 1).tolist():
    print('{sep}'.join(f'{{v:.6g}}' for v in row))
"""
STAYS = """
class Pipe:
    read = staticmethod(sys.stdin.buffer.read)
while True:
    try:
        x = np.lib.format.read_array(Pipe())
    except ValueError:
        break
    {answer}
    sys.stdout.flush()
"""

Bars = Callable[..., "object"]
Write = Callable[..., Path]


@pytest.fixture
def images() -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """Bars whose class is told by which eight columns they stand in."""
    made = np.zeros((64, 9, 24), np.uint8)
    for row, label in enumerate(LABELS):
        made[row, 2:7, 8 * label + 3 : 8 * label + 5] = 200
    return made


@pytest.fixture
def program(tmp_path: Path) -> Callable[..., Model]:
    """A model that is a Python script, named by a TOML file beside it."""

    def make(source: str, *, seconds: float = 30, stays: bool = False, more: str = "") -> Model:
        folder = tmp_path / "my programs"
        folder.mkdir(exist_ok=True)
        (folder / "read.py").write_text(READ + source, encoding="utf-8")
        said = f"program = ['{sys.executable}', 'read.py']\nseconds = {seconds}\n{more}"
        said += f"stays = {str(stays).lower()}\n"
        (folder / "read.toml").write_text(said, encoding="utf-8")
        return load_model(str(folder / "read.toml"))

    return make


def gone(pid: int) -> bool:
    """Whether a process has ended, within a while."""
    end = time.monotonic() + FOUND_GONE_S
    while time.monotonic() < end:
        try:
            state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
        except (FileNotFoundError, ProcessLookupError):
            return True
        # One whose parent died waits for the system's first process to take note of it.
        if state == "Z" and int(Path(f"/proc/{pid}/stat").read_text().split()[3]) != os.getpid():
            return True
        time.sleep(0.02)
    return False


def test_a_process_that_runs_is_not_gone() -> None:
    with subprocess.Popen(["sleep", "60"]) as sleeper:
        state = Path(f"/proc/{sleeper.pid}/stat").read_text().rpartition(")")[2].split()[0]
        assert state != "Z"
        sleeper.kill()
        sleeper.wait()
    assert gone(sleeper.pid)


@pytest.mark.parametrize(
    ("source", "answers"),
    [
        (SCORES.format(sep=" "), "logits"),
        (SCORES.format(sep="\\t"), "logits"),
        (SCORES.format(sep=", "), "logits"),
        ("for k in np.argmax(ink(pictures()), 0): print(k)", "labels"),
        ("for k in np.argmax(ink(pictures()), 0): print('abc'[k], end='\\r\\n')", "labels"),
        ("print('\\ufeff', end='')\nfor k in np.argmax(ink(pictures()), 0): print(k)", "labels"),
        ("np.save(sys.stdout.buffer, np.stack(ink(pictures()), 1))", "logits"),
        ("np.save(sys.stdout.buffer, np.asfortranarray(np.stack(ink(pictures()), 1)))", "logits"),
        ("np.save(sys.stdout.buffer, np.argmax(ink(pictures()), 0).astype('>i2'))", "labels"),
    ],
)
def test_each_kind_of_answer_is_read(
    program: Callable[..., Model], images: np.ndarray, source: str, answers: str
) -> None:
    look = program(source).first_look(images, LABELS, CLASSES)
    assert (look.answers, look.correct, look.n) == (answers, 64, 64)


@pytest.mark.parametrize(
    ("line", "classes", "said", "how"),
    [
        ("1", ("0", "1"), "1", "by name"),
        ("1", ("b", "a"), "a", "k is the k-th class"),
        ("2", ("1", "2"), "2", "by name"),
        ("01", ("00", "01"), "01", "by name"),
        ("two marks", ("a mark", "two marks"), "two marks", "by name"),
        ("1.0", ("b", "a"), "a", "k is the k-th class"),
    ],
)
def test_a_line_is_a_name_where_a_class_is_called_so_and_else_a_place(
    program: Callable[..., Model],
    images: np.ndarray,
    *,
    line: str,
    classes: tuple[str, ...],
    said: str,
    how: str,
) -> None:
    model = program(f"print('{line}\\n' * 64, end='')")
    look = model.first_look(images, LABELS * 0 + classes.index(said), classes)
    assert (look.correct, look.classes) == (64, how)


def test_stated_classes_are_names_to_lines_of_text_and_places_to_numbers(
    program: Callable[..., Model], images: np.ndarray
) -> None:
    stated = "classes = ['b', 'c', 'a']\n"
    for source in (
        "for k in np.argmax(ink(pictures()), 0): print('abc'[k])",
        "for k in np.argmax(ink(pictures()), 0): print([2, 0, 1][k])",
        "np.save(sys.stdout.buffer, np.array([2, 0, 1])[np.argmax(ink(pictures()), 0)])",
        "np.save(sys.stdout.buffer, np.stack(ink(pictures()), 1)[:, [1, 2, 0]])",
    ):
        assert program(source, more=stated).first_look(images, LABELS, CLASSES).correct == 64


@pytest.mark.parametrize(
    "answer",
    [
        "print('\\n'.join('abc'[k] for k in np.argmax(ink(x), 0)))",
        "np.save(sys.stdout.buffer, np.stack(ink(x), 1))",
    ],
)
def test_a_program_that_stays_is_started_once_and_ends_with_its_input(
    program: Callable[..., Model], images: np.ndarray, answer: str
) -> None:
    starts = "open('starts', 'a').write(f'{os.getpid()}\\n')\n"
    model = program(starts + STAYS.format(answer=answer), stays=True)
    assert model.first_look(images, LABELS, CLASSES).correct == 64
    for count in (1, 7, 64):
        said = model.answer(images[:count]).labels
        np.testing.assert_array_equal(said, LABELS[:count])
    (pid,) = (Path(model.name).parent / "starts").read_text().split()
    del model
    assert gone(int(pid))


def test_the_array_has_the_format_that_the_protocol_states(
    program: Callable[..., Model], images: np.ndarray
) -> None:
    model = program(
        "raw = sys.stdin.buffer.read()\nopen('raw', 'ab').write(raw)\nprint('a\\n' * 64, end='')\n",
        more="layout = 'flat'\ndtype = 'uint8'\n",
    )
    model.first_look(images, LABELS * 0, CLASSES)
    raw = (Path(model.name).parent / "raw").read_bytes()
    # The format as numpy documents it: magic, version 1.0, header length, header, data.
    assert raw[:8] == b"\x93NUMPY\x01\x00"
    length = int.from_bytes(raw[8:10], "little")
    assert (10 + length) % 64 == 0
    header = raw[10 : 10 + length].decode("latin-1")
    assert header.strip() == ("{'descr': '|u1', 'fortran_order': False, 'shape': (64, 216), }")
    assert raw[10 + length :] == images.tobytes()


def test_a_program_that_writes_much_before_it_reads_blocks_nobody(
    program: Callable[..., Model], images: np.ndarray
) -> None:
    early = "sys.stderr.write('x' * 79 + '\\n'); " * 2
    model = program(
        "for _ in range(40_000):\n"
        f"    {early}\n"
        "np.save(sys.stdout.buffer, np.argmax(ink(pictures()), 0).repeat(1))\n"
    )
    assert model.first_look(images, LABELS, CLASSES).correct == 64
    big = "np.save(sys.stdout.buffer, np.ones((64, 100_000)))\npictures()\n"
    with pytest.raises(ModelError, match="wrong number of columns"):
        program(big).first_look(images, LABELS, CLASSES)


@pytest.mark.parametrize("stays", [False, True])
def test_a_program_that_hangs_is_killed_with_its_children(
    program: Callable[..., Model], images: np.ndarray, stays: bool
) -> None:
    hangs = (
        "import subprocess\n"
        "child = subprocess.Popen(['sleep', '1000'])\n"
        "open('pids', 'w').write(f'{os.getpid()} {child.pid}')\n"
        "print('waiting for the lamp', file=sys.stderr, flush=True)\n"
        "time.sleep(1000)\n"
    )
    model = program(hangs, seconds=2, stays=stays)
    words = (
        r"first batch: the program did not answer in time, and was ended\n"
        r"  got       64 glyphs, not answered in 2 s; it said:\n"
        r"            waiting for the lamp\n"
    )
    with pytest.raises(ModelError, match=words):
        model.first_look(images, LABELS, CLASSES)
    pids = [int(pid) for pid in (Path(model.name).parent / "pids").read_text().split()]
    assert len(pids) == 2
    assert all(gone(pid) for pid in pids)


@pytest.mark.parametrize("stays", [False, True])
def test_ctrl_c_ends_the_program_and_its_children(tmp_path: Path, stays: bool) -> None:
    (tmp_path / "read.py").write_text(
        "import os, subprocess, time\n"
        "child = subprocess.Popen(['sleep', '1000'])\n"
        "open('pids.part', 'w').write(f'{os.getpid()} {child.pid}')\n"
        "os.rename('pids.part', 'pids')\n"
        "time.sleep(1000)\n"
    )
    (tmp_path / "read.toml").write_text(
        f"program = ['{sys.executable}', 'read.py']\nstays = {str(stays).lower()}\n"
    )
    asks = (
        "import numpy as np; from gen.evaluate.model import load_model;"
        "load_model('read.toml').first_look(np.ones((4, 8, 8), np.uint8), np.zeros(4, int), 'ab')"
    )
    root = str(Path(__file__).resolve().parents[2])
    with subprocess.Popen(
        [sys.executable, "-c", asks],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": root},
        stderr=subprocess.PIPE,
    ) as run:
        while not (tmp_path / "pids").exists():
            assert run.poll() is None, run.communicate()
            time.sleep(0.02)
        run.send_signal(signal.SIGINT)
        _, said = run.communicate()
    assert b"KeyboardInterrupt" in said
    pids = [int(pid) for pid in (tmp_path / "pids").read_text().split()]
    assert len(pids) == 2
    assert all(gone(pid) for pid in pids)


@pytest.mark.parametrize("stays", [False, True])
def test_an_interrupt_ends_the_program_though_the_model_lives_on(
    program: Callable[..., Model],
    images: np.ndarray,
    monkeypatch: pytest.MonkeyPatch,
    stays: bool,
) -> None:
    """As in a notebook, where nothing ends with the interrupt."""
    hangs = "open('pid.part', 'w').write(str(os.getpid()))\n"
    hangs += "os.rename('pid.part', 'pid')\ntime.sleep(1000)\n"
    model = program(hangs, stays=stays)
    file = Path(model.name).parent / "pid"

    def interrupted(*arguments: object) -> bool:
        while not file.exists():
            time.sleep(0.02)
        raise KeyboardInterrupt("by hand")

    monkeypatch.setattr(Pipe, "_more", interrupted)
    with pytest.raises(KeyboardInterrupt, match="by hand"):
        model.first_look(images, LABELS, CLASSES)
    assert gone(int(file.read_text()))
    assert model.look is None


def test_only_the_end_of_standard_error_is_kept(tmp_path: Path) -> None:
    pipe = Pipe(["sh", "-c", "seq 200000 >&2; echo done >&2"], tmp_path)
    assert pipe.rest(time.monotonic() + 60) == b""
    assert pipe.ends(time.monotonic() + 60) == 0
    words = pipe.close()
    assert words.endswith("199999\n200000\ndone\n")
    assert len(words) <= 8192


FAILS = {
    "too few lines": (
        "pictures()\nprint('a\\n' * 63, end='')",
        r"wrong number of answers\n  got       63 lines, the first \"a\"\n  allowed   64",
    ),
    "no output": ("pictures()", r"the program answered nothing"),
    "dies midway": (
        "pictures()\nprint('a\\n' * 20, flush=True)\nraise RuntimeError('the lamp went out')",
        r"the program failed\n  got       exit code 1; it said:\n[\s\S]*"
        r"            RuntimeError: the lamp went out",
    ),
    "dies by a signal": (
        "print('a\\n' * 64, flush=True)\nos.abort()",
        r"the program failed\n  got       ended by SIGABRT",
    ),
    "an empty line": ("print('a\\n\\n' + 'a\\n' * 62, end='')", r"is empty\n  got       line 2"),
    "uneven scores": (
        "print('1 2 3\\n' * 63 + '1 2')",
        r"unlike the first\n  got       line 64: \"1 2\"\n  allowed   3 scores",
    ),
    "not a number": ("print('1 2 nan\\n' * 64, end='')", r"NaN or infinity"),
    "bytes": (
        "sys.stdout.buffer.write(b'\\xff\\xfe' * 640)",
        r"neither an npy array nor text",
    ),
    "a cut array": (
        "b = io.BytesIO(); np.save(b, np.ones((64, 3)))\n"
        "sys.stdout.buffer.write(b.getvalue()[:-8])",
        r"npy array can't be read\n  got       1528 bytes of 1536",
    ),
    "an array and more": (
        "np.save(sys.stdout.buffer, np.ones((64, 3))); print('done')",
        r"wrote more after its array\n[\s\S]*done",
    ),
    "objects": (
        "np.save(sys.stdout.buffer, np.array([None] * 64), allow_pickle=True)",
        r"npy array can't be read\n  got       .*[Oo]bject",
    ),
    "a stranger": ("print('Q\\n' * 64, end='')", r"a class that no label has\n  got       \"Q\""),
}


@pytest.mark.parametrize("name", FAILS)
def test_what_a_program_does_wrong_is_one_clear_error(
    program: Callable[..., Model], images: np.ndarray, name: str
) -> None:
    source, words = FAILS[name]
    with pytest.raises(ModelError, match=words) as caught:
        program(source, more="layout = 'NHW'\n").first_look(images, LABELS, CLASSES)
    assert "read.toml: first batch: " in str(caught.value)


def test_a_program_that_stays_and_dies_says_so_and_is_started_again(
    program: Callable[..., Model], images: np.ndarray
) -> None:
    answer = "os._exit(7) if len(x) == 5 else print('a\\n' * len(x), end='')"
    model = program(STAYS.format(answer=answer), stays=True)
    model.first_look(images, LABELS * 0, CLASSES)
    with pytest.raises(ModelError, match=r"cell blur: the program failed\n  got       exit code 7"):
        model.answer(images[:5], cell="blur")
    assert len(model.answer(images[:6]).labels) == 6


def test_a_program_that_stays_and_says_more_than_it_was_asked_is_told_so(
    program: Callable[..., Model], images: np.ndarray
) -> None:
    model = program(STAYS.format(answer="print('a\\n' * len(x) + 'done')"), stays=True)
    model.first_look(images, LABELS * 0, CLASSES)
    time.sleep(0.5)
    with pytest.raises(ModelError, match=r"wrote more than it was asked for\n  got       done"):
        model.answer(images)


def test_a_program_that_stays_but_answers_once_is_told_so(
    program: Callable[..., Model], images: np.ndarray
) -> None:
    once = "print('a\\n' * 64, end='')\nsys.stdout.flush()\nsys.stdin.buffer.read(100)\n"
    model = program(once, stays=True)
    model.first_look(images, LABELS * 0, CLASSES)
    with pytest.raises(ModelError, match=r"ended before it had answered[\s\S]*leave out stays"):
        model.answer(images)


@pytest.mark.parametrize(
    ("spec", "words"),
    [
        ("program:no-such-reader --fast", r"no such program\n  got       no-such-reader"),
        ("program:./raed", r"no such program\n[\s\S]*try       \"read\""),
        ("program:./plain", r"may not be executed\n[\s\S]*chmod \+x \./plain"),
        ("program:read", r"no such program\n[\s\S]*try       \"\./read\""),
        ("program:", "there is no command"),
        ("program:sh -c 'echo", r"can't be read\n  got       No closing quotation"),
    ],
)
def test_a_program_that_cannot_be_started_is_refused_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, spec: str, words: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "read").write_text("#!/bin/sh\nexit 0\n")
    (tmp_path / "read").chmod(0o755)
    (tmp_path / "plain").write_text("echo a\n")
    with pytest.raises(ModelError, match=words):
        load_model(spec)


def test_a_script_without_its_first_line_is_refused_with_a_hint(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, images: np.ndarray
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "read").write_text("echo a\n")
    (tmp_path / "read").chmod(0o755)
    with pytest.raises(ModelError, match=r"can't be started\n[\s\S]*#!"):
        load_model("program:./read").first_look(images, LABELS, CLASSES)


def test_a_command_line_runs_in_the_working_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, images: np.ndarray
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a program.py").write_text(
        READ + "for k in np.argmax(ink(pictures()), 0): print('abc'[k])"
    )
    model = load_model(f"program:{sys.executable} 'a program.py'", expects={"batch": 10})
    assert model.first_look(images, LABELS, CLASSES).correct == 64
    assert "at most 10 at once" in str(model.look)


def test_the_time_limit_of_the_caller_comes_before_the_files(
    program: Callable[..., Model], images: np.ndarray
) -> None:
    model = program("time.sleep(1000)", seconds=1000)
    hurried = load_model(model.name, seconds=0.5)
    with pytest.raises(ModelError, match=r"not answered in 0\.5 s"):
        hurried.first_look(images, LABELS, CLASSES)


@pytest.mark.parametrize("stays", [False, True])
def test_a_program_that_writes_without_end_is_ended(
    program: Callable[..., Model], images: np.ndarray, stays: bool
) -> None:
    endless = "while True: sys.stdout.write('1 ' * 100_000)"
    words = r"writes without end\n  got       over 256 MiB for 64 glyphs"
    with pytest.raises(ModelError, match=words):
        program(endless, stays=stays, more="layout = 'NHW'\n").first_look(images, LABELS, CLASSES)


def test_a_time_limit_that_is_none_is_refused(program: Callable[..., Model]) -> None:
    name = program("print('a')").name
    for seconds in (0.0, -1.0, float("nan"), 1e9):
        with pytest.raises(ModelError, match="this is no time limit"):
            load_model(name, seconds=seconds)
    with pytest.raises(ModelError, match="a time limit is for programs"):
        load_model("numpy:argmax", seconds=3)


def test_no_pipe_is_left_open(program: Callable[..., Model], images: np.ndarray) -> None:
    model = program("print('a\\n' * 64, end='')")
    model.first_look(images, LABELS * 0, CLASSES)
    before = len(list(Path("/proc/self/fd").iterdir()))
    for _ in range(3):
        model.answer(images)
    assert len(list(Path("/proc/self/fd").iterdir())) == before
