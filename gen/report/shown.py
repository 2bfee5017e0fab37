"""The pictures that a page shows, with what the model said to each: plain frozen values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]


@dataclass(frozen=True)
class Said:
    """What the model said to one picture.

    Attributes
    ----------
    answered
        The class that it named.
    confidence
        In that class; None when it gives labels only.
    right
        Whether it is the true one.
    """

    answered: str
    confidence: float | None
    right: bool


@dataclass(frozen=True)
class Picture:
    """One glyph at one place of a recipe.

    Attributes
    ----------
    glyph
        Its index in the set.
    true
        Its class.
    image
        ndarray of shape (H, W), uint8, ink bright.
    said
        What the model said.
    before
        The glyph at nominal, ndarray of shape (H, W), uint8; None where it is nominal.
    before_said
        What the model said to that; None where it isn't shown.
    """

    glyph: int
    true: str
    image: Pixels
    said: Said
    before: Pixels | None = None
    before_said: Said | None = None


@dataclass(frozen=True)
class Followed:
    """One glyph through the levels of a sweep.

    Attributes
    ----------
    glyph
        Its index in the set.
    true
        Its class.
    images
        ndarray of shape (levels, H, W), uint8, ink bright.
    said
        What the model said at each level.
    """

    glyph: int
    true: str
    images: Pixels
    said: tuple[Said, ...]


@dataclass(frozen=True)
class ShownSweep:
    """The pictures of one curve.

    Attributes
    ----------
    followed
        The same glyphs in every sweep, the one to begin with first.
    misread
        For each level some glyphs that were misread there: those that nominal reads
        rightly first, and of these the surest.
    first_lost
        Glyphs that nominal reads rightly and that the smallest change which costs any
        already loses, surest first; empty where levels have no smallest.
    first_lost_at
        Index of the level of these; None where there are none.
    gained
        Where accuracy peaks off nominal, glyphs that the peak reads rightly and nominal
        doesn't, each with what nominal said, surest there first.
    """

    followed: tuple[Followed, ...]
    misread: tuple[tuple[Picture, ...], ...]
    first_lost: tuple[Picture, ...] = ()
    first_lost_at: int | None = None
    gained: tuple[Picture, ...] = ()


@dataclass(frozen=True)
class ShownGrid:
    """One glyph through the cells of a grid: a picture each; None where the model failed."""

    cells: tuple[tuple[Picture | None, ...], ...]


@dataclass(frozen=True)
class ShownBlend:
    """Some glyphs as the first draw of a blend has them."""

    drawn: tuple[Picture, ...]


@dataclass(frozen=True)
class ShownKind:
    """Some marks of no class of one kind, ndarray of shape (n, H, W), uint8, ink bright."""

    kind: str
    images: Pixels


@dataclass(frozen=True)
class Shown:
    """All pictures of a page.

    Attributes
    ----------
    sweeps, grids, blends
        One for each curve, grid and blend of the evaluation, in its order.
    at_nominal
        Glyphs that are misread with nothing changed, surest first.
    strangers
        Marks of no class, a kind each, in the order of the evaluation.
    """

    sweeps: tuple[ShownSweep, ...] = ()
    grids: tuple[ShownGrid, ...] = ()
    blends: tuple[ShownBlend, ...] = ()
    at_nominal: tuple[Picture, ...] = ()
    strangers: tuple[ShownKind, ...] = ()
