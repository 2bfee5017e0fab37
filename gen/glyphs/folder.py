"""Folders of pictures: one sub-folder a class."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.classes import checked_names, natural_key
from gen.glyphs.found import Found
from gen.glyphs.left_out import LeftOut
from gen.glyphs.ragged import Pictures
from gen.glyphs.stacked import stacked

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
        Whether pictures of different sizes will do. They are then looked at here, and kept
        or read again when they are fitted.

    Returns
    -------
    Found
        What can be read; files that can't be are counted and named in a note.

    Raises
    ------
    GlyphError
        If there are no class folders, one of them is empty or nothing in it can be read,
        or the pictures aren't all of one size.
    """
    if folders not in FOLDERS:
        allowed = ", ".join(FOLDERS)
        raise GlyphError("folders", "folders can't be read so", got=repr(folders), allowed=allowed)
    try:
        held, notes = _listed(path, folders)
    except OSError as cause:
        raise GlyphError(str(path), "can't be read", got=cause) from cause
    left = LeftOut(path, "pictures")
    total = len(held)
    images: Pixels | Pictures
    seen: list[str] = []
    with warnings.catch_warnings():
        # Pillow warns of broken tags and of palettes; what matters is raised or noted.
        warnings.simplefilter("ignore")
        if sizes_differ:
            images = Pictures([one.path for one in held], left)
        else:
            images, seen = stacked(path, [one.path for one in held], left)
    if len(left.errors) == total:
        raise left.none_left(str(path))
    named = sorted({one.label for one in held}, key=natural_key)
    names = checked_names(str(path), named)
    for label in named if left.errors else ():
        these = [one.path for one in held if one.label == label]
        if all(one in left.errors for one in these):
            raise left.within(these).none_left(str(path), f" of class {label}")
    held = [one for one in held if one.path not in left.errors]
    number = {name: place for place, name in enumerate(named)}
    labels = np.array([number[one.label] for one in held])
    writers = None if folders == "class" else np.array([one.writer for one in held])
    return Found("folder", images, labels, names, (*notes, *left.notes(total), *seen), writers)


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
