"""A picture of a page that shows what was cut out of it, and what was left and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.glyphs.base import Pixels
from gen.glyphs.paper.boxes import COVERED, CROSSED, CUT, EMPTY, KEPT, Cuts
from gen.glyphs.paper.layout import BOX_MM
from gen.glyphs.paper.page import Page, flat_page

if TYPE_CHECKING:
    from PIL import Image

PX_MM = 5.0
"""Of the picture: a page of A4 is 1050 px wide."""

_INK = (34, 34, 34)
_QUIET = (120, 120, 120)
_COLOURS = {
    KEPT: (46, 110, 158),
    EMPTY: (170, 170, 170),
    CROSSED: (190, 92, 20),
    CUT: (190, 92, 20),
    COVERED: (190, 92, 20),
}
_HEAD_PX = 78


def check_picture(grey: Pixels, page: Page, cuts: Cuts, title: str) -> Image.Image:
    """The flattened page, evenly lit and pale, with the cuts themselves laid into its boxes.

    Parameters
    ----------
    grey
        The photograph, ndarray of shape (H, W), uint8.
    page, cuts
        What was read from it.
    title
        Its name.
    """
    import cv2
    from PIL import Image, ImageDraw, ImageFont

    flat = flat_page(grey, page.warp, PX_MM).astype(np.float32)
    size = (flat.shape[1], flat.shape[0])
    even = flat / cv2.resize(page.light, size, interpolation=cv2.INTER_LINEAR)
    # Paler than it is, so that what was cut stands out.
    shown = np.clip(255 - 0.55 * (255 - np.clip(255 * even, 0, 255)), 0, 255).astype(np.uint8)
    side = round(BOX_MM * PX_MM)
    boxes = page.plan.boxes(page.number)
    places = [(round(box.y_mm * PX_MM), round(box.x_mm * PX_MM)) for box in boxes]
    for (y, x), image, state in zip(places, cuts.images, cuts.states, strict=True):
        if state == KEPT:
            small = cv2.resize(image, (side, side), interpolation=cv2.INTER_AREA)
            shown[y : y + side, x : x + side] = 255 - small
    picture = Image.new("RGB", (size[0], size[1] + _HEAD_PX), (255, 255, 255))
    picture.paste(Image.fromarray(shown), (0, _HEAD_PX))
    pen = ImageDraw.Draw(picture)
    small_font, font = ImageFont.load_default(11), ImageFont.load_default(20)
    left = round(page.plan.field_mm[0] * PX_MM)
    pen.text((left, 20), title, fill=_INK, font=font)
    pen.text((left, 48), summary(page, cuts), fill=_QUIET, font=ImageFont.load_default(15))
    for (y, x), state in zip(places, cuts.states, strict=True):
        colour, top = _COLOURS[state], y + _HEAD_PX
        wide = 1 if state in (KEPT, EMPTY) else 2
        pen.rectangle((x - 1, top - 1, x + side, top + side), outline=colour, width=wide)
        if state != KEPT:
            at = (x + side / 2, top + side - 4)
            pen.rectangle((x + 2, top + side - 17, x + side - 3, top + side - 3), fill="white")
            pen.text(at, state, fill=colour, font=small_font, anchor="md")
    return picture


def summary(page: Page, cuts: Cuts) -> str:
    """One line: which page, how many boxes were kept, and what became of the others."""
    counts = {state: cuts.states.count(state) for state in dict.fromkeys(cuts.states)}
    kept = counts.pop(KEPT, 0)
    told = [f"{count} {state}" for state, count in counts.items()]
    parts = [f"page {page.number} of {page.plan.pages}", f"{kept} kept", *told]
    return f"{', '.join(parts)}; {page.warp.markers} of 12 markers, {page.px_mm:.1f} px a mm"
