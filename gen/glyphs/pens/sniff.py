"""What a file is by its content, and which files of a folder are pen files."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

from gen.core.errors import GlyphError
from gen.glyphs.classes import natural_key
from gen.glyphs.folder import is_junk
from gen.glyphs.left_out import LeftOut
from gen.glyphs.pens.markup import root_name
from gen.glyphs.picture import picture_kind
from gen.glyphs.stream import first_bytes

HEAD_BYTES = 1 << 16
"""What is looked at to tell what a file is."""

_INKML = "http://www.w3.org/2003/InkML"
_SVG = "http://www.w3.org/2000/svg"
_DEEPEST = 2
_LOOKED_AT = 16


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
    """Whether the first file that is known, in a folder or two levels down, is a pen file.

    Of files that are empty or unknown a few are passed over.
    """
    for file in islice(_files(folder, _DEEPEST), _LOOKED_AT):
        try:
            head = first_bytes(file, HEAD_BYTES)
        except GlyphError:
            continue
        if looks_like_inkml(head) or looks_like_svg(head):
            return True
        if picture_kind(head) is not None:
            return False
    return False


def _files(folder: Path, deeper: int) -> Iterator[Path]:
    for entry in _entries(folder):
        if not entry.is_dir():
            yield entry
        elif deeper:
            yield from _files(entry, deeper - 1)


def _entries(folder: Path) -> list[Path]:
    try:
        found = sorted(folder.iterdir(), key=lambda entry: natural_key(entry.name))
    except (OSError, ValueError) as cause:
        raise GlyphError(str(folder), "can't be read", got=cause) from cause
    return [one for one in found if not is_junk(one)]


@dataclass(frozen=True)
class Filed:
    """A pen file, and what the folders that it lies in say of it; None where they don't."""

    path: Path
    label: str | None = None
    writer: str | None = None


def pen_files(path: Path, others: LeftOut, folders: str = "class") -> Iterator[Filed]:
    """Pen files, with what the folders that they are in stand for.

    Parameters
    ----------
    path
        A file or a folder.
    others
        Where files of a folder are put that are neither InkML nor SVG.
    folders
        "class", "class/writer" or "writer/class"; files may lie on any level.
    """
    if not path.is_dir():
        yield Filed(path)
        return
    found = False
    for one in _filed(path, folders.split("/"), Filed(path), folders):
        try:
            kind = pen_kind(one.path)
        except GlyphError:
            kind = "unknown"  # whoever reads it says what is wrong with it
        if kind is None:
            others.add(one.path, GlyphError(str(one.path), "neither InkML nor SVG"))
            continue
        found = True
        yield one
    if not found:
        raise GlyphError(str(path), "there is no pen file in the folder", allowed="InkML or SVG")


def _filed(folder: Path, levels: list[str], said: Filed, folders: str) -> Iterator[Filed]:
    """Everything in a folder, by what is said of the folder and of those within it."""
    for entry in _entries(folder):
        if not entry.is_dir():
            yield replace(said, path=entry)
        elif not levels:
            hint = "if folders say who wrote what, say so (--folders class/writer)"
            inner = folders.rpartition("/")[2]
            raise GlyphError(
                str(folder),
                f"a {inner} folder holds another folder",
                got=entry.name,
                allowed=f"FOLDER/{folders.upper()}/FILE, or files further up",
                hint=hint if folders == "class" else None,
            )
        elif levels[0] == "class":
            yield from _filed(entry, levels[1:], replace(said, label=entry.name), folders)
        else:
            yield from _filed(entry, levels[1:], replace(said, writer=entry.name), folders)
