"""InkML: traces of a pen, in groups that say what they are.

One mark is one innermost `traceGroup` or `traceView` with an annotation of type "truth"
(or another, if asked); a `traceView` counts for the traces that it names. A file without
one is one mark, labelled by an annotation of the whole or from outside. Annotations of
type "writer" say who wrote, on a group or on the whole. Traces of a lifted pen are
counted and not drawn. A canvas transform is applied when it is one affine mapping of X
and Y; other mappings are counted.

References
----------
Ink Markup Language (InkML), W3C Recommendation 20 September 2011: sections 3.2 (traces),
3.3 (groups), 3.4 (views), 6 (annotations). That labels stand in annotations of type
"truth" is the custom of published sets of handwriting, not of the recommendation.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.pens.contexts import plain_name, unit_of, width_of
from gen.glyphs.pens.drawing import Drawing, Line, Pages
from gen.glyphs.pens.elements import Group, InkReader, Trace
from gen.glyphs.pens.markup import read_markup
from gen.glyphs.pens.traces import decode_trace

MOST_POINTS = 1 << 24
"""Points of one file, those that are named again counted again: 256 MiB."""

MOST_STEPS = 1 << 20
"""Parts of groups that are gone through, again where they are named again."""

_DEEPEST = 64

Places = tuple[int, ...]


def inkml_pages(path: Path, *, truth: str = "truth") -> Pages:
    """The marks of an InkML file, plain or gzipped.

    Parameters
    ----------
    path
        The file.
    truth
        The type of the annotations that are labels.

    Raises
    ------
    GlyphError
        If it isn't InkML that can be read, with the line where known.
    """
    reader = InkReader(str(path), truth)
    passed = read_markup(path, reader)
    reader.dropped.update(passed)
    marks = _Marks(reader)
    marks.find()
    kinds = ", ".join(sorted(reader.types))
    offers = f"annotations of type {kinds}, none of type {truth}" if kinds else None
    return Pages("InkML", marks.done, reader.dropped, offers)


class _Marks:
    """Finds the marks in what was read."""

    def __init__(self, reader: InkReader) -> None:
        self._read = reader
        self.done: list[Drawing] = []
        self._steps = 0
        self._points = 0

    def find(self) -> None:
        """All marks of the file."""
        whole = self._read.whole
        if not whole.labelled_inside():
            drawing = self._drawn(whole, whole.writer)
            if drawing is not None:
                self.done.append(drawing)
            return
        loose: list[Trace] = []
        self._search(whole, whole.writer, loose)
        left = sum(not trace.used and not trace.lifted for trace in loose)
        if left:
            self._read.dropped["trace outside the innermost labelled groups"] += left

    def _search(self, group: Group, writer: str | None, loose: list[Trace]) -> None:
        for part in group.parts:
            if isinstance(part, Trace):
                loose.append(part)
                continue
            wrote = part.writer or writer
            if part.label is None or part.labelled_inside():
                self._search(part, wrote, loose)
                continue
            drawing = self._drawn(part, wrote)
            if drawing is None:
                self._read.dropped[f"labelled group without traces ({part.label})"] += 1
            else:
                self.done.append(drawing)

    def _drawn(self, group: Group, writer: str | None) -> Drawing | None:
        """The traces of a group as one mark."""
        found: list[tuple[Trace, slice]] = []
        self._gather(group, found, 0)
        lines: list[Line] = []
        units: set[str] = set()
        places: dict[str, int] = {}
        for trace, span in found:
            if trace.lifted:
                if not trace.used:
                    self._read.dropped["trace of a lifted pen"] += 1
                trace.used = True
                continue
            trace.used = True
            line, unit = self._line(trace, span)
            if line is None:
                self._read.dropped["trace without a point"] += 1
                continue
            units.add(unit)
            before = -1 if trace.goes_on_from is None else places.get(trace.goes_on_from, -1)
            if before >= 0:
                joined = np.concatenate([lines[before].points, line.points])
                lines[before] = replace(lines[before], points=joined)
            else:
                before = len(lines)
                lines.append(line)
            if trace.name is not None:
                places[trace.name] = before
        if len(units) > 1:
            got = ", ".join(sorted(unit or "none stated" for unit in units))
            raise GlyphError(group.where, "the traces of a mark come in several units", got=got)
        return Drawing(group.where, tuple(lines), group.label, writer) if lines else None

    def _line(self, trace: Trace, span: slice) -> tuple[Line | None, str]:
        named = self._read.named
        context = named.context(trace.where, trace.context)
        form = named.format(trace.where, context)
        points = decode_trace(trace.where, trace.text, form)
        self._points += len(points)
        if self._points > MOST_POINTS:
            raise GlyphError(
                trace.where, "the file has too many points", allowed=f"{MOST_POINTS:,} in all"
            )
        points = points[span]
        if not len(points):
            return None, ""
        unit, x, y = unit_of(trace.where, form)
        width = width_of(named.brush(trace.where, context), unit, abs(x))
        canvas = named.canvas(trace.where, context)
        if canvas is None:
            return Line(np.stack([points[:, 1] * y, points[:, 0] * x], axis=1), width), unit
        if not canvas.even:
            self._read.dropped["pen made oval by a canvas transform, taken as round"] += 1
        # The canvas has axes and a unit of its own.
        wide = None if width is None else width / abs(x) * canvas.size
        return Line(canvas.of(points)[:, ::-1], wide), "that of the canvas"

    def _gather(self, group: Group, found: list[tuple[Trace, slice]], depth: int) -> None:
        """The traces of a group and those that its views name."""
        self._steps += 1 + len(group.parts)
        if self._steps > MOST_STEPS:
            raise GlyphError(
                group.where, "views name too much again", allowed=f"{MOST_STEPS:,} parts in all"
            )
        if depth > _DEEPEST:
            raise GlyphError(group.where, "views name one another in a ring, or too deep")
        if group.names is not None:
            self._named(group, found, depth)
        for part in group.parts:
            if isinstance(part, Trace):
                found.append((part, slice(None)))
            else:
                self._gather(part, found, depth + 1)

    def _named(self, view: Group, found: list[tuple[Trace, slice]], depth: int) -> None:
        assert view.names is not None
        name = plain_name(view.names) or ""
        if name not in self._read.by_id:
            if "#" in view.names.removeprefix("#") or "/" in view.names:
                self._read.dropped["view of another file"] += 1
                return
            raise GlyphError(view.where, "a view names no trace of the file", got=repr(view.names))
        seen = self._read.by_id[name]
        span = (_places(view, view.first), _places(view, view.last))
        self._part(view, seen, span, found, depth)

    def _part(
        self,
        view: Group,
        seen: Trace | Group,
        span: tuple[Places, Places],
        found: list[tuple[Trace, slice]],
        depth: int,
    ) -> None:
        """What a view shows of a part: points of a trace, or parts of a group and of those."""
        first, last = span
        if isinstance(seen, Trace):
            if max(len(first), len(last)) > 1:
                got = ", ".join(":".join(map(str, one)) for one in (first, last) if one)
                raise GlyphError(
                    view.where,
                    "a view counts parts of a trace, which has points only",
                    got=f"{got} from here on",
                )
            ends = (first[0] - 1 if first else None, last[0] if last else None)
            found.append((seen, slice(*ends)))
        elif not first and not last:
            self._gather(seen, found, depth + 1)
        elif seen.names is not None:
            raise GlyphError(view.where, "a part of another view isn't read", got=repr(view.names))
        else:
            self._steps += len(seen.parts)
            low, high = first[0] if first else 1, last[0] if last else len(seen.parts)
            for number, part in enumerate(seen.parts[low - 1 : high], start=low):
                inner = (first[1:] if number == low else (), last[1:] if number == high else ())
                self._part(view, part, inner, found, depth + 1)


def _places(view: Group, text: str | None) -> Places:
    """Which part, which part of that and so on, counted from 1; () where nothing is said."""
    if text is None:
        return ()
    numbers = [one.strip() for one in text.split(":")]
    if not all(one.isdecimal() and len(one) < 10 and int(one) > 0 for one in numbers):
        raise GlyphError(
            view.where,
            "not a place within a part",
            got=repr(text[:40]),
            allowed="whole numbers from 1, with colons between",
        )
    return tuple(map(int, numbers))
