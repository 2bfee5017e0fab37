"""Pen and paper: several poses as one map, and strokes laid by it before they are drawn."""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Pixels, Real, Strokes
from gen.perturb.base import Marks, PoseChange, WidthChange
from gen.render import affine
from gen.render.coverage import draw


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


def moved_strokes(strokes: Strokes, forward: Real) -> Strokes:
    """Strokes laid elsewhere by a map that keeps shapes: their pen changes by the same ratio."""
    count, pieces = strokes.width_px.shape
    points = _map_points(strokes.segments.reshape(count, pieces * 2, 2), forward)
    det = forward[..., 0, 0] * forward[..., 1, 1] - forward[..., 0, 1] * forward[..., 1, 0]
    ratio = np.sqrt(np.abs(det)).reshape(-1, 1)
    return Strokes(points.reshape(count, pieces, 2, 2), strokes.width_px * ratio)


def with_pen(strokes: Strokes, change: WidthChange) -> Strokes:
    """The same strokes with another pen; a pen can't be narrower than nothing."""
    if change.ratio is not None:
        return Strokes(strokes.segments, strokes.width_px * change.ratio)
    return Strokes(strokes.segments, np.maximum(strokes.width_px + change.added_px, 0.0))


def draw_counting(strokes: Strokes, frame: tuple[int, int]) -> tuple[Pixels, Real]:
    """Draw, and count what fell outside by drawing those glyphs on a larger sheet."""
    images = draw(strokes, frame)
    half = (0.5 * strokes.width_px)[..., None]
    low = (strokes.segments.min(axis=2) - half).min(axis=1)
    high = (strokes.segments.max(axis=2) + half).max(axis=1)
    out = ((low < -0.5) | (high > np.array(frame) - 0.5)).any(axis=1)
    lost = np.zeros(len(images))
    if out.any():
        margin = np.array(frame)
        sheet = Strokes(strokes.segments[out] + margin, strokes.width_px[out])
        whole = draw(sheet, (3 * frame[0], 3 * frame[1])).sum(axis=(1, 2), dtype=np.int64)
        inside = images[out].sum(axis=(1, 2), dtype=np.int64)
        # A mark that is off the larger sheet altogether has lost everything.
        lost[out] = np.where(whole > 0, 1.0 - inside / np.maximum(whole, 1), 1.0)
    return images, lost
