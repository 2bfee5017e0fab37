"""Small glyph sets and models with a known truth."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gen.glyphs.base import Provenance, RasterGlyphs, pixels_digest
from gen.recipe.model import Recipe, Sweep

ALONG_X = (("along", "x"),)


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20240607)


@pytest.fixture
def bars() -> Callable[..., RasterGlyphs]:
    """Glyphs whose class is told by where an upright bar stands: 8 columns for each class."""

    def make(count: int, *, classes: int = 3, blanks: tuple[int, ...] = ()) -> RasterGlyphs:
        labels = np.arange(count) % classes
        images = np.zeros((count, 9, 8 * classes), np.uint8)
        for row, label in enumerate(labels):
            images[row, 2:7, 8 * label + 3 : 8 * label + 5] = 200
        images[list(blanks)] = 0
        names = tuple("abcdefghij"[:classes])
        digest = pixels_digest(images, labels, names)
        return RasterGlyphs(
            frame=images.shape[1:],
            labels=labels,
            classes=names,
            provenance=Provenance("array", "bars", digest),
            writers=None,
            images=images,
        )

    return make


@pytest.fixture
def shifts() -> Callable[..., Recipe]:
    """A recipe of one sweep of whole-pixel moves along x, or several of them."""

    def make(*levels: float, sweeps: int = 1) -> Recipe:
        sweep = Sweep("translation", "px", tuple(sorted(levels)), ALONG_X)
        return Recipe("moves", "", 7, (sweep,) * sweeps)

    return make


@pytest.fixture
def model_file(tmp_path: Path) -> Callable[..., Path]:
    """A Python file with some source, in a folder with a space in its name."""

    def make(source: str, name: str = "reader.py") -> Path:
        folder = tmp_path / "my models"
        folder.mkdir(exist_ok=True)
        path = folder / name
        path.write_text(source, encoding="utf-8")
        return path

    return make
