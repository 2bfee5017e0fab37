"""A stress set on disk: cells, contact sheets, and a manifest that pins them."""

from __future__ import annotations

import errno
import shutil
import tempfile
from collections.abc import Callable, Generator, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import closing, nullcontext
from pathlib import Path
from typing import Any

from gen.core.errors import GlyphError, InkdriftError, OutputError
from gen.core.files import check_free, move_in, undisturbed
from gen.core.staging import Staging, staging, staging_place
from gen.core.version import VERSION
from gen.glyphs.base import Glyphs
from gen.recipe.model import Recipe
from gen.render.engine import Renderer
from gen.render.journal import NAME as JOURNAL
from gen.render.journal import Journal, half_moved
from gen.render.manifest import glyphs_digest, labels_digest, make_manifest, write_manifest
from gen.render.opened import cell_is_whole
from gen.render.plan import Cell, Plan, make_plan
from gen.render.pool import Processes
from gen.render.set_files import leave_only, read_manifest, write_sheets, written
from gen.render.subset import chosen
from gen.render.workers import BLOCK, Job, run_elsewhere, run_here

Progress = Callable[[int, int], None]
"""Told pictures done and pictures in all."""
Say = Callable[[str], None]
"""Told a line for a person."""


def write_stress_set(
    recipe: Recipe,
    glyphs: Glyphs,
    folder: Path,
    *,
    kind: str = "npz",
    overwrite: bool = False,
    only: Sequence[str] = (),
    workers: int = 1,
    executor: Executor | None = None,
    block: int = BLOCK,
    progress: Progress | None = None,
    say: Say | None = None,
) -> dict[str, Any]:
    """Render every cell of a recipe and write it where ordinary code can read it.

    The set is made cell by cell in a hidden folder beside `folder` (the one that
    `gen.core.staging.staging_place` names) and gets its name when it is whole. Ended at
    any moment and called again with the same recipe and glyphs, it goes on where it
    was. Neither workers, blocks nor an early end change a byte.

    Parameters
    ----------
    recipe
        What to render.
    glyphs
        On which glyphs.
    folder
        Where to; it appears whole or not at all.
    kind
        "npz", "idx" or "png".
    overwrite
        Whether a folder that isn't empty may be written into.
    only
        Patterns that name the cells to render, as `gen.render.subset.chosen` reads
        them; all when left out. Nominal always comes along.
    workers
        Processes to render in, from 1; with 1, this process.
    executor
        Any `concurrent.futures.Executor` to render with, in place of `workers`. Its
        workers must see the same disk.
    block
        Glyphs in hand at once, from 1.
    progress
        Called as pictures are done, with pictures done and pictures in all.
    say
        Called with a line when there is something to know: that an earlier run is
        gone on with, or what is kept of this one.

    Returns
    -------
    dict
        The manifest, as written to ``manifest.json``.

    Raises
    ------
    LevelError
        If a level can't be held by the glyphs' frame.
    RecipeError
        If a pattern names nothing.
    GlyphError
        If the glyphs can't be written in that format.
    OutputError
        If the folder can't be written, is being written by another run, or the disk is
        full; cells that are complete are then kept to go on from.
    InkdriftError
        If a number makes no sense, or a worker was ended from outside.

    Examples
    --------
    >>> import numpy as np
    >>> from gen import parse_recipe, write_strokes
    >>> recipe = parse_recipe('''
    ... title = "Drifting focus"
    ... [[sweep]]
    ... perturbation = "blur"
    ... unit = "px"
    ... levels = [0, 1]
    ... ''')
    >>> folder = Path(tempfile.mkdtemp()) / "focus"
    >>> manifest = write_stress_set(recipe, write_strokes(classes="7", count=2), folder)
    >>> [(cell["name"], cell["count"]) for cell in manifest["cells"]]
    [('nominal', 2), ('01-blur+1px', 2)]
    >>> with np.load(folder / "cells" / "01-blur+1px.npz") as cell:
    ...     cell["images"].shape
    (2, 28, 28)
    """
    _check_numbers(workers=workers, block=block)
    plan = chosen(make_plan(recipe, glyphs.frame), only)
    if kind == "idx" and len(glyphs.classes) > 256:
        raise GlyphError(
            glyphs.provenance.name,
            "IDX labels are single bytes",
            got=f"{len(glyphs.classes)} classes",
            allowed="at most 256",
            hint="--format npz",
        )
    folder = Path(folder)
    check_writable(folder, overwrite=overwrite)
    with staging(folder) as stage:
        journal = Journal(stage.place / JOURNAL, _pins(plan, glyphs, kind))
        whole = stage.place / "whole"
        told = say or _silent
        if not _is_moving(journal, whole, folder, plan, only):
            journal.moving = None
        try:
            if journal.moving is None:
                check_free(folder, overwrite=overwrite)
                _make(
                    Job(plan, glyphs, kind, block),
                    stage,
                    journal,
                    only=only,
                    progress=progress or _silent,
                    say=told,
                    executor=executor,
                    workers=workers,
                )
            assert journal.moving is not None
            with undisturbed():
                if whole.exists():  # else it was moved before the end
                    move_in(whole, folder, journal.moving["stale"])
        except BaseException as error:
            _end_early(error, stage, journal, plan, told)
            raise
        stage.keep = False
        manifest: dict[str, Any] = journal.moving["manifest"]
        return manifest


