"""Small glyph sets and one call that renders one level, for the tests of this room."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Glyphs, Provenance, RasterGlyphs, StrokeGlyphs, Strokes
from gen.perturb import PERTURBATIONS
from gen.recipe.model import Level, Recipe, Sweep
from gen.render.engine import Rendered, Renderer
from gen.render.plan import make_plan


def raster(images: NDArray[np.uint8]) -> RasterGlyphs:
    """Pictures of one class."""
    return RasterGlyphs(
        frame=(images.shape[1], images.shape[2]),
        labels=np.zeros(len(images), np.intp),
        classes=("mark",),
        provenance=Provenance("array", "test", "0" * 64),
        writers=None,
        images=images,
    )


class Drawn(StrokeGlyphs):
    """Strokes given outright."""

    def __init__(self, given: Strokes, frame: tuple[int, int]) -> None:
        super().__init__(
            frame=frame,
            labels=np.zeros(len(given.segments), np.intp),
            classes=("mark",),
            provenance=Provenance("strokes", "test", "0" * 64),
            writers=None,
        )
        object.__setattr__(self, "given", given)

    def strokes(self, indices: NDArray[np.intp]) -> Strokes:
        given: Strokes = self.given  # type: ignore[attr-defined]
        return Strokes(given.segments[indices], given.width_px[indices])


def capsule(
    start: Sequence[float], end: Sequence[float], width_px: float, frame: tuple[int, int]
) -> Drawn:
    """One straight stroke from (y, x) to (y, x)."""
    return Drawn(Strokes(np.array([[[start, end]]], dtype=float), np.array([[width_px]])), frame)


def sweep(
    name: str, levels: Sequence[Level], *, unit: str | None = None, **options: Level
) -> Sweep:
    """A sweep with the options that aren't given at their defaults."""
    entry = PERTURBATIONS[name].entry
    filled = {option.name: option.default for option in entry.options} | options
    return Sweep(name, unit or entry.units[0].name, tuple(levels), tuple(sorted(filled.items())))


def rendered(
    glyphs: Glyphs, name: str, level: Level, *, unit: str | None = None, **options: Level
) -> Rendered:
    """All glyphs of a set at one level of one perturbation."""
    plan = make_plan(
        Recipe("test", "", 0, (sweep(name, [level], unit=unit, **options),)), glyphs.frame
    )
    return Renderer(plan, glyphs).block(np.arange(len(glyphs))).render(plan.cells[-1])


def images_of(
    glyphs: Glyphs, name: str, level: Level, *, unit: str | None = None, **options: Level
) -> NDArray[np.uint8]:
    """The pictures alone."""
    return rendered(glyphs, name, level, unit=unit, **options).images


def dot(y: int, x: int, frame: tuple[int, int] = (9, 9)) -> RasterGlyphs:
    """One inked pixel."""
    image = np.zeros((1, *frame), np.uint8)
    image[0, y, x] = 255
    return raster(image)


def blobs(count: int, frame: tuple[int, int] = (28, 28), seed: int = 0) -> RasterGlyphs:
    """Smooth marks well inside the frame, no two alike, with grey edges."""
    from scipy.ndimage import gaussian_filter

    rng = np.random.default_rng(seed)
    noise = rng.normal(size=(count, *frame))
    soft = np.stack([gaussian_filter(one, 2.0) for one in noise])
    y, x = np.mgrid[: frame[0], : frame[1]]
    far = np.hypot(y - (frame[0] - 1) / 2, x - (frame[1] - 1) / 2)
    ink = np.clip((soft / soft.std() + 0.3) * 2, 0, 1) * (far < 0.3 * min(frame))
    return raster((ink * 255).astype(np.uint8))
