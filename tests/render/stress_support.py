"""A small recipe, small glyph sets, and runs of the command in processes of their own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np

from gen import parse_recipe
from gen.glyphs.base import RasterGlyphs
from gen.glyphs.load import load_glyphs
from gen.recipe.model import Recipe
from tests.render.support import blobs

ROOT = Path(__file__).resolve().parents[2]
TEXT = """
title = "A little of everything"
seed = 3

[[sweep]]
perturbation = "translation"
along = "x"
unit = "px"
levels = [-0.5, 2]

[[sweep]]
perturbation = "placement"
unit = "rule"
levels = ["bottom right"]

[[sweep]]
perturbation = "scale"
unit = "ratio"
levels = [1.2]

[[sweep]]
perturbation = "blur"
unit = "px"
levels = [1]
"""


def recipe(text: str = TEXT) -> Recipe:
    """The recipe, read."""
    return parse_recipe(text)


def pictures(count: int = 60) -> RasterGlyphs:
    """Marks of three classes, as an array that was loaded."""
    images = blobs(count).images
    return load_glyphs(images, labels=np.arange(count) % 3, classes=("pear", "plum", "a b"))


def environment() -> dict[str, str]:
    """As this process has it, with the package on the path."""
    return {**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"}


def python(code: str, *arguments: str, check: bool = True) -> subprocess.CompletedProcess[str]:
    """Run some code in a fresh process."""
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT,
        env=environment(),
        capture_output=True,
        text=True,
        check=check,
    )


def files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
