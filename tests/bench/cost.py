"""What the evaluator's own work costs: 10,000 glyphs at 100 levels, a model that answers at once.

Prints the split between rendering, model and statistics on one core, and the memory at
the top. Run it from the project's folder:  python tests/bench/cost.py [--short]
"""

from __future__ import annotations

import os
import sys

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import resource
import time

import cv2
import numpy as np

from gen import nominal_pictures, parse_recipe, write_strokes
from gen.evaluate.bootstrap import Resampled
from gen.evaluate.score import evaluate
from gen.glyphs.base import Provenance, RasterGlyphs, pixels_digest

cv2.setNumThreads(1)
SHORT = "--short" in sys.argv
GLYPHS = 1_000 if SHORT else 10_000

RECIPE = """
title = "A hundred levels"
seed = 1
"""
SWEEPS = (
    ("stroke-width", 'unit = "px"', "from = -1, to = 2, count = 14"),
    ("scale", 'unit = "ratio"', "from = 0.6, to = 1.4, count = 15"),
    ("rotation", 'unit = "deg"', "from = -42, to = 42, count = 15"),
    ("translation", 'unit = "px"\nalong = "x"', "from = -7, to = 7, count = 15"),
    ("translation", 'unit = "px"\nalong = "y"', "from = -3.5, to = 3.5, count = 15"),
    ("blur", 'unit = "px"', "from = 0, to = 2.8, count = 15"),
    ("contrast", 'unit = "ratio"', "from = 0.3, to = 1, count = 8"),
    ("row-slip", 'unit = "bytes"', "from = -5, to = 5, count = 11"),
)


def recipe_text() -> str:
    return RECIPE + "".join(
        f'[[sweep]]\nperturbation = "{name}"\n{keys}\nlevels = {{{levels}}}\n'
        for name, keys, levels in SWEEPS
    )


def answers_at_once(pictures: np.ndarray) -> np.ndarray:
    """Ten probabilities from ten sums: next to no time."""
    sums = pictures.reshape(len(pictures), -1)[:, ::78][:, :10] + 0.1
    return sums / sums.sum(axis=1, keepdims=True)


def main() -> None:
    strokes = write_strokes(count=GLYPHS, seed=5)
    images = nominal_pictures(strokes)
    glyphs = RasterGlyphs(
        frame=(28, 28),
        labels=strokes.labels,
        classes=strokes.classes,
        provenance=Provenance("array", "bench", pixels_digest(images, strokes.labels, ("0",))),
        writers=None,
        images=images,
    )
    recipe = parse_recipe(recipe_text())
    start = time.perf_counter()
    found = evaluate(answers_at_once, recipe, glyphs)
    whole = time.perf_counter() - start
    levels = sum(len(curve.points) for curve in found.curves)
    print(f"{len(glyphs):,} glyphs at {levels} levels: {whole:.1f} s in all")
    for work, seconds in found.seconds:
        print(f"  {work:<11}{seconds:6.1f} s")
    top = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"  memory at the top {top:.0f} MB")
    right = np.random.default_rng(0).random((20, len(glyphs))) < 0.9
    start = time.perf_counter()
    Resampled.of(len(glyphs), writers=None, draws=2000).accuracy(right)
    print(f"bootstrap of 2,000 draws, 20 levels: {time.perf_counter() - start:.2f} s")


if __name__ == "__main__":
    main()
