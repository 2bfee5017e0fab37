"""A stress set on disk: cells, contact sheets, and a manifest that pins them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from gen.core.errors import GlyphError
from gen.core.files import file_digest, whole_folder
from gen.core.version import VERSION
from gen.glyphs.base import Glyphs, StrokeGlyphs
from gen.recipe.model import Recipe
from gen.render.contact_sheet import chosen_glyphs, contact_sheet
from gen.render.engine import Renderer
from gen.render.formats import cell_writer
from gen.render.plan import Cell, Plan, make_plan

BLOCK = 512
Progress = Callable[[int, int], None]
"""Told pictures done and pictures in all."""


def write_stress_set(
    recipe: Recipe,
    glyphs: Glyphs,
    folder: Path,
    *,
    kind: str = "npz",
    overwrite: bool = False,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Render every cell of a recipe and write it where ordinary code can read it.

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
    progress
        Called after every block with pictures done and pictures in all.

    Returns
    -------
    dict
        The manifest, as written to ``manifest.json``.

    Raises
    ------
    LevelError
        If a level can't be held by the glyphs' frame.
    GlyphError
        If the glyphs can't be written in that format.
    OutputError
        If the folder can't be written.

    Examples
    --------
    >>> import tempfile
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
    plan = make_plan(recipe, glyphs.frame)
    if kind == "idx" and len(glyphs.classes) > 256:
        raise GlyphError(
            glyphs.provenance.name,
            "IDX labels are single bytes",
            got=f"{len(glyphs.classes)} classes",
            allowed="at most 256",
            hint="--format npz",
        )
    renderer = Renderer(plan, glyphs)
    with whole_folder(folder, overwrite=overwrite, stale=_written_before(folder)) as scratch:
        (scratch / "cells").mkdir()
        total = len(glyphs) * len(plan.cells)
        cells = []
        for number, cell in enumerate(plan.cells):
            told = _counting_on(progress, number * len(glyphs), total)
            cells.append(_write_cell(renderer, cell, scratch, kind, told))
        sheets = _write_sheets(renderer, scratch / "sheets")
        manifest = _manifest(plan, glyphs, kind, cells, sheets)
        (scratch / "recipe.toml").write_text(recipe.text, encoding="utf-8", newline="\n")
        (scratch / "manifest.json").write_text(
            json.dumps(manifest, indent=1, ensure_ascii=False) + "\n",
            encoding="utf-8",
            errors="backslashreplace",  # half a character in a file's name, as JSON escapes it
            newline="\n",
        )
    return manifest


def _written_before(folder: Path) -> list[str]:
    """What the manifest of an earlier run says that it wrote; those files are ours to remove."""
    try:
        manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
        sheets = [sweep["sheet"] for sweep in manifest["sweeps"]]
        files = [file["path"] for cell in manifest["cells"] for file in cell["files"]]
        if manifest["format"] == "png":
            for cell in manifest["cells"]:
                inside = (folder / "cells" / cell["name"]).glob("*/*.png")
                files += [p.relative_to(folder).as_posix() for p in inside if p.stem.isdecimal()]
        return [*sheets, *files]
    except (OSError, ValueError, KeyError, TypeError):
        return []


def _counting_on(progress: Progress | None, before: int, total: int) -> Callable[[int], None]:
    """Progress within a cell, told as progress of the whole."""

    def told(done: int) -> None:
        if progress is not None:
            progress(before + done, total)

    return told


def _write_cell(
    renderer: Renderer,
    cell: Cell,
    scratch: Path,
    kind: str,
    told: Callable[[int], None],
) -> dict[str, Any]:
    count = len(renderer.glyphs)
    writer = cell_writer(kind, scratch / "cells", cell.name, renderer.glyphs)
    pixels, lost, over = hashlib.sha256(), 0.0, 0
    try:
        for start in range(0, count, BLOCK):
            rendered = renderer.block(np.arange(start, min(start + BLOCK, count))).render(cell)
            pixels.update(np.ascontiguousarray(rendered.images).data)
            lost += float(rendered.ink_lost.sum())
            over += int((rendered.ink_lost > 0.01).sum())
            writer.write(rendered.images)
            told(writer.done)
        files = writer.close()
    except BaseException:
        writer.abandon()
        raise
    return {
        "name": cell.name,
        "steps": [
            {
                "perturbation": step.perturbation,
                "unit": step.unit,
                "level": step.level,
                "options": dict(step.options),
            }
            for step in cell.steps
        ],
        "count": count,
        "ink_lost": round(lost / count, 6),
        "glyphs_that_lost_over_1_percent": over,
        "pixels_sha256": pixels.hexdigest(),
        "files": [
            {"path": path.relative_to(scratch).as_posix(), "sha256": file_digest(path)}
            for path in files
        ],
    }


def _write_sheets(renderer: Renderer, folder: Path) -> list[str]:
    from PIL import Image

    folder.mkdir()
    rows = chosen_glyphs(renderer.glyphs)
    paths = []
    for number, sweep in enumerate(renderer.plan.sweeps, 1):
        stem = sweep.title.replace(" ", "-")
        path = folder / f"{number:02d}-{stem}.png"
        Image.fromarray(contact_sheet(renderer, sweep, rows)).save(path)
        paths.append(f"sheets/{path.name}")
    return paths


def _manifest(
    plan: Plan, glyphs: Glyphs, kind: str, cells: list[dict[str, Any]], sheets: list[str]
) -> dict[str, Any]:
    source = glyphs.provenance
    whole = hashlib.sha256()
    for part in (plan.recipe.digest, source.digest, *(cell["pixels_sha256"] for cell in cells)):
        whole.update(part.encode("ascii"))
    return {
        "made_by": f"inkdrift {VERSION}",
        "digest": whole.hexdigest(),
        "format": kind,
        "recipe": {
            "title": plan.recipe.title,
            "seed": plan.recipe.seed,
            "digest": plan.recipe.digest,
            "text": plan.recipe.text,
        },
        "glyphs": {
            "kind": source.kind,
            "name": source.name,
            "digest": source.digest,
            "drawn": isinstance(glyphs, StrokeGlyphs),
            "ink": source.ink,
            "notes": list(source.notes),
            "count": len(glyphs),
            "frame": list(glyphs.frame),
            "classes": list(glyphs.classes),
            "counts": [int(n) for n in glyphs.counts],
        },
        "sweeps": [
            {
                "title": sweep.title,
                "perturbation": sweep.sweep.perturbation,
                "unit": sweep.sweep.unit,
                "nominal": sweep.nominal,
                "levels": list(sweep.levels),
                "cells": [cell.name for cell in sweep.cells],
                "sheet": sheet,
            }
            for sweep, sheet in zip(plan.sweeps, sheets, strict=True)
        ],
        "left_out": list(plan.left_out),
        "cells": cells,
    }
