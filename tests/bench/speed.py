"""How fast glyphs are rendered, as ratios to what most people would write.

    python tests/bench/speed.py            # as in README; about three minutes
    python tests/bench/speed.py --short    # a few seconds: that it runs

Everything is on one core, end to end from uint8 arrays in to uint8 arrays out, side by
side in one run: for each step the ways take turns, three times each, and each way's best
turn counts. Slow ways get fewer glyphs; rates are per glyph. Machines differ and so do
turns, by a tenth or so: the ratios are what to look at, and nothing here is a test.
"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import argparse
import math
import platform
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from scipy import ndimage
from skimage import transform

from gen import load_glyphs, nominal_pictures, parse_recipe, write_stress_set, write_strokes
from gen.glyphs.base import RasterGlyphs
from gen.recipe.model import Recipe
from gen.render.engine import Renderer
from gen.render.plan import Cell, Step, make_plan

cv2.setNumThreads(1)
Pixels = NDArray[np.uint8]
Way = Callable[[Pixels], object]
ANGLE_DEG, RATIO, SHIFT_PX, SIGMA_PX, ADDED_PX = 10.0, 0.9, 1.5, 1.5, 1.0
TURNS = 3
FINE = 4  # how much a per-image loop enlarges before it measures distances


def glyphs_of(side: int, count: int) -> RasterGlyphs:
    """Written digits as pictures."""
    written = write_strokes(count=min(count, 5_000), frame=(side, side), seed=1)
    few = nominal_pictures(written)
    images = np.concatenate([few] * math.ceil(count / len(few)))[:count]
    return load_glyphs(images, labels=np.arange(count) % 10, ink="bright")


def ours(*steps: Step) -> Way:
    """Rendering a cell in blocks, as a stress set does."""

    def run(images: Pixels) -> Pixels:
        glyphs = RasterGlyphs(
            frame=(images.shape[1], images.shape[2]),
            labels=np.zeros(len(images), np.intp),
            classes=("0",),
            provenance=_PROVENANCE,
            writers=None,
            images=images,
        )
        renderer = Renderer(make_plan(Recipe("", "", 0, ()), glyphs.frame), glyphs)
        out = np.empty_like(images)
        for start in range(0, len(images), 512):
            part = np.arange(start, min(start + 512, len(images)))
            out[part] = renderer.block(part).render(Cell("bench", steps)).images
        return out

    return run


_PROVENANCE = load_glyphs(np.eye(8, dtype=np.uint8)[None] * 255, labels=[0]).provenance
POSE = ours(
    Step("scale", "ratio", RATIO, (("about", "frame"),)),
    Step("rotation", "deg", ANGLE_DEG, (("about", "frame"),)),
    Step("translation", "px", SHIFT_PX, (("along", "x"),)),
)


def backward(side: int) -> NDArray[np.float64]:
    """From new to old (x, y, 1), about the centre: turn, size, then shift."""
    c, s = math.cos(math.radians(ANGLE_DEG)), math.sin(math.radians(ANGLE_DEG))
    centre = (side - 1) / 2
    forward = np.array([[RATIO * c, RATIO * s, 0], [-RATIO * s, RATIO * c, 0], [0, 0, 1]])
    to, fro = np.eye(3), np.eye(3)
    to[:2, 2], fro[:2, 2] = (centre + SHIFT_PX, centre), -centre
    return np.asarray(np.linalg.inv(to @ forward @ fro))


def pose_opencv(images: Pixels) -> object:
    matrix = np.linalg.inv(backward(images.shape[1]))[:2]
    size = images.shape[:0:-1]
    return np.stack([cv2.warpAffine(i, matrix, size, flags=cv2.INTER_LINEAR) for i in images])


def pose_pillow(images: Pixels) -> object:
    data = tuple(backward(images.shape[1])[:2].ravel())
    size, how = images.shape[:0:-1], Image.Transform.AFFINE
    return np.stack(
        [
            np.asarray(Image.fromarray(i).transform(size, how, data, Image.Resampling.BILINEAR))
            for i in images
        ]
    )


def pose_scipy(images: Pixels) -> object:
    back = backward(images.shape[1])
    matrix, offset = back[1::-1, 1::-1], back[1::-1, 2]
    return np.stack(
        [ndimage.affine_transform(i, matrix, offset, order=1, mode="grid-constant") for i in images]
    )


def pose_skimage(images: Pixels) -> object:
    back = transform.AffineTransform(matrix=backward(images.shape[1]))
    return np.stack(
        [np.uint8(transform.warp(i, back, order=1, preserve_range=True) + 0.5) for i in images]
    )


def blur_opencv(images: Pixels) -> object:
    return np.stack([cv2.GaussianBlur(i, (0, 0), SIGMA_PX) for i in images])


def blur_pillow(images: Pixels) -> object:
    how = ImageFilter.GaussianBlur(SIGMA_PX)
    return np.stack([np.asarray(Image.fromarray(i).filter(how)) for i in images])


def blur_scipy(images: Pixels) -> object:
    return np.stack([ndimage.gaussian_filter(i, SIGMA_PX, mode="constant") for i in images])


def widened(distance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Cover of a fine grid from distances to the ink, in fine px."""
    return np.clip(0.5 + ADDED_PX / 2 * FINE - distance, 0, 1)


