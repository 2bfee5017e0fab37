"""Path data of SVG: the whole grammar, to straight lines and cubic pieces.

Runs of one command are worked out together, so that a path of a million points costs
about a second.

References
----------
Scalable Vector Graphics (SVG) 2, W3C, chapter 9: commands in 9.3, the grammar in 9.3.9,
arcs in 9.5.
"""

from __future__ import annotations

import itertools
import math
import re
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Real
from gen.glyphs.pens.curves import cubic_of_arc, cubic_of_quadratic
from gen.glyphs.pens.drawing import MOST_UNITS

MOST_RUNS = 1 << 18
"""Runs of commands of one path, and moves among them."""

_SPACE = r"[ \t\r\n\f]"
_NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_NUMBERS = re.compile(_NUMBER)
_COMMANDS = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_STRANGE = re.compile(r"[^ \t\r\n\fn,]")
_COMMAS = re.compile(rf",{_SPACE}*+,|\A{_SPACE}*+,|,{_SPACE}*+\Z")
_GAP = rf"{_SPACE}*+(?:,{_SPACE}*+)?+"
_ARC = re.compile(
    rf"({_NUMBER}){_GAP}({_NUMBER}){_GAP}({_NUMBER}){_GAP}([01]){_GAP}([01]){_GAP}"
    rf"({_NUMBER}){_GAP}({_NUMBER})"
)
_PLAIN_GAP = re.compile(_GAP)
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}


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
    for letter, arguments in _commands(where, data):
        pen.run(letter, arguments)
    return pen.done


def _commands(where: str, data: str) -> Iterator[tuple[str, Real]]:
    """Each run of one command with its numbers, (k, what it takes)."""
    begin = next((m for m in _COMMANDS.finditer(data)), None)
    if begin is None or begin.group(1) not in "Mm" or data[: begin.start()].strip(" \t\r\n\f"):
        raise _fault(where, "path data must begin with M or m", data[:20])
    matches = ((m.group(1), m.group(2)) for m in _COMMANDS.finditer(data))
    for letter, same in itertools.groupby(matches, key=lambda one: one[0]):
        if letter in "MmZz":
            for _, text in same:
                yield letter, _numbers(where, letter, iter([text]))
        else:
            yield letter, _numbers(where, letter, (text for _, text in same))


def _numbers(where: str, letter: str, texts: Iterator[str]) -> Real:
    if letter in "Aa":
        return _arc_numbers(where, letter, texts)
    takes = _TAKES[letter.upper()]
    values = array("d")  # eight bytes a number, where a list takes sixty
    for text in texts:
        rest = _NUMBERS.sub("n", text)
        strange = _STRANGE.search(rest) or _COMMAS.search(rest)
        if strange is not None:
            raise _fault(where, "not a number of path data", f"{letter}{text[:40]}")
        before = len(values)
        values.extend(float(number[0]) for number in _NUMBERS.finditer(text))
        count = len(values) - before
        if (count % takes or not count) if takes else count:
            wanted = f"{takes} numbers, or a multiple of that" if takes else "none"
            raise _fault(
                where, f"wrong count of numbers after {letter}", f"{count} numbers", wanted
            )
    if not takes:
        return np.empty((0, 0))
    found = np.frombuffer(values).reshape(-1, takes)
    _finite(where, found)
    return found


def _arc_numbers(where: str, letter: str, texts: Iterator[str]) -> Real:
    """Arcs: the two flags need no gap after them."""
    values = array("d")
    for text in texts:
        stripped = text.strip(" \t\r\n\f")
        at, before = 0, len(values)
        while at < len(stripped):
            arc = _ARC.match(stripped, at)
            if arc is None:
                break
            values.extend(map(float, arc.groups()))
            gap = _PLAIN_GAP.match(stripped, arc.end())
            assert gap is not None
            at = gap.end()
        if at < len(stripped) or stripped.endswith(",") or len(values) == before:
            raise _fault(
                where, "not an arc", f"{letter}{text[:40]}", "radii, turn, two flags 0 or 1, end"
            )
    found = np.frombuffer(values).reshape(-1, 7)
    _finite(where, found)
    return found


def _finite(where: str, values: Real) -> None:
    for worst in (float(values.min(initial=0.0)), float(values.max(initial=0.0))):
        if not abs(worst) <= MOST_UNITS:
            allowed = f"-{MOST_UNITS:g} to {MOST_UNITS:g}"
            raise _fault(where, "a number is out of range", f"{worst:g}", allowed)


def _fault(where: str, fact: str, got: str, allowed: str | None = None) -> GlyphError:
    return GlyphError(where, fact, got=repr(got) if allowed is None else got, allowed=allowed)


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
            raise _fault(self.where, "the path has too many commands", f"over {MOST_RUNS:,}")
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
            raise _fault(self.where, "the path runs out of range", f"beyond {MOST_UNITS:g}")
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
            raise _fault(self.where, "the path runs out of range", f"{end}")
        arc = cubic_of_arc(
            self.at, (rx, ry), end, turn_deg=turn, large=large == 1, sweep=sweep == 1
        )
        self._add(arc)
