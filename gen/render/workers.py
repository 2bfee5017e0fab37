"""Cells rendered to files, in this process or in others.

What crosses between processes is small: the plan and the glyphs once, with large
arrays left on disk and mapped; then the number of a cell out, and its digests back.
Pixels go from the worker straight to its own files.
"""

from __future__ import annotations

import hashlib
import io
import os
import pickle
import shutil
import tempfile
import threading
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, CancelledError, Executor, Future, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from gen.core.errors import InkdriftError
from gen.glyphs.base import Glyphs, RasterGlyphs
from gen.glyphs.mapped import let_go, mapping_of
from gen.render.drawn_levels import write_levels
from gen.render.engine import Renderer
from gen.render.formats import cell_writer
from gen.render.manifest import cell_entry
from gen.render.plan import Cell, Plan

BLOCK = 512
_LARGE = 1 << 16
"""Bytes from which an array is handed over as a file."""
_LOOK_SECONDS = 0.25
"""How often the sizes of growing files are looked at for the sake of a progress bar."""
_PATIENCE_SECONDS = 10.0
"""How long workers that were told to stop are waited for; they look after every block."""

Told = Callable[[int], None]
"""Told how many pictures are done."""


@dataclass(frozen=True)
class Job:
    """All that rendering a cell takes.

    Attributes
    ----------
    plan, glyphs
        What, on what.
    kind
        The format.
    block
        Glyphs in hand at once.
    """

    plan: Plan
    glyphs: Glyphs
    kind: str
    block: int = BLOCK


class StoppedError(Exception):
    """The run that this cell was for has ended."""


def write_cell(
    job: Job, renderer: Renderer, cell: Cell, *, run: Path, cells: Path, told: Told
) -> dict[str, Any]:
    """Render one cell; its files get their names when they are whole.

    Parameters
    ----------
    job, renderer, cell
        What to render.
    run
        A folder to work in; when it goes, work stops.
    cells
        Where the files are to be.
    told
        Called after every block with the pictures of this cell that are done.

    Returns
    -------
    dict
        The manifest's entry of the cell.
    """
    glyphs = job.glyphs
    count = len(glyphs)
    scratch = Path(tempfile.mkdtemp(dir=run))
    writer = cell_writer(job.kind, scratch, cell.name, glyphs)
    pixels, lost, over = hashlib.sha256(), 0.0, 0
    try:
        for start in range(0, count, job.block):
            if not scratch.exists():
                raise StoppedError
            indices = np.arange(start, min(start + job.block, count))
            rendered = renderer.block(indices).render(cell)
            pixels.update(np.ascontiguousarray(rendered.images).data)
            lost += float(np.rint(rendered.ink_lost * _LOST_STEPS).sum())
            over += int((rendered.ink_lost > 0.01).sum())
            writer.write(rendered.images)
            _let_go(glyphs)
            told(writer.done)
        writer.close()
        write_levels(cell, job.plan.recipe.ruler, count, scratch)
    except BaseException:
        writer.abandon()
        raise
    for made in scratch.iterdir():
        target = cells / made.name
        if target.is_dir():  # pictures of a run that was killed before it could note them
            shutil.rmtree(target)
        made.replace(target)
    scratch.rmdir()
    return cell_entry(
        cell,
        cells,
        job.kind,
        count=count,
        ink_lost=lost / _LOST_STEPS / count,
        over=over,
        pixels_sha256=pixels.hexdigest(),
    )


_LOST_STEPS = 1 << 26
"""Shares of lost ink are summed as whole multiples of 2**-26, so that the size of the
blocks can't change the mean."""


def _let_go(glyphs: Glyphs) -> None:
    if isinstance(glyphs, RasterGlyphs):
        let_go(glyphs.images)


def run_here(
    job: Job, todo: Mapping[int, Cell], *, run: Path, cells: Path, told: Told
) -> Iterator[dict[str, Any]]:
    """Render cells one after another in this process."""
    renderer = Renderer(job.plan, job.glyphs)
    for done, cell in enumerate(todo.values()):
        before = done * len(job.glyphs)

        def on(in_cell: int, before: int = before) -> None:
            told(before + in_cell)

        yield write_cell(job, renderer, cell, run=run, cells=cells, told=on)


