"""Folders of pictures: one sub-folder a class."""

from __future__ import annotations

import math
import warnings
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.classes import checked_names, natural_key
from gen.glyphs.found import Found
from gen.glyphs.picture import Picture, read_picture
from gen.glyphs.polarity import composited
from gen.glyphs.ragged import Pictures
from gen.glyphs.stream import MOST_BYTES

_JUNK = {"thumbs.db", "ehthumbs.db", "desktop.ini", "icon\r", "__macosx"}
FOLDERS = ("class", "class/writer", "writer/class")
"""What the levels of sub-folders may stand for."""
_SET = "glyphs.npz"
"""What collecting writes beside a folder "check"."""
_LAYOUT = {
    "class": "FOLDER/CLASS/PICTURE, one sub-folder a class",
    "class/writer": "FOLDER/CLASS/WRITER/PICTURE",
    "writer/class": "FOLDER/WRITER/CLASS/PICTURE",
}


def read_folder(path: Path, *, folders: str = "class", sizes_differ: bool = False) -> Found:
    """Read a folder that has one sub-folder of pictures for each class.

    Class names and pictures are taken in natural order, so that 10 comes after
    2. Hidden files and what file browsers leave behind are skipped and counted.

    Parameters
    ----------
    path
        The folder.
    folders
        "class": sub-folders are classes. "class/writer" or "writer/class": there are
        two levels, and one of them says who wrote what.
    sizes_differ
        Whether pictures of different sizes will do. They are then read when they are
        fitted, and not before.

    Raises
    ------
    GlyphError
        If there are no class folders, one of them is empty, a file isn't a
        picture, or the pictures aren't all of one size.
    """
    if folders not in FOLDERS:
        allowed = ", ".join(FOLDERS)
        raise GlyphError("folders", "folders can't be read so", got=repr(folders), allowed=allowed)
    try:
        held, notes = _listed(path, folders)
    except OSError as cause:
        raise GlyphError(str(path), "can't be read", got=cause) from cause
    paths = [one.path for one in held]
    named = sorted({one.label for one in held}, key=natural_key)
    number = {name: place for place, name in enumerate(named)}
    labels = np.array([number[one.label] for one in held])
    names = checked_names(str(path), named)
    writers = None if folders == "class" else np.array([one.writer for one in held])
    images: Pixels | Pictures
    seen: list[str] = []
    if sizes_differ:
        images = Pictures(paths)
    else:
        with warnings.catch_warnings():
            # Pillow warns of broken tags and of palettes; what matters is raised or noted.
            warnings.simplefilter("ignore")
            images, seen = _stacked(path, paths)
    return Found("folder", images, labels, names, (*notes, *seen), writers)


@dataclass(frozen=True)
class _Held:
    """A picture, and what the folders that it lies in say of it."""

    path: Path
    label: str
    writer: str


def _listed(path: Path, folders: str) -> tuple[list[_Held], list[str]]:
    """Every picture in order, and what was left out."""
    upper, loose, skipped = _inside(path)
    if [entry.name for entry in upper] == ["check"] and _SET in loose:
        # Its pictures show whole pages, with what was cut from them.
        says = "this folder holds a set of glyphs, and pictures to check it by"
        raise GlyphError(str(path), says, hint=str(path / _SET))
    if not upper:
        raise _no_classes(path, loose, folders)
    held: list[_Held] = []
    for entry in upper:
        if folders == "class":
            pictures, hidden = _pictures(entry, folders)
            held += [_Held(one, entry.name, "") for one in pictures]
            skipped += hidden
            continue
        lower, beside, hidden = _inside(entry)
        if not lower:
            raise _no_classes(entry, beside, folders)
        loose += [f"{entry.name}/{name}" for name in beside]
        skipped += hidden
        for inner in lower:
            pictures, hidden = _pictures(inner, folders)
            skipped += hidden
            label, writer = entry.name, inner.name
            if folders == "writer/class":
                label, writer = writer, label
            held += [_Held(one, label, writer) for one in pictures]
    if folders == "writer/class":
        held.sort(key=lambda one: natural_key(one.label))
    notes = []
    if skipped:
        notes.append(f"{skipped} hidden or system {'files' if skipped > 1 else 'file'} skipped")
    if loose:
        few = ", ".join(loose[:3]) + (" ..." if len(loose) > 3 else "")
        notes.append(f"{len(loose)} beside the class folders not read: {few}")
    return held, notes


def _inside(path: Path) -> tuple[list[Path], list[str], int]:
    """The folders in a folder, the names of what lies beside them, and how many are hidden."""
    entries = sorted(path.iterdir(), key=lambda entry: natural_key(entry.name))
    shown = [entry for entry in entries if not is_junk(entry)]
    below = [entry for entry in shown if entry.is_dir()]
    loose = [entry.name for entry in shown if not entry.is_dir()]
    return below, loose, len(entries) - len(shown)


def _pictures(path: Path, folders: str) -> tuple[list[Path], int]:
    """The pictures of the innermost folder, in order, and how many files are hidden."""
    entries = sorted(path.iterdir(), key=lambda one: natural_key(one.name))
    pictures = [one for one in entries if not is_junk(one)]
    nested = next((one for one in pictures if one.is_dir()), None)
    if nested is not None:
        hint = f"if {path.name!r} isn't a class but a part of the set, name that folder instead"
        if folders == "class":
            hint += "; if folders say who wrote what, say so (--folders class/writer)"
        raise GlyphError(
            str(path),
            "a class folder holds another folder",
            got=nested.name,
            allowed=_LAYOUT[folders],
            hint=hint,
        )
    if not pictures:
        raise GlyphError(
            str(path),
            "the class folder is empty",
            hint="take the folder away, or put pictures into it",
        )
    return pictures, len(entries) - len(pictures)


def is_junk(entry: Path) -> bool:
    """Whether a file is hidden, or left by a file browser.

    Examples
    --------
    >>> is_junk(Path("Thumbs.db")), is_junk(Path(".tag.png")), is_junk(Path("tag.png"))
    (True, True, False)
    """
    return entry.name.startswith(".") or entry.name.lower() in _JUNK


def _no_classes(path: Path, loose: list[str], folders: str) -> GlyphError:
    if not loose:
        return GlyphError(str(path), "the folder is empty", allowed=_LAYOUT[folders])
    idx = next((n for n in loose if "idx" in n.lower() and "images" in n.lower()), None)
    npz = next((n for n in loose if n.lower().endswith(".npz")), None)
    if idx is not None:
        hint = f"to read the IDX file in it, name that: {path / idx}"
    elif npz is not None:
        hint = f"to read the archive in it, name that: {path / npz}"
    else:
        hint = "pictures get their labels from the folder they are in: sort them into folders"
    return GlyphError(
        str(path),
        "the folder has no class folders, so nothing in it is labelled",
        got=f"{len(loose)} file{'s' * (len(loose) != 1)}, first {loose[0]}",
        allowed=_LAYOUT[folders],
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
        hint="say by what rule they are fitted into one frame (--fit RULE, or fit= in Python)",
    )
