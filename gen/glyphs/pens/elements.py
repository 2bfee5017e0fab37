"""The elements of InkML, taken in as they come.

References
----------
Ink Markup Language (InkML), W3C Recommendation 20 September 2011: sections 3.2 (traces),
3.3 (groups), 3.4 (views), 6 (annotations).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from gen.core.errors import GlyphError
from gen.glyphs.pens.contexts import Context, plain_name
from gen.glyphs.pens.ink_settings import BEGIN, END, ID, Settings

_INKML = "http://www.w3.org/2003/InkML"


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


class InkReader(Settings):
    """Takes elements as they come; see `gen.glyphs.pens.markup`."""

    def __init__(self, where: str, truth: str) -> None:
        super().__init__()
        self._where, self._truth = where, truth
        self.by_id: dict[str, Trace | Group] = {}
        self.whole = Group(where)
        self.types: set[str] = set()
        self._groups = [self.whole]
        self._kind: str | None = None

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

    def _definitions(self, where: str, attributes: dict[str, str]) -> None:
        self._hidden += 1
        self._groups.append(Group(where))

    def _end_definitions(self) -> None:
        self._hidden -= 1
        self._groups.pop()

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
        name = attributes.get(ID, attributes.get("id"))
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
    **BEGIN,
    "ink": _R._nothing,
    "definitions": _R._definitions,
    "traceGroup": _R._begin_group,
    "traceView": _R._begin_group,
    "trace": _R._begin_trace,
    "annotation": _R._begin_annotation,
}
_END = {
    **END,
    "definitions": _R._end_definitions,
    "traceGroup": _R._end_group,
    "traceView": _R._end_group,
    "trace": _R._end_trace,
    "annotation": _R._end_annotation,
}
_SAYS_NOTHING = {
    *("annotationXML", "timestamp", "canvas", "activeArea", "sampleRate", "latency"),
    "sourceProperty",
}
