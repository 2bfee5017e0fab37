"""One recipe, seed and source give one set of bytes, however the work is cut up."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gen import write_strokes
from gen.core.errors import InkdriftError, OutputError, RecipeError
from gen.glyphs.base import Glyphs
from gen.render import stress_set
from gen.render.plan import Plan, make_plan
from gen.render.pool import THREADS, Processes
from gen.render.stress_set import write_stress_set
from tests.render.stress_support import environment, files, pictures, python, recipe

SOURCES: dict[str, Callable[[], Glyphs]] = {
    # Among them glyphs that once came out otherwise, by a grey level, beside fewer others.
    "strokes": lambda: write_strokes(count=400).take(np.r_[:20, 200:215, 360:365]),
    "pictures": pictures,
}


@pytest.fixture(scope="module", params=SOURCES)
def undisturbed(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Glyphs, dict[str, bytes]]:
    glyphs = SOURCES[request.param]()
    folder = tmp_path_factory.mktemp("undisturbed") / "set"
    write_stress_set(recipe(), glyphs, folder)
    return glyphs, files(folder)


@pytest.mark.parametrize("block", [1, 7, 512])
def test_the_size_of_blocks_changes_no_byte(
    undisturbed: tuple[Glyphs, dict[str, bytes]], tmp_path: Path, block: int
) -> None:
    glyphs, expected = undisturbed
    write_stress_set(recipe(), glyphs, tmp_path / "set", block=block)
    assert files(tmp_path / "set") == expected


def test_two_workers_change_no_byte(
    undisturbed: tuple[Glyphs, dict[str, bytes]], tmp_path: Path
) -> None:
    glyphs, expected = undisturbed
    told: list[tuple[int, int]] = []
    write_stress_set(
        recipe(), glyphs, tmp_path / "set", workers=2, progress=lambda *n: told.append(n)
    )
    assert files(tmp_path / "set") == expected
    assert not (tmp_path / ".set.part").exists()
    total = 6 * len(glyphs)
    assert told[0] == (0, total)
    assert told[-1] == (total, total)
    assert [done for done, _ in told] == sorted(done for done, _ in told)


class Backwards(Executor):
    """Does nothing until all work is in, then the last first."""

    def __init__(self) -> None:
        self.waiting: list[tuple[Future[Any], Callable[[], Any]]] = []

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        self.waiting.append((future, lambda: fn(*args, **kwargs)))
        if len(self.waiting) == 6:
            threading.Thread(target=self.work).start()
        return future

    def work(self) -> None:
        for future, task in reversed(self.waiting):
            future.set_result(task())


@pytest.mark.parametrize(
    "executor",
    [Backwards, lambda: ThreadPoolExecutor(2), lambda: Processes(2)],
    ids=["backwards", "threads", "processes"],
)
def test_any_executor_gives_the_same_bytes_in_any_order(
    undisturbed: tuple[Glyphs, dict[str, bytes]], tmp_path: Path, executor: Callable[[], Executor]
) -> None:
    glyphs, expected = undisturbed
    with executor() as hands:
        write_stress_set(recipe(), glyphs, tmp_path / "set", executor=hands)
    assert files(tmp_path / "set") == expected


def test_the_order_of_cells_changes_none_of_them(
    undisturbed: tuple[Glyphs, dict[str, bytes]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    glyphs, expected = undisturbed

    def shuffled(*arguments: Any) -> Plan:
        plan = make_plan(*arguments)
        return replace(plan, cells=plan.cells[:1] + plan.cells[:0:-1])

    monkeypatch.setattr(stress_set, "make_plan", shuffled)
    write_stress_set(recipe(), glyphs, tmp_path / "set")
    made = files(tmp_path / "set")
    cells = [name for name in expected if name.startswith("cells/")]
    assert len(cells) == 6
    assert all(made[name] == expected[name] for name in cells)


def test_a_subset_has_the_bytes_that_the_whole_has(
    undisturbed: tuple[Glyphs, dict[str, bytes]], tmp_path: Path
) -> None:
    glyphs, expected = undisturbed
    made = write_stress_set(recipe(), glyphs, tmp_path / "set", only=["blur", "*x+2px"])
    names = ["nominal", "01-translation-along-x+2px", "04-blur+1px"]
    assert [cell["name"] for cell in made["cells"]] == names
    assert made["only"] == ["blur", "*x+2px"]
    for name in names:
        assert (tmp_path / "set" / "cells" / f"{name}.npz").read_bytes() == expected[
            f"cells/{name}.npz"
        ]
    (moved, _) = made["sweeps"]
    assert moved["cells"] == ["nominal", "01-translation-along-x+2px"]


def test_a_subset_that_names_nothing_is_refused_with_what_there_is(tmp_path: Path) -> None:
    with pytest.raises(RecipeError, match=r"got +blurr\n +allowed +translation along x, .*, blur"):
        write_stress_set(recipe(), pictures(), tmp_path / "set", only=["blurr"])
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("threads", ["1", "2"])
def test_the_number_of_blas_threads_changes_no_byte(
    undisturbed: tuple[Glyphs, dict[str, bytes]], tmp_path: Path, threads: str
) -> None:
    glyphs, expected = undisturbed
    threadpoolctl = pytest.importorskip("threadpoolctl")
    with threadpoolctl.threadpool_limits(int(threads)):
        write_stress_set(recipe(), glyphs, tmp_path / "set")
    assert files(tmp_path / "set") == expected


THREADS_OF_A_WORKER = """
if __name__ == "__main__":
    import os
    from gen.render.pool import Processes
    os.environ["OMP_NUM_THREADS"] = "2"
    with Processes(1) as hands:
        import cv2, threadpoolctl
        pools = hands.submit(threadpoolctl.threadpool_info).result()
        print(sorted({pool["num_threads"] for pool in pools}), hands.submit(cv2.getNumThreads)
              .result(), os.environ["OMP_NUM_THREADS"], len(pools) > 0)