def check_writable(folder: Path, *, overwrite: bool) -> None:
    """Refuse a folder that can't be written into, unless a run was ended while it moved there.

    Raises
    ------
    OutputError
        If it is a file, or holds something and may not be overwritten.
    """
    try:
        begun = half_moved(staging_place(folder))
    except (OSError, ValueError):
        begun = False  # what is wrong with the folder is said by the check
    check_free(folder, overwrite=overwrite or begun)


def _silent(*_: object) -> None:
    return None


def _check_numbers(**numbers: int) -> None:
    for name, value in numbers.items():
        if isinstance(value, bool) or not isinstance(value, int) or value < 1:
            raise InkdriftError(name, "out of range", got=value, allowed="a whole number from 1")


def _pins(plan: Plan, glyphs: Glyphs, kind: str) -> dict[str, Any]:
    """What must agree for cells of an earlier run to be cells of this one."""
    return {
        "version": VERSION,
        "format": kind,
        "recipe": plan.recipe.digest,
        "glyphs": [
            glyphs_digest(glyphs),
            len(glyphs),
            list(glyphs.frame),
            list(glyphs.classes),
            labels_digest(glyphs.labels),
        ],
    }


def _is_moving(
    journal: Journal, whole: Path, folder: Path, plan: Plan, only: Sequence[str]
) -> bool:
    """Whether an earlier run of just this was ended while it moved, or right after."""
    if journal.moving is None:
        return False
    manifest = journal.moving["manifest"]
    same = manifest["only"] == list(only) and manifest["recipe"]["text"] == plan.recipe.text
    return same and (whole.exists() or read_manifest(folder) == manifest)


def _make(
    job: Job,
    stage: Staging,
    journal: Journal,
    *,
    only: Sequence[str],
    progress: Progress,
    say: Say,
    executor: Executor | None,
    workers: int,
) -> None:
    """Everything but the move."""
    whole = stage.place / "whole"
    _tidy(stage.place, journal)
    (whole / "cells").mkdir(parents=True, exist_ok=True)
    entries = _still_whole(job, whole, journal)
    if journal.other is not None:
        say(f"what an earlier run left in {stage.place} was thrown away: {journal.other}")
    elif entries:
        say(f"{len(entries)} of {len(job.plan.cells)} cells were whole already: gone on from there")
    todo = {n: cell for n, cell in enumerate(job.plan.cells) if cell.name not in entries}
    total = len(job.glyphs) * len(job.plan.cells)
    before = total - len(job.glyphs) * len(todo)

    def told(done: int) -> None:
        progress(before + done, total)

    told(0)
    run = Path(tempfile.mkdtemp(prefix="run-", dir=stage.place))
    try:
        cells_folder = whole / "cells"
        with closing(
            _entries(job, todo, executor, workers, run=run, cells=cells_folder, told=told)
        ) as made:
            for entry in made:
                journal.add(entry)
                entries[entry["name"]] = entry
    finally:
        with undisturbed():
            shutil.rmtree(run, ignore_errors=True)
    cells = [entries[cell.name] for cell in job.plan.cells]
    leave_only(whole / "cells", cells)
    sheets = write_sheets(Renderer(job.plan, job.glyphs), whole / "sheets")
    manifest = make_manifest(job.plan, job.glyphs, job.kind, cells, sheets, only=only)
    write_manifest(manifest, whole)
    before_it, now = read_manifest(stage.folder), set(written(manifest, whole))
    stale = sorted(set(written(before_it, stage.folder)) - now)
    journal.begin_move(manifest, stale)


def _entries(
    job: Job,
    todo: Mapping[int, Cell],
    executor: Executor | None,
    workers: int,
    *,
    run: Path,
    cells: Path,
    told: Callable[[int], None],
) -> Generator[dict[str, Any], None, None]:
    if executor is None and min(workers, len(todo)) < 2:
        yield from run_here(job, todo, run=run, cells=cells, told=told)
        return
    hired = nullcontext(executor) if executor is not None else Processes(min(workers, len(todo)))
    with hired as hands:
        yield from run_elsewhere(job, todo, hands, run=run, cells=cells, told=told)


def _tidy(place: Path, journal: Journal) -> None:
    """Take away what a killed run was in the middle of, and all of a run of something else."""
    for one in place.iterdir():
        if one.name.startswith("run-") or (one.name == "whole" and journal.other is not None):
            shutil.rmtree(one)


def _still_whole(job: Job, whole: Path, journal: Journal) -> dict[str, dict[str, Any]]:
    """Entries of the journal whose files are what they were when they were noted."""
    names = {cell.name for cell in job.plan.cells}
    return {
        name: entry
        for name, entry in journal.cells.items()
        if name in names and cell_is_whole(whole, entry, job.glyphs, job.kind)
    }


def _end_early(
    error: BaseException, stage: Staging, journal: Journal, plan: Plan, say: Say
) -> None:
    """Decide what is kept, and tell: in the error of a full disk, else in a line."""
    stage.keep = bool(journal.cells) or journal.moving is not None
    kept = (
        f"{min(len(journal.cells), len(plan.cells))} of {len(plan.cells)} cells are kept in "
        f"{stage.place}; the same command goes on from there, and to throw them away, remove "
        "that folder"
    )
    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
        raise OutputError(
            str(stage.folder),
            "the disk is full",
            got=error.strerror,
            hint=f"make room and run it again: {kept}" if stage.keep else "make room",
        ) from error
    if stage.keep and not isinstance(error, OutputError):
        say(kept)
