"""What a reader of sheets made of one photograph, held to what is known of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.paper.boxes import COVERED, CROSSED, EMPTY, KEPT, Cuts, cut_boxes, side_px
from gen.glyphs.paper.layout import BOX_MM
from gen.glyphs.paper.page import Page, read_page
from tests.glyphs.paper.camera import Camera, Filled

EXPECTED = {"mark": KEPT, "empty": EMPTY, "crossed": CROSSED}
CENTROID = 0.01
"""Of the side of a box: how far the centroid of a cut may be from the true one."""
ALIKE = 0.9
"""Correlation of a cut with the picture that was put into its box; the worst of 3,488 was 0.915, in
a photograph whose blur is wider than a pen."""

Real = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Trial:
    """Each box of one page.

    Attributes
    ----------
    right
        Whether its state is what it should be, and what was cut is the mark in it.
    mixed
        Whether it was kept under a label that isn't that of the mark in it.
    centroid
        How far off the centroid is, in sides of a box; nan where no mark was cut.
    alike
        Correlation with the mark in it; nan where no mark was cut.
    """

    page: Page
    cuts: Cuts
    right: Flags
    mixed: Flags
    centroid: Real
    alike: Real


def tried(filled: Filled, camera: Camera, told: str | None = None) -> Trial:
    """Photograph a page, read it, and compare."""
    grey = camera.shoot(filled.page, filled.plan.size_mm)
    page = read_page("photo", grey, told=told)
    cuts = cut_boxes(grey, page, side_px(page.px_mm))
    return judged(filled, camera, page, cuts)


def judged(filled: Filled, camera: Camera, page: Page, cuts: Cuts) -> Trial:
    """Compare what was read with what was there."""
    assert page.plan == filled.plan
    assert page.number == filled.number
    labels = [box.label for box in page.plan.boxes(page.number)]
    kept = np.array([state == KEPT for state in cuts.states])
    wanted = np.array([EXPECTED[state] for state in filled.states])
    fits = np.array(cuts.states) == wanted
    away = distance_mm(filled, camera)
    if camera.hidden is not None:
        # What lies under the thing may be called anything but a mark; what it just touches
        # with its frame, either.
        under = away < camera.hidden_mm
        edge = ~under & (away < camera.hidden_mm + 1.5)
        fits = np.where(under, ~kept, fits | (edge & (np.array(cuts.states) == COVERED)))
    centroid, alike = np.full(len(labels), np.nan), np.full(len(labels), np.nan)
    marks = kept & (np.array(filled.states) == "mark")
    true = centres(filled.images[marks]) + filled.off_mm[marks] / BOX_MM
    centroid[marks] = np.linalg.norm(centres(cuts.images[marks]) - true, axis=1)
    alike[marks] = correlation(cuts.images[marks], filled.images[marks])
    mixed = kept & (np.array(labels) != np.array(filled.labels))
    good = fits & ~(centroid > CENTROID) & ~(alike < ALIKE) & ~mixed
    return Trial(page, cuts, good, mixed, centroid, alike)


def distance_mm(filled: Filled, camera: Camera) -> Real:
    """From the hidden corner of the paper to the nearest point of each writing area."""
    boxes = filled.plan.boxes(filled.number)
    if camera.hidden is None:
        return np.full(len(boxes), np.inf)
    wide, high = filled.plan.size_mm
    corner = np.array([(0, 0), (wide, 0), (wide, high), (0, high)][camera.hidden])
    low = np.array([(box.x_mm, box.y_mm) for box in boxes])
    return np.linalg.norm(np.clip(corner, low, low + BOX_MM) - corner, axis=1)


def centres(images: NDArray[np.uint8]) -> Real:
    """Centre of ink of each picture, (y, x), in sides of it."""
    ink = images.astype(np.float64)
    at = (np.arange(images.shape[1]) + 0.5) / images.shape[1]
    total = ink.sum(axis=(1, 2))
    y, x = (ink.sum(axis=2) * at).sum(axis=1), (ink.sum(axis=1) * at).sum(axis=1)
    return np.stack([y / total, x / total], axis=1)


def correlation(cuts: NDArray[np.uint8], true: NDArray[np.uint8]) -> Real:
    """Of each cut with a picture, both at 42 px."""
    import cv2

    def small(images: NDArray[np.uint8]) -> Real:
        size = (42, 42)
        reduced = [cv2.resize(each, size, interpolation=cv2.INTER_AREA) for each in images]
        flat = np.array(reduced, np.float64).reshape(len(images), size[0] * size[1])
        flat -= flat.mean(axis=1, keepdims=True)
        return flat / np.linalg.norm(flat, axis=1, keepdims=True)

    return (small(cuts) * small(true)).sum(axis=1) if len(cuts) else np.zeros(0)


def drawn_camera(seed: int) -> Camera:
    """A camera as people hold one: anything from a scan to a hasty shot in bad light."""
    rng = np.random.default_rng([seed, 7])
    wide, high = [(2400, 3200), (3000, 4000), (3456, 4608), (3200, 2400)][int(rng.integers(4))]
    tilt = float(rng.choice([0.0, rng.uniform(3, 20), rng.uniform(20, 45)]))
    return Camera(
        width=wide,
        height=high,
        tilt_deg=tilt,
        around_deg=float(rng.uniform(0, 360)),
        turn_deg=float(rng.choice([0, 90, 180, 270]) + rng.uniform(-20, 20)),
        bend_mm=float(rng.choice([0.0, rng.uniform(1, 12)])),
        bend_deg=float(rng.uniform(0, 180)),
        distortion=float(rng.uniform(-0.02, 0.02)),
        blur_px=float(rng.uniform(0.5, 1.8)),
        noise=float(rng.uniform(1, 5)),
        shadow=float(rng.uniform(0, 0.6)),
        light=float(rng.uniform(150, 235)),
        quality=int(rng.integers(75, 96)),
        hidden=int(rng.integers(4)) if rng.uniform() < 0.35 else None,
        hidden_mm=float(rng.uniform(25, 75)),
        seed=seed,
    )
