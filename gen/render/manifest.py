"""The manifest: what a stress set is of, what is in it, and the digests that pin it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from gen.core.files import file_digest
from gen.core.version import VERSION
from gen.glyphs.base import Glyphs, RasterGlyphs, StrokeGlyphs, Whole, pixels_digest
from gen.glyphs.strokes import WrittenGlyphs, write_strokes
from gen.render.calibrate import calibrate
from gen.render.crossed import said_lengths, said_sweep, said_tables
from gen.render.drawn_levels import clipped_draws, levels_name
from gen.render.formats import cell_paths
from gen.render.plan import BlendCell, Cell, Plan

NAME = "manifest.json"


def as_text(manifest: dict[str, Any]) -> str:
    """A manifest as it is written."""
    return json.dumps(manifest, indent=1, ensure_ascii=False) + "\n"


def write_manifest(manifest: dict[str, Any], folder: Path) -> None:
    """Write a manifest, and the recipe's text beside it."""
    text = manifest["recipe"]["text"]
    (folder / "recipe.toml").write_text(text, encoding="utf-8", newline="\n")
    (folder / NAME).write_text(
        as_text(manifest),
        encoding="utf-8",
        errors="backslashreplace",  # half a character in a file's name, as JSON escapes it
        newline="\n",
    )


def cell_entry(
    cell: Cell,
    cells: Path,
    kind: str,
    *,
    count: int,
    ink_lost: float,
    over: int,
    pixels_sha256: str,
) -> dict[str, Any]:
    """What the manifest says about one cell whose files are whole.

    Parameters
    ----------
    cell
        Which.
    cells, kind
        Where its files are, and in which format.
    count
        Pictures in it.
    ink_lost
        Mean share of ink that left the frame.
    over
        Glyphs of which more than 1 % did.
    pixels_sha256
        SHA-256 of its pixels, glyph after glyph.
    """
    return {
        "name": cell.name,
        **said_steps(cell),
        **clipped_draws(cell, count),
        "count": count,
        "ink_lost": round(ink_lost, 6),
        "glyphs_that_lost_over_1_percent": over,
        "pixels_sha256": pixels_sha256,
        "files": [
            {
                "path": f"cells/{name}",
                "bytes": (cells / name).stat().st_size,
                "sha256": file_digest(cells / name),
            }
            for name in (*cell_paths(kind, cell.name), *levels_name(cell))
        ],
    }


def said_steps(cell: Cell) -> dict[str, Any]:
    """What is done in a cell as plain values; of a blend, what each glyph's levels come from."""
    if isinstance(cell, BlendCell):
        return {"draw": cell.draw, "drawn": [part.part.said for part in cell.parts]}
    return {
        "steps": [
            {
                "perturbation": step.perturbation,
                "unit": step.unit,
                "level": step.level,
                "options": dict(step.options),
            }
            for step in cell.steps
        ]
    }


def labels_digest(labels: Whole) -> str:
    """SHA-256 of labels as little-endian 64-bit whole numbers."""
    return hashlib.sha256(labels.astype("<i8").tobytes()).hexdigest()


def glyphs_digest(glyphs: Glyphs) -> str:
    """What pins some glyphs: of pictures always the pixels that there are, whoever took them."""
    if isinstance(glyphs, RasterGlyphs):
        return pixels_digest(glyphs.images, glyphs.labels, glyphs.classes)
    return glyphs.provenance.digest


def set_digest(recipe: str, glyphs: str, cells: Sequence[dict[str, Any]]) -> str:
    """The one digest of a stress set: of recipe, glyphs and the pixels of each cell in turn."""
    whole = hashlib.sha256()
    for part in (recipe, glyphs, *(cell["pixels_sha256"] for cell in cells)):
        whole.update(part.encode("ascii"))
    return whole.hexdigest()


def make_manifest(
    plan: Plan,
    glyphs: Glyphs,
    kind: str,
    cells: list[dict[str, Any]],
    sheets: list[dict[str, str]],
    *,
    only: Sequence[str] = (),
) -> dict[str, Any]:
    """The whole manifest.

    Parameters
    ----------
    plan, glyphs, kind
        What was rendered, on what, in which format.
    cells
        The entry of each cell, in the order of the plan.
    sheets
        For each sweep, then each grid and blend, the path of its picture and the digest
        of the picture's pixels.
    only
        The patterns by which cells were chosen; none for all of them.
    """
    source = glyphs.provenance
    digest = glyphs_digest(glyphs)
    swept = len(plan.sweeps)
    return {
        "made_by": f"inkdrift {VERSION}",
        "digest": set_digest(plan.recipe.digest, digest, cells),
        "format": kind,
        "recipe": {
            "title": plan.recipe.title,
            "seed": plan.recipe.seed,
            "digest": plan.recipe.digest,
            "text": plan.recipe.text,
            **said_lengths(plan),
        },
        "glyphs": {
            "kind": source.kind,
            "name": source.name,
            "digest": digest,
            "drawn": isinstance(glyphs, StrokeGlyphs),
            "ink": source.ink,
            "notes": list(source.notes),
            "count": len(glyphs),
            "frame": list(glyphs.frame),
            "classes": list(glyphs.classes),
            "counts": [int(n) for n in glyphs.counts],
            "labels_sha256": labels_digest(glyphs.labels),
            **_how_written(glyphs),
        },
        "only": list(only),
        "sweeps": [
            {**said_sweep(sweep), "cells": [cell.name for cell in sweep.cells], **sheet}
            for sweep, sheet in zip(plan.sweeps, sheets[:swept], strict=True)
        ],
        **said_tables(plan, sheets[swept:]),
        "left_out": list(plan.left_out),
        "calibration": [row.as_dict() for row in calibrate(plan, glyphs)],
        "cells": cells,
    }


def _how_written(glyphs: Glyphs) -> dict[str, Any]:
    """All that makes built-in strokes again, beside classes and frame; nothing for others."""
    if not isinstance(glyphs, WrittenGlyphs):
        return {}
    every = bool((glyphs.numbers == np.arange(len(glyphs))).all())
    return {
        "written": {
            "seed": glyphs.seed,
            "writers": glyphs.people,
            "numbers": "all" if every else [int(n) for n in glyphs.numbers],
        }
    }


def written_again(said: dict[str, Any]) -> WrittenGlyphs:
    """Built-in strokes, from what a manifest says about its glyphs.

    Raises
    ------
    GlyphError, KeyError, TypeError, ValueError
        If it says something that can't be.
    """
    how = said["written"]
    numbers = how["numbers"]
    most = said["count"] if numbers == "all" else max(numbers) + 1
    every = write_strokes(
        classes=said["classes"],
        count=most,
        frame=(said["frame"][0], said["frame"][1]),
        seed=how["seed"],
        writers=how["writers"],
    )
    return every if numbers == "all" else every.take(np.array(numbers, dtype=np.intp))
