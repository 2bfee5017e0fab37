"""Pictures of one size from a folder, one upon another."""

from __future__ import annotations

import math
from collections import Counter
from contextlib import suppress
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.left_out import LeftOut
from gen.glyphs.picture import Picture, read_picture
from gen.glyphs.polarity import composited
from gen.glyphs.stream import MOST_BYTES


def stacked(path: Path, paths: list[Path], left: LeftOut) -> tuple[Pixels, list[str]]:
    """All pictures that can be read, and what was done to them, a line each.

    Parameters
    ----------
    path
        The folder, for errors.
    paths
        Its pictures.
    left
        Where those that can't be read are put.

    Raises
    ------
    GlyphError
        If none can be read, they aren't of one size, or are too many pixels in all.
    """
    images: Pixels | None = None
    seen: Counter[str] = Counter()
    clear: dict[int, Pixels] = {}
    count = 0
    for one in paths:
        try:
            picture = read_picture(one)
        except GlyphError as error:
            left.add(one, error)
            continue
        if images is None:
            images = np.empty((len(paths), *_small_enough(path, len(paths), picture)), np.uint8)
        if picture.grey.shape != images.shape[1:]:
            raise _odd_size(path, paths)
        images[count] = picture.grey
        seen.update(picture.done)
        if picture.alpha is not None:
            clear[count] = picture.alpha
        count += 1
    if images is None:
        raise left.none_left(str(path))
    images = images[:count]
    transparent = seen.pop("transparency", 0)
    notes = [f"{times:,} of {count:,} pictures: {done}" for done, times in seen.items()]
    if clear:
        paper = composited(images, clear)
        notes.append(f"{transparent:,} of {count:,} pictures: transparency laid on {paper}")
    return images, notes


def _small_enough(path: Path, count: int, picture: Picture) -> tuple[int, ...]:
    """The frame of all pictures, if so many fit the memory."""
    frame = picture.grey.shape
    if count * math.prod(frame) > MOST_BYTES:
        raise GlyphError(
            str(path),
            "too many pixels in all",
            got=f"{count:,} pictures of {frame[0]} x {frame[1]} px",
            allowed=f"up to {MOST_BYTES:,}",
        )
    return frame


def _odd_size(path: Path, paths: list[Path]) -> GlyphError:
    """The error that names the picture whose size isn't the usual one."""
    readable, sizes = [], []
    for one in paths:
        with suppress(GlyphError):
            sizes.append(read_picture(one).grey.shape)
            readable.append(one)
    paths = readable
    usual, count = Counter(sizes).most_common(1)[0]
    odd = next(place for place, size in enumerate(sizes) if size != usual)
    return GlyphError(
        str(paths[odd]),
        "the picture isn't of the same size as the others",
        got=f"{sizes[odd][0]} x {sizes[odd][1]} px (rows x columns)",
        allowed=f"{usual[0]} x {usual[1]} px, as {count:,} of {len(paths):,} in {path}",
        hint="say by what rule they are fitted into one frame (--fit RULE, or fit= in Python)",
    )
