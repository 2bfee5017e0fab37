"""Trace data of InkML: numbers with their prefixes, to places of the pen.

References
----------
Ink Markup Language (InkML), W3C Recommendation 20 September 2011: sections 3.1, trace
formats and channels, and 3.2.1, the grammar of trace data.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Real
from gen.glyphs.pens.drawing import MOST_UNITS

MM = {"m": 1000.0, "cm": 10.0, "mm": 1.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6}
"""Millimetres to the units of length that the recommendation names."""

_PLAIN = re.compile(r"[0-9.eE+\-, \t\r\n]*+")
_TOKEN = re.compile(
    r"""(?P<order>[!'"])?\s*+(?P<sign>[+-]?)\s*+
        (?:\#(?P<hex>[0-9A-Fa-f]+)|(?P<number>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?))
        |(?P<word>[TF*?])|(?P<comma>,)|(?P<strange>\S)""",
    re.VERBOSE,
)
_PART = 1 << 20
_ORDERS = {"!": 0, "'": 1, '"': 2}

_Token = tuple[int | None, float | str]


@dataclass(frozen=True)
class Channel:
    """One of the values that a pen reports.

    Attributes
    ----------
    name
        "X", "Y" or another.
    units
        As the file states them; empty where it doesn't.
    negative
        Whether its axis runs against that of the page.
    step_mm
        What one more of it is in mm, by the resolution of the device; None where that
        isn't stated, or where the values are lengths themselves.
    """

    name: str
    units: str = ""
    negative: bool = False
    step_mm: float | None = None


@dataclass(frozen=True)
class Format:
    """What each point of a trace holds, in order.

    Attributes
    ----------
    regular
        Channels that every point has.
    intermittent
        Channels that may follow them.
    """

    regular: tuple[Channel, ...] = (Channel("X"), Channel("Y"))
    intermittent: tuple[Channel, ...] = ()

    def place(self, name: str) -> int:
        """Where a regular channel stands, -1 for nowhere."""
        return next((k for k, one in enumerate(self.regular) if one.name == name), -1)


def decode_trace(where: str, text: str, form: Format) -> Real:
    """Places of the pen along a trace.

    A prefix holds for its channel until the next: ``!`` for a value as it is, ``'`` for
    a difference to the last point, ``"`` for a change of that difference. ``*`` repeats
    what was given last; a point whose place is ``?`` is left out.

    Parameters
    ----------
    where
        The trace, for errors.
    text
        Its data.
    form
        Which channels there are. Those other than X and Y are passed over.

    Returns
    -------
    ndarray of shape (m, 2), float64, (x, y) in units of the channels

    Raises
    ------
    GlyphError
        If it isn't trace data of this format, with the number of the point.

    Examples
    --------
    >>> decode_trace("tag", "10 0, 9 14, '-1'7, -2 *", Format()).tolist()
    [[10.0, 0.0], [9.0, 14.0], [8.0, 21.0], [6.0, 28.0]]
    """
    at = (form.place("X"), form.place("Y"))
    if min(at) < 0:
        got = ", ".join(one.name for one in form.regular) or "no channel"
        raise GlyphError(where, "the trace format has no X and Y in every point", got=got)
    points = None
    if not form.intermittent and _PLAIN.fullmatch(text):
        parts = [_plain(part, len(form.regular), at) for part in _parts(text)]
        whole = [part for part in parts if part is not None]
        if len(whole) == len(parts) > 0:
            points = np.concatenate(whole)
    if points is None:
        points = _with_prefixes(where, text, form, at)
    if len(points) and not np.abs(points).max() <= MOST_UNITS:
        allowed = f"-{MOST_UNITS:g} to {MOST_UNITS:g}"
        raise GlyphError(where, "a place of the pen is out of range", allowed=allowed)
    return points


def _parts(text: str) -> Iterator[str]:
    """The text in parts of about a mebibyte, cut at commas, which then cost little memory."""
    start = 0
    while start < len(text):
        cut = text.find(",", start + _PART)
        end = len(text) if cut < 0 else cut + 1
        yield text[start:end]
        start = end


def _plain(text: str, channels: int, at: tuple[int, int]) -> Real | None:
    """Data of nothing but numbers with gaps and commas in their places; else None."""
    parts = text.replace(",", " , ").split()
    if parts and parts[-1] == ",":
        parts.pop()
    if (len(parts) + 1) % (channels + 1) or not parts:
        return None
    if any(part != "," for part in parts[channels :: channels + 1]):
        return None
    try:
        columns = [
            np.fromiter(map(float, parts[place :: channels + 1]), np.float64) for place in at
        ]
    except ValueError:  # two numbers that only a sign parts, or no number
        return None
    # What isn't looked at has to be numbers too; the slow way says where it isn't.
    if any(part == "," for k in range(channels) for part in parts[k :: channels + 1]):
        return None
    return np.stack(columns, axis=1)


def _with_prefixes(where: str, text: str, form: Format, at: tuple[int, int]) -> Real:
    channels = [_State(), _State()]
    points = array("d")  # eight bytes a number, where a list takes sixty
    least, most = len(form.regular), len(form.regular) + len(form.intermittent)
    for number, values in enumerate(_points(where, text), start=1):
        if not least <= len(values) <= most:
            raise GlyphError(
                where,
                f"point {number:,} has another count of values than the trace format",
                got=len(values),
                allowed=f"{least}" if least == most else f"{least} to {most}",
            )
        for state, place in zip(channels, at, strict=True):
            fault = state.take(*values[place])
            if fault:
                raise GlyphError(where, f"point {number:,}: {fault}", got=values[place][1])
        x, y = (state.value for state in channels)
        if x is not None and y is not None and not any(state.unknown for state in channels):
            points.extend((x, y))
    return np.frombuffer(points).reshape(-1, 2)


def _points(where: str, text: str) -> Iterator[list[_Token]]:
    """The values of each point, each with the order that its prefix names."""
    values: list[_Token] = []
    for token in _TOKEN.finditer(text):
        kind = token.lastgroup
        if kind == "strange":
            got = repr(text[token.start() : token.start() + 20])
            raise GlyphError(where, "not trace data", got=got)
        if kind == "comma":
            yield values
            values = []
        elif kind == "word":
            values.append((None, token["word"]))
        else:
            digits = token["hex"]
            size = float(int(digits[:64], 16)) if digits else float(token["number"])
            order = _ORDERS[token["order"]] if token["order"] else None
            values.append((order, -size if token["sign"] == "-" else size))
    if values:
        yield values


class _State:
    """One channel as its values come."""

    def __init__(self) -> None:
        self.value: float | None = None
        self.unknown = False
        self._order = 0
        self._step = 0.0
        self._given: float | None = None

    def take(self, order: int | None, given: float | str) -> str:
        """The next value; returns what is wrong with it, or nothing."""
        if given in ("T", "F"):
            return "a truth value where a place is wanted"
        self.unknown = given == "?"
        if self.unknown:
            return ""
        if given == "*":
            if self._given is None:
                return "there is nothing before it to repeat"
            number = self._given
        else:
            number = float(given)
            self._order = self._order if order is None else order
        self._given = number
        if self._order == 0:
            self._step = 0.0 if self.value is None else number - self.value
            self.value = number
            return ""
        if self.value is None:
            return "a difference, and nothing before it"
        self._step = number if self._order == 1 else self._step + number
        self.value += self._step
        return ""
