"""SVG: what its shapes stroke, as lines of a pen.

One mark is one `g` that says what it is, by an attribute `data-label` or by a `title`
of its own: the innermost such group. A file without one is one mark, labelled by
`data-label` of its first element or from outside. `data-writer` says who wrote, on
any group or on the whole.

Only what has a stroke is a line of a pen; shapes that are only filled are outlines,
and are counted and not drawn. So are text, pictures, scripts and whatever stands
for something elsewhere (`use`).

References
----------
Scalable Vector Graphics (SVG) 2, W3C: structure in chapter 5, painting in chapter 13.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Real
from gen.glyphs.pens.curves import MOST_FLAT, flattened
from gen.glyphs.pens.drawing import MOST_UNITS, Drawing, Line, Pages
from gen.glyphs.pens.markup import read_markup
from gen.glyphs.pens.paths import SubPath
from gen.glyphs.pens.shapes import SHAPES, Page, parse_shape
from gen.glyphs.pens.styles import Sheet, not_applied, stated
from gen.glyphs.pens.svg_page import diagonal_of, is_stretched, page_of
from gen.glyphs.pens.transforms import Matrix, checked, parse_length, parse_transform

_SVG = "http://www.w3.org/2000/svg"
_GROUPS = ("svg", "g", "a", "switch")
_SAYS_NOTHING = {
    *("defs", "desc", "metadata", "symbol", "marker", "mask", "clipPath", "pattern", "filter"),
    *("linearGradient", "radialGradient", "view"),
}
_STRAY = 1e-5
"""How far chords may be from a curve, as a share of the extent of its control points."""

_NOTHING_DRAWN = ("none", "transparent")


@dataclass(frozen=True)
class _Shape:
    paths: list[SubPath]
    matrix: Matrix
    width: float


@dataclass(frozen=True)
class _Style:
    stroke: str = "none"
    fill: str = "black"
    width: str = "1"
    visible: bool = True


@dataclass
class _Open:
    """An element that has begun."""

    name: str
    where: str
    matrix: Matrix
    style: _Style
    label: str | None
    writer: str | None
    skipped: bool = False
    labelled_inside: bool = False
    shapes: list[_Shape] = field(default_factory=list)
    text: list[str] = field(default_factory=list)


def svg_pages(path: Path) -> Pages:
    """The marks of an SVG file, plain or gzipped.

    Raises
    ------
    GlyphError
        If it isn't SVG that can be read, with the line where known.
    """
    reader = _Reader(str(path))
    passed = read_markup(path, reader)
    reader.dropped.update(passed)
    return Pages("SVG", reader.done, reader.dropped)


class _Reader:
    """Takes elements as they come; see `gen.glyphs.pens.markup`."""

    def __init__(self, where: str) -> None:
        self._where = where
        self.done: list[Drawing] = []
        self.dropped: Counter[str] = Counter()
        self._open: list[_Open] = []
        self._page: Page | None = None
        self._sheet = Sheet()
        self._shape_seen = False

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
            above = _Open("", where, Matrix(), _Style(), None, None)
        elif tag == "svg":
            ours = False  # a page within the page has units of its own
        here = replace(above, name=tag, where=where, label=None, shapes=[], text=[])
        here.labelled_inside = False
        self._open.append(here)
        if above.skipped:
            return
        if ours and tag in ("title", "style"):
            return  # their text is what counts
        if not ours or tag not in (*_GROUPS, *SHAPES):
            here.skipped = True
            if not (ours and tag in _SAYS_NOTHING) and (ours or tag in ("svg", "include")):
                self.dropped[f"{tag} element"] += 1
            return
        self._take(here, above, attributes)

    def text(self, text: str) -> None:
        """Some text inside the element that is open."""
        if self._open and self._open[-1].name in ("title", "style"):
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
            if above.name == "g" and above.label is None and label:
                above.label = label
        elif here.name == "style":
            if self._shape_seen:
                self.dropped["style sheet after the first shape"] += 1
            else:
                self._sheet.read("".join(here.text), self.dropped)
        elif here.label is None:
            above.shapes += here.shapes
            above.labelled_inside |= here.labelled_inside
        else:
            above.labelled_inside = True
            self._emit(here)

    def _take(self, here: _Open, above: _Open, attributes: dict[str, str]) -> None:
        """A group or a shape."""
        said = stated(here.name, attributes, self._sheet)
        if said.get("display") == "none":
            here.skipped = True
            self.dropped["hidden element"] += 1
            return
        self.dropped.update(not_applied(said))
        if "transform" in attributes:
            inner = parse_transform(here.where, attributes["transform"])
            here.matrix = checked(here.where, above.matrix.after(inner))
        here.style = _Style(
            said.get("stroke", above.style.stroke),
            said.get("fill", above.style.fill),
            said.get("stroke-width", above.style.width),
            said["visibility"] == "visible" if "visibility" in said else above.style.visible,
        )
        here.writer = attributes.get("data-writer", "").strip() or above.writer
        if here.name in _GROUPS:
            here.label = attributes.get("data-label", "").strip() or None
        else:
            self._shape_seen = True
            self._draw(here, attributes)

    def _draw(self, here: _Open, attributes: dict[str, str]) -> None:
        style = here.style
        if not style.visible:
            self.dropped["hidden element"] += 1
            return
        if style.stroke in _NOTHING_DRAWN:
            drawn = style.fill not in _NOTHING_DRAWN
            self.dropped[_UNSTROKED[drawn]] += 1
            return
        diagonal = None if self._page is None else diagonal_of(self._page)
        width = parse_length(here.where, style.width, diagonal) * here.matrix.size
        paths = [
            path for path in parse_shape(here.where, here.name, attributes, self._page) if path.runs
        ]
        if not paths:
            return
        if not width > 0:
            self.dropped["shape whose stroke has no width or no size"] += 1
            return
        if not here.matrix.even:
            self.dropped["pen made oval by a transform, taken as round"] += 1
        if "clip-path" in attributes or "mask" in attributes:
            self.dropped["clip or mask, shape drawn whole"] += 1
        here.shapes.append(_Shape(paths, here.matrix, width))

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
        if group.labelled_inside:
            loose = sum(len(shape.paths) for shape in group.shapes)
            if loose:
                self.dropped["stroke outside the innermost labelled groups"] += loose
            return
        if not group.shapes:
            self.dropped[f"labelled group without strokes ({group.label})"] += 1
            return
        lines, strayed = _lines(group.where, group.shapes)
        self.done.append(
            Drawing(group.where, lines, group.label, group.writer, self._page, strayed)
        )


_UNSTROKED = {
    True: "shape that is filled and not stroked (an outline, not a pen's line)",
    False: "shape neither filled nor stroked",
}


def _lines(where: str, shapes: list[_Shape]) -> tuple[tuple[Line, ...], float]:
    """Strokes as points, (y, x), and how far these may be beside the curves."""
    moved = [
        (shape, path, [shape.matrix.of(run.points) for run in path.runs])
        for shape in shapes
        for path in shape.paths
    ]
    starts = [shape.matrix.of(np.array([path.start])) for shape, path, _ in moved]
    everything = [*starts, *(run.reshape(-1, 2) for _, _, runs in moved for run in runs)]
    low = np.min([part.min(axis=0) for part in everything], axis=0)
    high = np.max([part.max(axis=0) for part in everything], axis=0)
    if not np.abs([low, high]).max() <= MOST_UNITS:
        raise GlyphError(
            where, "the drawing runs out of range", allowed=f"-{MOST_UNITS:g} to {MOST_UNITS:g}"
        )
    within = max(float((high - low).max()) * _STRAY, 1e-300)
    curved = any(run.ndim == 3 for _, _, runs in moved for run in runs)
    lines, room = [], MOST_FLAT
    for (shape, _, runs), start in zip(moved, starts, strict=True):
        parts: list[Real] = [start]
        for run in runs:
            parts.append(flattened(where, run, within, most=room) if run.ndim == 3 else run)
            room -= len(parts[-1]) if run.ndim == 3 else 0
        lines.append(Line(np.concatenate(parts)[:, ::-1], shape.width))
    return tuple(lines), within if curved else 0.0
