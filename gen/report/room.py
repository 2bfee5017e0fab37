"""How many glyphs a page has room for: it stays one file that can be sent by mail."""

from __future__ import annotations

from dataclasses import replace

from gen.report.album import Album
from gen.report.shown import Shown, ShownSweep
from gen.report.words import listed

MOST_CHARS = 2_800_000
"""For the pictures that the script shows; what else a page of ten long sweeps has fits beside."""
_STEPS = ((6, 6), (6, 4), (6, 3), (4, 3), (4, 2), (3, 2), (2, 2), (2, 1), (1, 1), (1, 0))


def in_room(shown: Shown, album: Album, *, most_chars: int = MOST_CHARS) -> tuple[Shown, str]:
    """The same pictures, or fewer of them where they would take too much room.

    Parameters
    ----------
    shown
        What could be shown.
    album
        Where the pictures of the page are.
    most_chars
        How much they may take, in characters of the page.

    Returns
    -------
    shown
        With fewer glyphs to follow and fewer misread ones beside each level if need be.
    str
        What was left out, in a sentence; empty when all is shown.
    """
    for followed, misread in _STEPS:
        few = replace(shown, sweeps=tuple(_few(each, followed, misread) for each in shown.sweeps))
        if fits := album.chars(_numbers(few, album)) <= most_chars:
            break
    if not fits:
        few = replace(few, grids=())
    left = []
    if any(len(before.followed) > followed for before in shown.sweeps):
        left.append(f"{_of(followed, 'glyph')} can be followed")
    if any(len(pictures) > misread for before in shown.sweeps for pictures in before.misread):
        left.append(f"{_of(misread, 'misread glyph')} can be seen at a level")
    if not fits and shown.grids:
        left.append("none in the cells of grids")
    return few, f"So that this file stays small, {listed(left)}." if left else ""


def _few(sweep: ShownSweep, followed: int, misread: int) -> ShownSweep:
    return replace(
        sweep,
        followed=sweep.followed[:followed],
        misread=tuple(pictures[:misread] for pictures in sweep.misread),
    )


def _numbers(shown: Shown, album: Album) -> set[int]:
    images = [
        image
        for sweep in shown.sweeps
        for image in (
            *(image for followed in sweep.followed for image in followed.images),
            *(picture.image for pictures in sweep.misread for picture in pictures),
        )
    ]
    images += [
        cell.image for grid in shown.grids for row in grid.cells for cell in row if cell is not None
    ]
    return {album.number(image) for image in images}


def _of(many: int, what: str) -> str:
    return f"{f'at most {many}' if many else 'no'} {what}{'' if many == 1 else 's'}"
