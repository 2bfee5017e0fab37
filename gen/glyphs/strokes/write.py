"""Writing glyphs: a whole batch at once, from addresses to strokes in a frame.

Everything is element-wise + - * / on float64 (and comparisons, least and
greatest), in a fixed order, so the same glyph has the same bits on every machine.

The steps, for a glyph of a writer:

1. a way of writing the class is chosen: the writer's habit, or now and then another;
2. its points are moved: by the writer's own offset, by the stray of this glyph, each
   stroke as a whole, and the ends along their stroke (gaps and overshoots);
3. the character is bent on a large scale by a small polynomial, leaned by a shear and
   turned by a rational rotation;
4. a spline is run through the points, eased as the hand is, with a little tremor;
5. it is sized and laid in the frame with natural scatter, and kept wholly inside.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from gen.core.draws import normals, to_normal, to_uniform, words
from gen.glyphs.strokes.people import BENDS, Crowd, choices, ranks
from gen.glyphs.strokes.shape import KEYS, POINTS, STROKES, shapes

Real = NDArray[np.float64]
Whole = NDArray[np.intp]

USUAL_HEIGHT = 20 / 28
"""Writing height over the shorter side of the frame, before writers differ."""
EDGE_PX = 0.25
"""Bare paper kept between ink and the edge of the frame, px."""

AT_ONCE = 256  # glyphs in a block: its scratch arrays then stay in cache

_WANDER = 0.12  # how often a writer leaves the habit
_TRACKS = 1024  # unsteady tracks to choose from
_TRACK_KNOTS = (5, 17)  # slow drift, fine tremor
# Spreads from glyph to glyph of one writer.
_DRIFT = 0.012
_STROKE_SHIFT = (0.018, 0.022)  # y, x: where a stroke is set down, writing height = 1
_SHEAR, _TURN, _BREADTH, _SIZE, _PEN, _EASE = 0.06, 0.02, 0.06, 0.045, 0.06, 0.12
_REACH, _TAPER, _TREND = 0.05, 0.03, 0.04
_GLYPH_BENDS = 0.6  # over the size of the hand's bending
_LAID = 0.030  # scatter of the middle of the mark over the side of the frame

# Where each draw of a glyph is found among its words.
_SCALARS = 2 + 12 + BENDS + 2 * STROKES
DRAWS = _SCALARS + 2 * KEYS


@lru_cache(maxsize=1)
def _tracks() -> tuple[Real, Real]:
    """Slow and fine unsteady tracks, each (_TRACKS, POINTS, 2): the same for all seeds."""
    out = []
    for name, knots in zip(("slow", "fine"), _TRACK_KNOTS, strict=True):
        drawn = normals(0, f"strokes: {name} track", np.arange(_TRACKS), count=2 * knots)
        level = drawn.reshape(_TRACKS, knots, 2)
        at = np.arange(POINTS) / (POINTS - 1) * (knots - 1)
        left = np.minimum(np.floor(at).astype(np.intp), knots - 2)
        t = at - left
        blend = (t * t * (3 - 2 * t))[None, :, None]
        out.append(level[:, left] + blend * (level[:, left + 1] - level[:, left]))
    return out[0], out[1]


def write_block(
    numbers: Whole,
    labels: Whole,
    writers: Whole,
    *,
    seed: int,
    classes: tuple[str, ...],
    people: Crowd,
    frame: tuple[int, int],
) -> tuple[Real, Real]:
    """Strokes of some glyphs.

    Parameters
    ----------
    numbers, labels, writers
        ndarray of shape (n,): the address of each glyph, its class and its writer.

    Returns
    -------
    segments, ndarray of shape (n, PIECES, 2, 2), float64, (y, x) px; and the pen's
    width along each, ndarray of shape (n, PIECES), px.
    """
    table = shapes()
    drawn = words(seed, "strokes: glyph", numbers, count=DRAWS)
    normal = to_normal(drawn[:, 2:])
    shape = _choose_way(drawn[:, :2], labels, writers, classes, people)
    z, bends, shifts, strays = np.split(normal, np.cumsum([12, BENDS, 2 * STROKES]), axis=1)

    def of(name: str) -> Real:
        value: Real = getattr(people, name)[writers]
        return value

    # 2. points of the path, as (n, KEYS): y down and x right, writing height = 1
    home, own = table.keys[shape], people.offset[writers, labels]
    stray = of("stray")[:, None]
    y = home[:, :, 0] + own[:, :, 0] + stray * strays[:, :KEYS]
    x = home[:, :, 1] + own[:, :, 1] + stray * strays[:, KEYS:]
    row = np.arange(len(numbers))[:, None]
    stroke = table.stroke[shape]
    y += _STROKE_SHIFT[0] * shifts[row, stroke]
    x += _STROKE_SHIFT[1] * shifts[row, STROKES + stroke]
    last = table.is_last[shape]
    reach = of("reach")[:, None] + _REACH * (z[:, 0:1] + last * (z[:, 1:2] - z[:, 0:1]))
    beyond = table.beyond[shape]
    y, x = y + reach * (y - y[row, beyond]), x + reach * (x - x[row, beyond])

    # 3. the character as a whole
    terms = people.bends[writers, labels] + _GLYPH_BENDS * of("bend")[:, None] * bends
    y, x = _bend(y - 0.5, x - 0.33, terms)
    x *= (of("breadth") * people.spread[writers, labels] * (1 + _BREADTH * z[:, 2]))[:, None]
    x -= (of("shear") + people.lean[writers, labels] + _SHEAR * z[:, 3])[:, None] * y
    y, x = _turn(y, x, (_TURN * z[:, 4])[:, None])

    # 4. the spline
    ease = np.clip(of("ease") + _EASE * z[:, 5], 0.1, 1.0)
    y, x = _run(shape, y, x, ease)
    slow, fine = _tracks()
    pick = (drawn[:, 0] % np.uint64(_TRACKS)).astype(np.intp)
    pick_fine = (drawn[:, 1] % np.uint64(_TRACKS)).astype(np.intp)
    unsteady = _DRIFT * slow[pick] + of("tremor")[:, None, None] * fine[pick_fine]
    y += unsteady[:, :, 0]
    x += unsteady[:, :, 1]

    # 5. the frame
    height = USUAL_HEIGHT * min(frame) * of("size") * (1 + _SIZE * z[:, 6])
    profile = table.along[shape]
    rise = 4 * profile * (1 - profile) - 2 / 3
    pressed = (of("taper") + _TAPER * z[:, 7])[:, None] * rise
    pressed += (_TREND * z[:, 8])[:, None] * (1 - 2 * profile)
    pen = USUAL_HEIGHT * min(frame) * of("pen") * (1 + _PEN * z[:, 9])
    width = pen[:, None] * (1 + pressed)
    y, x = _lay(y, x, height, width.max(axis=1), scatter=z[:, 10:12], frame=frame)
    return _pieces(y, x, table.lifted[shape]), width


def _choose_way(
    drawn: NDArray[np.uint64],
    labels: Whole,
    writers: Whole,
    classes: tuple[str, ...],
    people: Crowd,
) -> Whole:
    """Shape number of each glyph: the writer's habit, or now and then another way."""
    shape, share = choices(classes)
    uniform = to_uniform(drawn)
    hand = people.hand[writers]
    other = ranks(share[hand, labels], uniform[:, 1])
    rank = np.where(uniform[:, 0] < _WANDER, other, people.habit[writers, labels])
    return shape[hand, labels, rank]


