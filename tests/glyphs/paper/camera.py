"""Filled sheets and a camera: photographs whose truth is known because they are computed.

A page is ink on white paper at 12 px a mm. Where the camera looks is for `look`; here are
the light, the blur, the noise and the coding of what it sees.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from gen.glyphs.paper.drawing import page_shapes
from gen.glyphs.paper.layout import BOX_MM, Plan
from gen.glyphs.paper.raster import page_picture
from gen.glyphs.strokes import write_strokes
from gen.render.coverage import draw
from tests.glyphs.paper.look import Look, Real

PX_MM = 12.0
STRIP = 64
"""Rows of a photograph that are computed at a time: what comes between stays in the cache."""
Grey = NDArray[np.uint8]


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
    blank = _unwritten(plan, number) if page is None else _at_px_mm(page, plan)
    sheet = blank.astype(np.float32)
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


@lru_cache(maxsize=8)
def _unwritten(plan: Plan, number: int) -> Grey:
    return _at_px_mm(
        np.asarray(page_picture(page_shapes(plan, number), plan.size_mm, dpi=600)), plan
    )


def _at_px_mm(page: Grey, plan: Plan) -> Grey:
    """A page of 600 dots an inch at PX_MM."""
    # Not a resize to the whole: a page of 8.27 inches is no whole number of either pixel.
    dots = 600 / 25.4
    matrix = np.array([[PX_MM / dots, 0, 0], [0, PX_MM / dots, 0]])
    matrix[:, 2] = 0.5 * PX_MM / dots - 0.5
    wide, high = (round(side * PX_MM) for side in plan.size_mm)
    soft = cv2.GaussianBlur(page, (0, 0), 0.4 * dots / PX_MM)
    return np.asarray(cv2.warpAffine(soft, matrix, (wide, high), borderValue=255), np.uint8)


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
    # The strokes end 2 mm beyond the box, and are 0.3 mm to either side.
    left, top = (round((at - 3.0) * PX_MM) for at in (x, y))
    side = round((BOX_MM + 6.0) * PX_MM)
    mask = np.zeros((side, side), np.uint8)
    for start, end in ends:
        points = [
            (
                round((x + px + stray()) * PX_MM * 16) - 16 * left,
                round((y + py + stray()) * PX_MM * 16) - 16 * top,
            )
            for px, py in (start, end)
        ]
        cv2.line(mask, points[0], points[1], 255, round(0.6 * PX_MM), cv2.LINE_AA, 4)
    sheet[top : top + side, left : left + side] *= 1 - ink * mask.astype(np.float32) / 255


@dataclass(frozen=True)
class Camera(Look):
    """One photograph.

    Attributes
    ----------
    blur_px, noise, shadow, light, quality
        Sigma; sigma of grey levels; share of light lost in the shade; grey of lit paper;
        of JPEG, None for none.
    hidden, hidden_mm
        Index of a corner of the page that something dark covers, None for none, and how
        far from that corner it reaches.
    seed
        Of the noise, and of where the shade lies.
    """

    blur_px: float = 0.7
    noise: float = 2.0
    shadow: float = 0.3
    light: float = 205.0
    quality: int | None = 90
    hidden: int | None = None
    hidden_mm: float = 32.0
    seed: int = 0

    def shoot(self, page: Grey, size_mm: tuple[float, float]) -> Grey:
        """The photograph of a page: (H, W), uint8."""
        rng = np.random.default_rng(self.seed)
        angle, edge = rng.uniform(0, 2 * np.pi), rng.uniform(-0.25, 0.25)
        # A pixel sees an area, not a point: what is finer than a pixel is smoothed away first.
        x, y = self.rays(size_mm, np.arange(0, self.height, 16)) * PX_MM
        step = float(np.median(np.abs(np.diff(x, axis=1)) + np.abs(np.diff(y, axis=1))))
        smooth = cv2.GaussianBlur(page, (0, 0), max(0.3, 0.35 * step))
        picture = np.empty((self.height, self.width), np.float32)
        for rows in self._strips():
            on_page = self.rays(size_mm, rows)
            picture[rows] = self._seen(smooth, on_page, size_mm) * self._shade(rows, angle, edge)
        picture = cv2.GaussianBlur(picture, (0, 0), max(self.blur_px, 0.01))
        out = np.empty(picture.shape, np.uint8)
        for rows in self._strips():
            strip = picture[rows]
            strip += rng.normal(0, self.noise, strip.shape).astype(np.float32)
            out[rows] = np.clip(np.round(strip), 0, 255)
        if self.quality is not None:
            done, coded = cv2.imencode(".jpg", out, [cv2.IMWRITE_JPEG_QUALITY, self.quality])
            assert done
            out = cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE)
        return out

    def _strips(self) -> Iterator[NDArray[np.intp]]:
        for first in range(0, self.height, STRIP):
            yield np.arange(first, min(first + STRIP, self.height))

    def _seen(self, page: Grey, on_page: Real, size_mm: tuple[float, float]) -> NDArray[np.float32]:
        """What lies where some rays end, in even light: the page, the table, or a thing on it."""
        x, y = (on_page * PX_MM - 0.5).astype(np.float32)
        seen = cv2.remap(
            page, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0
        )
        inside = (
            (on_page[0] >= 0)
            & (on_page[1] >= 0)
            & (on_page[0] < size_mm[0])
            & (on_page[1] < size_mm[1])
        )
        paper = seen.astype(np.float32) / 255 * self.light
        table = 70 + 12 * np.sin(np.arange(self.width) / 37.0)
        picture = np.where(inside, paper, table.astype(np.float32))
        if self.hidden is not None:
            cx, cy = [(0, 0), (size_mm[0], 0), size_mm, (0, size_mm[1])][self.hidden]
            away = np.hypot(on_page[0] - cx, on_page[1] - cy)
            picture[away < self.hidden_mm] = 95.0
        return picture

    def _shade(self, rows: NDArray[np.intp], angle: float, edge: float) -> NDArray[np.float32]:
        """Light that falls off to one side, and the soft edge of a shadow."""
        x, y = np.arange(self.width, dtype=np.float32), rows[:, None].astype(np.float32)
        across = (x / self.width - 0.5) * np.cos(angle) + (y / self.height - 0.5) * np.sin(angle)
        soft = 1 / (1 + np.exp(-(across - edge) / 0.03))
        return (1 - self.shadow * (0.6 * soft + 0.4 * (across + 0.5))).astype(np.float32)
