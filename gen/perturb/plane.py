"""The plane that marks lie in: its centre, and linear maps of it.

Points are (y, x) in px with +y down.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.perturb.base import Marks, PoseChange, Real


def frame_centre(frame: tuple[int, int]) -> Real:
    """The centre of a frame in pixel-centre coordinates: (13.5, 13.5) for 28 x 28."""
    return np.array([(frame[0] - 1) / 2, (frame[1] - 1) / 2])


@dataclass(frozen=True)
class Linear(PoseChange):
    """A linear map about the frame's centre or each mark's centroid, then a shift.

    Attributes
    ----------
    matrix
        ((yy, yx), (xy, xx)).
    shift_px
        (dy, dx), added afterwards.
    about
        "frame" or "mark".
    """

    matrix: tuple[tuple[float, float], tuple[float, float]] = ((1.0, 0.0), (0.0, 1.0))
    shift_px: tuple[float, float] = (0.0, 0.0)
    about: str = "frame"

    @property
    def needs_marks(self) -> bool:
        """Only when the map turns about the marks themselves."""
        return self.about == "mark"

    def affine(self, marks: Marks, frame: tuple[int, int]) -> Real:
        """The map as (2, 3), or (n, 2, 3) when it is about each mark."""
        (yy, yx), (xy, xx) = self.matrix
        centre = marks.centroid if self.needs_marks else frame_centre(frame)
        cy, cx = centre[..., 0], centre[..., 1]
        out = np.empty((*cy.shape, 2, 3))
        out[..., 0, 0], out[..., 0, 1], out[..., 1, 0], out[..., 1, 1] = yy, yx, xy, xx
        out[..., 0, 2] = cy - (yy * cy + yx * cx) + self.shift_px[0]
        out[..., 1, 2] = cx - (xy * cy + xx * cx) + self.shift_px[1]
        return out