def width_opencv(images: Pixels) -> object:
    """Enlarged, distances by the precise transform, reduced by area."""
    side = images.shape[1]
    out = []
    for image in images:
        large = cv2.resize(image, (side * FINE, side * FINE), interpolation=cv2.INTER_LINEAR)
        bare = np.uint8(large < 128)
        away = cv2.distanceTransform(bare, cv2.DIST_L2, cv2.DIST_MASK_PRECISE) - 0.5
        cover = np.where(bare, widened(away), 1.0)
        small = cv2.resize(cover, (side, side), interpolation=cv2.INTER_AREA)
        out.append(np.uint8(small * 255 + 0.5))
    return np.stack(out)


def width_scipy(images: Pixels) -> object:
    side = images.shape[1]
    out = []
    for image in images:
        large = ndimage.zoom(image, FINE, order=1, grid_mode=True, mode="nearest")
        bare = large < 128
        away = ndimage.distance_transform_edt(bare) - 0.5
        cover = np.where(bare, widened(away), 1.0)
        small = cover.reshape(side, FINE, side, FINE).mean(axis=(1, 3))
        out.append(np.uint8(small * 255 + 0.5))
    return np.stack(out)


CASES: list[tuple[str, int, Way, dict[str, Way]]] = [
    (
        "rotation, scale and translation in one, 28 x 28",
        28,
        POSE,
        {
            "OpenCV": pose_opencv,
            "Pillow": pose_pillow,
            "scipy": pose_scipy,
            "scikit-image": pose_skimage,
        },
    ),
    (
        "the same, 128 x 128",
        128,
        POSE,
        {"OpenCV": pose_opencv, "scipy": pose_scipy, "scikit-image": pose_skimage},
    ),
    (
        f"Gaussian blur, sigma {SIGMA_PX:g} px, 28 x 28",
        28,
        ours(Step("blur", "px", SIGMA_PX)),
        {"OpenCV": blur_opencv, "Pillow": blur_pillow, "scipy": blur_scipy},
    ),
    (
        f"stroke width, {ADDED_PX:+g} px, 28 x 28",
        28,
        ours(Step("stroke-width", "px", ADDED_PX)),
        {"OpenCV": width_opencv, "scipy": width_scipy},
    ),
]


def rate(way: Way, images: Pixels) -> float:
    """Glyphs a second in one turn."""
    start = time.perf_counter()
    way(images)
    return len(images) / (time.perf_counter() - start)


def compare(count: int) -> None:
    """Print each case's rates, and ours as a multiple of each of the others."""
    for title, side, mine, others in CASES:
        images = glyphs_of(side, count if side < 100 else max(count // 5, 64)).images
        few = images[: max(len(images) // 10, 32)]
        best = dict.fromkeys(["ours", *others], 0.0)
        for _ in range(TURNS):
            best["ours"] = max(best["ours"], rate(mine, images))
            for name, way in others.items():
                best[name] = max(best[name], rate(way, few))
        print(f"\n{title}: {best['ours']:,.0f} glyphs a second")
        for name in others:
            print(f"  {best['ours'] / best[name]:5.1f} x {name:13} {best[name]:12,.0f}")


def strokes(count: int) -> None:
    """Print the rate of built-in strokes, written and drawn fresh."""
    best = 0.0
    for turn in range(TURNS):
        start = time.perf_counter()
        nominal_pictures(write_strokes(count=count, seed=turn))
        best = max(best, count / (time.perf_counter() - start))
    print(f"\nbuilt-in strokes, drawn fresh, 28 x 28: {best:,.0f} glyphs a second")


def growth(most: int) -> None:
    """Print how time grows with the number of glyphs."""
    print("\ntime for rotation, scale and translation as the set grows (1 is linear)")
    base = 0.0
    count = most // 100
    for _ in range(3):
        images = glyphs_of(28, count).images
        spent = 1 / max(rate(POSE, images) for _ in range(TURNS))
        base = base or spent
        print(f"  {count:9,} glyphs: {spent / base:.2f} of the first, a glyph")
        count *= 10


def workers(count: int) -> None:
    """Print how much two processes save on a stress set of `count` glyphs times 5 cells."""
    recipe = parse_recipe(
        """
        title = "bench"
        [[sweep]]
        perturbation = "rotation"
        unit = "deg"
        levels = [5, 10, 15, 20]
        """
    )
    glyphs = write_strokes(count=count)
    spent = {}
    for number in (1, 2):
        with tempfile.TemporaryDirectory() as folder:
            start = time.perf_counter()
            write_stress_set(recipe, glyphs, Path(folder) / "set", workers=number)
            spent[number] = time.perf_counter() - start
    print(
        f"\nstress set of {5 * count:,} pictures: {spent[1]:.1f} s with 1 worker, "
        f"{spent[2]:.1f} s with 2: {spent[1] / spent[2]:.2f} x"
    )


def main() -> None:
    """Run all of it."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--short", action="store_true", help="few glyphs: only that it runs")
    short = parser.parse_args().short
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        f"numpy {np.__version__}, OpenCV {cv2.__version__}"
    )
    compare(320 if short else 10_000)
    strokes(500 if short else 20_000)
    growth(2_000 if short else 100_000)
    workers(200 if short else 200_000)


if __name__ == "__main__":
    main()
