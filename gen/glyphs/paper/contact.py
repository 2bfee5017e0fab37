"""A picture of a page on which every mark that was found is framed and numbered."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.glyphs.base import Pixels
from gen.glyphs.paper.loose import Marks

if TYPE_CHECKING:
    from PIL import Image

_MOST_SIDE_PX = 2000
_FRAME = (46, 110, 158)
_NUMBER = (190, 92, 20)


def contact_picture(grey: Pixels, marks: Marks, first: int) -> Image.Image:
    """The photograph, paler, with a frame and a number at each mark.

    Parameters
    ----------
    grey
        ndarray of shape (H, W), uint8.
    marks
        What was found on it.
    first
        Number of its first mark.
    """
    import cv2
    from PIL import Image, ImageDraw, ImageFont

    scale = min(1.0, _MOST_SIDE_PX / max(grey.shape))
    size = (max(1, round(grey.shape[1] * scale)), max(1, round(grey.shape[0] * scale)))
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    pale = np.asarray(255 - (255 - small.astype(np.float32)) * 0.7, np.uint8)
    picture = Image.fromarray(pale).convert("RGB")
    pen = ImageDraw.Draw(picture)
    font = ImageFont.load_default(float(np.clip(0.3 * marks.size_px * scale, 11, 28)))
    for number, mark in enumerate(marks.marks, start=first):
        left, top = mark.left * scale - 3, mark.top * scale - 3
        right, low = left + mark.width * scale + 6, top + mark.height * scale + 6
        pen.rectangle((left, top, right, low), outline=_FRAME)
        box = pen.textbbox((left, top - 2), str(number), font=font, anchor="ls")
        pen.rectangle((box[0] - 1, box[1] - 1, box[2] + 1, box[3] + 1), fill="white")
        pen.text((left, top - 2), str(number), fill=_NUMBER, font=font, anchor="ls")
    return picture
