"""Arrays of pictures as people store them, turned into (N, H, W) bytes."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.mapped import LARGE, let_go, mapping_of, pieces_of, spooled

_ROUNDING = 1e-6  # what float32 arithmetic may leave outside 0..1, relative
_BLOCK = 1 << 22  # values looked at together, so that a large set isn't held twice


def laid_out(
    where: str, images: NDArray[Any], frame: tuple[int, int] | None = None
) -> tuple[NDArray[Any], tuple[str, ...]]:
    """Pictures as (N, H, W), from the layouts that are in use.

    Parameters
    ----------
    where
        The source, for errors.
    images
        ndarray of shape (N, H, W), (N, H*W) with H = W, (N, H, W, 1) or
        (N, 1, H, W); (N, H*W) of any sides once a frame is stated.
    frame
        (H, W) of pictures that are stored as rows; square when left out.

    Returns
    -------
    tuple
        The same values as (N, H, W), and notes.

    Raises
    ------
    GlyphError
        If the shape is none of these, or has a zero in it.

    Examples
    --------
    >>> laid_out("tags", np.zeros((5, 64)))[0].shape
    (5, 8, 8)
    """
    shape = images.shape
    if 0 in shape:
        raise GlyphError(where, "there are no pictures in it", got=f"shape {shape}")
    if images.ndim == 3:
        return images, ()
    if images.ndim == 2:
        side = math.isqrt(shape[1])
        height, width = frame or (side, side)
        if height * width == shape[1]:
            note = f"rows of {shape[1]} values understood as {height} x {width} px"
            return images.reshape(shape[0], height, width), (note,)
        if frame is not None:
            raise GlyphError(
                where,
                "rows of numbers don't fit the frame",
                got=f"{shape[1]} values a row",
                allowed=f"{height} x {width} = {height * width}",
            )
    if images.ndim == 4 and shape[3] == 1:
        return images[..., 0], ()
    if images.ndim == 4 and shape[1] == 1:
        return images[:, 0], ()
    colour = images.ndim == 4 and (shape[3] in (3, 4) or shape[1] in (3, 4))
    raise GlyphError(
        where,
        "pictures can't be told from the shape of the array",
        got=f"shape {shape}",
        allowed="(N, H, W), (N, H*W) with H = W, (N, H, W, 1) or (N, 1, H, W)",
        hint="make one grey channel of the colours" if colour else "reshape the array",
    )


def as_bytes(where: str, images: NDArray[Any]) -> tuple[Pixels, tuple[str, ...], int]:
    """Values scaled to 0..255 bytes, the range being judged by the largest value.

    Parameters
    ----------
    where
        The source, for errors.
    images
        ndarray of shape (N, H, W): truth values, whole numbers or floats that
        reach from 0 to 1, to 16 (whole numbers only, as in counts over 4 x 4
        blocks), to 127 (int8 only), to 255, or to 65535 (uint16 only).

    Returns
    -------
    tuple
        ndarray of shape (N, H, W), uint8, rounded to nearest; a note on what was
        understood, unless the values were bytes from the start; and the value that
        was taken for the brightest there can be.

    Raises
    ------
    GlyphError
        If values are negative, not finite, too large, or fit no known range.

    Examples
    --------
    >>> pixels, notes, full = as_bytes("tags", np.array([[[0.0, 0.2, 1.0]]]))
    >>> pixels
    array([[[  0,  51, 255]]], dtype=uint8)
    >>> notes, full
    (('values 0 to 1 understood as 0..1, scaled to 0..255',), 1)
    """
    if images.dtype.kind not in "buif":
        raise GlyphError(where, "pictures aren't numbers", got=f"dtype {images.dtype}")
    if images.dtype.kind == "b":
        return np.where(images, np.uint8(255), np.uint8(0)), ("true understood as full, 255",), 1
    low, high = _extremes(where, images)
    full = _full_value(where, images, low, high)
    if full == 255 and images.dtype == np.uint8:
        return np.ascontiguousarray(images), (), full
    scaled: Pixels
    if mapping_of(images) is not None and images.size >= LARGE:
        scaled = spooled((_scaled(images[p], full) for p in pieces_of(images)), images.shape)
    else:
        scaled = np.empty(images.shape, dtype=np.uint8)
        for part in _blocks(images):
            scaled[part] = _scaled(images[part], full)
    note = f"values {low:g} to {high:g} understood as 0..{full}, scaled to 0..255"
    if full == 255:
        note = f"values {low:g} to {high:g} understood as 0..255"
    return scaled, (note,), full


def _scaled(images: NDArray[Any], full: int) -> Pixels:
    return np.rint(images.astype(np.float64) * (255.0 / full)).astype(np.uint8)


def _blocks(images: NDArray[Any]) -> list[slice]:
    step = max(1, _BLOCK // max(1, math.prod(images.shape[1:])))
    return [slice(first, first + step) for first in range(0, len(images), step)]


def _extremes(where: str, images: NDArray[Any]) -> tuple[float, float]:
    low, high = math.inf, -math.inf
    for part in _blocks(images):
        least, most = float(images[part].min()), float(images[part].max())
        if not (math.isfinite(least) and math.isfinite(most)):
            bad = ~np.isfinite(images[part]).reshape(len(images[part]), -1).all(axis=1)
            first = part.start + int(np.flatnonzero(bad)[0])
            raise GlyphError(
                where, f"picture {first} holds a value that isn't a finite number (NaN or inf)"
            )
        low, high = min(low, least), max(high, most)
        let_go(images)
    return low, high


def _full_value(where: str, images: NDArray[Any], low: float, high: float) -> int:
    """The value that stands for the brightest pixel."""
    allowed = "0..1, 0..255, whole numbers 0..16, int8 from 0 to 127, or uint16"
    seen = f"{low:g} to {high:g}, dtype {images.dtype}"
    if low < -_ROUNDING:
        hint = "scale the values to 0..1 before saving them"
        if images.dtype == np.int8:
            hint = "bytes over 127 have wrapped to negative numbers: store them as uint8"
            first = images[_blocks(images)[0]]
            if np.count_nonzero(first == -128) > np.count_nonzero(first == 0):
                hint = "128 was taken off bytes of 0 to 255: add it again and store them as uint8"
        raise GlyphError(where, "values are negative", got=seen, allowed=allowed, hint=hint)
    if high == 0 and images.dtype == np.uint8:
        return 255
    if high <= 1 + _ROUNDING:
        return 1
    whole = images.dtype.kind in "ui"
    if high <= 16:
        if whole or all(bool((images[p] == np.rint(images[p])).all()) for p in _blocks(images)):
            return 16
        raise GlyphError(where, "values fit no known range", got=seen, allowed=allowed)
    if images.dtype == np.int8:
        return 127  # a signed byte can't be more
    if high <= 255 * (1 + _ROUNDING):
        return 255
    if images.dtype == np.uint16:
        return 65535
    raise GlyphError(
        where, "values are too large", got=seen, allowed=allowed, hint="scale them to 0..255"
    )
