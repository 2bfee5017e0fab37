"""Marks as they come, put into the frame one at a time, to one set of glyphs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Provenance, Real, Whole
from gen.glyphs.classes import checked_names, listed, natural_key, parse_classes
from gen.glyphs.labels import understood_writers
from gen.glyphs.pens.drawing import Drawing, Pages
from gen.glyphs.pens.fit import PEN_SHARE, PenFit, fitted
from gen.glyphs.pens.glyphs import PenGlyphs, as_pieces, pen_digest
from gen.glyphs.pens.simplify import MOST_PIECES, WITHIN_PX, simplified
from gen.glyphs.pens.sniff import Filed


@dataclass(frozen=True)
class Put:
    """A mark in the frame.

    Attributes
    ----------
    segments, width_px
        Its straight pieces and the pen along each, as `PenGlyphs` has them.
    strayed_px
        How far they may be beside the curves of the file.
    pen_unstated
        Whether the width of a pen had to be supposed.
    """

    segments: Real
    width_px: Real
    strayed_px: float
    pen_unstated: bool


@dataclass
class Gathered:
    """Marks as they come, put into the frame one at a time."""

    fit: PenFit
    segments: list[Real] = field(default_factory=list)
    width_px: list[Real] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)
    writers: list[str | None] = field(default_factory=list)
    kinds: set[str] = field(default_factory=set)
    seen: Counter[str] = field(default_factory=Counter)
    strayed_px: float = 0.0
    supposed: int = 0
    over_folder: int = 0
    given: int = 0
    notes: list[str] = field(default_factory=list)

    def put(self, pages: Pages) -> list[Put]:
        """All marks of one file in the frame.

        Raises
        ------
        GlyphError
            If one can't be put there.
        """
        return [self._fitted(drawing) for drawing in pages.drawings]

    def add(self, filed: Filed, pages: Pages, put: list[Put], fallback: str | None) -> None:
        """All marks of one file with their labels."""
        names = [fallback if one.label is None else one.label for one in pages.drawings]
        if None in names:
            raise GlyphError(
                str(filed.path),
                "the drawing has no label",
                got=pages.offers,
                hint="put it into a folder named like its class, or name it in the file "
                + _IN_FILE[pages.kind],
            )
        self.kinds.add(pages.kind)
        self.seen.update(pages.dropped)
        if not pages.drawings:
            self.seen["file without a mark"] += 1
        for drawing, name, one in zip(pages.drawings, names, put, strict=True):
            self.segments.append(one.segments)
            self.width_px.append(one.width_px)
            self.labels.append(str(name))
            self.strayed_px = max(self.strayed_px, one.strayed_px)
            self.supposed += one.pen_unstated
            self.given += drawing.label is None
            self.over_folder += filed.label is not None and drawing.label is not None
            self.writers.append(filed.writer if drawing.writer is None else drawing.writer)

    def _fitted(self, drawing: Drawing) -> Put:
        put = fitted(drawing, self.fit)
        lines = []
        left = MOST_PIECES
        for line in put.lines:
            lines.append(simplified(drawing.where, line, most=max(left, 1)))
            left -= max(len(lines[-1]) - 1, 1)
        if left < 0:
            raise GlyphError(
                drawing.where,
                "the mark has more strokes than any mark",
                got=f"{len(lines):,} strokes, {MOST_PIECES - left:,} straight pieces",
                allowed=f"{MOST_PIECES:,} straight pieces a mark",
            )
        segments, width_px = as_pieces(lines, put.width_px)
        return Put(segments, width_px, drawing.strayed * put.scale, put.pen_unstated)

    def glyphs(self, path: Path, classes: str | Sequence[str] | None) -> PenGlyphs:
        """The set."""
        where = str(path)
        if not self.labels:
            filled = any(what.startswith("shape that is filled") for what in self.seen)
            raise GlyphError(
                where,
                "there is no mark in it",
                got=_counted(self.seen) or None,
                hint=_OUTLINES if filled else None,
            )
        found = sorted(set(self.labels), key=natural_key)
        names = checked_names(where, found if classes is None else _asked(classes))
        keep = [place for place, name in enumerate(self.labels) if name in set(names)]
        if not keep:
            raise GlyphError(
                where,
                "no mark is of a class that was asked for",
                got=listed(tuple(found)),
                allowed=listed(names),
            )
        numbers = {name: place for place, name in enumerate(names)}
        segments = [self.segments[place] for place in keep]
        people, told = self._people(where, keep)
        glyphs = PenGlyphs(
            frame=self.fit.frame,
            labels=np.array([numbers[self.labels[place]] for place in keep], dtype=np.intp),
            classes=names,
            provenance=Provenance(
                kind="pens" if len(self.kinds) > 1 else next(iter(self.kinds)),
                name=where,
                digest="",
                notes=(*self._notes(found, names, len(keep)), *told),
            ),
            writers=people,
            segments=np.concatenate(segments),
            width_px=np.concatenate([self.width_px[place] for place in keep]),
            first=np.cumsum([0, *(len(each) for each in segments)]).astype(np.intp),
        )
        return replace(glyphs, provenance=replace(glyphs.provenance, digest=pen_digest(glyphs)))

    def _notes(self, found: list[str], names: tuple[str, ...], kept: int) -> list[str]:
        total = len(self.labels)
        notes = [self.fit.told(), *self.notes]
        within = f"strokes drawn with a round pen, within {WITHIN_PX + self.strayed_px:.2g} px"
        notes.append(f"{within} of where the file has them")
        if self.supposed:
            notes.append(
                f"{self.supposed:,} of {total:,} marks state no width of pen for some stroke: "
                f"{PEN_SHARE * self.fit.side_px:g} px taken"
            )
        if self.given:
            notes.append(f"{self.given:,} of {total:,} marks labelled from outside their file")
        if self.over_folder:
            notes.append(
                f"{self.over_folder:,} of {total:,} marks have labels of their own, "
                "which count over the folder's name"
            )
        if self.seen:
            notes.append(f"not read: {_counted(self.seen)}")
        others = [name for name in found if name not in names]
        if others:
            notes.append(
                f"{total - kept:,} of {total:,} marks of other classes left out: "
                + listed(tuple(others))
            )
        return notes

    def _people(self, where: str, keep: list[int]) -> tuple[Whole | None, list[str]]:
        writers = [self.writers[place] for place in keep]
        known = [writer for writer in writers if writer is not None]
        if not known:
            return None, []
        if len(known) < len(writers):
            return None, [
                f"writers stated for {len(known):,} of {len(writers):,} marks only, so not used"
            ]
        people, said = understood_writers(where, np.array(known), len(known))
        return people, [said]


_OUTLINES = (
    "outlines have no pen whose width could be set: save the drawings as pictures (PNG), in a "
    "folder for each class"
)
_IN_FILE = {
    "InkML": '(an annotation of type "truth" in its traceGroup)',
    "SVG": "(a title, or data-label, in its g)",
}


def _asked(classes: str | Sequence[str]) -> tuple[str, ...]:
    return parse_classes(classes) if isinstance(classes, str) else tuple(map(str, classes))


def _counted(seen: Counter[str]) -> str:
    """What was left out, by how often."""
    told = [f"{count:,} {what}" for what, count in sorted(seen.items())]
    return ", ".join(told[:12]) + (" ..." if len(told) > 12 else "")