"""


def test_a_worker_has_one_thread_and_this_process_keeps_its_own_settings(tmp_path: Path) -> None:
    script = tmp_path / "threads.py"
    script.write_text(THREADS_OF_A_WORKER)
    settings = {k: v for k, v in environment().items() if k not in THREADS}
    done = subprocess.run(
        [sys.executable, str(script)], env=settings, capture_output=True, text=True, check=True
    )
    assert done.stdout.split("\n")[0] in ("[1] 1 2 True", "[] 1 2 False")


def test_a_fault_in_a_worker_comes_home_as_it_was_raised(tmp_path: Path) -> None:
    with Processes(1) as hands:
        future = hands.submit(_refuse)
        with pytest.raises(OutputError, match=r"crates: can't be written\n  got       no room"):
            future.result()


def _refuse() -> None:
    raise OutputError("crates", "can't be written", got="no room")


def test_glyphs_that_cannot_travel_are_refused_in_words(tmp_path: Path) -> None:
    glyphs = pictures()
    object.__setattr__(glyphs, "note", lambda: None)
    with pytest.raises(InkdriftError, match="these glyphs can't be sent to other processes"):
        write_stress_set(recipe(), glyphs, tmp_path / "set", workers=2)


def test_a_forked_pool_of_someone_elses_serves_too(tmp_path: Path) -> None:
    code = (
        "import multiprocessing, sys\n"
        "from concurrent.futures import ProcessPoolExecutor\n"
        "from pathlib import Path\n"
        "from tests.render.stress_support import pictures, recipe\n"
        "from gen import write_stress_set\n"
        "made = [write_stress_set(recipe(), pictures(), Path(sys.argv[1]) / 'a')]\n"
        "with ProcessPoolExecutor(2) as hands:\n"
        "    made += [write_stress_set(recipe(), pictures(), Path(sys.argv[1]) / 'b',\n"
        "                              executor=hands)]\n"
        "print(made[0] == made[1])\n"
    )
    assert python(code, str(tmp_path)).stdout == "True\n"


@pytest.mark.parametrize(("name", "value"), [("workers", 0), ("block", True), ("workers", 1.5)])
def test_a_number_that_makes_no_sense_is_refused(tmp_path: Path, name: str, value: Any) -> None:
    with pytest.raises(InkdriftError, match=rf"{name}: out of range\n.*\n.*a whole number from 1"):
        write_stress_set(recipe(), pictures(), tmp_path / "set", **{name: value})


def test_a_folder_nothing_can_be_written_in_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("12 crates")
    with pytest.raises(OutputError, match="can't be written"):
        write_stress_set(recipe(), pictures(), tmp_path / "file" / "set")


@pytest.mark.skipif(os.name == "nt", reason="rights as POSIX has them")
def test_a_read_only_folder_is_one_clear_error(tmp_path: Path) -> None:
    closed = tmp_path / "closed"
    closed.mkdir()
    closed.chmod(0o555)
    code = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from tests.render.stress_support import pictures, recipe\n"
        "from gen import write_stress_set\n"
        "glyphs = pictures()\n"
        "write_stress_set\n"
        "if os.getuid() == 0: os.setuid(65534)\n"
        "write_stress_set(recipe(), glyphs, Path(sys.argv[1]))\n"
    )
    for above in (tmp_path, *list(tmp_path.parents)[:2]):
        above.chmod(0o755)
    done = python(code, str(closed / "set"), check=False)
    assert f"{closed / 'set'}: can't be written\n  got       Permission denied" in done.stderr
    assert list(closed.iterdir()) == []


def test_two_runs_at_once_do_not_share_a_folder(tmp_path: Path) -> None:
    refused: list[str] = []

    def other(done: int, total: int) -> None:
        if done == 0:
            with pytest.raises(OutputError, match="another run is writing it") as caught:
                write_stress_set(recipe(), pictures(), tmp_path / "set")
            refused.append(str(caught.value))

    made = write_stress_set(recipe(), pictures(), tmp_path / "set", progress=other)
    assert len(refused) == 1
    assert made["cells"]
    assert [path.name for path in tmp_path.iterdir()] == ["set"]


def test_an_overwrite_keeps_what_is_not_ours(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), pictures(), folder, kind="png")
    theirs = [folder / "harvest.txt", folder / "cells" / "bees.txt", folder / "sheets" / "me.png"]
    for path in theirs:
        path.write_text("12 crates")
    write_stress_set(recipe(), pictures(30), folder, only=["blur"], overwrite=True)
    assert [path.read_text() for path in theirs] == ["12 crates"] * 3
    for path in theirs:
        path.unlink()
    write_stress_set(recipe(), pictures(30), tmp_path / "fresh", only=["blur"])
    assert files(folder) == files(tmp_path / "fresh")


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A mounted disk of 256 KB; needs the rights to mount one."""
    disk = tmp_path / "disk"
    disk.mkdir()
    if os.name == "nt" or shutil.which("mount") is None or os.geteuid() != 0:
        pytest.skip("only a superuser can mount a small disk")
    size = ["mount", "-t", "tmpfs", "-o", "size=256k", "none", str(disk)]
    if subprocess.run(size, capture_output=True, check=False).returncode:
        pytest.skip("a small disk can't be mounted here")
    yield disk
    subprocess.run(["umount", "-l", str(disk)], check=True)