def _bend(v: Real, u: Real, terms: Real) -> tuple[Real, Real]:
    """Bend a character by a polynomial; v down and u right of its middle.

    Terms: bowed sideways, swayed like an S, narrower on top, rising to the right,
    arched, squeezed at the top, sagging to one side.
    """
    bow, sway, funnel, rise, arch, squeeze, sag = (terms[:, k : k + 1] for k in range(BENDS))
    vv = v * v
    dx = bow * (vv - 0.1) + sway * (v * (vv - 0.15)) * 1.5 + funnel * (u * v) * 1.2
    dy = rise * u * 0.6 + arch * (u * u - 0.04) + squeeze * (vv - 0.15) * 0.7 + sag * (u * v)
    return v + dy, u + dx


def _turn(y: Real, x: Real, half: Real) -> tuple[Real, Real]:
    """Turn by twice the angle whose tangent is `half`, anticlockwise as seen on screen."""
    square = half * half
    cosine, sine = (1 - square) / (1 + square), 2 * half / (1 + square)
    return cosine * y - sine * x, sine * y + cosine * x


def _run(shape: Whole, y: Real, x: Real, ease: Real) -> tuple[Real, Real]:
    """Run the splines: from keys (n, KEYS) to samples (n, POINTS)."""
    table = shapes()
    weight = table.ease[shape]
    weight *= ease[:, None, None]
    weight += table.through[shape]
    four = table.four[shape]
    four += (np.arange(len(shape)) * KEYS)[:, None, None]
    out = []
    for keys in (y, x):
        term = np.take(np.ascontiguousarray(keys).reshape(-1), four)
        term *= weight
        out.append(((term[:, 0] + term[:, 1]) + term[:, 2]) + term[:, 3])
    return out[0], out[1]


def _lay(
    y: Real, x: Real, height: Real, pen: Real, *, scatter: Real, frame: tuple[int, int]
) -> tuple[Real, Real]:
    """Size a character and lay it near the middle of the frame, wholly inside it."""
    top, left = y.min(axis=1), x.min(axis=1)
    tall, wide = y.max(axis=1) - top, x.max(axis=1) - left
    room_y, room_x = (side - 2 * EDGE_PX - pen for side in frame)
    scale = np.minimum(height, np.minimum(room_y / tall, room_x / wide))
    out = []
    for values, least, extent, room, shift, side in (
        (y, top, tall, room_y, scatter[:, 0], frame[0]),
        (x, left, wide, room_x, scatter[:, 1], frame[1]),
    ):
        slack = np.maximum(0.5 * (room - scale * extent), 0.0)
        middle = np.minimum(np.maximum(_LAID * min(frame) * shift, -slack), slack)
        offset = 0.5 * (side - 1) + middle - scale * (least + 0.5 * extent)
        out.append(values * scale[:, None] + offset[:, None])
    return out[0], out[1]


def _pieces(y: Real, x: Real, lifted: NDArray[np.bool_]) -> Real:
    """Ends of the pieces between neighbouring samples; where the pen is up, the piece before."""
    out = np.empty((len(y), y.shape[1] - 1, 2, 2))
    out[:, :, 0, 0], out[:, :, 1, 0] = y[:, :-1], y[:, 1:]
    out[:, :, 0, 1], out[:, :, 1, 1] = x[:, :-1], x[:, 1:]
    glyph, piece = np.nonzero(lifted)
    out[glyph, piece] = out[glyph, piece - 1]
    return out
