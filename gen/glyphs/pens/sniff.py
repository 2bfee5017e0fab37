"""What a file is by its content, and which files of a folder are pen files."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from gen.core.errors import GlyphError
from gen.glyphs.classes import natural_key
from gen.glyphs.pens.markup import root_name
from gen.glyphs.stream import first_bytes

HEAD_BYTES = 1 << 16
"""What is looked at to tell what a file is."""

_INKML = "http://www.w3.org/2003/InkML"
_SVG = "http://www.w3.org/2000/svg"
_JUNK = {"thumbs.db", "ehthumbs.db", "desktop.ini", "icon\r", "__macosx"}


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


def _entries(folder: Path) -> list[Path]:
    try:
        found = sorted(folder.iterdir(), key=lambda entry: natural_key(entry.name))
    except (OSError, ValueError) as cause:
        raise GlyphError(str(folder), "can't be read", got=cause) from cause
    return [one for one in found if not _junk(one)]


def _junk(entry: Path) -> bool:
    return entry.name.startswith(".") or entry.name.lower() in _JUNK


def pen_files(path: Path, seen: Counter[str]) -> Iterator[tuple[Path, str | None]]:
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
