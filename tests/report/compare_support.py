"""Folders of reports for comparisons, with answers as planted and all that a comparison reads."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.sheet import Record, Sheet
from gen.report.answers_file import write_answers
from gen.report.kept_pictures import Kept, write_pictures

CLASSES = ("pear", "plum", "quince")
GLYPHS, RECIPE = "a1" * 32, "b2" * 32
Right = Mapping[str, NDArray[np.bool_]]


def curve(title: str, levels: Sequence[float | str], cells: Sequence[str], **more: Any) -> Any:
    """A sweep as report.json has it, as far as a comparison reads it."""
    return {
        "perturbation": "blur", "title": title, "unit": "px", "nominal": levels[0], "options": {},
        "points": [
            {"level": level, "cell": cell} for level, cell in zip(levels, cells, strict=True)
        ],
        **more,
    }  # fmt: skip


BLUR = curve("blur", [0.0, 1.0, 2.0], ["nominal", "01-blur+1px", "01-blur+2px"])
RULE = curve(
    "placement", ["as drawn", "box centred", "top"], ["nominal", "02-box", "02-top"],
    perturbation="placement", unit="rule",
)  # fmt: skip
CELLS = ("nominal", "01-blur+1px", "01-blur+2px", "02-box", "02-top")

GRID = {
    "title": "blur by blur",
    "down": {k: v for k, v in BLUR.items() if k != "points"} | {"levels": [0.0, 1.0]},
    "across": {k: v for k, v in BLUR.items() if k != "points"} | {"levels": [0.0, 2.0]},
    "points": [[{"cell": "nominal"}, {"cell": CELLS[2]}], [{"cell": CELLS[1]}, {"cell": "g"}]],
}

DRAWS = ("blend-01-draw-1", "blend-01-draw-2")
BLEND = {"title": "What belt two does", "cells": list(DRAWS)}


def report_folder(
    folder: Path,
    right: Right,
    *,
    name: str = "models.py:reader",
    curves: Sequence[Any] = (BLUR, RULE),
    grids: Sequence[Any] = (),
    blends: Sequence[Any] = (),
    left_out: Sequence[int] = (),
    failed: Sequence[str] = (),
    recipe_digest: str = RECIPE,
    version: str = "1.2.3",
    title: str = "First look",
    pictures: Kept | None = None,
) -> Path:
    """A report of a model that reads rightly what is said."""
    n = len(next(iter(right.values())))
    labels = np.arange(n) % 3
    sheet = Sheet(tuple(right), labels.astype(np.intp), writers=None, classes=CLASSES)
    for cell, read in right.items():
        said = np.where(read, labels, (labels + 1) % 3).astype(np.int16)
        sheet.put(cell, np.arange(n), Record(said, None, np.zeros(n)))
    sheet.leave_out(np.array(left_out, dtype=np.intp))
    for cell in failed:
        sheet.fail(cell, "the lamp went out")
    document = {
        "model": {"name": f"{name}: handed float32 (n, H, W); gives labels", "answers": "labels"},
        "glyphs": {"source": f"built-in strokes, {n} glyphs of 28 x 28 px", "digest": GLYPHS},
        "recipe": {"title": title, "digest": recipe_digest},
        "baseline": {"cell": "nominal"},
        "curves": list(curves),
        "grids": list(grids),
        "blends": list(blends),
        "versions": {"inkdrift": version},
    }
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "report.json").write_text(json.dumps(document), encoding="utf-8")
    digests = {"glyphs_digest": GLYPHS, "recipe_digest": recipe_digest}
    write_answers(folder / "answers.npz", sheet, **digests)
    if pictures:
        write_pictures(folder / "pictures.npz", pictures, **digests)
    return folder


def pictures(cells: Iterable[str], glyphs: Iterable[int] = range(24)) -> Kept:
    """Pictures of some glyphs in some cells, a bar each, no two of them alike."""
    kept = {}
    for row, cell in enumerate(cells):
        for glyph in glyphs:
            image = np.zeros((28, 28), np.uint8)
            image[2 : 6 + row, glyph % 28] = 255 - glyph // 28
            kept[cell, glyph] = image
    return kept


def reads(n: int = 400, /, **shares: float) -> dict[str, NDArray[np.bool_]]:
    """What a model reads rightly: all glyphs alike at 0.9, but where a share is given.

    Cells are called by their last part: `blur+1px` as `b1`, `box` as `box`.
    """
    short = {"nominal": "nominal", "b1": CELLS[1], "b2": CELLS[2], "box": CELLS[3], "top": CELLS[4]}
    draw = np.random.default_rng(1).random(n)
    return {cell: draw < shares.get(key, 0.9) for key, cell in short.items()}
