"""Path data of SVG: the whole grammar, to straight lines and cubic pieces.

Runs of one command are worked out together, so that a path of a million points costs
about a second.

References
----------
Scalable Vector Graphics (SVG) 2, W3C, chapter 9: commands in 9.3, the grammar in 9.3.9,
arcs in 9.5.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from gen.glyphs.base import Real
from gen.glyphs.pens.curves import cubic_of_arc, cubic_of_quadratic
from gen.glyphs.pens.drawing import MOST_UNITS
from gen.glyphs.pens.path_numbers import commands, fault

MOST_RUNS = 1 << 18
"""Runs of commands of one path, and moves among them."""


@dataclass(frozen=True)
class Run:
    """A part of a stroke: straight pieces, or cubic ones.

    Attributes
    ----------
    points
        ndarray of shape (m, 2) for straight pieces from the point before, or
        (k, 4, 2) for cubic ones; (x, y), as in the file.
    """

    points: Real

    @property
    def curved(self) -> bool:
        """Whether these are cubic pieces."""
        return self.points.ndim == 3


@dataclass
class SubPath:
    """One stroke of a path: where it starts, and its runs in order."""

    start: tuple[float, float]
    runs: list[Run] = field(default_factory=list)


def parse_path(where: str, data: str) -> list[SubPath]:
    """The strokes of a path.

    Parameters
    ----------
    where
        The element, for errors.
    data
        The value of a `d` attribute.

    Raises
    ------
    GlyphError
        If it isn't path data; the standard draws up to the fault, which would change
        a mark silently, so nothing is drawn here.

    Examples
    --------
    >>> (hook,) = parse_path("tag", "M2,1v6.5.5-1q1 1 2 0z")
    >>> hook.start, [run.points.shape for run in hook.runs]
    ((2.0, 1.0), [(3, 2), (1, 4, 2), (1, 2)])
    """
    if data.strip(" \t\r\n\f") in ("", "none"):
        return []
    pen = _Pen(where)
    for letter, arguments in commands(where, data):
        pen.run(letter, arguments)
    return pen.done


class _Pen:
    """Where the pen is, and what it has drawn."""

    def __init__(self, where: str) -> None:
        self.where = where
        self.done: list[SubPath] = []
        self.at = (0.0, 0.0)
        self._runs = 0
        self._lifted = True  # the next command starts a stroke where the pen is
        self._handle: tuple[str, tuple[float, float]] | None = None

    def run(self, letter: str, numbers: Real) -> None:
        """Draw a run of one command."""
        self._runs += 1 if letter not in "SsTtAa" else len(numbers)
        if self._runs > MOST_RUNS:
            raise fault(self.where, "the path has too many commands", f"over {MOST_RUNS:,}")
        kind = letter.upper()
        if kind == "M":
            self._move(letter, numbers)
        elif kind == "Z":
            self._close()
        elif kind in "LHV":
            self._lines(letter, numbers)
        elif kind in "CQ":
            self._curves(letter, numbers)
        elif kind in "ST":
            for row in numbers:
                self._smooth(letter, row)
        else:
            for row in numbers:
                self._arc(letter, row)

    def _move(self, letter: str, numbers: Real) -> None:
        x, y = float(numbers[0, 0]), float(numbers[0, 1])
        self.at = (self.at[0] + x, self.at[1] + y) if letter == "m" else (x, y)
        self.done.append(SubPath(self.at))
        self._lifted, self._handle = False, None
        if len(numbers) > 1:
            self._lines("l" if letter == "m" else "L", numbers[1:])

    def _add(self, points: Real) -> None:
        if self._lifted:
            self.done.append(SubPath(self.at))
            self._lifted = False
        if not (points.max(initial=0.0) <= MOST_UNITS and points.min(initial=0.0) >= -MOST_UNITS):
            raise fault(self.where, "the path runs out of range", f"beyond {MOST_UNITS:g}")
        if len(points):
            self.done[-1].runs.append(Run(points))
            end = points.reshape(-1, 2)[-1]
            self.at = (float(end[0]), float(end[1]))
        self._handle = None

    def _close(self) -> None:
        if self._lifted:
            return  # closed already
        self._add(np.array([self.done[-1].start]))
        self._lifted = True

    def _lines(self, letter: str, numbers: Real) -> None:
        kind = letter.upper()
        steps = numbers
        if kind != "L":
            along = 0 if kind == "H" else 1
            other = 0.0 if letter.islower() else self.at[1 - along]
            steps = np.full((len(numbers), 2), other)
            steps[:, along] = numbers[:, 0]
        if letter.islower():
            steps = np.cumsum(np.concatenate([[self.at], steps]), axis=0)[1:]
        self._add(steps)

    def _curves(self, letter: str, numbers: Real) -> None:
        controls = numbers.reshape(len(numbers), -1, 2)
        starts = np.concatenate([[self.at], controls[:, -1]])
        if letter.islower():
            starts = np.cumsum(starts, axis=0)
            controls = controls + starts[:-1, None]
            controls[:, -1] = starts[1:]  # summed once, so that pieces meet to the bit
        start, last = starts[:-1], controls[:, -1]
        if letter.upper() == "C":
            self._add(np.stack([start, controls[:, 0], controls[:, 1], last], axis=1))
        else:
            self._add(cubic_of_quadratic(start, controls[:, 0], last))
        self._remember(letter.upper(), controls[-1, -2])

    def _smooth(self, letter: str, row: Real) -> None:
        kind = "C" if letter.upper() == "S" else "Q"
        base = self.at if letter.islower() else (0.0, 0.0)
        given = row.reshape(-1, 2) + np.array(base)
        handle = np.array(self.at)
        if self._handle is not None and self._handle[0] == kind:
            handle = 2.0 * handle - np.array(self._handle[1])
        start, end = np.array(self.at), given[-1]
        if kind == "C":
            self._add(np.stack([start, handle, given[0], end])[None])
            self._remember(kind, given[0])
        else:
            self._add(cubic_of_quadratic(start[None], handle[None], end[None]))
            self._remember(kind, handle)

    def _remember(self, kind: str, handle: Real) -> None:
        self._handle = (kind, (float(handle[0]), float(handle[1])))

    def _arc(self, letter: str, row: Real) -> None:
        rx, ry, turn, large, sweep, x, y = (float(value) for value in row)
        end = (self.at[0] + x, self.at[1] + y) if letter == "a" else (x, y)
        if not all(math.isfinite(value) for value in end):
            raise fault(self.where, "the path runs out of range", f"{end}")
        arc = cubic_of_arc(
            self.at, (rx, ry), end, turn_deg=turn, large=large == 1, sweep=sweep == 1
        )
        self._add(arc)
