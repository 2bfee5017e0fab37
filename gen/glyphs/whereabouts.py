"""Where a file that isn't there may be."""

from __future__ import annotations

import difflib
import shlex
from pathlib import Path

COLLECTED = "glyphs.npz"
"""What `gen collect` calls the file that it writes."""


def whereabouts(path: Path) -> str:
    """What to try when a file isn't there: the name nearest to it, or where it would come from.

    Parameters
    ----------
    path
        Of a file that doesn't exist.

    Examples
    --------
    >>> whereabouts(Path("no such folder/glyphs.npz"))
    "is the path right? gen collect PHOTO... --into 'no such folder' writes such a file"
    """
    missing = path
    while not missing.parent.exists():
        missing = missing.parent
    folder = missing.parent
    try:
        # A link that leads nowhere is there, and is no better for being named again.
        there = sorted(each.name for each in folder.iterdir() if each.exists())
    except OSError:
        there = []
    near = difflib.get_close_matches(missing.name, there, n=1)
    if near:
        meant = folder / near[0] / path.relative_to(missing)
        if meant.exists():
            return f'"{meant}"'
        return f'is the path right? there is "{folder / near[0]}"'
    if path.name == COLLECTED and missing == path.parent:
        into = shlex.quote(str(missing))
        return f"is the path right? gen collect PHOTO... --into {into} writes such a file"
    if missing != path:
        return f"is the path right? there is no folder {missing} either"
    return "is the path right?"
