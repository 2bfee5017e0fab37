"""What a diagnosis can do to pictures: one step of a remedy.

Most steps are perturbations of the catalogue, carried out by the renderer at the amount
that undoes them. A few have no perturbation that could: sharpening, taking paper away,
stretching contrast, setting marks upright, taking specks out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from gen.glyphs.base import Pixels, Provenance, RasterGlyphs, Real
from gen.perturb import PERTURBATIONS
from gen.recipe.model import Level
from gen.render.engine import Renderer
from gen.render.plan import Cell, Plan, Step

READING = "value range"
"""Name of the steps that change what the model is handed, and not the pictures."""
LABEL_SHIFT, CLASS_ORDER = "label shift", "class order"
"""Names of the steps that change labels."""
NOT_IN_PICTURES = frozenset({READING, LABEL_SHIFT, CLASS_ORDER})


@dataclass(frozen=True)
class Operation:
    """One step of a remedy.

    Attributes
    ----------
    perturbation
        A name from the catalogue, one of `OWN`, or `READING`.
    amount, unit
        How much, as the catalogue counts it.
    options
        As (name, value) pairs, for those of the catalogue.
    """

    perturbation: str
    amount: Level
    unit: str
    options: tuple[tuple[str, Level | None], ...] = ()


Chain = tuple[Operation, ...]
"""Steps that are done one after the other."""


def carry_out(images: Pixels, chain: Chain) -> Pixels:
    """Do the steps of a chain to pictures, one after the other.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright; not changed.
    chain
        Steps; those that change labels or what a model is handed do nothing here.

    Returns
    -------
    ndarray of shape (n, H, W), uint8

    Examples
    --------
    >>> dot = np.zeros((1, 8, 8), np.uint8)
    >>> dot[0, 3, 6] = 255
    >>> back = Operation("translation", -4.0, "px", (("along", "x"),))
    >>> [int(i) for i in np.argwhere(carry_out(dot, (back,))[0])[0]]
    [3, 2]
    """
    for operation in chain:
        images = Hands(images).do(operation)
    return images


class Hands:
    """Some pictures in hand, to which single steps are done; maps are worked out once.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright.
    """

    def __init__(self, images: Pixels) -> None:
        self.images = images
        frame = images.shape[1], images.shape[2]
        count = len(images)
        glyphs = RasterGlyphs(
            frame=frame,
            labels=np.zeros(count, np.intp),
            classes=("",),
            provenance=Provenance("array", "in hand", ""),
            writers=None,
            images=images,
        )
        self._block = Renderer(Plan.nominal_only(frame), glyphs).block(np.arange(count))

    def do(self, operation: Operation) -> Pixels:
        """The pictures after one step."""
        if operation.perturbation in NOT_IN_PICTURES:
            return self.images
        if operation.perturbation in OWN:
            return OWN[operation.perturbation](self.images, float(operation.amount))
        entry = PERTURBATIONS[operation.perturbation].entry
        if operation.amount == entry.unit(operation.unit).nominal:
            return self.images
        step = Step(operation.perturbation, operation.unit, operation.amount, operation.options)
        return self._block.render(Cell("step", (step,))).images


def _sharpened(images: Pixels, sigma_px: float) -> Pixels:
    """A Gaussian of this deviation undone, as far as noise allows (N. Wiener's filter).

    Noise is taken to have a hundredth of the power of the ink.
    """
    pad = int(np.ceil(4 * sigma_px))
    room = np.pad(images.astype(np.float64), ((0, 0), (pad, pad), (pad, pad)))
    down, across = np.fft.fftfreq(room.shape[1]), np.fft.rfftfreq(room.shape[2])
    squares = down[:, None] ** 2 + across[None, :] ** 2
    passed = np.exp(-2 * np.pi**2 * sigma_px**2 * squares)
    undone = passed / (passed**2 + _NOISE) * (1 + _NOISE)
    sharp = np.fft.irfft2(np.fft.rfft2(room) * undone, s=room.shape[1:])
    inner = sharp[:, pad : pad + images.shape[1], pad : pad + images.shape[2]]
    return _bytes(inner)


def _without_paper(images: Pixels, times: float) -> Pixels:
    """The paper's level, or its slope over the frame, taken away; full ink stays full ink."""
    del times
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


def _stretched(images: Pixels, times: float) -> Pixels:
    """Each picture's darkest ink made full ink; paper stays paper."""
    del times
    top = np.maximum(images.max(axis=(1, 2), keepdims=True), 1)
    return _bytes(images * (255.0 / top))


def _upright(images: Pixels, times: float) -> Pixels:
    """Each mark sheared by its own slant, which its second moments tell, about its centroid."""
    del times
    from gen.render.moments import moments
    from gen.render.overlap import apply_each

    of = moments(images)
    lean = np.clip(of.covariance[:, 0, 1] / np.maximum(of.covariance[:, 0, 0], 1e-9), -1.5, 1.5)
    forward = np.zeros((len(images), 2, 3))
    forward[:, 0, 0] = forward[:, 1, 1] = 1.0
    forward[:, 1, 0] = -lean
    forward[:, 1, 2] = lean * of.centroid[:, 0]
    return apply_each(forward, images)


def _without_specks(images: Pixels, times: float) -> Pixels:
    """The median of each 3 x 3 px, and what grey is left of the specks taken away as paper."""
    import cv2

    calm = np.stack([np.asarray(cv2.medianBlur(image, 3), dtype=np.uint8) for image in images])
    return _without_paper(calm, times)


def _bytes(values: Real) -> Pixels:
    return np.asarray(np.clip(np.rint(values), 0, 255), dtype=np.uint8)


_NOISE = 0.01
_ROUNDS = 3

OWN: dict[str, Callable[[Pixels, float], Pixels]] = {
    "sharpening": _sharpened,
    "paper removal": _without_paper,
    "contrast stretch": _stretched,
    "upright": _upright,
    "despeckling": _without_specks,
}
"""Steps that no perturbation of the catalogue could do."""
