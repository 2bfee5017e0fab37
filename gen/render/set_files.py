"""The files of a stress set: what is there, what was written, and its contact sheets."""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from gen.glyphs.base import Pixels, Whole
from gen.render.contact_sheet import chosen_glyphs, contact_sheet
from gen.render.crossed import table_sheets
from gen.render.engine import Renderer
from gen.render.manifest import NAME


def leave_only(folder: Path, cells: list[dict[str, Any]]) -> None:
    """Take away cells of a run that was asked for others."""
    keep = {Path(file["path"]).name for cell in cells for file in cell["files"]}
    keep |= {cell["name"] for cell in cells}
    for one in folder.iterdir():
        if one.name not in keep:
            shutil.rmtree(one) if one.is_dir() else one.unlink()


def read_manifest(folder: Path) -> dict[str, Any]:
    """The manifest in a folder, unchecked; empty where there is none to be read."""
    try:
        manifest = json.loads((folder / NAME).read_text("utf-8"))
        return manifest if isinstance(manifest, dict) else {}
    except (OSError, ValueError):
        return {}


def written(manifest: Mapping[str, Any], folder: Path) -> list[str]:
    """What a manifest says was written; files of an earlier run are ours to remove."""
    try:
        tables = (manifest.get(key, []) for key in ("sweeps", "grids", "blends"))
        sheets = [table["sheet"] for each in tables for table in each]
        files = [file["path"] for cell in manifest["cells"] for file in cell["files"]]
        if manifest["format"] == "png":
            for cell in manifest["cells"]:
                inside = (folder / "cells" / cell["name"]).glob("*/*.png")
                files += [p.relative_to(folder).as_posix() for p in inside if p.stem.isdecimal()]
        return [*sheets, *files]
    except (OSError, ValueError, KeyError, TypeError):
        return []


def write_sheets(renderer: Renderer, folder: Path) -> list[dict[str, str]]:
    """Draw a contact sheet of each sweep, grid and blend, in place of those that are there."""
    from PIL import Image

    if folder.exists():
        shutil.rmtree(folder)
    folder.mkdir()
    rows = chosen_glyphs(renderer.glyphs)
    sheets = []
    for name, picture in _sheets(renderer, rows):
        path = folder / f"{name}.png"
        Image.fromarray(picture).save(path)
        pixels = hashlib.sha256(np.ascontiguousarray(picture).data).hexdigest()
        sheets.append({"sheet": f"sheets/{path.name}", "sheet_pixels_sha256": pixels})
    return sheets


def _sheets(renderer: Renderer, rows: Whole) -> Iterator[tuple[str, Pixels]]:
    for number, sweep in enumerate(renderer.plan.sweeps, 1):
        stem = sweep.title.replace(" ", "-")
        yield f"{number:02d}-{stem}", contact_sheet(renderer, sweep, rows)
    yield from table_sheets(renderer, rows)
