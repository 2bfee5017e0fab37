"""The elements of InkML, taken in as they come.

References
----------
Ink Markup Language (InkML), W3C Recommendation 20 September 2011: sections 3.2 (traces),
3.3 (groups), 3.4 (views), 6 (annotations).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

from gen.core.errors import GlyphError
from gen.glyphs.pens.contexts import Brush, Context, FormatSoFar, Named, plain_name

_INKML = "http://www.w3.org/2003/InkML"
_ID = "http://www.w3.org/XML/1998/namespace id"


@dataclass(eq=False)
class Trace:
    """A trace as written, decoded when a mark needs it."""

    where: str
    context: Context
    text: str = ""
    name: str | None = None
    lifted: bool = False
    goes_on_from: str | None = None
    used: bool = False


@dataclass(eq=False)
class Group:
    """A group of traces, or a view of some."""

    where: str
    context: Context = field(default_factory=Context)
    parts: list[Trace | Group] = field(default_factory=list)
    label: str | None = None
    writer: str | None = None
    names: str | None = None
    first: str | None = None
    last: str | None = None

    def labelled_inside(self) -> bool:
        """Whether some group within this one has a label."""
        return any(
            isinstance(part, Group) and (part.label is not None or part.labelled_inside())
            for part in self.parts
        )


class InkReader:
    """Takes elements as they come; see `gen.glyphs.pens.markup`."""

    def __init__(self, where: str, truth: str) -> None:
        self._where, self._truth = where, truth
        self.dropped: Counter[str] = Counter()
        self.named = Named()
        self.by_id: dict[str, Trace | Group] = {}
        self.whole = Group(where)
        self.types: set[str] = set()
        self._open: list[str] = []
        self._groups = [self.whole]
        self._hidden = 0
        self._current = Context()
        self._context: tuple[str | None, Context] | None = None
        self._format: FormatSoFar | None = None
        self._format_id: str | None = None
        self._source_id: str | None = None
        self._brush: Brush | None = None
        self._brush_id: str | None = None
        self._kind: str | None = None
        self._text: list[str] | None = None
        self._skipping = 0

    def start(self, name: str, attributes: dict[str, str], line: int) -> None:
        """An element begins."""
        where = f"{self._where}:{line}"
        space, _, tag = name.rpartition(" ")
        if not self._open and (tag != "ink" or space not in (_INKML, "")):
            raise GlyphError(where, "not InkML", got=f"its first element is {tag}")
        self._open.append(tag)
        if self._skipping:
            self._skipping += 1
            return
        begin = _BEGIN.get(tag) if space in (_INKML, "") else None
        if begin is None:
            self._skipping = 1
            if tag == "mapping" and attributes.get("type", "unknown") not in _CHANGES_NOTHING:
                self.dropped["mapping of values, not applied"] += 1
            if tag not in _SAYS_NOTHING:
                self.dropped[f"{tag} element"] += 1
            return
        begin(self, where, attributes)

    def text(self, text: str) -> None:
        """Some text inside the element that is open."""
        if self._text is not None and not self._skipping:
            self._text.append(text)

    def end(self, name: str) -> None:
        """The element that is open ends."""
        tag = self._open.pop()
        if self._skipping:
            self._skipping -= 1
            return
        finish = _END.get(tag)
        if finish is not None:
            finish(self)

    def _nothing(self, where: str, attributes: dict[str, str]) -> None:
        """An element whose content is what counts."""

    def _definitions(self, where: str, attributes: dict[str, str]) -> None:
        self._hidden += 1
        self._groups.append(Group(where))

    def _end_definitions(self) -> None:
        self._hidden -= 1
        self._groups.pop()

    def _begin_context(self, where: str, attributes: dict[str, str]) -> None:
        context = Context(
            plain_name(attributes.get("traceFormatRef")),
            plain_name(attributes.get("brushRef")),
            plain_name(attributes.get("inkSourceRef")),
            plain_name(attributes.get("contextRef")),
        )
        self._context = (attributes.get(_ID), context)

    def _end_context(self) -> None:
        if self._context is None:
            return
        name, context = self._context
        if name is not None:
            self.named.contexts[name] = context
        if not self._hidden:
            over = context.over(self._current)
            self._current = replace(over, like=context.like) if context.like else over
        self._context = None

    def _set(self, stated: Context) -> None:
        """What is stated holds for the context that is open, or from here on."""
        if self._context is not None:
            self._context = (
                self._context[0],
                replace(stated.over(self._context[1]), like=self._context[1].like),
            )
        elif not self._hidden:
            self._current = replace(stated.over(self._current), like=self._current.like)

    def _begin_format(self, where: str, attributes: dict[str, str]) -> None:
        self._format, self._format_id = FormatSoFar(), attributes.get(_ID)

    def _end_format(self) -> None:
        if self._format is None:
            return
        form = self._format.done()
        self._format = None
        if self._format_id is not None:
            self.named.formats[self._format_id] = form
        if "inkSource" in self._open:
            if self._source_id is not None:
                self.named.sources[self._source_id] = form
            if self._context is None:
                return
        self._set(Context(form=form))

    def _channel(self, where: str, attributes: dict[str, str]) -> None:
        if self._format is not None:
            self._format.add(attributes, always="intermittentChannels" not in self._open)

    def _begin_source(self, where: str, attributes: dict[str, str]) -> None:
        self._source_id = attributes.get(_ID)

    def _begin_brush(self, where: str, attributes: dict[str, str]) -> None:
        self._brush = Brush(like=plain_name(attributes.get("brushRef")))
        self._brush_id = attributes.get(_ID)

    def _property(self, where: str, attributes: dict[str, str]) -> None:
        if self._brush is not None:
            self._brush.take(where, attributes)

    def _end_brush(self) -> None:
        if self._brush is None:
            return
        if self._brush_id is not None:
            self.named.brushes[self._brush_id] = self._brush
        self._set(Context(brush=self._brush))
        self._brush = None

    def _stated(self, attributes: dict[str, str]) -> Context:
        """What a trace or group states itself, over what its group states."""
        own = Context(
            brush=plain_name(attributes.get("brushRef")),
            like=plain_name(attributes.get("contextRef")),
        )
        above = self._groups[-1].context
        if own.like is not None:
            return own  # another context altogether
        return replace(own.over(above), like=above.like)

    def _begin_group(self, where: str, attributes: dict[str, str]) -> None:
        group = Group(where, self._stated(attributes))
        if self._open[-1] == "traceView":
            group.names = attributes.get("traceDataRef", "").strip() or None
            group.first, group.last = attributes.get("from"), attributes.get("to")
        self._keep(group, attributes)
        self._groups.append(group)

    def _end_group(self) -> None:
        self._groups.pop()

    def _begin_trace(self, where: str, attributes: dict[str, str]) -> None:
        stated = self._stated(attributes)
        context = stated if stated.like is not None else stated.over(self._current)
        if stated.like is None and self._current.like is not None:
            context = replace(context, like=self._current.like)
        trace = Trace(where, context, lifted=attributes.get("type", "").strip() == "penUp")
        if attributes.get("continuation", "").strip() in ("middle", "end"):
            trace.goes_on_from = plain_name(attributes.get("priorRef"))
        self._keep(trace, attributes)
        self._text = []

    def _keep(self, part: Trace | Group, attributes: dict[str, str]) -> None:
        self._groups[-1].parts.append(part)
        # Older files say id where the recommendation says xml:id.
        name = attributes.get(_ID, attributes.get("id"))
        if name is not None:
            self.by_id.setdefault(name, part)
            if isinstance(part, Trace):
                part.name = name

    def _end_trace(self) -> None:
        trace = self._groups[-1].parts[-1]
        if isinstance(trace, Trace):
            trace.text = "".join(self._text or ())
        self._text = None

    def _begin_annotation(self, where: str, attributes: dict[str, str]) -> None:
        self._kind, self._text = attributes.get("type", "").strip(), []

    def _end_annotation(self) -> None:
        said = " ".join("".join(self._text or ()).split())
        kind, self._text = self._kind or "", None
        if self._open[-1:] not in (["ink"], ["traceGroup"], ["traceView"]):
            return
        self.types.add(kind)
        if kind == self._truth and said:
            if self._groups[-1].label not in (None, said):
                raise GlyphError(
                    self._groups[-1].where,
                    f"the mark has two annotations of type {kind}, which don't agree",
                    got=f"{self._groups[-1].label!r} and {said!r}",
                    hint="a traceGroup for each mark, with one label",
                )
            self._groups[-1].label = said
        elif kind == "writer" and said:
            self._groups[-1].writer = said


_R = InkReader
_BEGIN = {
    "ink": _R._nothing,
    "definitions": _R._definitions,
    "context": _R._begin_context,
    "traceFormat": _R._begin_format,
    "intermittentChannels": _R._nothing,
    "channel": _R._channel,
    "inkSource": _R._begin_source,
    "brush": _R._begin_brush,
    "brushProperty": _R._property,
    "traceGroup": _R._begin_group,
    "traceView": _R._begin_group,
    "trace": _R._begin_trace,
    "annotation": _R._begin_annotation,
}
_END = {
    "definitions": _R._end_definitions,
    "context": _R._end_context,
    "traceFormat": _R._end_format,
    "brush": _R._end_brush,
    "traceGroup": _R._end_group,
    "traceView": _R._end_group,
    "trace": _R._end_trace,
    "annotation": _R._end_annotation,
}
_SAYS_NOTHING = {
    *("annotationXML", "timestamp", "canvas", "mapping", "activeArea", "sampleRate", "latency"),
    *("sourceProperty", "channelProperties"),
}
_CHANGES_NOTHING = ("identity", "unknown")
