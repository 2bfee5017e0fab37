"""From written paths to tables that a whole batch of glyphs can be drawn from.

A path becomes *keys* (the points it names), cut into *sections* at pen lifts and
corners. Each section is a cubic spline through or near its keys, sampled at
places equally far apart along it. A sample is four keys and four weights, so
drawing is a handful of multiplications, the same for every shape.

Two splines share the samples: Catmull-Rom, which goes through each key, and the
uniform cubic B-spline, which cuts the corners as a quick pen does. A hand mixes
the two: `drawn = through + ease * (near - through)`.

References
----------
E. Catmull and R. Rom, "A class of local interpolating splines", in Computer Aided
Geometric Design (1974); C. de Boor, A Practical Guide to Splines (1978).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.strokes.digits import DIGITS
from gen.glyphs.strokes.letters import LETTERS

Real = NDArray[np.float64]
Whole = NDArray[np.intp]

PATHS: dict[str, dict[str, str]] = {**DIGITS, **LETTERS}
CLASSES = tuple(PATHS)
KEYS = 20
"""Places for the points of a path."""
POINTS = 56
"""Samples along a glyph; two neighbours are the ends of a piece."""
PIECES = POINTS - 1
STROKES = 4
"""Most strokes of a glyph."""

_FINE = 24  # steps per span when its length is measured


@dataclass(frozen=True)
class Path:
    """A path as read: its keys, where the pen lifts and where it turns a corner.

    Attributes
    ----------
    keys
        ndarray of shape (k, 2), float64: (y, x), writing height = 1.
    stroke
        ndarray of shape (k,), intp: which stroke each key is on.
    sections
        First and last key of each smooth run, in order.
    """

    keys: Real
    stroke: Whole
    sections: tuple[tuple[int, int], ...]


def read_path(text: str) -> Path:
    """Read a path.

    Parameters
    ----------
    text
        Points ``x,y`` in hundredths of the height; ``/`` between strokes; ``!``
        after a point that is a corner.

    Examples
    --------
    >>> read_path("0,0 10,50! 60,50 / 40,0 40,100").sections
    ((0, 1), (1, 2), (3, 4))
    """
    keys: list[tuple[float, float]] = []
    stroke: list[int] = []
    sections: list[tuple[int, int]] = []
    for number, run in enumerate(text.split("/")):
        start = len(keys)
        for point in run.split():
            x, y = point.rstrip("!").split(",")
            keys.append((int(y) / 100, int(x) / 100))
            stroke.append(number)
            if point.endswith("!"):
                sections.append((start, len(keys) - 1))
                start = len(keys) - 1
        sections.append((start, len(keys) - 1))
    if len(keys) > KEYS or number >= STROKES or any(last <= first for first, last in sections):
        raise ValueError(f"a path has at most {KEYS} points and {STROKES} strokes: {text}")
    return Path(np.array(keys), np.array(stroke, dtype=np.intp), tuple(sections))


def through_weights(t: Real) -> Real:
    """Catmull-Rom weights of four keys at t in 0..1, ndarray of shape (len(t), 4)."""
    s = t * t
    c = s * t
    return np.stack(
        [-0.5 * t + s - 0.5 * c, 1 - 2.5 * s + 1.5 * c, 0.5 * t + 2 * s - 1.5 * c, 0.5 * (c - s)],
        axis=-1,
    )


def near_weights(t: Real) -> Real:
    """Uniform cubic B-spline weights of four keys at t in 0..1, ndarray (len(t), 4)."""
    s = t * t
    c = s * t
    return np.stack(
        [
            (1 - 3 * t + 3 * s - c) / 6,
            (4 - 6 * s + 3 * c) / 6,
            (1 + 3 * t + 3 * s - 3 * c) / 6,
            c / 6,
        ],
        axis=-1,
    )


@dataclass(frozen=True)
class Shapes:
    """Every way of writing every class, T in all, as tables.

    Attributes
    ----------
    keys
        (T, KEYS, 2), float64, (y, x); unused places repeat the last key.
    beyond
        (T, KEYS), intp: for the first key of a stroke the one after it, for the
        last the one before; itself for all others. Closing gaps and overshooting
        move a key along this line.
    is_last
        (T, KEYS), float64: 1 for the last key of a stroke.
    stroke
        (T, KEYS), intp.
    four
        (T, 4, POINTS), intp: the keys of each sample.
    through, ease
        (T, 4, POINTS), float64: Catmull-Rom weights, and what to add for a B-spline.
    lifted
        (T, PIECES), bool: the piece would join two strokes, so it isn't drawn.
    along
        (T, PIECES), float64: how far along its stroke a piece is, 0 to 1.
    of_class
        Shape numbers of each class, in the order of its ways.
    """

    keys: Real
    beyond: Whole
    is_last: Real
    stroke: Whole
    four: Whole
    through: Real
    ease: Real
    lifted: NDArray[np.bool_]
    along: Real
    of_class: dict[str, dict[str, int]]


@lru_cache(maxsize=1)
def shapes() -> Shapes:
    """The tables, made once."""
    of_class: dict[str, dict[str, int]] = {}
    paths: list[Path] = []
    for label, ways in PATHS.items():
        of_class[label] = {}
        for way, text in ways.items():
            of_class[label][way] = len(paths)
            paths.append(read_path(text))
    rows = [_table(path) for path in paths]
    columns = {name: np.stack([row[name] for row in rows]) for name in rows[0]}
    return Shapes(**columns, of_class=of_class)


def _table(path: Path) -> dict[str, NDArray[Any]]:
    """One row of each array of Shapes, by name."""
    count = len(path.keys)
    place = np.minimum(np.arange(KEYS), count - 1)
    beyond = np.arange(KEYS)
    is_last = np.zeros(KEYS)
    for number in range(int(path.stroke[-1]) + 1):
        first, *_, last = np.flatnonzero(path.stroke == number)
        beyond[first], beyond[last] = first + 1, last - 1
        is_last[last] = 1.0
    four, t, stroke_of_sample, distance = _samples(path)
    through, near = through_weights(t), near_weights(t)
    lifted = stroke_of_sample[1:] != stroke_of_sample[:-1]
    along = np.empty(PIECES)
    for number in range(int(path.stroke[-1]) + 1):
        mine = np.flatnonzero(stroke_of_sample == number)
        begin, end = distance[mine[0]], distance[mine[-1]]
        pieces = mine[mine < PIECES]
        along[pieces] = np.minimum((distance[pieces] - begin) / (end - begin), 1.0)
    return {
        "keys": path.keys[place],
        "beyond": beyond,
        "is_last": is_last,
        "stroke": path.stroke[place],
        "four": four.T.copy(),
        "through": through.T.copy(),
        "ease": (near - through).T.copy(),
        "lifted": lifted,
        "along": along,
    }


def _samples(path: Path) -> tuple[Whole, Real, Whole, Real]:
    """Keys, parameter, stroke and distance along the pen of each of POINTS samples."""
    measured = [_measure(path.keys, first, last) for first, last in path.sections]
    lengths = [float(length[-1]) for _, _, length in measured]
    pieces = _share(POINTS - len(lengths), lengths)
    four, t, stroke, distance = [], [], [], []
    before = 0.0
    for (keys_of, fine_t, length), (first, _), n in zip(
        measured, path.sections, pieces, strict=True
    ):
        wanted = np.arange(n + 1) / n * length[-1]
        at = np.minimum(np.searchsorted(length, wanted), len(length) - 1)
        four.append(keys_of[at])
        t.append(fine_t[at])
        stroke.append(np.full(n + 1, path.stroke[first]))
        distance.append(before + length[at])
        before += float(length[-1])
    return np.concatenate(four), np.concatenate(t), np.concatenate(stroke), np.concatenate(distance)


def _measure(keys: Real, first: int, last: int) -> tuple[Whole, Real, Real]:
    """Keys, parameter and running length at fine steps along one section."""
    spans = last - first
    step = np.arange(spans * _FINE + 1)
    span = np.minimum(step // _FINE, spans - 1)
    t = (step - span * _FINE) / _FINE
    four = np.clip(first + span[:, None] + np.arange(-1, 3)[None, :], first, last)
    weight = through_weights(t)
    point = sum(weight[:, k, None] * keys[four[:, k]] for k in range(4))
    move = np.diff(point, axis=0)
    chord = np.sqrt(move[:, 0] * move[:, 0] + move[:, 1] * move[:, 1])
    return four, t, np.concatenate([[0.0], np.cumsum(chord)])


def _share(total: int, lengths: list[float]) -> list[int]:
    """Share pieces among sections by length, at least two each, by largest need."""
    given = [2] * len(lengths)
    while sum(given) < total:
        neediest = max(range(len(lengths)), key=lambda k: lengths[k] / given[k])
        given[neediest] += 1
    return given
