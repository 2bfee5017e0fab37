"""Path data of SVG as commands and their numbers, which may stand without gaps.

References
----------
Scalable Vector Graphics (SVG) 2, W3C: section 9.3.9, the grammar of path data.
"""

from __future__ import annotations

import itertools
import re
from array import array
from collections.abc import Iterator

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Real
from gen.glyphs.pens.drawing import MOST_UNITS

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


def commands(where: str, data: str) -> Iterator[tuple[str, Real]]:
    """Each run of one command with its numbers, (k, what it takes)."""
    begin = next((m for m in _COMMANDS.finditer(data)), None)
    if begin is None or begin.group(1) not in "Mm" or data[: begin.start()].strip(" \t\r\n\f"):
        raise fault(where, "path data must begin with M or m", data[:20])
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
            raise fault(where, "not a number of path data", f"{letter}{text[:40]}")
        before = len(values)
        values.extend(float(number[0]) for number in _NUMBERS.finditer(text))
        count = len(values) - before
        if (count % takes or not count) if takes else count:
            wanted = f"{takes} numbers, or a multiple of that" if takes else "none"
            raise fault(where, f"wrong count of numbers after {letter}", f"{count} numbers", wanted)
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
            raise fault(
                where, "not an arc", f"{letter}{text[:40]}", "radii, turn, two flags 0 or 1, end"
            )
    found = np.frombuffer(values).reshape(-1, 7)
    _finite(where, found)
    return found


def _finite(where: str, values: Real) -> None:
    for worst in (float(values.min(initial=0.0)), float(values.max(initial=0.0))):
        if not abs(worst) <= MOST_UNITS:
            allowed = f"-{MOST_UNITS:g} to {MOST_UNITS:g}"
            raise fault(where, "a number is out of range", f"{worst:g}", allowed)


def fault(where: str, fact: str, got: str, allowed: str | None = None) -> GlyphError:
    """An error of a path; what was got is quoted unless what is allowed is told."""
    return GlyphError(where, fact, got=repr(got) if allowed is None else got, allowed=allowed)