@pytest.mark.parametrize("kind", ["npz", "idx", "png"])
@pytest.mark.parametrize("into", ["", "set"], ids=["the disk itself", "a folder on it"])
@pytest.mark.parametrize("workers", [1, 2])
def test_a_full_disk_is_told_and_what_is_whole_is_gone_on_with(
    small_disk: Path, tmp_path: Path, kind: str, into: str, workers: int
) -> None:
    folder, said = small_disk / into, list[str]()
    expected = write_stress_set(recipe(), pictures(), tmp_path / "expected", kind=kind)
    ballast = small_disk / "ballast"
    ballast.write_bytes(bytes(60_000))
    with pytest.raises(OutputError, match=r"the disk is full\n.*No space left on device") as full:
        write_stress_set(
            recipe(), pictures(), folder, kind=kind, workers=workers, overwrite=into == ""
        )
    assert "make room" in str(full.value)
    ballast.unlink()
    subprocess.run(["mount", "-o", "remount,size=8m", str(small_disk)], check=True)
    made = write_stress_set(recipe(), pictures(), folder, kind=kind, say=said.append)
    assert made == expected
    assert ("cells were whole already" in "".join(said)) == ("are kept" in str(full.value))
    assert {p.name for p in small_disk.iterdir()} <= {
        "set", "cells", "sheets", "manifest.json", "recipe.toml"
    }  # fmt: skip


def test_a_disk_that_fills_up_keeps_the_cells_that_are_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from gen.render import formats

    written: list[Path] = []
    whole = formats.NpzWriter.close

    def close(self: formats.NpzWriter) -> tuple[Path, ...]:
        if len(written) == 3:
            raise OSError(errno.ENOSPC, "No space left on device", str(self.path))
        written.append(self.path)
        return whole(self)

    monkeypatch.setattr(formats.NpzWriter, "close", close)
    with pytest.raises(OutputError, match=r"run it again: 3 of 6 cells are kept in .*\.set\.part"):
        write_stress_set(recipe(), pictures(), tmp_path / "set")
    assert not (tmp_path / "set").exists()
    kept = {path.name for path in (tmp_path / ".set.part" / "whole" / "cells").iterdir()}
    assert kept == {path.name for path in written}
    for path in (tmp_path / ".set.part" / "whole" / "cells").iterdir():
        with np.load(path) as held:  # whole, each of them
            assert held["images"].shape == (60, 28, 28)
