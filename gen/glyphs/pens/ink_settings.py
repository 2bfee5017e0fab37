"""The elements of InkML that say how traces are read, taken in as they come.

References
----------
Ink Markup Language (InkML), W3C Recommendation 20 September 2011: sections 3.1 (formats and
sources), 4.1 (contexts), 4.2 (brushes), 5.1 (mappings; from memory).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from gen.glyphs.pens.contexts import Brush, Context, FormatSoFar, Named, plain_name
from gen.glyphs.pens.ink_numbers import affine_of, step_of
from gen.glyphs.pens.transforms import Matrix

ID = "http://www.w3.org/XML/1998/namespace id"
_CHANGES_NOTHING = ("identity", "unknown")


class Settings:
    """What is stated of traces so far, by name or for those that follow."""

    def __init__(self) -> None:
        self.dropped: Counter[str] = Counter()
        self.named = Named()
        self._open: list[str] = []
        self._hidden = self._skipping = 0
        self._text: list[str] | None = None
        self._current = Context()
        self._context: tuple[str | None, Context] | None = None
        self._format: FormatSoFar | None = None
        self._format_id: str | None = None
        self._source_id: str | None = None
        self._source_format: tuple[FormatSoFar, str | None] | None = None
        self._steps_mm: dict[str, float] = {}
        self._canvas: Matrix | None = None
        self._canvas_id: str | None = None
        self._bound: dict[str, list[str]] = {}
        self._brush: Brush | None = None
        self._brush_id: str | None = None

    def _nothing(self, where: str, attributes: dict[str, str]) -> None:
        """An element whose content is what counts."""

    def _begin_context(self, where: str, attributes: dict[str, str]) -> None:
        context = Context(
            plain_name(attributes.get("traceFormatRef")),
            plain_name(attributes.get("brushRef")),
            plain_name(attributes.get("inkSourceRef")),
            plain_name(attributes.get("contextRef")),
            plain_name(attributes.get("canvasTransformRef")),
        )
        self._context = (attributes.get(ID), context)

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
        self._format, self._format_id = FormatSoFar(), attributes.get(ID)

    def _end_format(self) -> None:
        if self._format is None:
            return
        form = self._format.done()
        if "inkSource" in self._open:
            # Its resolution may come yet.
            self._source_format = (self._format, self._format_id)
        self._format = None
        if self._format_id is not None:
            self.named.formats[self._format_id] = form
        if "inkSource" not in self._open:
            self._set(Context(form=form))

    def _channel(self, where: str, attributes: dict[str, str]) -> None:
        if self._format is not None:
            self._format.add(attributes, always="intermittentChannels" not in self._open)

    def _begin_source(self, where: str, attributes: dict[str, str]) -> None:
        self._source_id, self._source_format, self._steps_mm = attributes.get(ID), None, {}

    def _channel_property(self, where: str, attributes: dict[str, str]) -> None:
        step = step_of(attributes)
        if step is not None:
            self._steps_mm[attributes.get("channel", "")] = step

    def _end_source(self) -> None:
        if self._source_format is None:
            return
        form, name = self._source_format[0].counted(self._steps_mm), self._source_format[1]
        if name is not None:
            self.named.formats[name] = form
        if self._source_id is not None:
            self.named.sources[self._source_id] = form
        if self._context is not None:
            self._set(Context(form=form))

    def _begin_canvas(self, where: str, attributes: dict[str, str]) -> None:
        self._canvas_id, self._canvas = attributes.get(ID), None
        self._bound = {"source": [], "target": []}

    def _bind(self, where: str, attributes: dict[str, str]) -> None:
        for side, names in self._bound.items():
            names.extend([attributes[side]] if side in attributes else [])

    def _begin_mapping(self, where: str, attributes: dict[str, str]) -> None:
        kind = attributes.get("type", "unknown")
        if "canvasTransform" not in self._open or kind not in ("affine", *_CHANGES_NOTHING):
            if kind not in _CHANGES_NOTHING:
                self.dropped["mapping of values, not applied"] += 1
            self._skipping = 1
        elif "mapping" in self._open[:-1] or self._canvas is not None:
            self.dropped["canvas transform in several steps, the first applied"] += 1
            self._skipping = 1

    def _begin_affine(self, where: str, attributes: dict[str, str]) -> None:
        self._text = []

    def _end_affine(self) -> None:
        plain = all(names in ([], ["X", "Y"]) for names in self._bound.values())
        self._canvas = affine_of("".join(self._text or ())) if plain else None
        self._text = None
        if self._canvas is None:
            self.dropped["canvas transform that isn't known, not applied"] += 1

    def _end_canvas(self) -> None:
        if self._canvas is None:
            return
        if self._canvas_id is not None:
            self.named.canvases[self._canvas_id] = self._canvas
        self._set(Context(canvas=self._canvas))

    def _begin_brush(self, where: str, attributes: dict[str, str]) -> None:
        self._brush = Brush(like=plain_name(attributes.get("brushRef")))
        self._brush_id = attributes.get(ID)

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


_S = Settings
BEGIN = {
    "context": _S._begin_context,
    "traceFormat": _S._begin_format,
    "intermittentChannels": _S._nothing,
    "channel": _S._channel,
    "inkSource": _S._begin_source,
    "channelProperties": _S._nothing,
    "channelProperty": _S._channel_property,
    "canvasTransform": _S._begin_canvas,
    "mapping": _S._begin_mapping,
    "bind": _S._bind,
    "affine": _S._begin_affine,
    "brush": _S._begin_brush,
    "brushProperty": _S._property,
}
"""What is done where an element begins."""
END = {
    "context": _S._end_context,
    "traceFormat": _S._end_format,
    "inkSource": _S._end_source,
    "canvasTransform": _S._end_canvas,
    "affine": _S._end_affine,
    "brush": _S._end_brush,
}
"""What is done where it ends."""
