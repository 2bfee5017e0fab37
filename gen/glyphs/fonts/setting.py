"""Glyphs set from fonts: the outline drawn large, then reduced by area.

An outline is drawn `OVERSAMPLING` times as large as asked, with 256 levels of cover, and
each pixel of the frame is the mean of the square of pixels that it is made of, taken in
whole numbers and rounded once. Sizes come from the outline's own box, so that they don't
depend on what a font calls its size, and are right to a large pixel. The library that
draws moves edges by up to half a large pixel to sharpen them, 1/64 px of the frame.
Another version of that library (FreeType, within Pillow) may move them otherwise, so that
a grey level may differ; the digest of a set says whether its pixels are the same.

Rules of place, by name:

box centred
    The box of the ink is centred, its longer side as long as asked.
centre of mass
    The same size; the centre of the ink is at the centre of the frame, to the nearest
    large pixel.
as drawn
    As the font sets a line: an em is as long as asked, the middle of the line from
    ascender to descender is the middle of the frame, and the width that a letter takes
    up is centred. Small letters stay small, and a comma stays low.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.fonts.tables import Font
from gen.glyphs.outline_rule import longer_side_px, room_px

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

OVERSAMPLING = 32
_MOST_LARGE_PX = 8192
_MEASURED_PX = 1024
_TRIES = 4
_LEAST_SIZE_PX, _MOST_SIZE_PX = 1.0, 16384.0


@dataclass(frozen=True)
class Large:
    """A character as drawn large, in a frame of as many times the size."""

    pixels: Pixels
    clipped: bool


@dataclass(frozen=True)
class _Ink:
    """The ink of a character alone, and where its first pixel is, from the pen's origin."""

    pixels: Pixels
    top: int
    left: int


