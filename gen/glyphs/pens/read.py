"""Pen files and folders of them, to one set of glyphs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Provenance, Real
from gen.glyphs.classes import checked_names, listed, natural_key, parse_classes
from gen.glyphs.pens.drawing import Drawing, Pages
from gen.glyphs.pens.fit import Fit, fitted
from gen.glyphs.pens.glyphs import PenGlyphs, as_pieces, pen_digest
from gen.glyphs.pens.markup import root_name
from gen.glyphs.pens.simplify import MOST_PIECES, WITHIN_PX, simplified
from gen.glyphs.stream import first_bytes

HEAD_BYTES = 1 << 16
"""What is looked at to tell what a file is."""

TRUTH = "truth"
_INKML = "http://www.w3.org/2003/InkML"
_SVG = "http://www.w3.org/2000/svg"
_JUNK = {"thumbs.db", "ehthumbs.db", "desktop.ini", "icon\r", "__macosx"}
_NAMED = 5


def looks_like_inkml(head: bytes) -> bool:
    """Whether a file that begins so is InkML: its first element is `ink`.

    Examples
    --------
    >>> looks_like_inkml(b'<ink xmlns="http://www.w3.org/2003/InkML">')
    True
    """
    return root_name(head) in (f"{_INKML} ink", "ink")


def looks_like_svg(head: bytes) -> bool:
    """Whether a file that begins so is SVG: its first element is `svg`.

    Examples
    --------
    >>> looks_like_svg(b'<svg xmlns="http://www.w3.org/2000/svg">'), looks_like_svg(b"<html>")
    (True, False)
    """
    return root_name(head) in (f"{_SVG} svg", "svg")


def pen_kind(path: Path) -> str | None:
    """ "InkML" or "SVG" if that is what a file is by its content, plain or gzipped."""
    head = first_bytes(path, HEAD_BYTES)
    return "InkML" if looks_like_inkml(head) else "SVG" if looks_like_svg(head) else None


def holds_pens(folder: Path) -> bool:
    """Whether the first file in a folder, or in its first sub-folder, is a pen file."""
    for entry in _entries(folder):
        if entry.is_file():
            return pen_kind(entry) is not None
        inside = [one for one in _entries(entry) if one.is_file()]
        if inside:
            return pen_kind(inside[0]) is not None
    return False


def read_pens(
    path: Path,
    *,
    frame: tuple[int, int] = (28, 28),
    fit: str = "box",
    side_px: float | None = None,
    pen_px: float | None = None,
    classes: str | Sequence[str] | None = None,
    label: str | None = None,
    labels: Mapping[str, str] | None = None,
    truth: str = TRUTH,
) -> PenGlyphs:
    """Read InkML or SVG, one file or a folder of them, as strokes.

    A mark's label is the one that its file states for it; for a file that states none
    it is the name of the class folder that the file is in, or `labels`, or `label`.

    Parameters
    ----------
    path
        A file, or a folder with files in it or in one sub-folder a class.
    frame
        (H, W) in px.
    fit
        "box", "mass" or "page" (`gen.glyphs.pens.fit`).
    side_px
        Longer side of the ink's box in px; 20/28 of the frame's shorter side when
        left out.
    pen_px
        Width of the pen in px. When left out it is what the file states, scaled with
        the drawing, and a tenth of `side_px` where the file states none.
    classes
        The classes in their order, as `parse_classes` reads them or a sequence; marks
        of others are left out and counted. All that are found when left out.
    label
        The label of a file that states none.
    labels
        The label of each such file by its name, as "hook.svg".
    truth
        The type of the annotations of InkML that are labels.

    Returns
    -------
    PenGlyphs
        `provenance.notes` says what was understood, supposed and left out.

    Raises
    ------
    GlyphError
        If anything can't be read, or has no label.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as shed:
    ...     tag = Path(shed) / "one.svg"
    ...     _ = tag.write_text('<svg xmlns="http://www.w3.org/2000/svg" fill="none" '
    ...                        'stroke="black"><path d="M3 1V9"/></svg>')
    ...     ones = read_pens(tag, label="1", pen_px=2.0)
    >>> ones.strokes(np.array([0])).segments[0, 0].tolist()
    [[4.5, 13.5], [22.5, 13.5]]
    """
    rule = Fit.of(frame=frame, rule=fit, side_px=side_px, pen_px=pen_px)
    gathered = _Gathered(rule)
    for file, folder in _files(path, gathered.seen):
        pages = _pages(file, truth)
        fallback = label
        if folder is not None:
            fallback = folder
        if labels is not None and file.name in labels:
            fallback = labels[file.name]
        gathered.add(file, pages, fallback, in_folder=folder is not None)
    return gathered.glyphs(path, classes)


def read_inkml(
    path: Path,
    *,
    frame: tuple[int, int] = (28, 28),
    fit: str = "box",
    side_px: float | None = None,
    pen_px: float | None = None,
    classes: str | Sequence[str] | None = None,
    label: str | None = None,
    truth: str = TRUTH,
) -> PenGlyphs:
    """Read one InkML file; arguments are those of `read_pens`."""
    _hold_to("InkML", path)
    return read_pens(
        path,
        frame=frame,
        fit=fit,
        side_px=side_px,
        pen_px=pen_px,
        classes=classes,
        label=label,
        truth=truth,
    )


def read_svg(
    path: Path,
    *,
    frame: tuple[int, int] = (28, 28),
    fit: str = "box",
    side_px: float | None = None,
    pen_px: float | None = None,
    classes: str | Sequence[str] | None = None,
    label: str | None = None,
) -> PenGlyphs:
    """Read one SVG file; arguments are those of `read_pens`."""
    _hold_to("SVG", path)
    return read_pens(
        path,
        frame=frame,
        fit=fit,
        side_px=side_px,
        pen_px=pen_px,
        classes=classes,
        label=label,
    )


def _hold_to(kind: str, path: Path) -> None:
    if path.is_file() and pen_kind(path) != kind:
        head = first_bytes(path, 8)
        got = f"a file that begins {head[:4].hex(' ')}" if head else "an empty file"
        raise GlyphError(str(path), f"not {kind}", got=got)


def _pages(file: Path, truth: str) -> Pages:
    kind = pen_kind(file)
    if kind == "InkML":
        from gen.glyphs.pens.inkml import inkml_pages

        return inkml_pages(file, truth=truth)
    if kind == "SVG":
        from gen.glyphs.pens.svg import svg_pages

        return svg_pages(file)
    head = first_bytes(file, 8)
    raise GlyphError(
        str(file),
        "not a pen file",
        got=f"a file that begins {head[:4].hex(' ')}" if head else "an empty file",
        allowed="InkML or SVG",
    )


def _entries(folder: Path) -> list[Path]:
    try:
        found = sorted(folder.iterdir(), key=lambda entry: natural_key(entry.name))
    except (OSError, ValueError) as cause:
        raise GlyphError(str(folder), "can't be read", got=cause) from cause
    return [one for one in found if not _junk(one)]


def _junk(entry: Path) -> bool:
    return entry.name.startswith(".") or entry.name.lower() in _JUNK


def _files(path: Path, seen: Counter[str]) -> Iterator[tuple[Path, str | None]]:
    """Pen files with the class folder that each is in."""
    if not path.is_dir():
        yield path, None
        return
    found = False
    for entry in _entries(path):
        inside = _entries(entry) if entry.is_dir() else [entry]
        for file in inside:
            if file.is_dir():
                raise GlyphError(
                    str(entry),
                    "a class folder holds another folder",
                    got=file.name,
                    allowed="FOLDER/FILE or FOLDER/CLASS/FILE",
                )
            if pen_kind(file) is None:
                seen["file that is neither InkML nor SVG"] += 1
                continue
            found = True
            yield file, entry.name if entry.is_dir() else None
    if not found:
        raise GlyphError(str(path), "there is no pen file in the folder", allowed="InkML or SVG")


@dataclass
class _Gathered:
    """Marks as they come, put into the frame one at a time."""

    fit: Fit
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

    def add(self, file: Path, pages: Pages, fallback: str | None, *, in_folder: bool) -> None:
        """All marks of one file."""
        self.kinds.add(pages.kind)
        self.seen.update(pages.dropped)
        for drawing in pages.drawings:
            name = fallback if drawing.label is None else drawing.label
            if name is None:
                raise GlyphError(
                    str(file),
                    "the drawing has no label",
                    hint="put it into a folder named like its class, or name it in the file "
                    + _IN_FILE[pages.kind],
                )
            self.given += drawing.label is None
            self.over_folder += in_folder and drawing.label is not None
            self._fit(drawing, name)

    def _fit(self, drawing: Drawing, name: str) -> None:
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
        self.segments.append(segments)
        self.width_px.append(width_px)
        self.labels.append(name)
        self.writers.append(drawing.writer)
        self.strayed_px = max(self.strayed_px, drawing.strayed * put.scale)
        self.supposed += put.pen_unstated

    def glyphs(self, path: Path, classes: str | Sequence[str] | None) -> PenGlyphs:
        """The set."""
        where = str(path)
        if not self.labels:
            raise GlyphError(where, "there is no mark in it", got=_counted(self.seen) or None)
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
        people, told = self._people(keep)
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
        from dataclasses import replace

        return replace(glyphs, provenance=replace(glyphs.provenance, digest=pen_digest(glyphs)))

    def _notes(self, found: list[str], names: tuple[str, ...], kept: int) -> list[str]:
        total = len(self.labels)
        notes = [self.fit.told()]
        within = f"strokes drawn with a round pen, within {WITHIN_PX + self.strayed_px:.2g} px"
        notes.append(f"{within} of where the file has them")
        if self.supposed:
            notes.append(
                f"{self.supposed:,} of {total:,} marks state no width of pen for some stroke: "
                f"{0.1 * self.fit.side_px:g} px taken"
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

    def _people(self, keep: list[int]) -> tuple[np.ndarray | None, list[str]]:
        writers = [self.writers[place] for place in keep]
        known = [writer for writer in writers if writer is not None]
        if not known:
            return None, []
        if len(known) < len(writers):
            return None, [
                f"writers stated for {len(known):,} of {len(writers):,} marks only, so not used"
            ]
        order = sorted(set(known), key=natural_key)
        number = {name: place for place, name in enumerate(order)}
        people = np.array([number[name] for name in known], dtype=np.intp)
        return people, [f"{len(order):,} writer{'s' * (len(order) != 1)}, as the files state"]


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
