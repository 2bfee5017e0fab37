"""Loose marks as files: first to be named, then as a labelled set."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError, OutputError
from gen.core.files import whole_folder
from gen.glyphs.base import Pixels
from gen.glyphs.classes import natural_key
from gen.glyphs.paper.contact import contact_picture
from gen.glyphs.paper.labels import COLUMNS, Row, is_filled_in, read_classes, table_text
from gen.glyphs.paper.loose import JOIN, Mark, Marks, find_marks
from gen.glyphs.paper.named import plain_name, refuse_twice, writer_names
from gen.glyphs.paper.numbered import numbered_name, numbered_pictures
from gen.glyphs.paper.photo import read_photo
from gen.glyphs.paper.set_file import write_set
from gen.glyphs.stream import MOST_BYTES

LABELS, CONTACT, MARKS = "labels.csv", "contact", "marks"

Told = Callable[[int, int], None]


@dataclass(frozen=True)
class LooseSet:
    """What was written.

    Attributes
    ----------
    told
        A line for each photograph.
    marks
        How many were found.
    counts
        How many of each class; empty before they are named.
    unnamed
        How many were left out because their class is empty.
    side_px
        Of each picture of the set; 0 before they are named.
    """

    told: tuple[str, ...]
    marks: int
    counts: dict[str, int]
    unnamed: int
    side_px: int


def cut_loose(
    paths: Sequence[Path],
    folder: Path,
    *,
    join: float = JOIN,
    overwrite: bool = False,
    progress: Told = lambda done, total: None,
) -> LooseSet:
    """Cut the marks out of photographs and write them to be named.

    The folder gets `labels.csv` with a line for each mark and its class left empty, in
    `contact` each photograph with its marks numbered, and in `marks` a picture of each mark.

    Parameters
    ----------
    paths
        The photographs; they are never changed.
    folder
        Where to write; it appears whole or not at all.
    join
        See `find_marks`.
    overwrite
        Whether a folder that holds something already may be written into.
    progress
        Told how many photographs of how many are done.

    Raises
    ------
    GlyphError
        If a photograph can't be read or shows no marks. Nothing is written then, since
        the numbers of the marks run through all photographs.
    """
    from PIL import Image

    refuse_twice(paths)
    if is_filled_in(folder / LABELS):
        raise OutputError(
            str(folder / LABELS),
            "the table there is filled in, and would be replaced by an empty one",
            hint="another folder; or --labels with this table, to get the set",
        )
    told: list[str] = []
    rows: list[Row] = []
    earlier = [one for name in (CONTACT, MARKS) for one in numbered_pictures(folder, name)]
    with whole_folder(folder, overwrite=overwrite, stale=earlier) as scratch:
        for name in (CONTACT, MARKS):
            (scratch / name).mkdir()
        for index, path in enumerate(paths):
            progress(index, len(paths))
            grey = read_photo(path)
            found = find_marks(str(path), grey, join=join)
            picture = contact_picture(grey, found, len(rows) + 1)
            picture.save(scratch / CONTACT / numbered_name(index + 1, path), format="PNG")
            for mark in found.marks:
                rows.append(_row(len(rows) + 1, path, mark))
                shown = Image.fromarray(255 - mark.ink)
                shown.save(scratch / MARKS / f"{len(rows):04d}.png", format="PNG")
            told.append(_in_words(path, found))
        (scratch / LABELS).write_text(table_text(rows), encoding="utf-8")
    return LooseSet(tuple(told), len(rows), {}, 0, 0)


def label_loose(
    paths: Sequence[Path],
    folder: Path,
    *,
    labels: Path,
    writers: Sequence[str] = (),
    join: float = JOIN,
    overwrite: bool = False,
    progress: Told = lambda done, total: None,
) -> LooseSet:
    """Cut the marks out of photographs once more and write those that were named as a set.

    Every mark is in the middle of a square frame by its box, as large as it was
    photographed; the frame is that of the largest mark. The folder gets `glyphs.npz`:
    images, labels, classes (in natural order), writers, and of each picture its photo and
    the number of the mark.

    Parameters
    ----------
    paths
        The photographs, in the order in which they were cut.
    folder
        Where to write; it appears whole or not at all.
    labels
        The table, filled in.
    writers
        See `collect_photos`.
    join, overwrite, progress
        See `cut_loose`.

    Raises
    ------
    GlyphError
        If a photograph can't be read, or the table isn't of these photographs.
    """
    names = writer_names(paths, writers)
    refuse_twice(paths)
    told: list[str] = []
    rows: list[Row] = []
    marks: list[Mark] = []
    who: list[str] = []
    for index, (path, writer) in enumerate(zip(paths, names, strict=True)):
        progress(index, len(paths))
        found = find_marks(str(path), read_photo(path), join=join)
        rows += [_row(len(rows) + at, path, mark) for at, mark in enumerate(found.marks, start=1)]
        marks += found.marks
        who += [writer] * len(found.marks)
        told.append(_in_words(path, found))
    named = read_classes(labels, rows)
    kept = [at for at, name in enumerate(named) if name is not None]
    if not kept:
        raise GlyphError(
            str(labels),
            "no mark has a class",
            hint='fill in the column "class"; what is left empty is left out',
        )
    images = _framed([marks[at].ink for at in kept])
    given = [str(named[at]) for at in kept]
    classes = sorted(set(given), key=natural_key)
    with whole_folder(folder, overwrite=overwrite) as scratch:
        write_set(
            scratch,
            images,
            [classes.index(name) for name in given],
            classes,
            writers=[who[at] for at in kept],
            photos=[rows[at]["photo"] for at in kept],
            numbers=[at + 1 for at in kept],
        )
    counts = Counter(given)
    ordered = {name: counts[name] for name in classes}
    return LooseSet(tuple(told), len(marks), ordered, len(marks) - len(kept), images.shape[1])


def _framed(inks: Sequence[Pixels]) -> Pixels:
    """Marks in the middle of one square frame, moved by whole pixels only."""
    side = max(max(ink.shape) for ink in inks)
    if len(inks) * side * side > MOST_BYTES:
        raise GlyphError(
            "photographs",
            "too many pixels in all",
            got=f"{len(inks):,} marks of {side} x {side} px",
            allowed=f"up to {MOST_BYTES:,}",
            hint="leave the class of the largest marks empty",
        )
    images = np.zeros((len(inks), side, side), np.uint8)
    for image, ink in zip(images, inks, strict=True):
        top, left = (side - ink.shape[0]) // 2, (side - ink.shape[1]) // 2
        image[top : top + ink.shape[0], left : left + ink.shape[1]] = ink
    return images


def _row(number: int, path: Path, mark: Mark) -> Row:
    values = (
        *(number, "", plain_name(path.name), mark.line, mark.place),
        *(mark.left, mark.top, mark.width, mark.height),
    )
    return {column: str(value) for column, value in zip(COLUMNS, values, strict=True)}


def _in_words(path: Path, found: Marks) -> str:
    lines = found.marks[-1].line
    out = [
        f"{count} {what}"
        for count, what in (
            (found.specks, "specks"),
            (found.large, "too large"),
            (found.cut, "at the edge of the picture"),
        )
        if count
    ]
    left = f"; left out: {', '.join(out)}" if out else ""
    count = len(found.marks)
    return (
        f"{plain_name(path.name)}: {count} mark{'s' * (count != 1)} in {lines} "
        f"line{'s' * (lines != 1)}{left}"
    )