@dataclass(frozen=True)
class Setting:
    """How characters are set.

    Attributes
    ----------
    frame
        (H, W) in px.
    fit
        One of `gen.glyphs.outline_rule.RULES`.
    side_px
        Longer side of the ink's box, or the em for "as drawn".
    times
        How many times as large characters are drawn.
    margin_px
        What stays free on every side of the frame, in place of a longer side.

    Examples
    --------
    >>> Setting.of((28, 60), "box centred", None, 4.0).room
    (640.0, 1664.0)
    """

    frame: tuple[int, int]
    fit: str
    side_px: float
    times: int
    margin_px: float | None

    @classmethod
    def of(
        cls, frame: tuple[int, int], fit: str, side_px: float | None, margin_px: float | None
    ) -> Setting:
        """A rule, once everything about it is known to make sense.

        Raises
        ------
        GlyphError
            If the rule is unknown, a number is out of range, or a side and a margin both
            say how large a mark is.
        """
        side = longer_side_px(fit, frame, side_px, margin_px)
        times = max(1, min(OVERSAMPLING, _MOST_LARGE_PX // max(frame)))
        return cls((int(frame[0]), int(frame[1])), fit, side, times, margin_px)

    @property
    def room(self) -> tuple[float, float]:
        """What the ink fits into, (height, width), in large px."""
        high, wide = room_px(self.frame, self.side_px, self.margin_px)
        return high * self.times, wide * self.times

    def told(self) -> str:
        """What is done, for a note."""
        size = f"its longer side {self.side_px:g} px"
        if self.margin_px is not None:
            size = f"as large as {self.margin_px:g} px free on every side allow"
        place = {
            "box centred": f"box of the ink centred, {size}",
            "centre of mass": f"centre of the ink centred, box of the ink, {size}",
            "as drawn": f"set as on a line, an em of {self.side_px:g} px, line and letter centred",
        }[self.fit]
        return f"{place}; drawn {self.times} times as large and reduced by area"

    def set(self, file: Path, font: Font, name: str) -> Large | None:
        """A character in its place; None if it has no ink."""
        where = f"{font.where}: {shown(name)}"
        size = self.side_px * self.times if self.fit == "as drawn" else float(_MEASURED_PX)
        ink, opened = None, None
        for _ in range(_TRIES):
            if not _LEAST_SIZE_PX <= size <= _MOST_SIZE_PX:
                raise GlyphError(where, "the outline is out of all proportion to its em")
            opened = _opened(file, font, size)
            ink = _drawn(where, opened, name)
            if ink is None:
                return None
            sides = zip(self.room, ink.pixels.shape, strict=True)
            wanted, side = min(sides, key=lambda one: one[0] / one[1])
            if self.fit == "as drawn" or abs(side - wanted) <= 1:
                break
            size *= wanted / side  # a side is only known to a pixel of the size it is drawn at
        assert ink is not None
        assert opened is not None
        return self._placed(ink, self._corner(ink, opened, name))

    def _corner(self, ink: _Ink, opened: FreeTypeFont, name: str) -> tuple[int, int]:
        """Where the first pixel of the ink goes in the large frame."""
        tall, wide = (side * self.times for side in self.frame)
        if self.fit == "as drawn":
            ascent, descent = opened.getmetrics()
            base = round((tall + ascent - descent) / 2)
            return base + ink.top, round((wide - opened.getlength(name)) / 2) + ink.left
        if self.fit == "box centred":
            return (tall - ink.pixels.shape[0]) // 2, (wide - ink.pixels.shape[1]) // 2
        # Whole numbers: twice the first moment, so that the middle of a pixel is odd.
        rows = ink.pixels.sum(axis=1, dtype=np.int64)
        columns = ink.pixels.sum(axis=0, dtype=np.int64)
        whole = 2 * int(rows.sum())
        at = [
            int((line * (2 * np.arange(len(line)) + 1)).sum()) / whole for line in (rows, columns)
        ]
        return round(tall / 2 - at[0]), round(wide / 2 - at[1])

    def _placed(self, ink: _Ink, corner: tuple[int, int]) -> Large:
        large = np.zeros([side * self.times for side in self.frame], dtype=np.uint8)
        spans = []
        for first, length, room in zip(corner, ink.pixels.shape, large.shape, strict=True):
            low, high = max(first, 0), min(first + length, room)
            spans.append((slice(low, max(high, low)), slice(low - first, max(high, low) - first)))
        (rows, from_rows), (columns, from_columns) = spans
        part = ink.pixels[from_rows, from_columns]
        large[rows, columns] = part
        return Large(large, part.shape != ink.pixels.shape)


def _opened(file: Path, font: Font, size: float) -> FreeTypeFont:
    from PIL import ImageFont

    try:
        return ImageFont.truetype(
            str(file), size, index=font.face, layout_engine=ImageFont.Layout.BASIC
        )
    except Exception as cause:  # the library raises anything on broken bytes
        raise GlyphError(font.where, "the font is broken", got=cause) from cause


def _drawn(where: str, font: FreeTypeFont, name: str) -> _Ink | None:
    """The ink of a character, cropped; None if there is none."""
    from PIL import Image, ImageDraw

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            left, top, right, bottom = (int(side) for side in font.getbbox(name, anchor="ls"))
            tall, wide = bottom - top + 2, right - left + 2
            if max(tall, wide) > 2 * _MOST_LARGE_PX or tall * wide > _MOST_LARGE_PX**2:
                raise GlyphError(where, "the outline is out of all proportion to its em")
            image = Image.new("L", (wide, tall), 0)
            pen = (1 - left, 1 - top)
            ImageDraw.Draw(image).text(pen, name, fill=255, font=font, anchor="ls")
    except GlyphError:
        raise
    except Exception as cause:  # the library raises anything on broken bytes
        raise GlyphError(where, "the outline is broken", got=cause) from cause
    pixels = np.asarray(image)
    rows, columns = np.flatnonzero(pixels.any(axis=1)), np.flatnonzero(pixels.any(axis=0))
    if not len(rows):
        return None
    crop = pixels[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    return _Ink(crop, int(rows[0]) - pen[1], int(columns[0]) - pen[0])


def reduced(large: Pixels, times: int) -> Pixels:
    """Each square of `times` by `times` pixels to its mean, rounded once."""
    height, width = (side // times for side in large.shape)
    sums = large.reshape(height, times, width, times).sum(axis=(1, 3), dtype=np.int64)
    share = times * times
    return np.asarray((2 * sums + share) // (2 * share), dtype=np.uint8)


def shown(name: str) -> str:
    """A character, with its number where it can't be seen."""
    code = f"U+{ord(name):04X}"
    return f"{name} ({code})" if name.isprintable() and not name.isspace() else code
