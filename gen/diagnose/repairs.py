"""Repairs of pictures that no perturbation could make: sharpening, taking paper, specks and
lines away, stretching contrast, setting marks upright, laying rows as they are stored."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from gen.diagnose.paper import Mask
from gen.diagnose.wrap import relaid, unsheared
from gen.glyphs.base import Pixels, Real


def _sharpened(images: Pixels, sigma_px: float, along: str) -> Pixels:
    """A Gaussian of this deviation undone, as far as noise allows."""
    del along

    def passed(down: Real, right: Real) -> Real:
        return np.asarray(np.exp(-2 * np.pi**2 * sigma_px**2 * (down**2 + right**2)))

    return _undone(images, passed, int(np.ceil(4 * sigma_px)))


def _held_still(images: Pixels, length_px: float, along: str) -> Pixels:
    """A smear along a line undone in the same way."""
    angle = np.deg2rad({"x": 0.0, "y": 90.0}[along] if along in {"x", "y"} else float(along))

    def passed(down: Real, right: Real) -> Real:
        # Rows count downwards, angles anticlockwise.
        return np.asarray(np.sinc(length_px * (right * np.cos(angle) - down * np.sin(angle))))

    return _undone(images, passed, int(np.ceil(length_px)))


def _undone(images: Pixels, passed: Callable[[Real, Real], Real], pad: int) -> Pixels:
    """What let only some of each frequency pass undone, but for noise (N. Wiener's filter).

    Noise is taken to have a hundredth of the power of the ink.
    """
    room = np.pad(images.astype(np.float64), ((0, 0), (pad, pad), (pad, pad)))
    down, right = np.fft.fftfreq(room.shape[1]), np.fft.rfftfreq(room.shape[2])
    share = passed(np.asarray(down[:, None], np.float64), np.asarray(right[None, :], np.float64))
    undone = share / (share**2 + _NOISE) * (1 + _NOISE)
    sharp = np.fft.irfft2(np.fft.rfft2(room) * undone, s=room.shape[1:])
    return _bytes(sharp[:, pad : pad + images.shape[1], pad : pad + images.shape[2]])


def _without_paper(images: Pixels, times: float, along: str) -> Pixels:
    """The paper's level, or its slope over the frame, taken away; full ink stays full ink."""
    del times, along
    _, height, width = images.shape
    y, x = np.indices((height, width)).reshape(2, -1)
    axes = np.stack([np.ones(y.size), (y - y.mean()) / height, (x - x.mean()) / width], axis=1)
    flat = images.reshape(len(images), -1).astype(np.float64)
    level = np.median(flat, axis=1, keepdims=True) * np.ones((1, flat.shape[1]))
    for _ in range(_ROUNDS):
        # What is much darker than the paper is taken for ink and left out of the fit.
        off = flat - level
        spread = 1.4826 * np.median(np.abs(off), axis=1, keepdims=True)
        weight = (off < 2.5 * np.maximum(spread, 4.0)).astype(np.float64)
        normal = np.einsum("np,pi,pj->nij", weight, axes, axes) + 1e-6 * np.eye(3)
        wanted = np.einsum("np,pi,np->ni", weight, axes, flat)
        level = np.linalg.solve(normal, wanted[..., None])[..., 0] @ axes.T
    level = np.clip(level, 0.0, 250.0)
    return _bytes(((flat - level) * 255 / (255 - level)).reshape(images.shape))


def _stretched(images: Pixels, times: float, along: str) -> Pixels:
    """Each picture's darkest ink made full ink; paper stays paper."""
    del times, along
    top = np.maximum(images.max(axis=(1, 2), keepdims=True), 1)
    return _bytes(images * (255.0 / top))


def _upright(images: Pixels, times: float, along: str) -> Pixels:
    """Each mark sheared by its own slant, which its second moments tell, about its centroid."""
    del times, along
    from gen.render.moments import moments
    from gen.render.overlap import apply_each

    of = moments(images)
    lean = np.clip(of.covariance[:, 0, 1] / np.maximum(of.covariance[:, 0, 0], 1e-9), -1.5, 1.5)
    forward = np.zeros((len(images), 2, 3))
    forward[:, 0, 0] = forward[:, 1, 1] = 1.0
    forward[:, 1, 0] = -lean
    forward[:, 1, 2] = lean * of.centroid[:, 0]
    return apply_each(forward, images)


def _without_specks(images: Pixels, times: float, along: str) -> Pixels:
    """The median of each 3 x 3 px, and what grey is left of the specks taken away as paper."""
    import cv2

    calm = np.stack([np.asarray(cv2.medianBlur(image, 3), dtype=np.uint8) for image in images])
    return _without_paper(calm, 1.0, "")


def _without_lines(images: Pixels, times: float, along: str) -> Pixels:
    """Each row's and column's own level taken away, which a line across the frame lifts.

    Where a line is as dark as ink, what lay under it is drawn between its neighbours.
    """
    del times, along
    for axis in (2, 1):
        images = _lines_off(images if axis == 2 else images.swapaxes(1, 2))
        images = images if axis == 2 else images.swapaxes(1, 2)
    return np.ascontiguousarray(images)


def _lines_off(images: Pixels) -> Pixels:
    """The same for rows."""
    values = images.astype(np.float64)
    level = np.percentile(values, _LINE_SHARE, axis=2)
    level -= np.minimum(np.median(level, axis=1, keepdims=True), level)
    out = (values - level[:, :, None]) * 255 / np.maximum(255 - level[:, :, None], 1)
    lost = level > _AS_INK
    for picture, row in np.argwhere(lost):
        near = [at for at in _clean_rows(lost[picture], row) if at is not None]
        if near:
            out[picture, row] = out[picture, near].mean(axis=0)
    return _bytes(out)


def _clean_rows(lost: Mask, row: int) -> tuple[int | None, int | None]:
    """The nearest rows above and below that no line has covered."""
    above, below = np.flatnonzero(~lost[:row]), np.flatnonzero(~lost[row:]) + row
    return (
        int(above[-1]) if len(above) else None,
        int(below[0]) if len(below) else None,
    )


def _relaid(images: Pixels, longer_px: float, along: str) -> Pixels:
    """Each picture's bytes laid out in rows that are so many px longer."""
    del along
    return relaid(images, int(longer_px))


def _rolled_back(images: Pixels, shear_px: float, along: str) -> Pixels:
    """Each row rolled on by so many px more than the one above."""
    del along
    return unsheared(images, -int(shear_px))


def _bytes(values: Real) -> Pixels:
    return np.asarray(np.clip(np.rint(values), 0, 255), dtype=np.uint8)


_NOISE = 0.01
_ROUNDS = 3
_LINE_SHARE = 10
"""Percentile of a row that is its own level: marks cover less than the rest of any row."""
_AS_INK = 200.0
"""Grey levels over paper from which on nothing of a mark is seen under a line."""

OWN: dict[str, Callable[[Pixels, float, str], Pixels]] = {
    "sharpening": _sharpened,
    "motion sharpening": _held_still,
    "paper removal": _without_paper,
    "contrast stretch": _stretched,
    "upright": _upright,
    "despeckling": _without_specks,
    "line removal": _without_lines,
    "row length": _relaid,
    "row shear": _rolled_back,
}
"""Steps that no perturbation of the catalogue could do: of pictures, by an amount, along a line."""
