"""Filled sheets and a camera: photographs whose truth is known because they are computed.

A page is ink on white paper at 12 px a mm. The camera is a pinhole with radial distortion
that looks at a page bent like a part of a cylinder; each pixel of the photograph follows
its ray back to the page, so that nothing here shares code or model with the reader.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from gen.glyphs.paper.drawing import page_shapes
from gen.glyphs.paper.layout import BOX_MM, Plan
from gen.glyphs.paper.raster import page_picture
from gen.glyphs.strokes import write_strokes
from gen.render.coverage import draw

PX_MM = 12.0
Grey = NDArray[np.uint8]
Real = NDArray[np.float64]


@dataclass(frozen=True)
class Filled:
    """A page with marks.

    Attributes
    ----------
    page
        (H, W), uint8, white paper, PX_MM px a mm.
    states
        What is in each box: "mark", "empty" or "crossed".
    images
        (boxes, side, side), uint8, ink of each writing area, at PX_MM.
    labels
        Class index of each box.
    off_mm
        (boxes, 2), (y, x): how far the images lie from their writing areas, because pages
        are made of whole pixels.
    """

    plan: Plan
    number: int
    page: Grey
    states: list[str]
    images: Grey
    labels: list[int]
    off_mm: Real


def filled(
    plan: Plan,
    number: int = 1,
    *,
    seed: int = 0,
    ink: float = 0.85,
    empty: float = 0.05,
    crossed: float = 0.05,
    page: Grey | None = None,
) -> Filled:
    """A page filled by one writer with the built-in strokes."""
    rng = np.random.default_rng(seed)
    if page is None:
        page = np.asarray(page_picture(page_shapes(plan, number), plan.size_mm, dpi=600))
    # Not a resize to the whole: a page of 8.27 inches is no whole number of either pixel.
    dots = 600 / 25.4
    matrix = np.array([[PX_MM / dots, 0, 0], [0, PX_MM / dots, 0]])
    matrix[:, 2] = 0.5 * PX_MM / dots - 0.5
    wide, high = (round(side * PX_MM) for side in plan.size_mm)
    soft = cv2.GaussianBlur(page, (0, 0), 0.4 * dots / PX_MM)
    sheet = cv2.warpAffine(soft, matrix, (wide, high), borderValue=255).astype(np.float32)
    boxes = plan.boxes(number)
    side = round(BOX_MM * PX_MM)
    # People stay inside a box: a frame of 11 mm in the middle of it, and some stray.
    room = round(11.0 * PX_MM)
    strokes = write_strokes(
        classes=plan.classes, count=len(plan.classes) * 40, frame=(room, room), seed=seed, writers=8
    )
    wanted = []
    for box in boxes:
        options = np.flatnonzero(strokes.labels == box.label)
        wanted.append(int(rng.choice(options)))
    images = np.zeros((len(boxes), side, side), np.uint8)
    for image, mark in zip(
        images, draw(strokes.strokes(np.array(wanted)), (room, room)), strict=True
    ):
        y, x = (side - room) // 2 + rng.integers(-12, 13, 2)
        image[y : y + room, x : x + room] = mark
    states = rng.choice(
        ["mark", "empty", "crossed"], len(boxes), p=[1 - empty - crossed, empty, crossed]
    )
    off_mm = np.zeros((len(boxes), 2))
    for index, box in enumerate(boxes):
        y, x = round(box.y_mm * PX_MM), round(box.x_mm * PX_MM)
        off_mm[index] = y / PX_MM - box.y_mm, x / PX_MM - box.x_mm
        if states[index] == "empty":
            images[index] = 0
            continue
        sheet[y : y + side, x : x + side] *= 1 - ink * images[index].astype(np.float32) / 255
        if states[index] == "crossed":
            _cross(sheet, box.x_mm, box.y_mm, ink, rng)
    return Filled(
        plan,
        number,
        np.round(sheet).astype(np.uint8),
        [str(state) for state in states],
        images,
        [box.label for box in boxes],
        off_mm,
    )


def _cross(
    sheet: NDArray[np.float32], x: float, y: float, ink: float, rng: np.random.Generator
) -> None:
    """Two strokes through the corners, as somebody in a hurry draws them."""
    stray = lambda: rng.uniform(-0.5, 0.5)  # noqa: E731
    over = lambda: rng.uniform(0.9, 1.5)  # noqa: E731
    near, far = 0.0, BOX_MM
    ends = [
        ((near - over(), near - over()), (far + over(), far + over())),
        ((far + over(), near - over()), (near - over(), far + over())),
    ]
    mask = np.zeros(sheet.shape, np.uint8)
    for start, end in ends:
        points = [
            (round((x + px + stray()) * PX_MM * 16), round((y + py + stray()) * PX_MM * 16))
            for px, py in (start, end)
        ]
        cv2.line(mask, points[0], points[1], 255, round(0.6 * PX_MM), cv2.LINE_AA, 4)
    sheet *= 1 - ink * mask.astype(np.float32) / 255


@dataclass(frozen=True)
class Camera:
    """One photograph.

    Attributes
    ----------
    width, height
        Of the photograph, px.
    tilt_deg, around_deg
        How far it is from looking straight down, and to which side.
    turn_deg
        How far it is turned about its axis; 180 is upside down.
    bend_mm
        How high the middle of the page stands over its edges.
    bend_deg
        Direction across the bend; 0 bends the short side.
    distortion
        Radial, r**3 at the corner of the picture, as a share of half its diagonal.
    blur_px, noise, shadow, light, quality
        Sigma; sigma of grey levels; share of light lost in the shade; grey of lit paper;
        of JPEG, None for none.
    hidden, hidden_mm
        Index of a corner of the page that something dark covers, None for none, and how
        far from that corner it reaches.
    """

    width: int = 2400
    height: int = 3200
    tilt_deg: float = 0.0
    around_deg: float = 0.0
    turn_deg: float = 0.0
    bend_mm: float = 0.0
    bend_deg: float = 0.0
    distortion: float = 0.0
    blur_px: float = 0.7
    noise: float = 2.0
    shadow: float = 0.3
    light: float = 205.0
    quality: int | None = 90
    hidden: int | None = None
    hidden_mm: float = 32.0
    fills: float = 0.92
    seed: int = 0

    def shoot(self, page: Grey, size_mm: tuple[float, float]) -> Grey:
        """The photograph of a page: (H, W), uint8."""
        rng = np.random.default_rng(self.seed)
        on_page = self.rays(size_mm)
        x, y = (
            (on_page[0] * PX_MM - 0.5).astype(np.float32),
            (on_page[1] * PX_MM - 0.5).astype(np.float32),
        )
        # A pixel sees an area, not a point: what is finer than a pixel is smoothed away first.
        step = float(np.median(np.abs(np.diff(x, axis=1)) + np.abs(np.diff(y, axis=1))))
        smooth = cv2.GaussianBlur(page, (0, 0), max(0.3, 0.35 * step))
        seen = cv2.remap(
            smooth, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0
        ).astype(np.float32)
        inside = (
            (on_page[0] >= 0)
            & (on_page[1] >= 0)
            & (on_page[0] < size_mm[0])
            & (on_page[1] < size_mm[1])
        )
        paper = seen / 255 * self.light
        table = 70 + 12 * np.sin(np.arange(self.width) / 37.0)[None] * np.ones((self.height, 1))
        picture = np.where(inside, paper, table.astype(np.float32))
        if self.hidden is not None:
            cx, cy = [(0, 0), (size_mm[0], 0), size_mm, (0, size_mm[1])][self.hidden]
            away = np.hypot(on_page[0] - cx, on_page[1] - cy)
            picture = np.where(away < self.hidden_mm, 95.0, picture)
        picture *= self._shade(rng)
        picture = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), max(self.blur_px, 0.01))
        picture += rng.normal(0, self.noise, picture.shape).astype(np.float32)
        out = np.clip(np.round(picture), 0, 255).astype(np.uint8)
        if self.quality is not None:
            done, coded = cv2.imencode(".jpg", out, [cv2.IMWRITE_JPEG_QUALITY, self.quality])
            assert done
            out = cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE)
        return out

    def _shade(self, rng: np.random.Generator) -> NDArray[np.float32]:
        """Light that falls off to one side, and the soft edge of a shadow."""
        angle = rng.uniform(0, 2 * np.pi)
        y, x = np.mgrid[0 : self.height, 0 : self.width].astype(np.float32)
        across = (x / self.width - 0.5) * np.cos(angle) + (y / self.height - 0.5) * np.sin(angle)
        edge = rng.uniform(-0.25, 0.25)
        soft = 1 / (1 + np.exp(-(across - edge) / 0.03))
        return (1 - self.shadow * (0.6 * soft + 0.4 * (across + 0.5))).astype(np.float32)

    def rays(self, size_mm: tuple[float, float]) -> Real:
        """Where on the flat sheet each pixel looks: (2, H, W), x and y in mm."""
        wide, high = size_mm
        axes = _turned(self.tilt_deg, self.around_deg, self.turn_deg)
        focal = 1.15 * max(self.width, self.height)
        y, x = np.mgrid[0 : self.height, 0 : self.width]
        u, v = x - (self.width - 1) / 2, y - (self.height - 1) / 2
        half = np.hypot(self.width, self.height) / 2
        # What is seen at r came at r (1 + k r**2): its inverse is never needed.
        more = 1 + self.distortion * (u**2 + v**2) / half**2
        ray = np.stack([u * more / focal, v * more / focal, np.ones_like(u)], -1) @ axes
        corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]]) - (wide / 2, high / 2)
        away = self._distance(corners, axes, focal)
        start = -away * axes[2]
        return self._landed(start, ray, wide, high)

    def _distance(self, corners: Real, axes: Real, focal: float) -> float:
        """The least distance from which all of the page is in the picture, with some air."""
        low, high = 50.0, 5000.0
        points = np.column_stack([corners, np.zeros(4)])
        for _ in range(60):
            middle = (low + high) / 2
            seen = (points + middle * axes[2]) @ axes.T
            fits = (
                np.all(seen[:, 2] > 1)
                and np.abs(seen[:, 0] / seen[:, 2] * focal).max() < self.fills * self.width / 2
                and np.abs(seen[:, 1] / seen[:, 2] * focal).max() < self.fills * self.height / 2
            )
            low, high = (low, middle) if fits else (middle, high)
        return high

    def _landed(self, start: Real, ray: Real, wide: float, high: float) -> Real:
        """Rays met with a part of a cylinder, laid flat again: exact, in closed form."""
        angle = np.deg2rad(self.bend_deg)
        across, along = (
            np.array([np.cos(angle), np.sin(angle)]),
            np.array([-np.sin(angle), np.cos(angle)]),
        )
        half = abs(across[0]) * wide / 2 + abs(across[1]) * high / 2
        if self.bend_mm == 0:
            reach = -start[2] / ray[..., 2]
            x, y = start[0] + reach * ray[..., 0], start[1] + reach * ray[..., 1]
            return np.stack([x + wide / 2, y + high / 2])
        radius = (half**2 + self.bend_mm**2) / (2 * self.bend_mm)
        # The axis lies under the page (away from the camera, which is at z < 0).
        s0, d = start[:2] @ across, ray[..., :2] @ across
        z0, dz = start[2] - radius, ray[..., 2]
        a, b, c = d**2 + dz**2, s0 * d + z0 * dz, s0**2 + z0**2 - radius**2
        root = b**2 - a * c
        reach = np.where(root > 0, (-b - np.sqrt(np.maximum(root, 0))) / a, np.nan)
        s, z = s0 + reach * d, z0 + reach * dz
        t = start[:2] @ along + reach * (ray[..., :2] @ along)
        arc = radius * np.arctan2(s, -z)
        x, y = arc * across[0] + t * along[0], arc * across[1] + t * along[1]
        return np.nan_to_num(np.stack([x + wide / 2, y + high / 2]), nan=-1e4)


def _turned(tilt_deg: float, around_deg: float, turn_deg: float) -> Real:
    """Rows: right, down and forward of the camera, in page axes (x right, y down, z away)."""
    tilt, around, turn = np.deg2rad([tilt_deg, around_deg, turn_deg])
    about_z = lambda a: np.array(  # noqa: E731
        [[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]]
    )
    about_x = np.array(
        [[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]]
    )
    matrix: Real = about_z(turn) @ about_x @ about_z(-around)
    return matrix
