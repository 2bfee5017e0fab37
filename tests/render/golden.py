"""Digests of rendered pixels, one a perturbation, unit and kind of source.

    python -m tests.render.golden      # writes golden.json anew

Whoever changes what a pixel comes out as writes them anew and says why in the commit.
They hold on every machine and with every supported version of the libraries.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import numpy as np

from gen.glyphs.base import Glyphs
from gen.glyphs.strokes import write_strokes
from gen.perturb import CATALOGUE, PERTURBATIONS
from gen.recipe.model import Level, Recipe, Unit
from gen.render.engine import Renderer
from gen.render.pictures import nominal_pictures
from gen.render.plan import make_plan
from tests.render.support import raster, sweep

FILE = Path(__file__).with_name("golden.json")
SOURCES = ("strokes", "pictures")
COUNT = 20
SEED = 5


def source(kind: str) -> Glyphs:
    """Written marks as strokes, or the same as pictures."""
    written = write_strokes(classes="0123456789", count=COUNT, seed=9)
    return written if kind == "strokes" else raster(nominal_pictures(written))


def levels(name: str, unit: Unit) -> list[Level]:
    """A few levels across the range, the ends left out."""
    if unit.names:
        return [level for level in unit.names if level != unit.nominal]
    perturbation = PERTURBATIONS[name]
    options = {option.name: option.default for option in perturbation.entry.options}
    low, high = perturbation.limits(unit, options, (28, 28))
    shares = (0.1, 0.37, 0.45, 0.55, 0.6, 0.9)
    found = {low + share * (high - low) for share in shares}
    if unit.whole:
        found = {float(round(level)) for level in found}
    return [level for level in sorted(found) if level != unit.nominal]


def digest(kind: str, name: str, unit: Unit) -> str:
    """SHA-256 of the pixels at those levels, one after another."""
    glyphs = source(kind)
    recipe = Recipe("", "", SEED, (sweep(name, levels(name, unit), unit=unit.name),))
    plan = make_plan(recipe, glyphs.frame)
    block = Renderer(plan, glyphs).block(np.arange(COUNT))
    told = hashlib.sha256()
    for cell in plan.cells:
        told.update(np.ascontiguousarray(block.render(cell).images).data)
    return told.hexdigest()


def cases() -> list[tuple[str, str, Unit]]:
    """Every source with every perturbation and unit."""
    return [
        (kind, name, unit)
        for kind in SOURCES
        for name, entry in CATALOGUE.items()
        for unit in entry.units
    ]


def key(kind: str, name: str, unit: Unit) -> str:
    """Its name in the file."""
    return f"{kind}, {name}, {unit.name}"


def main() -> None:
    """Write them anew."""
    found = {key(*case): digest(*case) for case in cases()}
    FILE.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
