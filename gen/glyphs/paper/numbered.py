"""Pictures that are numbered in a folder, so that those of an earlier run are known again."""

from __future__ import annotations

import re
from pathlib import Path

from gen.glyphs.paper.named import plain_name

_NUMBERED = re.compile(r"\d{2,}[ .]")


def numbered_name(number: int, photo: Path) -> str:
    """Name of the picture that is made of a photograph.

    Examples
    --------
    >>> numbered_name(3, Path("shed/anna.jpg"))
    '03 anna.png'
    """
    return f"{number:02d} {plain_name(photo.stem)}.png"


def numbered_pictures(folder: Path, inside: str) -> list[str]:
    """Pictures of an earlier run, relative to `folder`: what is numbered as these are.

    Examples
    --------
    >>> numbered_pictures(Path("nowhere"), "check")
    []
    """
    found = (folder / inside).glob("*.png")
    return [f"{inside}/{one.name}" for one in found if _NUMBERED.match(one.name)]
