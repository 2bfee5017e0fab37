"""Whether a stress set is what its manifest says, and came from the recipe in it."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gen.core.errors import GlyphError
from gen.core.files import file_digest
from gen.render.cell_files import pixels_sha256, read_picture
from gen.render.manifest import NAME, labels_digest, set_digest
from gen.render.opened import StressCell, StressSet, open_stress_set
from gen.render.rendered_again import RenderedAgain

SAMPLE = 256
_BAD_MANIFEST = (KeyError, TypeError, ValueError, IndexError, AttributeError, OverflowError)


@dataclass(frozen=True)
class Verified:
    """What was looked at, and what was wrong with it.

    Attributes
    ----------
    differences
        One line each; none when all is well.
    notes
        What could not be looked at, and why.
    cells, rendered
        How many cells were read, and how many of their pictures were rendered again.
    """

    differences: tuple[str, ...]
    notes: tuple[str, ...]
    cells: int
    rendered: int


def verify_stress_set(
    path: str | os.PathLike[str],
    *,
    sample: int = SAMPLE,
    seed: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> Verified:
    """Read a stress set again, hold it to its manifest, and render some of it again.

    The recipe is that in the manifest. Built-in strokes are written again from what the
    manifest says of them; of other sources the nominal cell is the source itself, which
    the glyphs' digest proves.

    Parameters
    ----------
    path
        The folder.
    sample
        How many pictures to render again, from 0; spread over all cells, at least one
        of each when it isn't 0.
    seed
        By which pictures are drawn.
    progress
        Called with cells done and cells in all.

    Returns
    -------
    Verified

    Raises
    ------
    GlyphError
        If there is no stress set, or its manifest isn't one.

    Examples
    --------
    >>> import tempfile
    >>> from gen import read_recipe, write_stress_set, write_strokes
    >>> folder = Path(tempfile.mkdtemp()) / "stress"
    >>> _ = write_stress_set(
    ...     read_recipe("first-look"), write_strokes(count=20), folder, only=["blur"])
    >>> verify_stress_set(folder, sample=20).differences
    ()
    >>> (folder / "cells" / "07-blur+1px.npz").unlink()
    >>> verify_stress_set(folder, sample=20).differences
    ('cells/07-blur+1px.npz: missing',)
    """
    stress = open_stress_set(path)
    told = progress or (lambda done, total: None)
    steps = 2 * len(stress) if sample else len(stress)
    try:
        faults = list(_manifest_faults(stress))
        bad: set[str] = set()
        for done, (name, cell) in enumerate(stress.items(), 1):
            found = list(_cell_faults(stress, cell))
            faults += found
            if found:
                bad.add(name)
            told(done, steps)
        faults += _sheet_faults(stress)
        faults += _extra_faults(stress)
        again = RenderedAgain(stress, bad)
        if sample:
            again.render(sample, seed, lambda done: told(len(stress) + done, steps))
    except _BAD_MANIFEST as error:
        raise GlyphError(
            str(stress.path / NAME), "isn't the manifest of a stress set", got=repr(error)[:200]
        ) from error
    return Verified((*faults, *again.faults), tuple(again.notes), len(stress), again.rendered)


def _manifest_faults(stress: StressSet) -> Iterator[str]:
    """What the manifest says against itself, or the recipe beside it against it."""
    said = stress.manifest
    digest = set_digest(said["recipe"]["digest"], said["glyphs"]["digest"], said["cells"])
    if digest != said["digest"]:
        yield f"{NAME}: its digest isn't that of the recipe, glyphs and cells that it lists"
    counts = {entry["count"] for entry in said["cells"]}
    if counts != {said["glyphs"]["count"]}:
        yield f"{NAME}: cells don't have as many pictures as there are glyphs"
    try:
        beside = (stress.path / "recipe.toml").read_bytes()
    except OSError:
        yield "recipe.toml: missing"
        return
    if beside != said["recipe"]["text"].encode("utf-8"):
        yield f"recipe.toml: isn't the recipe that {NAME} holds"


def _cell_faults(stress: StressSet, cell: StressCell) -> Iterator[str]:
    """What is wrong with the files of a cell."""
    whole = True
    for file in cell.entry["files"]:
        fault = _file_fault(stress.path, file)
        if fault is not None:
            whole = False
            yield f"{file['path']}: {fault}"
    if not whole:
        return
    try:
        if pixels_sha256(cell.images) != cell.entry["pixels_sha256"]:
            yield f"{cell.name}: its pictures aren't those that {NAME} pins"
        if labels_digest(cell.labels) != stress.manifest["glyphs"]["labels_sha256"]:
            yield f"{cell.name}: its labels aren't those that {NAME} pins"
    except GlyphError as error:
        yield f"{_short(stress.path, error.where)}: {error.fact}" + (
            f" ({error.got})" if error.got is not None else ""
        )


def _file_fault(folder: Path, file: dict[str, Any]) -> str | None:
    name = str(file["path"])
    path = folder / name
    # The manifest may be anybody's; it leads nowhere but into its own folder.
    if not path.resolve().is_relative_to(folder.resolve()):
        return "leads out of the folder"
    if not path.is_file():
        return "missing"
    size = path.stat().st_size
    if size != file["bytes"]:
        kind = "cut short" if size < file["bytes"] else "longer than it was"
        return f"{kind}: {size:,} bytes where there were {file['bytes']:,}"
    return None if file_digest(path) == file["sha256"] else "changed"


def _sheet_faults(stress: StressSet) -> Iterator[str]:
    for table in _tables(stress):
        name = str(table["sheet"])
        path = stress.path / name
        if not path.resolve().is_relative_to(stress.path.resolve()):
            yield f"{name}: leads out of the folder"
        elif not path.is_file():
            yield f"{name}: missing"
        else:
            try:
                if pixels_sha256(read_picture(path)) != table["sheet_pixels_sha256"]:
                    yield f"{name}: changed"
            except GlyphError as error:
                yield f"{name}: {error.fact} ({error.got})"


def _tables(stress: StressSet) -> list[dict[str, Any]]:
    """Everything that has a picture of its own."""
    return [t for key in ("sweeps", "grids", "blends") for t in stress.manifest[key]]


def _extra_faults(stress: StressSet) -> Iterator[str]:
    """Files among the cells and sheets that nobody listed; elsewhere they are nobody's matter."""
    listed = {table["sheet"] for table in _tables(stress)}
    listed |= {file["path"] for entry in stress.manifest["cells"] for file in entry["files"]}
    if stress.manifest["format"] == "png":
        for cell in stress.values():
            try:
                listed |= {p.relative_to(stress.path).as_posix() for p in cell.picture_paths}
            except GlyphError:  # told of already; what is there can't be told from what is not
                inside = (stress.path / "cells" / cell.name).rglob("*")
                listed |= {p.relative_to(stress.path).as_posix() for p in inside}
    for room in ("cells", "sheets"):
        for path in sorted((stress.path / room).rglob("*")):
            name = path.relative_to(stress.path).as_posix()
            if name not in listed and not path.is_dir():
                yield f"{name}: not in {NAME}"


def _short(folder: Path, where: str) -> str:
    try:
        return Path(where).relative_to(folder).as_posix()
    except ValueError:
        return where
