"""What photographs are called, who wrote them, and that none comes twice."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

from gen.core.errors import GlyphError


def plain_name(name: str) -> str:
    """A name without what a file of text can't hold.

    Examples
    --------
    >>> plain_name("page\\udcff 1\\n.jpg")
    'page? 1?.jpg'
    """
    return "".join(letter if letter.isprintable() else "?" for letter in name)


def writer_names(paths: Sequence[Path], writers: Sequence[str]) -> list[str]:
    """The writer of each photograph: as told, or else one for each, named as the file.

    Where files in several folders have the same name, the folder tells their writers apart.

    Examples
    --------
    >>> writer_names([Path("pear.jpg"), Path("plum.jpg")], [])
    ['pear', 'plum']
    >>> writer_names([Path("ann/1.jpg"), Path("bo/1.jpg")], [])
    ['ann/1', 'bo/1']

    Raises
    ------
    GlyphError
        If some but not all are told.
    """
    if not writers:
        told: list[str] = []
        for parts in (1, 2, None):
            bare = [path.with_suffix("").parts if parts else (str(path),) for path in paths]
            told = [plain_name("/".join(each[-(parts or 1) :])) for each in bare]
            if len(set(told)) == len(told):
                return told
        return [f"{name} ({number})" for number, name in enumerate(told, start=1)]
    if len(writers) == 1:
        return [plain_name(writers[0])] * len(paths)
    if len(writers) != len(paths):
        raise GlyphError(
            "--writer",
            "the numbers of writers and photographs don't agree",
            got=f"{len(writers)} writers, {len(paths)} photographs",
            allowed="none, one, or as many as photographs, in the same order",
        )
    return [plain_name(writer) for writer in writers]


def refuse_twice(paths: Sequence[Path]) -> None:
    """Refuse one photograph under two names: its marks would count twice, as if of two writers.

    Raises
    ------
    GlyphError
        At the second of two files that hold the same.
    """
    seen: dict[tuple[int, str], Path] = {}
    for path in paths:
        try:
            if not path.is_file() or path.stat().st_size == 0:
                continue
            with path.open("rb") as stream:
                held = hashlib.file_digest(stream, "sha256").hexdigest()
            key = (path.stat().st_size, held)
        except (OSError, ValueError):
            continue  # what is wrong with it is told where it is read
        if key in seen:
            raise GlyphError(
                str(path),
                "the same photograph comes twice",
                got=f"it holds what {plain_name(str(seen[key]))} holds",
                hint="name each photograph once",
            )
        seen[key] = path
