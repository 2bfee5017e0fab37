"""A labelled set from photographs of filled sheets, and the files it is written to."""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from gen.core.errors import CombinedError, GlyphError, InkdriftError
from gen.core.files import whole_folder
from gen.glyphs.base import Pixels
from gen.glyphs.paper.boxes import KEPT, MOST_SIDE_PX, Cuts, cut_boxes, side_px
from gen.glyphs.paper.check import check_picture, summary
from gen.glyphs.paper.code import read_code, short_classes
from gen.glyphs.paper.layout import BOX_MM, Plan
from gen.glyphs.paper.named import plain_name, refuse_twice, writer_names
from gen.glyphs.paper.numbered import numbered_name, numbered_pictures
from gen.glyphs.paper.page import Page, read_page
from gen.glyphs.paper.photo import read_photo
from gen.glyphs.paper.set_file import write_set
from gen.glyphs.stream import MOST_BYTES

BOXES, CHECKS = "boxes.csv", "check"
COLUMNS = ("photo", "page", "box", "row", "column", "class", "writer", "state", "picture")

Told = Callable[[int, int], None]


@dataclass(frozen=True)
class Photo:
    """One photograph that could be read.

    Attributes
    ----------
    path
        The file.
    name
        It, in letters that any file can hold.
    writer
        Who wrote on the page.
    page
        The page in it.
    """

    path: Path
    name: str
    writer: str
    page: Page


@dataclass(frozen=True)
class Collected:
    """What came of some photographs.

    Attributes
    ----------
    plan
        The sheet that all are of.
    side_px
        Of each picture.
    photos
        Those that could be read, in the order they were named.
    told
        A line for each: its page and what became of its boxes.
    counts
        How many boxes came to each state, over all pages.
    failures
        An error for each photograph that couldn't be read.
    notes
        What can't be taken for granted, a line each.
    """

    plan: Plan
    side_px: int
    photos: tuple[Photo, ...]
    told: tuple[str, ...]
    counts: dict[str, int]
    failures: tuple[InkdriftError, ...]
    notes: tuple[str, ...]


def collect_photos(
    paths: Sequence[Path],
    folder: Path,
    *,
    writers: Sequence[str] = (),
    told: str | None = None,
    overwrite: bool = False,
    progress: Told = lambda done, total: None,
) -> Collected:
    """Cut the marks out of photographs of filled sheets and write a labelled set.

    The folder gets `glyphs.npz` (images, labels, classes, writers, and of each picture its
    photo and box), `boxes.csv` with a line for every box of every page and what became of
    it, and in `check` a picture of each page. A photograph that can't be read is left out
    and told; when none can, or photographs are of different sheets, nothing is written.

    Parameters
    ----------
    paths
        The photographs; one page each. They are never changed.
    folder
        Where to write; it appears whole or not at all.
    writers
        Nobody: each photograph has a writer of its own, named as its file. One name: the
        writer of all. As many as photographs: the writer of each.
    told
        The line of the sheet, for pages whose code can't be read.
    overwrite
        Whether a folder that holds something already may be written into.
    progress
        Told how many steps of how many are done.

    Raises
    ------
    GlyphError
        If the photographs are of different sheets, none holds a mark, or the numbers of
        writers and photographs don't agree.
    CombinedError
        If no photograph can be read: the error of each.
    OutputError
        If the folder can't be written.
    """
    names = writer_names(paths, writers)
    refuse_twice(paths)
    if told is not None:
        read_code("--sheet", told)  # wrong for one is wrong for all
    photos: list[Photo] = []
    failures: list[InkdriftError] = []
    for number, (path, writer) in enumerate(zip(paths, names, strict=True)):
        progress(number, 2 * len(paths))
        try:
            page = read_page(str(path), read_photo(path), told=told)
        except InkdriftError as error:
            failures.append(error)
            continue
        photos.append(Photo(path, plain_name(path.name), writer, page))
    if not photos:
        raise failures[0] if len(failures) == 1 else CombinedError(failures)
    plan = _one_plan(photos)
    side = side_px(max(photo.page.px_mm for photo in photos))
    count = sum(len(photo.page.covered) for photo in photos)
    if count * side * side > MOST_BYTES:
        raise GlyphError(
            "photographs",
            "too many pixels in all",
            got=f"{count:,} boxes of {side} x {side} px",
            allowed=f"up to {MOST_BYTES:,}",
            hint="some of the photographs at a time",
        )
    earlier = numbered_pictures(folder, CHECKS)
    with whole_folder(folder, overwrite=overwrite, stale=earlier) as scratch:
        (scratch / CHECKS).mkdir()
        cuts: list[Cuts] = []
        for number, photo in enumerate(photos):
            progress(len(paths) + number, 2 * len(paths))
            grey = read_photo(photo.path)
            cuts.append(cut_boxes(grey, photo.page, side))
            picture = check_picture(grey, photo.page, cuts[-1], photo.name)
            picture.save(scratch / CHECKS / numbered_name(number + 1, photo.path), format="PNG")
        _write(scratch, plan, photos, cuts)
    progress(1, 1)
    states = [state for each in cuts for state in each.states]
    return Collected(
        plan,
        side,
        tuple(photos),
        tuple(summary(photo.page, each) for photo, each in zip(photos, cuts, strict=True)),
        {state: states.count(state) for state in dict.fromkeys([KEPT, *states])},
        tuple(failures),
        tuple(_notes(photos, cuts, side)),
    )


