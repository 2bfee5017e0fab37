"""Where in the frame a mark is laid, and by what rule: a part of the second station."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from gen.glyphs.laying_rule import CENTRED, laid_by
from gen.perturb.base import Effect, Marks, Perturbation, PoseChange, Real
from gen.perturb.plane import frame_centre
from gen.recipe.model import Entry, Level, Option, Unit

EDGES: dict[str, tuple[int, int]] = {
    "top left": (-1, -1),
    "top": (-1, 0),
    "top right": (-1, 1),
    "left": (0, -1),
    "right": (0, 1),
    "bottom left": (1, -1),
    "bottom": (1, 0),
    "bottom right": (1, 1),
}
"""Rules that put the box against an edge or into a corner: which way, (y, x)."""

RULES = ("as drawn", *CENTRED, *EDGES)


@dataclass(frozen=True)
class Place(PoseChange):
    """Each mark is laid by a rule, after being fitted to a box when one is given."""

    rule: str
    box_px: float | None = None
    margin_px: float = 0.0

    @property
    def needs_marks(self) -> bool:
        """Always: a rule looks at where the mark is."""
        return True

    def affine(self, marks: Marks, frame: tuple[int, int]) -> Real:
        """Where each mark goes, (n, 2, 3)."""
        top_left, bottom_right = marks.box[:, :2], marks.box[:, 2:]
        size = bottom_right - top_left
        ratio = np.ones(len(size))
        if self.box_px is not None:
            ratio = self.box_px / np.maximum(size.max(axis=1), 1e-9)
        if self.rule in EDGES:
            middle = (top_left + bottom_right) / 2
            way = np.array(EDGES[self.rule])
            room = (np.array(frame) - ratio[:, None] * size) / 2 - self.margin_px
            shift = frame_centre(frame) + way * room - ratio[:, None] * middle
        else:
            shift = laid_by(
                self.rule, ratio, marks.box, marks.centroid, frame, fitted=self.box_px is not None
            )
        out = np.zeros((len(size), 2, 3))
        out[:, 0, 0] = out[:, 1, 1] = ratio
        out[:, :, 2] = shift
        return out


class Placement(Perturbation):
    """Tags stuck on anywhere: where in the frame the mark sits, and by what rule."""

    entry: ClassVar[Entry] = Entry(
        name="placement",
        station="pose",
        meaning="where and by what rule the mark sits in the frame",
        units=(Unit("rule", nominal="as drawn", names=RULES),),
        options=(
            Option(
                "box_px",
                default=None,
                low=1.0,
                high=4096.0,
                meaning="first fit the longer side of the mark's box to this many px, aspect kept",
            ),
            Option(
                "margin_px",
                default=0.0,
                low=0.0,
                high=4096.0,
                meaning="px kept free between the box and the edge, for edges and corners",
            ),
        ),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A rule, with the box it is fitted to."""
        del unit, frame
        box, margin = options.get("box_px"), options.get("margin_px")
        return Place(
            str(level),
            box_px=None if box is None else float(box),
            margin_px=0.0 if margin is None else float(margin),
        )

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Another rule on the training side."""
        del unit
        box = options.get("box_px")
        fitted = "" if box is None else f", fitted to a box of {float(box):g} px"
        return (
            f"laid by the rule \u201c{level}\u201d{fitted} these marks are nearer to what it was "
            "trained on: put that rule in front of the model, in training and in use"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With the box, when marks are fitted to one."""
        box = options.get("box_px")
        return "placement" + ("" if box is None else f" in a box of {float(box):g} px")
