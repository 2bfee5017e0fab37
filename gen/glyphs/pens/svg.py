"""SVG: what its shapes stroke, as lines of a pen.

One mark is one `g` that says what it is, by an attribute `data-label` or by a `title`
of its own: the innermost such group. A file without one is one mark, labelled by
`data-label` of its first element or from outside. `data-writer` says who wrote, on
any group or on the whole.

Only what has a stroke is a line of a pen; shapes that are only filled are outlines,
and are counted and not drawn. So are text, pictures and scripts. What `use` names in
the same file is drawn in its place; nothing of another file is.

References
----------
Scalable Vector Graphics (SVG) 2, W3C: structure in chapter 5, painting in chapter 13.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

from gen.core.errors import GlyphError
from gen.glyphs.pens.drawing import Drawing, Pages
from gen.glyphs.pens.markup import read_markup
from gen.glyphs.pens.shapes import SHAPES, Page, parse_shape
from gen.glyphs.pens.style_transforms import about, parse_style_transform
from gen.glyphs.pens.styles import Rules, Sheet, not_applied, opacity_of, stated
from gen.glyphs.pens.svg_elements import WORDS, Elements
from gen.glyphs.pens.svg_lines import Shape, lines_of
from gen.glyphs.pens.svg_page import diagonal_of, inner_page, is_stretched, page_of
from gen.glyphs.pens.transforms import Matrix, checked, parse_length, parse_transform

_SVG = "http://www.w3.org/2000/svg"
_GROUPS = ("svg", "g", "a", "switch", "use")
_SAYS_NOTHING = {
    *("defs", "desc", "metadata", "symbol", "marker", "mask", "clipPath", "pattern", "filter"),
    *("linearGradient", "radialGradient", "view"),
}
MOST_WAITING = 1 << 13
"""Strokes that are kept until a group that is labelled ends, or the file does."""
_NOTHING_DRAWN = ("none", "transparent")
_WHITE = ("white", "#fff", "#ffffff", "rgb(255,255,255)")


@dataclass(frozen=True)
class _Style:
    stroke: str = "none"
    fill: str = "black"
    width: str = "1"
    visible: bool = True
    inked: bool = True


@dataclass
class _Open:
    """An element that has begun."""

    name: str
    where: str
    matrix: Matrix
    style: _Style
    page: Page | None
    label: str | None
    writer: str | None
    skipped: bool = False
    labelled_inside: bool = False
    shapes: list[Shape] = field(default_factory=list)
    text: list[str] = field(default_factory=list)


def svg_pages(path: Path) -> Pages:
    """The marks of an SVG file, plain or gzipped.

    Raises
    ------
    GlyphError
        If it isn't SVG that can be read, with the line where known.
    """
    elements = Elements(str(path))
    passed = read_markup(path, elements)
    reader = _Reader(str(path), elements.texts("style"))
    reader.dropped.update(passed)
    elements.tell(reader, reader.dropped)
    return Pages("SVG", reader.done, reader.dropped)


class _Reader:
    """Takes elements as they are told; see `gen.glyphs.pens.svg_elements`."""

    def __init__(self, where: str, sheets: Iterable[str]) -> None:
        self._where = where
        self.done: list[Drawing] = []
        self.dropped: Counter[str] = Counter()
        self._open: list[_Open] = []
        self._page: Page | None = None
        self._waiting = 0
        self._sheet = Sheet()
        for sheet in sheets:
            self._sheet.read(sheet, self.dropped)

    @property
    def skipping(self) -> bool:
        """Whether nothing within the element that is open matters."""
        return bool(self._open) and self._open[-1].skipped

    def start(self, name: str, attributes: dict[str, str], line: int) -> None:
        """An element begins."""
        space, _, tag = name.rpartition(" ")
        ours = space in (_SVG, "")
        where = f"{self._where}:{line}"
        above = self._open[-1] if self._open else None
        if above is None:
            if not (ours and tag == "svg"):
                raise GlyphError(where, "not SVG", got=f"its first element is {tag}")
            self._page = page_of(where, attributes)
            if is_stretched(where, attributes, self._page):
                self.dropped["page stretched to another aspect (preserveAspectRatio none)"] += 1
            above = _Open("", where, Matrix(), _Style(), self._page, None, None)
        here = replace(above, name=tag, where=where, label=None, shapes=[], text=[])
        here.labelled_inside = False
        self._open.append(here)
        if ours and tag in WORDS:
            return
        if not ours or tag not in (*_GROUPS, *SHAPES):
            here.skipped = True
            if not (ours and tag in _SAYS_NOTHING) and (ours or tag == "include"):
                self.dropped[f"{tag} element"] += 1
            return
        self._take(here, above, attributes)

    def text(self, text: str) -> None:
        """Some text inside the element that is open."""
        self._open[-1].text.append(text)

    def end(self, name: str) -> None:
        """The element that is open ends."""
        here = self._open.pop()
        above = self._open[-1] if self._open else None
        if here.skipped:
            return
        if above is None:
            self._finish(here)
        elif here.name == "title":
            label = " ".join("".join(here.text).split())
            if above.name in ("g", "use") and above.label is None and label:
                above.label = label
        elif here.label is None:
            above.shapes += here.shapes
            above.labelled_inside |= here.labelled_inside
        else:
            above.labelled_inside = True
            self._emit(here)

    def _take(self, here: _Open, above: _Open, attributes: dict[str, str]) -> None:
        """A group or a shape."""
        said = stated(here.name, attributes, self._sheet)
        if said.get("display") == "none" or opacity_of(said.get("opacity", "1")) == 0:
            here.skipped = True
            self.dropped["hidden element"] += 1
            return
        self.dropped.update(not_applied(said))
        here.matrix = checked(here.where, above.matrix.after(self._moved(here, said, attributes)))
        here.style = _Style(
            said.get("stroke", above.style.stroke),
            said.get("fill", above.style.fill),
            said.get("stroke-width", above.style.width),
            said["visibility"] == "visible" if "visibility" in said else above.style.visible,
            opacity_of(said["stroke-opacity"]) > 0
            if "stroke-opacity" in said
            else above.style.inked,
        )
        here.writer = attributes.get("data-writer", "").strip() or above.writer
        if {said.get("clip-path", "none"), said.get("mask", "none")} != {"none"}:
            self.dropped["clip or mask, drawn whole"] += 1
        if here.name in _GROUPS:
            here.label = attributes.get("data-label", "").strip() or None
            self._lay(here, above, attributes)
        else:
            self._draw(here, attributes)

    def _moved(self, here: _Open, said: Rules, attributes: dict[str, str]) -> Matrix:
        """What an element's own transform does; a style's counts over an attribute's."""
        stated = said.get("transform")
        own: Matrix | None
        if stated is None:
            own = parse_transform(here.where, attributes.get("transform", "none"))
        else:
            own = parse_style_transform(here.where, stated, here.page)
        if own in (None, Matrix()):
            whole = own
        elif said.get("transform-box", "view-box") != "view-box":
            whole = None
        else:
            whole = about(here.where, own, said.get("transform-origin"), here.page)
        if whole is None:
            self.dropped["transform that isn't known, not applied"] += 1
        return whole or Matrix()

    def _lay(self, here: _Open, above: _Open, attributes: dict[str, str]) -> None:
        """Pages within the page, and what `use` names, lie where they are said to."""
        if here.name == "svg" and above.name:
            inner, here.page = inner_page(here.where, attributes, above.page)
        elif here.name == "use":
            # Of its width and height only pages make something.
            place: dict[str, str] = {
                key: attributes[key] for key in ("x", "y") if key in attributes
            }
            inner, _ = inner_page(here.where, place, above.page)
        else:
            return
        here.matrix = checked(here.where, here.matrix.after(inner))

    def _draw(self, here: _Open, attributes: dict[str, str]) -> None:
        style = here.style
        if not style.visible:
            self.dropped["hidden element"] += 1
            return
        if style.stroke in _NOTHING_DRAWN or not style.inked:
            drawn = style.fill not in _NOTHING_DRAWN
            self.dropped[_UNSTROKED[drawn]] += 1
            return
        diagonal = None if here.page is None else diagonal_of(here.page)
        width = parse_length(here.where, style.width, diagonal) * here.matrix.size
        paths = [
            path for path in parse_shape(here.where, here.name, attributes, here.page) if path.runs
        ]
        if not paths:
            return
        if not width > 0:
            self.dropped["shape whose stroke has no width or no size"] += 1
            return
        if not here.matrix.even:
            self.dropped["pen made oval by a transform, taken as round"] += 1
        if style.stroke.replace(" ", "").lower() in _WHITE:
            self.dropped["white stroke, drawn as ink like any other"] += 1
        self._waiting += len(paths)
        if self._waiting > MOST_WAITING:
            raise GlyphError(
                here.where,
                "there are more strokes than any mark has before a group that is labelled ends",
                allowed=f"{MOST_WAITING:,}",
                hint="a g with a data-label round each mark, or a file for each",
            )
        here.shapes.append(Shape(paths, here.matrix, width))

    def _finish(self, whole: _Open) -> None:
        if not whole.labelled_inside:
            if whole.shapes:
                self._emit(whole)
            return
        loose = sum(len(shape.paths) for shape in whole.shapes)
        if loose:
            self.dropped["stroke outside the labelled groups"] += loose

    def _emit(self, group: _Open) -> None:
        """A labelled group as a mark, unless marks are inside it."""
        self._waiting -= sum(len(shape.paths) for shape in group.shapes)
        if group.labelled_inside:
            loose = sum(len(shape.paths) for shape in group.shapes)
            if loose:
                self.dropped["stroke outside the innermost labelled groups"] += loose
            return
        if not group.shapes:
            self.dropped[f"labelled group without strokes ({group.label})"] += 1
            return
        lines, strayed = lines_of(group.where, group.shapes)
        self.done.append(
            Drawing(group.where, lines, group.label, group.writer, self._page, strayed)
        )


_UNSTROKED = {
    True: "shape that is filled and not stroked (an outline, not a pen's line)",
    False: "shape neither filled nor stroked",
}