def _one_plan(photos: Sequence[Photo]) -> Plan:
    first = photos[0]
    for other in photos[1:]:
        if other.page.plan != first.page.plan:
            raise GlyphError(
                str(other.path),
                f"is of another sheet than {first.name}",
                got=_in_words(other.page.plan),
                allowed=_in_words(first.page.plan),
                hint="collect the photographs of each sheet by themselves",
            )
    return first.page.plan


def _in_words(plan: Plan) -> str:
    classes = short_classes(plan.classes)
    return f"{classes} x {plan.per_class} in {plan.order} on {plan.paper}"


def _write(scratch: Path, plan: Plan, photos: Sequence[Photo], cuts: Sequence[Cuts]) -> None:
    """The set, and the list of all boxes."""
    images: list[Pixels] = []
    labels, writers, names, numbers, rows = [], [], [], [], []
    for photo, each in zip(photos, cuts, strict=True):
        boxes = photo.page.plan.boxes(photo.page.number)
        for box, image, state in zip(boxes, each.images, each.states, strict=True):
            kept = state == KEPT
            rows.append(
                (
                    *(photo.name, photo.page.number, box.number, box.row, box.column),
                    *(plan.classes[box.label], photo.writer, state, len(images) if kept else ""),
                )
            )
            if kept:
                images.append(image)
                labels.append(box.label)
                writers.append(photo.writer)
                names.append(photo.name)
                numbers.append(box.number)
    if not images:
        raise GlyphError(
            photos[0].name,
            "no box on any page holds a mark",
            got="; ".join(summary(p.page, c) for p, c in zip(photos, cuts, strict=True))[:300],
            hint="written with a pen that is too faint, or a sheet nobody has written on?",
        )
    write_set(
        scratch,
        np.stack(images),
        labels,
        plan.classes,
        writers=writers,
        photos=names,
        boxes=numbers,
    )
    with (scratch / BOXES).open("w", encoding="utf-8", newline="") as stream:
        table = csv.writer(stream, lineterminator="\n")
        table.writerow(COLUMNS)
        table.writerows(rows)


def _notes(photos: Sequence[Photo], cuts: Sequence[Cuts], side: int) -> list[str]:
    notes = [f"{photo.name}: {note}" for photo in photos for note in photo.page.notes]
    notes += [
        f"{photo.name}: {each.faint:.1%} of its ink is faint and lies where no stroke is, as what "
        "shows through from the back or is smudged, and was left out"
        for photo, each in zip(photos, cuts, strict=True)
        if each.faint
    ]
    scales = [photo.page.px_mm for photo in photos]
    if side_px(max(scales)) == MOST_SIDE_PX and max(scales) * BOX_MM > MOST_SIDE_PX:
        notes.append(
            f"the photographs are finer than pictures of {MOST_SIDE_PX} px, and were drawn coarser"
        )
    if max(scales) > 1.25 * min(scales):
        notes.append(
            f"photographs of {min(scales):.1f} to {max(scales):.1f} px a mm: the coarser ones "
            "were drawn finer, to one size, and are softer"
        )
    seen: dict[tuple[str, int], str] = {}
    for photo in photos:
        key = (photo.writer, photo.page.number)
        if key in seen:
            notes.append(
                f"{photo.name}: page {photo.page.number} by {photo.writer} again, after "
                f"{seen[key]}; is it the same sheet of paper?"
            )
        seen.setdefault(key, photo.name)
    return notes
