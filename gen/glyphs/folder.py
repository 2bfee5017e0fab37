"""Folders of pictures: one sub-folder a class."""

from __future__ import annotations

import math
import warnings
from collections import Counter
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.classes import checked_names, natural_key
from gen.glyphs.found import Found
from gen.glyphs.picture import Picture, read_picture
from gen.glyphs.polarity import composited
from gen.glyphs.stream import MOST_BYTES

_JUNK = {"thumbs.db", "ehthumbs.db", "desktop.ini", "icon\r", "__macosx"}
_LAYOUT = "FOLDER/CLASS/PICTURE, one sub-folder a class"


def read_folder(path: Path) -> Found:
    """Read a folder that has one sub-folder of pictures for each class.

    Class names and pictures are taken in natural order, so that 10 comes after
    2. Hidden files and what file browsers leave behind are skipped and counted.

    Raises
    ------
    GlyphError
        If there are no class folders, one of them is empty, a file isn't a
        picture, or the pictures aren't all of one size.
    """
    try:
        named, notes = _listed(path)
    except OSError as cause:
        raise GlyphError(str(path), "can't be read", got=cause) from cause
    paths = [picture for pictures in named.values() for picture in pictures]
    with warnings.catch_warnings():
        # Pillow warns of broken tags and of palettes; what matters is raised or noted.
        warnings.simplefilter("ignore")
        images, seen = _stacked(path, paths)
    labels = np.repeat(np.arange(len(named)), [len(pictures) for pictures in named.values()])
    names = checked_names(str(path), list(named))
    return Found("folder", images, labels, names, (*notes, *seen))


def _listed(path: Path) -> tuple[dict[str, list[Path]], list[str]]:
    """Pictures of each class, by name, and what was left out."""
    named: dict[str, list[Path]] = {}
    skipped, loose = 0, []
    for entry in sorted(path.iterdir(), key=lambda entry: natural_key(entry.name)):
        if _junk(entry):
            skipped += 1
        elif entry.is_dir():
            inside = sorted(entry.iterdir(), key=lambda one: natural_key(one.name))
            named[entry.name] = [one for one in inside if not _junk(one)]
            skipped += len(inside) - len(named[entry.name])
        else:
            loose.append(entry.name)
    if not named:
        raise _no_classes(path, loose)
    for name, pictures in named.items():
        nested = next((one for one in pictures if one.is_dir()), None)
        if nested is not None:
            raise GlyphError(
                str(path / name),
                "a class folder holds another folder",
                got=nested.name,
                allowed=_LAYOUT,
                hint=f"if {name!r} isn't a class but a part of the set, name that folder instead",
            )
        if not pictures:
            raise GlyphError(
                str(path / name),
                "the class folder is empty",
                hint="take the folder away, or put pictures into it",
            )
    notes = []
    if skipped:
        notes.append(f"{skipped} hidden or system {'files' if skipped > 1 else 'file'} skipped")
    if loose:
        few = ", ".join(loose[:3]) + (" ..." if len(loose) > 3 else "")
        notes.append(f"{len(loose)} beside the class folders not read: {few}")
    return named, notes


def _junk(entry: Path) -> bool:
    return entry.name.startswith(".") or entry.name.lower() in _JUNK


def _no_classes(path: Path, loose: list[str]) -> GlyphError:
    if not loose:
        return GlyphError(str(path), "the folder is empty", allowed=_LAYOUT)
    idx = next((n for n in loose if "idx" in n.lower() and "images" in n.lower()), None)
    if idx is not None:
        hint = f"to read the IDX file in it, name that: {path / idx}"
    else:
        hint = "pictures get their labels from the folder they are in: sort them into folders"
    return GlyphError(
        str(path),
        "the folder has no class folders, so nothing in it is labelled",
        got=f"{len(loose)} file{'s' * (len(loose) != 1)}, first {loose[0]}",
        allowed=_LAYOUT,
        hint=hint,
    )


def _stacked(path: Path, paths: list[Path]) -> tuple[Pixels, list[str]]:
    first = read_picture(paths[0])
    frame = first.grey.shape
    size = len(paths) * math.prod(frame)
    if size > MOST_BYTES:
        raise GlyphError(
            str(path),
            "too many pixels in all",
            got=f"{len(paths):,} pictures of {frame[0]} x {frame[1]} px",
            allowed=f"up to {MOST_BYTES:,}",
        )
    images = np.empty((len(paths), *frame), dtype=np.uint8)
    seen: Counter[str] = Counter()
    clear: dict[int, Pixels] = {}
    for place, one in enumerate(paths):
        picture: Picture = first if place == 0 else read_picture(one)
        if picture.grey.shape != frame:
            raise _odd_size(path, paths)
        images[place] = picture.grey
        seen.update(picture.done)
        if picture.alpha is not None:
            clear[place] = picture.alpha
    transparent = seen.pop("transparency", 0)
    notes = [f"{count:,} of {len(paths):,} pictures: {done}" for done, count in seen.items()]
    if clear:
        paper = composited(images, clear)
        notes.append(f"{transparent:,} of {len(paths):,} pictures: transparency laid on {paper}")
    return images, notes


def _odd_size(path: Path, paths: list[Path]) -> GlyphError:
    """The error that names the picture whose size isn't the usual one."""
    sizes = [read_picture(one).grey.shape for one in paths]
    usual, count = Counter(sizes).most_common(1)[0]
    odd = next(place for place, size in enumerate(sizes) if size != usual)
    return GlyphError(
        str(paths[odd]),
        "the picture isn't of the same size as the others",
        got=f"{sizes[odd][0]} x {sizes[odd][1]} px (rows x columns)",
        allowed=f"{usual[0]} x {usual[1]} px, as {count:,} of {len(paths):,} in {path}",
        hint="resize them first: fitting marks into one frame is a step of its own, "
        "not offered yet",
    )
