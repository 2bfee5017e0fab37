"""Photographs with what else goes wrong: coloured pens on tinted paper, ink that shows through
from the back, glare, a hand that shakes, a patterned table, coarse JPEG, and a turned file.

Each channel of colour is computed by the camera's own geometry, light and shade.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from gen.glyphs.paper.layout import Plan
from tests.glyphs.paper.camera import PX_MM, Camera, Filled, filled

Plane = NDArray[np.float32]

PENS = {
    "black": (0.85, 0.85, 0.85),
    "blue": (0.88, 0.75, 0.35),
    "red": (0.2, 0.82, 0.75),
    "green": (0.8, 0.35, 0.7),
    "ballpoint": (0.75, 0.65, 0.4),
    "pencil": (0.5, 0.5, 0.5),
}
"""Share of red, green and blue light that ink takes away."""
TABLES = {"wood": (120, 85, 60), "white": (225, 222, 215), "cloth": (90, 100, 140)}
SKIN = (164, 120, 100)
TURNED = {
    1: None,
    3: Image.Transpose.ROTATE_180,
    6: Image.Transpose.ROTATE_90,
    8: Image.Transpose.ROTATE_270,
}
"""Orientation tags of Exif, and how a picture is stored that is turned upright by them."""


@dataclass(frozen=True)
class Worse:
    """What goes wrong besides.

    Attributes
    ----------
    pen, table
        Of `PENS` and `TABLES`.
    tint
        Share of red, green and blue light that the paper gives back.
    through, soft_px
        Share of light that full ink on the back takes away, and how it is blurred, at 12 px a mm.
    glare, glare_mm, glare_at
        Grey added where it is brightest, its sigma, and where, as shares of the page.
    shake_px, shake_deg
        How far the camera moved, and in which direction.
    quality, orientation
        Of JPEG, and the tag of Exif.
    """

    pen: str
    table: str
    tint: tuple[float, float, float]
    through: float
    soft_px: float
    glare: float
    glare_mm: float
    glare_at: tuple[float, float]
    shake_px: float
    shake_deg: float
    quality: int
    orientation: int


def drawn_worse(seed: int) -> tuple[Camera, Worse]:
    """A camera and what goes wrong, drawn by a seed."""
    rng = np.random.default_rng([seed, 4242])
    wide, high = [(3000, 4000), (4000, 3000), (3024, 4032)][int(rng.integers(3))]
    camera = Camera(
        width=wide,
        height=high,
        tilt_deg=float(rng.choice([0, rng.uniform(3, 20), rng.uniform(20, 40)])),
        around_deg=float(rng.uniform(0, 360)),
        turn_deg=float(rng.choice([0, 90, 180, 270]) + rng.uniform(-20, 20)),
        bend_mm=float(rng.choice([0, rng.uniform(1, 8)])),
        bend_deg=float(rng.uniform(0, 180)),
        blur_px=float(rng.uniform(0.5, 1.4)),
        noise=float(rng.uniform(1, 5)),
        shadow=float(rng.uniform(0, 0.5)),
        light=float(rng.uniform(160, 235)),
        quality=None,
        hidden=int(rng.integers(4)) if rng.uniform() < 0.5 else None,
        hidden_mm=float(rng.uniform(22, 55)),
        seed=seed,
    )
    return camera, Worse(
        pen=str(rng.choice(list(PENS))),
        table=str(rng.choice(list(TABLES))),
        tint=(
            float(rng.uniform(0.94, 1)),
            float(rng.uniform(0.93, 1)),
            float(rng.uniform(0.84, 1)),
        ),
        through=float(rng.uniform(0, 0.1)),
        soft_px=float(rng.uniform(2, 5)),
        glare=float(rng.choice([0, rng.uniform(40, 90)])),
        glare_mm=float(rng.uniform(12, 28)),
        glare_at=(float(rng.uniform(0.2, 0.8)), float(rng.uniform(0.2, 0.8))),
        shake_px=float(rng.uniform(0, 4)),
        shake_deg=float(rng.uniform(0, 180)),
        quality=int(rng.choice([40, 55, 80])),
        orientation=int(rng.choice(list(TURNED))),
    )


def photograph(path: Path, plan: Plan, number: int, camera: Camera, worse: Worse) -> Filled:
    """Take a photograph of a filled page into a JPEG file; what is on the page."""
    seed = camera.seed
    rng = np.random.default_rng([seed, 17])
    behind = _back(plan, number, seed + 5000, worse.soft_px)
    rays = camera.rays(plan.size_mm, np.arange(camera.height))
    place = (rays * PX_MM - 0.5).astype(np.float32)
    wide, high = plan.size_mm
    paper = (rays[0] >= 0) & (rays[1] >= 0) & (rays[0] < wide) & (rays[1] < high)
    under = np.zeros(paper.shape, bool)
    if camera.hidden is not None:
        x, y = [(0, 0), (wide, 0), (wide, high), (0, high)][camera.hidden]
        under = np.hypot(rays[0] - x, rays[1] - y) < camera.hidden_mm
    angle, edge = rng.uniform(0, 2 * np.pi), rng.uniform(-0.25, 0.25)
    shade = camera._shade(np.arange(camera.height), angle, edge)
    off = [
        rays[k] - share * side
        for k, (share, side) in enumerate(zip(worse.glare_at, plan.size_mm, strict=True))
    ]
    glare = worse.glare * np.exp(-(off[0] ** 2 + off[1] ** 2) / (2 * worse.glare_mm**2))
    table, moved = _table(rng, paper.shape), _shaken(worse.shake_px, worse.shake_deg)
    step = float(np.median(np.abs(np.diff(place[:, ::16], axis=2)).sum(axis=0)))
    out = np.empty((*paper.shape, 3), np.uint8)
    for channel in range(3):
        front = filled(plan, number, seed=seed, ink=PENS[worse.pen][channel])
        page = front.page * (1 - worse.through * behind)
        page = cv2.GaussianBlur(page.astype(np.float32), (0, 0), max(0.3, 0.35 * step))
        seen = cv2.remap(page, place[0], place[1], cv2.INTER_LINEAR)
        base = TABLES[worse.table][channel]
        lit = np.where(paper, seen / 255 * camera.light * worse.tint[channel], base + table * base)
        lit[under] = SKIN[channel]
        lit = lit * shade + np.where(paper & ~under, glare, 0)
        lit = cv2.GaussianBlur(lit.astype(np.float32), (0, 0), camera.blur_px)
        lit = cv2.filter2D(lit, -1, moved) + rng.normal(0, camera.noise, lit.shape)
        out[..., channel] = np.clip(np.round(lit), 0, 255)
    picture = Image.fromarray(out)
    turn = TURNED[worse.orientation]
    tags = Image.Exif()
    tags[0x0112] = worse.orientation
    stored = picture if turn is None else picture.transpose(turn)
    stored.save(path, format="JPEG", quality=worse.quality, exif=tags)
    return front


def _back(plan: Plan, number: int, seed: int, soft_px: float) -> Plane:
    """The ink on the back of a page, as it lies behind the front, 0 to 1."""
    ink = filled(plan, number, seed=seed, ink=1.0).page.astype(np.float32)
    bare = np.maximum(filled(plan, number, seed=seed, ink=0.0).page, 1)
    mirrored = np.clip(1 - ink / bare, 0, 1)[:, ::-1]
    return np.asarray(cv2.GaussianBlur(mirrored, (0, 0), soft_px), np.float32)


def _table(rng: np.random.Generator, shape: tuple[int, ...]) -> Plane:
    """Grain along the rows and coarse patches, as shares of the table's light."""
    size = (shape[1], shape[0])
    grain = rng.normal(0, 0.09, (shape[0] // 40 + 2, shape[1] // 4 + 2)).astype(np.float32)
    patches = rng.normal(0, 0.07, (shape[0] // 200 + 2, shape[1] // 200 + 2)).astype(np.float32)
    fine = cv2.resize(grain, size)
    return np.asarray(fine + cv2.resize(patches, size, interpolation=cv2.INTER_CUBIC), np.float32)


def _shaken(length_px: float, angle_deg: float) -> Plane:
    """The path of a point while the shutter was open."""
    side = 2 * int(np.ceil(length_px)) + 1
    middle = side // 2
    kernel = np.zeros((side, side), np.float32)
    along = np.deg2rad(angle_deg)
    for share in np.linspace(-0.5, 0.5, 41):
        y, x = (
            middle + share * length_px * np.sin(along),
            middle + share * length_px * np.cos(along),
        )
        top, left = int(np.floor(y)), int(np.floor(x))
        for dy, down in ((0, 1 - y + top), (1, y - top)):
            for dx, right in ((0, 1 - x + left), (1, x - left)):
                if top + dy < side and left + dx < side:
                    kernel[top + dy, left + dx] += down * right
    return kernel / kernel.sum()
