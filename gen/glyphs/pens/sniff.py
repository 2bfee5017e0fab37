"""What a file is by its content, and which files of a folder are pen files."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from gen.core.errors import GlyphError
from gen.glyphs.classes import natural_key
from gen.glyphs.folder import is_junk
from gen.glyphs.pens.markup import root_name
from gen.glyphs.stream import first_bytes

HEAD_BYTES = 1 << 16
"""What is looked at to tell what a file is."""

_INKML = "http://www.w3.org/2003/InkML"
_SVG = "http://www.w3.org/2000/svg"
_DEEPEST = 2


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
    """Whether the first file in a folder, or up to two levels of folders down, is a pen file."""
    first = _first_file(folder, _DEEPEST)
    return first is not None and pen_kind(first) is not None


def _first_file(folder: Path, deeper: int) -> Path | None:
    for entry in _entries(folder):
        found = entry if entry.is_file() else _first_file(entry, deeper - 1) if deeper else None
        if found is not None:
            return found
    return None


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


def pen_files(path: Path, seen: Counter[str], folders: str = "class") -> Iterator[Filed]:
    """Pen files, with what the folders that they are in stand for.

    Parameters
    ----------
    path
        A file or a folder.
    seen
        Where files that are neither InkML nor SVG are counted.
    folders
        "class", "class/writer" or "writer/class"; files may lie on any level.
    """
    if not path.is_dir():
        yield Filed(path)
        return
    found = False
    for one in _filed(path, folders.split("/"), Filed(path), folders):
        if pen_kind(one.path) is None:
            seen["file that is neither InkML nor SVG"] += 1
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
