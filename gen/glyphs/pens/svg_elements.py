"""The elements of an SVG file in their order, with what `use` names put in its place.

The file is taken down first, since what a `use` names may stand after it, and so may the
style sheets. Then it is gone through without recursion. What a `use` names is gone through
again for each `use`; how much that may be in all is bounded.

References
----------
Scalable Vector Graphics (SVG) 2, W3C: section 5.5 (symbol) and 5.6 (use), from memory.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from gen.core.errors import GlyphError
from gen.glyphs.pens.markup import MOST_DEPTH

WORDS = ("title", "style")
"""Elements whose text says something of a drawing."""
MOST_AGAIN, MOST_AGAIN_BYTES = 1 << 16, 4 << 20
"""Elements that are gone through again, and what their attributes may come to."""

_REFERENCES = ("href", "http://www.w3.org/1999/xlink href")


@dataclass(slots=True)
class Element:
    """An element, and where among all events it ends."""

    name: str
    attributes: dict[str, str]
    line: int
    end: int = 0


@dataclass(slots=True)
class _End:
    """The end of an element."""

    of: Element


@dataclass(slots=True)
class _Span:
    """A part of the events that is being gone through.

    Attributes
    ----------
    start, at, stop
        Places among all events.
    shown
        The place of the end of a `use` whose target was gone through.
    user
        The `use` that it is gone through for; None for the whole file.
    """

    start: int
    at: int
    stop: int
    shown: int = -1
    user: Element | None = None


class Taker(Protocol):
    """Who is told of the elements."""

    @property
    def skipping(self) -> bool:
        """Whether nothing within the element that is open matters."""

    def start(self, name: str, attributes: dict[str, str], line: int) -> None:
        """An element begins; names are "namespace name"."""

    def text(self, text: str) -> None:
        """Some text inside the element that is open."""

    def end(self, name: str) -> None:
        """The element that is open ends."""


class Elements:
    """Takes elements down as they come; see `gen.glyphs.pens.markup`."""

    def __init__(self, where: str) -> None:
        self._where = where
        self._events: list[Element | str | _End] = []
        self._open: list[Element] = []
        self._by_id: dict[str, int] = {}

    def start(self, name: str, attributes: dict[str, str], line: int) -> None:
        """An element begins."""
        if "id" in attributes:
            self._by_id.setdefault(attributes["id"], len(self._events))
        self._open.append(Element(name, attributes, line))
        self._events.append(self._open[-1])

    def text(self, text: str) -> None:
        """Some text inside the element that is open."""
        if self._open and _tag(self._open[-1]) in WORDS:
            self._events.append(text)

    def end(self, name: str) -> None:
        """The element that is open ends."""
        begun = self._open.pop()
        begun.end = len(self._events)
        self._events.append(_End(begun))

    def texts(self, name: str) -> Iterator[str]:
        """What stands in each element of a name, one of `WORDS`."""
        for at, event in enumerate(self._events):
            if isinstance(event, Element) and _tag(event) == name:
                inside = self._events[at + 1 : event.end]
                yield "".join(one for one in inside if isinstance(one, str))

    def tell(self, taker: Taker, dropped: Counter[str]) -> None:
        """Tell all of it, in order; what a `use` names is told as if it stood in it.

        Raises
        ------
        GlyphError
            If a `use` leads to itself, or what is named again is too much.
        """
        spans = [_Span(0, 0, len(self._events))]
        depth = again = size = 0
        while spans:
            span = spans[-1]
            if span.at == span.stop:
                spans.pop()
                continue
            event = self._events[span.at]
            if isinstance(event, str):
                taker.text(event)
            elif isinstance(event, _End):
                if _tag(event.of) == "use" and span.shown != span.at and not taker.skipping:
                    span.shown = span.at
                    target = self._target(event.of, spans, dropped)
                    if target is not None:
                        spans.append(target)
                        continue
                taker.end(event.of.name)
                depth -= 1
            else:
                depth += 1
                name, attributes = event.name, event.attributes
                if span.user is not None:
                    again += 1
                    size += sum(map(len, attributes.values()))
                    self._bounded(event, depth, again, size)
                    if span.at == span.start:
                        name, attributes = _placed(event, span.user)
                taker.start(name, attributes, event.line)
                if taker.skipping:
                    span.at = event.end
                    continue
            span.at += 1

    def _bounded(self, event: Element, depth: int, again: int, size: int) -> None:
        """Refuse what grows out of bounds when each `use` stands for what it names."""
        if depth > MOST_DEPTH or again > MOST_AGAIN or size > MOST_AGAIN_BYTES:
            raise GlyphError(
                f"{self._where}:{event.line}",
                "what use names again comes to more than drawings have",
                allowed=f"{MOST_AGAIN:,} elements, {MOST_AGAIN_BYTES:,} bytes of attributes, "
                f"{MOST_DEPTH} within one another",
                hint="export the drawing without use, as plain shapes",
            )

    def _target(self, user: Element, spans: list[_Span], dropped: Counter[str]) -> _Span | None:
        """What a `use` names; None, and counted, where that isn't in the file."""
        name = next((user.attributes[key] for key in _REFERENCES if key in user.attributes), "")
        name = name.strip()
        if name[:1] != "#":
            dropped["use of another file, not followed" if name else "use of nothing"] += 1
            return None
        start = self._by_id.get(name[1:])
        if start is None:
            dropped["use of what isn't in the file"] += 1
            return None
        event = self._events[start]
        assert isinstance(event, Element)
        if any(span.start == start and span.user is not None for span in spans):
            raise GlyphError(f"{self._where}:{user.line}", "a use leads to itself", got=name[:40])
        return _Span(start, start, event.end + 1, user=user)


def _placed(event: Element, user: Element) -> tuple[str, dict[str, str]]:
    """The first element of what is named: a symbol is a page, as wide and tall as `use` says."""
    space, _, tag = event.name.rpartition(" ")
    if tag not in ("symbol", "svg"):
        return event.name, event.attributes
    said: dict[str, str] = {
        key: user.attributes[key] for key in ("width", "height") if key in user.attributes
    }
    return f"{space} svg".strip(), {**event.attributes, **said}


def _tag(element: Element) -> str:
    """The name, of SVG's own elements."""
    space, _, tag = element.name.rpartition(" ")
    return tag if space in ("http://www.w3.org/2000/svg", "") else ""
