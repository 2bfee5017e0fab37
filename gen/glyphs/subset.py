"""Fewer glyphs: without the blank ones, or a balanced draw."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.base import RasterGlyphs, StrokeGlyphs, Whole, pixels_digest
from gen.glyphs.mapped import pieces_of

Kind = TypeVar("Kind", bound=RasterGlyphs | StrokeGlyphs)
_NAMED = 5


def spread_over(total: int, most: int) -> Whole:
    """Places of a few glyphs, spread evenly over a set: sets are often sorted by class.

    Parameters
    ----------
    total
        How many there are.
    most
        How many at the most.

    Returns
    -------
    ndarray of shape (min(total, most),), intp, ascending, none twice.

    Examples
    --------
    >>> spread_over(10, 4).tolist(), spread_over(3, 4).tolist()
    ([0, 2, 5, 7], [0, 1, 2])
    """
    count = min(total, most)
    return np.arange(count, dtype=np.intp) * total // max(count, 1)


def without_blanks(glyphs: RasterGlyphs) -> tuple[RasterGlyphs, tuple[str, ...]]:
    """Leave out the glyphs that have no ink at all.

    Returns
    -------
    tuple
        The glyphs with ink (the same object if all have some), and a line that
        counts and names those left out; no line if there are none.

    Raises
    ------
    GlyphError
        If no glyph has ink.
    """
    pieces = (glyphs.images[part] for part in pieces_of(glyphs.images))
    inked = np.concatenate([piece.reshape(len(piece), -1).any(axis=1) for piece in pieces])
    blank = np.flatnonzero(~inked)
    if not len(blank):
        return glyphs, ()
    if len(blank) == len(glyphs):
        raise GlyphError(
            glyphs.provenance.name,
            "no glyph has any ink",
            got=f"{len(glyphs):,} pictures of one even tone",
            hint="look at one of the pictures; if its ink is dark, say so (--ink dark)",
        )
    few = ", ".join(str(place) for place in blank[:_NAMED]) + (
        " ..." if len(blank) > _NAMED else ""
    )
    one = len(blank) == 1
    note = (
        f"{len(blank):,} of {len(glyphs):,} glyphs {'has' if one else 'have'} no ink and "
        f"{'was' if one else 'were'} left out: {'number' if one else 'numbers'} {few}"
    )
    return _taken(glyphs, np.flatnonzero(inked), note), (note,)


def sample(glyphs: Kind, count: int, *, seed: int) -> Kind:
    """A balanced draw that is the same on every machine.

    Classes are drawn in turn until there are enough, so that their counts
    differ by at most one as long as they have glyphs left. Order stays that of
    the set. A draw of more glyphs from the same seed contains the smaller draw.

    Parameters
    ----------
    glyphs
        The set to draw from.
    count
        How many; the whole set if it has no more.
    seed
        Any whole number.

    Raises
    ------
    GlyphError
        If `count` is below 1.

    References
    ----------
    SplitMix64: G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom
    number generators", OOPSLA 2014.
    """
    if count < 1:
        raise GlyphError("sample", "at least one glyph must be drawn", got=count)
    if count >= len(glyphs):
        return glyphs
    lot = splitmix64(_start(seed), len(glyphs))
    # Within its class each glyph gets a turn by its lot; turns come before lots.
    order = np.lexsort((lot, glyphs.labels))
    starts = np.concatenate(([0], np.cumsum(glyphs.counts)[:-1]))
    turn = np.empty(len(glyphs), dtype=np.intp)
    turn[order] = np.arange(len(glyphs)) - starts[glyphs.labels[order]]
    chosen = np.sort(np.lexsort((lot, turn))[:count])
    return _taken(glyphs, chosen, f"{count:,} of {len(glyphs):,} glyphs drawn, seed {seed}")


def splitmix64(start: int, count: int) -> NDArray[np.uint64]:
    """The first outputs of SplitMix64, ndarray of shape (count,), uint64.

    Examples
    --------
    >>> int(splitmix64(1234567, 1)[0])
    6457827717110365317
    """
    steps = np.arange(1, count + 1, dtype=np.uint64)
    mixed = np.uint64(start) + steps * np.uint64(0x9E3779B97F4A7C15)
    mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return mixed ^ (mixed >> np.uint64(31))


def _start(seed: int) -> int:
    told = hashlib.sha256(f"draw of glyphs, seed {seed}".encode()).digest()
    return int.from_bytes(told[:8], "little")


def _taken(glyphs: Kind, places: Whole, note: str) -> Kind:
    """Some of the glyphs, with a digest and notes that are true of them."""
    taken = glyphs.take(places)
    told = replace(taken.provenance, notes=(*glyphs.provenance.notes, note))
    if isinstance(taken, RasterGlyphs):
        # Strokes see to their digest themselves.
        told = replace(told, digest=pixels_digest(taken.images, taken.labels, taken.classes))
    return cast(Kind, replace(taken, provenance=told))
