"""What a diagnosis can do to pictures: one step of a remedy.

Most steps are perturbations of the catalogue, carried out by the renderer at the amount
that undoes them. What no perturbation could undo is done by repairs of diagnosis's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.diagnose.repairs import OWN
from gen.glyphs.base import Pixels, Provenance, RasterGlyphs
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
            along = str(dict(operation.options).get("along", ""))
            return OWN[operation.perturbation](self.images, float(operation.amount), along)
        entry = PERTURBATIONS[operation.perturbation].entry
        if operation.amount == entry.unit(operation.unit).nominal:
            return self.images
        step = Step(operation.perturbation, operation.unit, operation.amount, operation.options)
        return self._block.render(Cell("step", (step,))).images
