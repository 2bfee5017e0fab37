"""Curves to straight pieces, to within a stated distance.

Everything curved is cubic pieces first: quadratic ones exactly, arcs of ellipses in
steps of at most a sixteenth turn, which lie within 7e-8 of a radius of the true arc.
Only + - * / and square roots are used, so that the bits are the same on every machine.

References
----------
Cubic piece for an arc: with k = 4/3 tan(angle / 4), SVG 2 (W3C), appendix B.2, for the
centre of an arc; distance of a curve from its chords: an eighth of the greatest second
derivative over the square of the number of steps, C. de Boor, A Practical Guide to
Splines (1978).
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from gen.core.errors import GlyphError
from gen.core.exact import cos_sin_deg
from gen.glyphs.base import Real

MOST_FLAT = 1 << 22
"""Points that the curves of one mark may become: 64 MiB."""

_LEAST_RADIUS = 1e-30
_STEP_COS = 0.92387953251128674  # of a sixteenth turn, 22.5 degrees


def flattened(where: str, curves: Real, within: float, *, most: int = MOST_FLAT) -> Real:
    """Points along cubic pieces, the start of the first left out.

    Parameters
    ----------
    where
        The mark, for errors.
    curves
        ndarray of shape (k, 4, 2), float64: control points, each piece from the last's end.
    within
        How far the chords may be from the curve.
    most
        How many points there may be.

    Returns
    -------
    ndarray of shape (m, 2), float64

    Raises
    ------
    GlyphError
        If that takes more points.

    Examples
    --------
    >>> bend = np.array([[[0.0, 0.0], [0.0, 4.0], [4.0, 8.0], [8.0, 8.0]]])
    >>> len(flattened("tag", bend, 0.1)), flattened("tag", bend, 0.1)[-1].tolist()
    (6, [8.0, 8.0])
    """
    bend = curves[:, :-2] - 2.0 * curves[:, 1:-1] + curves[:, 2:]
    bend2 = (bend[..., 0] * bend[..., 0] + bend[..., 1] * bend[..., 1]).max(axis=1)
    steps = np.ceil(np.sqrt(np.sqrt(bend2) * (0.75 / within)))
    steps = np.maximum(steps, 1.0)
    if not steps.sum() <= most:
        raise GlyphError(
            where, "its curves are too many to be drawn", allowed=f"{MOST_FLAT:,} straight pieces"
        )
    count = steps.astype(np.intp)
    which = np.repeat(np.arange(len(curves)), count)
    step = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count) + 1
    t = (step / steps[which])[:, None]
    s = 1.0 - t
    p0, p1, p2, p3 = (curves[which, k] for k in range(4))
    points = ((s * s * s) * p0 + (3.0 * s * s * t) * p1) + (
        (3.0 * s * t * t) * p2 + (t * t * t) * p3
    )
    last = np.cumsum(count) - 1
    points[last] = curves[:, 3]  # to the bit, so that strokes stay joined
    return np.asarray(points, dtype=np.float64)


def cubic_of_quadratic(start: Real, control: Real, end: Real) -> Real:
    """The same curve as cubic pieces, (k, 4, 2); each argument is of shape (k, 2)."""
    return np.stack(
        [start, start + (control - start) * (2 / 3), end + (control - end) * (2 / 3), end], axis=1
    )


def cubic_of_arc(
    start: tuple[float, float],
    radii: tuple[float, float],
    end: tuple[float, float],
    *,
    turn_deg: float = 0.0,
    large: bool = False,
    sweep: bool = True,
) -> Real:
    """An arc of an ellipse between two points, as SVG states it, in cubic pieces.

    Points are (x, y) here, as in the standard. Radii that are too small are enlarged
    until they reach; a radius of zero makes a straight piece (SVG 2, section 9.5.1).

    Returns
    -------
    ndarray of shape (k, 4, 2), float64; k is 0 where both ends are one point.

    Examples
    --------
    >>> half = cubic_of_arc((-1.0, 0.0), (1.0, 1.0), (1.0, 0.0))
    >>> len(half), [round(v, 6) + 0.0 for v in half[3, 3].tolist()]
    (8, [0.0, -1.0])
    """
    if start == end:
        return np.empty((0, 4, 2))
    (x1, y1), (x2, y2) = start, end
    rx, ry = abs(radii[0]), abs(radii[1])
    if rx == 0 or ry == 0:
        return np.array([[start, start, end, end]])
    rx, ry = max(rx, _LEAST_RADIUS), max(ry, _LEAST_RADIUS)  # enlarged below in any case
    cos, sin = cos_sin_deg(turn_deg)
    # SVG 2, B.2.4: half the chord in the ellipse's own axes, here in units of the radii.
    u = (cos * (x1 - x2) / 2 + sin * (y1 - y2) / 2) / rx
    v = (cos * (y1 - y2) / 2 - sin * (x1 - x2) / 2) / ry
    reach = u * u + v * v
    if reach > 1:
        far = math.sqrt(reach)
        rx, ry, u, v = rx * far, ry * far, u / far, v / far
        reach = 1.0
    aside = math.sqrt(max(1.0 - reach, 0.0) / reach)
    if large == sweep:
        aside = -aside
    centre = (aside * v, -aside * u)
    first = _unit(u - centre[0], v - centre[1])
    last = _unit(-u - centre[0], -v - centre[1])
    circle = _unit_arc(first, last, 1.0 if sweep else -1.0)
    # Back from the unit circle; its centre lies at the middle of the chord and `centre`.
    x, y = (circle[..., 0] + centre[0]) * rx, (circle[..., 1] + centre[1]) * ry
    arc = np.stack([cos * x - sin * y + (x1 + x2) / 2, sin * x + cos * y + (y1 + y2) / 2], axis=-1)
    arc[0, 0], arc[-1, 3] = start, end
    return arc


def _unit(x: float, y: float) -> tuple[float, float]:
    length = math.sqrt(x * x + y * y)
    return x / length, y / length


def _unit_arc(first: tuple[float, float], last: tuple[float, float], way: float) -> Real:
    """Cubic pieces along the unit circle from one direction to another, (k, 4, 2)."""
    ring = [first, last]
    while _cos(ring[0], ring[1], way) < _STEP_COS:
        middles = [_half_way(a, b, way) for a, b in pairwise(ring)]
        ring = [*(one for pair in zip(ring, middles, strict=False) for one in pair), ring[-1]]
    pieces = []
    for a, b in pairwise(ring):
        # tan(angle / 4) from half angles, by square roots alone.
        cos = min(_cos(a, b, way), 1.0)
        k = way * 4 / 3 * math.sqrt((1.0 - cos) / 2) / (1.0 + math.sqrt((1.0 + cos) / 2))
        pieces.append(
            [a, (a[0] - k * a[1], a[1] + k * a[0]), (b[0] + k * b[1], b[1] - k * b[0]), b]
        )
    return np.array(pieces)


def _sin(a: tuple[float, float], b: tuple[float, float], way: float) -> float:
    """Sine of the turn from one direction to another; below 0 beyond a half turn."""
    return way * (a[0] * b[1] - a[1] * b[0])


def _cos(a: tuple[float, float], b: tuple[float, float], way: float) -> float:
    """Cosine of that turn; -1 stands for all beyond a half turn."""
    return -1.0 if _sin(a, b, way) < 0 else a[0] * b[0] + a[1] * b[1]


def _half_way(a: tuple[float, float], b: tuple[float, float], way: float) -> tuple[float, float]:
    """The direction half way from one to the other, going round as asked."""
    if a[0] * b[0] + a[1] * b[1] < 0:
        # Near a half turn the sum is short; the difference, turned a quarter, is not.
        return _unit(way * (b[1] - a[1]), way * (a[0] - b[0]))
    side = -1.0 if _sin(a, b, way) < 0 else 1.0
    return _unit(side * (a[0] + b[0]), side * (a[1] + b[1]))
