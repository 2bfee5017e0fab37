"""Pen and paper: several poses as one map, and strokes laid by it before they are drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Real, Strokes
from gen.perturb.base import Marks, PoseChange
from gen.render import affine
from gen.render.coverage import draw
from gen.render.leaning import draw_leaning, pen_reach


def composed(poses: list[PoseChange], marks: Marks, frame: tuple[int, int]) -> Real:
    """One map for several poses, the first of them done first."""
    whole: Real | None = None
    for pose in poses:
        step = pose.affine(marks, frame)
        whole = step if whole is None else affine.compose(step, whole)
        if pose is not poses[-1]:
            marks = _marks_moved(marks, step)
    assert whole is not None
    return whole


def _marks_moved(marks: Marks, forward: Real) -> Marks:
    """Centroid and box after a map: the centroid exactly, the box as that of its corners."""
    if not len(marks.centroid):
        return marks
    points = np.stack(
        [marks.centroid] + [marks.box[:, [y, x]] for y in (0, 2) for x in (1, 3)], axis=1
    )
    moved = _map_points(points, forward)
    corners = moved[:, 1:]
    return Marks(moved[:, 0], np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1))


def _map_points(points: Real, forward: Real) -> Real:
    """Points (n, k, 2) under a map (2, 3) or (n, 2, 3), element by element."""
    m = forward if forward.ndim > 2 else forward[None]
    y, x = points[..., 0], points[..., 1]
    return np.stack(
        [
            m[:, 0, 0, None] * y + m[:, 0, 1, None] * x + m[:, 0, 2, None],
            m[:, 1, 0, None] * y + m[:, 1, 1, None] * x + m[:, 1, 2, None],
        ],
        axis=-1,
    )


@dataclass(frozen=True)
class Laid:
    """Strokes where they lie in the frame, and what became of their round pen.

    Attributes
    ----------
    strokes
        Segments in px of the frame, and pen widths.
    pen
        None when the pen is still round; otherwise ndarray of shape (n, 2, 2), the map
        that the round pen of these widths went through.
    """

    strokes: Strokes
    pen: Real | None = None

    @property
    def reach(self) -> Real:
        """How far ink reaches from the middle line, (n, S, 2) or (n, S, 1), px."""
        if self.pen is None:
            return 0.5 * self.strokes.width_px[..., None]
        return pen_reach(self.strokes.width_px, self.pen)

    def drawn(self, frame: tuple[int, int]) -> Pixels:
        """The picture, (n, H, W), uint8."""
        if self.pen is None:
            return draw(self.strokes, frame)
        return draw_leaning(self.strokes, self.pen, frame)

    def shifted(self, chosen: NDArray[np.bool_], by_px: Real) -> Laid:
        """Some of the glyphs, moved down and to the right."""
        strokes = Strokes(self.strokes.segments[chosen] + by_px, self.strokes.width_px[chosen])
        return Laid(strokes, None if self.pen is None else self.pen[chosen])


def lay(strokes: Strokes, forward: Real) -> Laid:
    """Lay strokes elsewhere by a map (2, 3) or (n, 2, 3), with all their ink.

    A map that keeps shapes leaves the pen round and changes its width; a shear makes it
    an ellipse.
    """
    count, pieces = strokes.width_px.shape
    points = _map_points(strokes.segments.reshape(count, pieces * 2, 2), forward)
    segments = points.reshape(count, pieces, 2, 2)
    if _keeps_shapes(forward):
        ratio = np.sqrt(np.abs(affine.determinant(forward))).reshape(-1, 1)
        return Laid(Strokes(segments, strokes.width_px * ratio))
    pen = np.broadcast_to(forward[..., :2], (count, 2, 2))
    return Laid(Strokes(segments, strokes.width_px), pen)


def _keeps_shapes(forward: Real) -> bool:
    """Whether a map turns and resizes and does nothing else."""
    uneven = np.abs(forward[..., 0, 0] - forward[..., 1, 1])
    leaning = np.abs(forward[..., 0, 1] + forward[..., 1, 0])
    return bool((np.maximum(uneven, leaning) < 1e-9).all())


def draw_counting(laid: Laid, frame: tuple[int, int]) -> tuple[Pixels, Real]:
    """Draw, and count what fell outside by drawing those glyphs on a larger sheet."""
    images = laid.drawn(frame)
    low = (laid.strokes.segments.min(axis=2) - laid.reach).min(axis=1)
    high = (laid.strokes.segments.max(axis=2) + laid.reach).max(axis=1)
    out = ((low < -0.5) | (high > np.array(frame) - 0.5)).any(axis=1)
    lost = np.zeros(len(images))
    if out.any():
        sheet = laid.shifted(out, np.array(frame, dtype=float))
        whole = sheet.drawn((3 * frame[0], 3 * frame[1])).sum(axis=(1, 2), dtype=np.int64)
        inside = images[out].sum(axis=(1, 2), dtype=np.int64)
        # A mark that is off the larger sheet altogether has lost everything.
        lost[out] = np.where(whole > 0, 1.0 - inside / np.maximum(whole, 1), 1.0)
    return images, lost