def run_elsewhere(
    job: Job,
    todo: Mapping[int, Cell],
    executor: Executor,
    *,
    run: Path,
    cells: Path,
    told: Told,
) -> Iterator[dict[str, Any]]:
    """Render cells with an executor; entries come as cells are done."""
    packed = packed_job(job, run)
    futures: list[Future[dict[str, Any]]] = []
    try:
        futures = [executor.submit(work, packed, n, str(run), str(cells)) for n in todo]
        pending = set(futures)
        while pending:
            done, pending = wait(pending, timeout=_LOOK_SECONDS, return_when=FIRST_COMPLETED)
            for future in done:
                yield future.result()
            finished = (len(futures) - len(pending)) * len(job.glyphs)
            told(finished + _growing(run, job))
    except (BrokenProcessPool, CancelledError) as error:
        raise InkdriftError(
            "workers",
            "a worker process was ended from outside",
            got=str(error) or None,
            hint="fewer workers, if memory ran out; a script that is run as a program needs "
            'its work under `if __name__ == "__main__":`',
        ) from error
    finally:
        for future in futures:
            future.cancel()
        if any(not future.done() for future in futures):
            shutil.rmtree(run, ignore_errors=True)  # by which workers know
            wait(futures, timeout=_PATIENCE_SECONDS)


def _growing(run: Path, job: Job) -> int:
    """Pictures in files that are being written, by the size of the files."""
    size = 0
    for folder, _, names in os.walk(run):
        for name in names:
            try:
                size += (Path(folder) / name).stat().st_size if not name.endswith(".npy") else 0
            except OSError:
                continue
    return 0 if job.kind == "png" else size // int(np.prod(job.glyphs.frame))


def work(packed: bytes, number: int, run: str, cells: str) -> dict[str, Any]:
    """Render one cell of a packed job: what an executor is given to do."""
    if getattr(_KEPT, "packed", None) != packed:
        job = unpacked_job(packed)
        _KEPT.packed, _KEPT.job, _KEPT.renderer = packed, job, Renderer(job.plan, job.glyphs)
    job = _KEPT.job
    return write_cell(
        job,
        _KEPT.renderer,
        job.plan.cells[number],
        run=Path(run),
        cells=Path(cells),
        told=lambda done: None,
    )


_KEPT = threading.local()
"""The job that this worker did last, unpacked."""


class _Packer(pickle.Pickler):
    """Leaves large arrays on disk: as they are when they are mapped, else saved beside."""

    def __init__(self, stream: io.BytesIO, folder: Path) -> None:
        super().__init__(stream, protocol=pickle.HIGHEST_PROTOCOL)
        self._folder = folder
        self._saved = 0

    def persistent_id(self, obj: Any) -> Any:
        if not isinstance(obj, np.ndarray) or obj.nbytes < _LARGE or obj.dtype.hasobject:
            return None
        whole = mapping_of(obj)
        if whole is not None and whole.filename is not None and obj.flags.c_contiguous:
            offset = whole.offset + _address(obj) - _address(whole)
            return str(whole.filename), offset, obj.dtype.str, obj.shape
        path = self._folder / f"array-{self._saved}.npy"
        self._saved += 1
        with path.open("wb") as stream:
            np.lib.format.write_array(stream, np.ascontiguousarray(obj), allow_pickle=False)
            start = stream.tell() - obj.nbytes
        return str(path), start, obj.dtype.str, obj.shape


class _Unpacker(pickle.Unpickler):
    def persistent_load(self, pid: Any) -> Any:
        path, offset, dtype, shape = pid
        return np.memmap(path, dtype=dtype, mode="r", offset=offset, shape=shape)


def _address(array: np.ndarray[Any, Any]) -> int:
    return int(array.__array_interface__["data"][0])


def packed_job(job: Job, folder: Path) -> bytes:
    """A job as bytes, with its large arrays in files.

    Raises
    ------
    InkdriftError
        If the glyphs are of a kind that can't be sent to another process.
    """
    stream = io.BytesIO()
    try:
        _Packer(stream, folder).dump(job)
    except (pickle.PicklingError, TypeError, AttributeError) as error:
        raise InkdriftError(
            "workers", "these glyphs can't be sent to other processes", got=error, hint="workers=1"
        ) from error
    return stream.getvalue()


def unpacked_job(packed: bytes) -> Job:
    """What `packed_job` packed."""
    job = _Unpacker(io.BytesIO(packed)).load()
    assert isinstance(job, Job)
    return job
