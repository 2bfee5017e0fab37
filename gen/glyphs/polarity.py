"""Which of the two, dark or bright, is the ink."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gen.glyphs.base import Pixels
from gen.glyphs.mapped import mapping_of, pieces_of, spooled

_CLEAR = 32  # grey levels between darkest and brightest that a picture needs to have a say
_AGREED = 2 / 3  # share of the votes that settles it
_VISIBLE = 128


@dataclass(frozen=True)
class Votes:
    """How many pictures look as if their ink were bright, and dark.

    Attributes
    ----------
    bright, dark
        Pictures whose border is nearer to their darkest, or brightest, pixel.
    total
        All pictures; those that are too even have no say.
    """

    bright: int
    dark: int
    total: int

    def __add__(self, other: Votes) -> Votes:
        """The votes of both."""
        bright, dark = self.bright + other.bright, self.dark + other.dark
        return Votes(bright, dark, self.total + other.total)

    @property
    def ink(self) -> str | None:
        """The ink that two thirds agree on, "bright" or "dark"; None if too even."""
        said = self.bright + self.dark
        if said and self.dark >= _AGREED * said:
            return "dark"
        if said and self.bright >= _AGREED * said:
            return "bright"
        return None


def ink_votes(images: Pixels) -> Votes:
    """Let every picture say whether its ink is bright or dark.

    Paper is what runs round the edge: a picture whose border median lies nearer
    to its darkest pixel than to its brightest has bright ink.

    Parameters
    ----------
    images
        ndarray of shape (N, H, W), uint8.

    Examples
    --------
    >>> page = np.full((1, 5, 5), 230, dtype=np.uint8)
    >>> page[0, 1:4, 2] = 20
    >>> ink_votes(page).ink
    'dark'
    """
    parts = [_votes(images[part]) for part in pieces_of(images)]
    return Votes(sum(v.bright for v in parts), sum(v.dark for v in parts), len(images))


def _votes(images: Pixels) -> Votes:
    count = len(images)
    rings = (
        images[:, 0, :],
        images[:, -1, :],
        images[:, 1:-1, 0],
        images[:, 1:-1, -1],
    )
    border = np.concatenate(rings, axis=1)
    middle = border.shape[1] // 2
    paper = np.partition(border, middle, axis=1)[:, middle].astype(np.intp)
    flat = images.reshape(count, -1)
    low, high = flat.min(axis=1).astype(np.intp), flat.max(axis=1).astype(np.intp)
    clear = high - low >= _CLEAR
    bright = clear & (high - paper > paper - low)
    dark = clear & (high - paper < paper - low)
    return Votes(int(bright.sum()), int(dark.sum()), count)


def settled(images: Pixels, ink: str) -> tuple[Pixels, str, str]:
    """Pictures with bright ink, whatever they came with.

    Parameters
    ----------
    images
        ndarray of shape (N, H, W), uint8.
    ink
        "auto" to find out, or "bright" or "dark" as told.

    Returns
    -------
    tuple
        Pictures, ink bright; how the source shows ink, "bright" or "dark"; and
        one line that says so.
    """
    shown, note = decided(ink_votes(images), ink)
    return (_inverted(images) if shown == "dark" else images), shown, note


def decided(votes: Votes, ink: str) -> tuple[str, str]:
    """How pictures show ink, "bright" or "dark", and one line that says so.

    Parameters
    ----------
    votes
        What the pictures say.
    ink
        "auto" to go by them, or "bright" or "dark" as told.
    """
    seen, said = votes.ink, votes.bright + votes.dark
    if ink == "auto":
        if seen is None:
            return "bright", (
                f"ink polarity too even to call: {votes.bright:,} pictures look bright on dark and "
                f"{votes.dark:,} dark on bright, of {votes.total:,}; kept as bright ink"
            )
        ink = seen
        agreed = votes.dark if seen == "dark" else votes.bright
        reason = f"as {agreed:,} of {said:,} pictures show"
    else:
        reason = "as told"
        if seen not in (None, ink):
            other = votes.dark if seen == "dark" else votes.bright
            reason += f", though {other:,} of {said:,} pictures look the other way"
    if ink == "dark":
        return "dark", f"ink is dark on bright paper, {reason}; inverted"
    return "bright", f"ink is bright on dark paper, {reason}; kept"


def _inverted(images: Pixels) -> Pixels:
    """Bright for dark; what was too large to be held is not held now."""
    if mapping_of(images) is None:
        return 255 - images
    return spooled((255 - images[part] for part in pieces_of(images)), images.shape)


def composited(images: Pixels, alphas: Mapping[int, Pixels]) -> str:
    """Lay transparent pictures on paper, in place, one paper for all of them.

    Where the part that shows has one tone it is the ink, and the paper is the
    other end: white under dark ink, black under bright. Where it shows both
    tones it brings its own paper, which is continued. The pictures vote.

    Parameters
    ----------
    images
        ndarray of shape (N, H, W), uint8, changed in place.
    alphas
        For each transparent picture its index and ndarray of shape (H, W), uint8.

    Returns
    -------
    "white" or "black".
    """
    votes = sum(wants_white(images[place], alpha) for place, alpha in alphas.items())
    paper = 255 if votes >= 0 else 0
    for place, alpha in alphas.items():
        images[place] = laid_on(images[place], alpha, paper)
    return "white" if paper else "black"


def laid_on(grey: Pixels, alpha: Pixels, paper: int) -> Pixels:
    """A picture as it shows on paper of a grey, (H, W), uint8."""
    # 255 * 255 + 127 fits 16 bits, and a page may have 64 million pixels.
    shows = alpha.astype(np.uint16)
    laid = grey * shows + np.uint16(paper) * (255 - shows)
    return ((laid + 127) // 255).astype(np.uint8)


def wants_white(grey: Pixels, alpha: Pixels) -> int:
    """+1 for white paper, -1 for black, 0 if nothing shows."""
    shown = np.sort(grey[alpha >= _VISIBLE])
    if not len(shown):
        shown = np.sort(grey[alpha > 0])
    if not len(shown):
        return 0
    last = len(shown) - 1
    low, middle, high = (int(shown[last * share // 100]) for share in (5, 50, 95))
    brings_paper = high - low >= 128
    return 1 if (middle >= 128) == brings_paper else -1
