"""What traces of InkML are read by: formats, brushes, and contexts that name them.

References
----------
InkML (W3C, 2011): sections 3.1.1 (trace formats), 4.2 (brushes), 4.1 (contexts); 5.2 for
contexts that hold from where they stand in the file. Resolutions and canvas transforms
are read from memory of the text.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from gen.core.errors import GlyphError
from gen.glyphs.pens.traces import MM, Channel, Format
from gen.glyphs.pens.transforms import Matrix

_DEFAULT = "DefaultContext"
_FARTHEST = 64
"""How many names may lead to one another."""


@dataclass
class FormatSoFar:
    """A trace format as its channels come."""

    regular: list[Channel] = field(default_factory=list)
    intermittent: list[Channel] = field(default_factory=list)
    whole: set[str] = field(default_factory=set)

    def add(self, attributes: dict[str, str], *, always: bool) -> None:
        """One more channel."""
        channel = Channel(
            attributes.get("name", ""),
            attributes.get("units", "").strip(),
            attributes.get("orientation", "").strip() == "-ve",
        )
        (self.regular if always else self.intermittent).append(channel)
        if attributes.get("type", "").strip() == "integer":
            self.whole.add(channel.name)

    def done(self) -> Format:
        """The format."""
        if not self.regular and not self.intermittent:
            return Format()
        return Format(tuple(self.regular), tuple(self.intermittent))

    def counted(self, steps_mm: Mapping[str, float]) -> Format:
        """The format on a device of stated resolution.

        Values are counts of its steps when their unit is no length, and also when they are
        whole numbers: many programs state the unit of the resolution for these too, and
        whole millimetres are no way to store a pen.
        """

        def told(channel: Channel) -> Channel:
            counts = channel.units not in MM or channel.name in self.whole
            return replace(channel, step_mm=steps_mm.get(channel.name) if counts else None)

        form = self.done()
        return replace(form, regular=tuple(map(told, form.regular)))


@dataclass
class Brush:
    """How wide a brush is.

    Attributes
    ----------
    width, units
        As stated; None where nothing is.
    """

    width: float | None = None
    units: str = ""
    like: str | None = None

    def take(self, where: str, attributes: dict[str, str]) -> None:
        """One of its properties."""
        if attributes.get("name") != "width":
            return
        text = attributes.get("value", "")
        try:
            width = float(text)
        except ValueError as cause:
            raise GlyphError(where, "not a width of a brush", got=repr(text[:40])) from cause
        if not (math.isfinite(width) and 0 <= width <= 1e9):
            raise GlyphError(where, "a width of a brush is out of range", got=text[:40])
        self.width, self.units = width, attributes.get("units", "").strip()


@dataclass(frozen=True)
class Context:
    """What holds for traces; None where nothing is stated.

    Attributes
    ----------
    form
        A format, or the name of one.
    brush
        A brush, or the name of one.
    source
        The name of an ink source, whose format it is.
    like
        The name of a context that this one goes on from.
    canvas
        What lays its traces on the canvas, or the name of it.
    """

    form: Format | str | None = None
    brush: Brush | str | None = None
    source: str | None = None
    like: str | None = None
    canvas: Matrix | str | None = None

    def over(self, below: Context) -> Context:
        """This one, and `below` where nothing is stated."""
        own = self.form is not None or self.source is not None
        return Context(
            self.form if own else below.form,
            self.brush if self.brush is not None else below.brush,
            self.source if own else below.source,
            canvas=self.canvas if self.canvas is not None else below.canvas,
        )


@dataclass
class Named:
    """All that a file gives names to."""

    formats: dict[str, Format] = field(default_factory=dict)
    sources: dict[str, Format] = field(default_factory=dict)
    brushes: dict[str, Brush] = field(default_factory=dict)
    contexts: dict[str, Context] = field(default_factory=dict)
    canvases: dict[str, Matrix] = field(default_factory=dict)
    dropped: Counter[str] = field(default_factory=Counter)

    def context(self, where: str, context: Context) -> Context:
        """A context with those that it goes on from."""
        for _ in range(_FARTHEST):
            if context.like is None or context.like == _DEFAULT:
                return context
            if context.like not in self.contexts:
                raise _nothing(where, "context", context.like)
            above = self.contexts[context.like]
            context = replace(context.over(above), like=above.like)
        raise GlyphError(where, "contexts go on from one another in a ring", got=context.like)

    def format(self, where: str, context: Context) -> Format:
        """The format that a context states; X and Y where it states none."""
        if isinstance(context.form, Format):
            return context.form
        if context.form is not None:
            if context.form in ("DefaultTraceFormat", _DEFAULT):
                return Format()
            if context.form not in self.formats:
                raise _nothing(where, "trace format", context.form)
            return self.formats[context.form]
        if context.source is not None:
            return self.sources.get(context.source, Format())
        return Format()

    def canvas(self, where: str, context: Context) -> Matrix | None:
        """What lays traces on the canvas; None where nothing does."""
        if not isinstance(context.canvas, str):
            return context.canvas
        if context.canvas not in self.canvases:
            raise _nothing(where, "canvas transform", context.canvas)
        return self.canvases[context.canvas]

    def brush(self, where: str, context: Context) -> Brush:
        """The brush that a context states; one of no stated width where it states none."""
        found: Brush | str | None = context.brush
        for _ in range(_FARTHEST):
            if found is None:
                return Brush()
            if isinstance(found, str):
                if found == "DefaultBrush":
                    return Brush()
                if found not in self.brushes:
                    raise _nothing(where, "brush", found)
                found = self.brushes[found]
            if found.width is not None:
                return found
            found = found.like
        raise GlyphError(where, "brushes go on from one another in a ring")


def plain_name(reference: str | None) -> str | None:
    """The name in a reference within the file; "#pen" and "pen" are one.

    Examples
    --------
    >>> plain_name("#pen"), plain_name(""), plain_name(None)
    ('pen', None, None)
    """
    return (reference or "").strip().removeprefix("#") or None


def unit_of(where: str, form: Format) -> tuple[str, float, float]:
    """The unit that places come in, and what to multiply X and Y by.

    Lengths become millimetres; units that are no lengths stay as they are, and then
    have to be the same for both.
    """
    x, y = (form.regular[form.place(name)] for name in ("X", "Y"))
    signs = [-1.0 if one.negative else 1.0 for one in (x, y)]
    if x.step_mm and y.step_mm:
        return "mm", signs[0] * x.step_mm, signs[1] * y.step_mm
    units = x.units or y.units, y.units or x.units
    if units[0] in MM and units[1] in MM:
        return "mm", signs[0] * MM[units[0]], signs[1] * MM[units[1]]
    if units[0] != units[1]:
        raise GlyphError(
            where, "X and Y come in units that can't be compared", got=f"{units[0]}, {units[1]}"
        )
    return units[0], signs[0], signs[1]


def width_of(brush: Brush, unit: str, per_unit: float) -> float | None:
    """Width of a brush in the unit that places come in; None where that isn't known."""
    if brush.width is None or brush.width == 0:
        return None
    if not brush.units:
        return brush.width * per_unit  # in units of the channel, as they were
    if unit == "mm":
        return brush.width * MM[brush.units] if brush.units in MM else None
    return brush.width if brush.units == unit or not unit else None


def _nothing(where: str, what: str, name: str) -> GlyphError:
    return GlyphError(where, f"a {what} is named that isn't in the file", got=repr(name))
