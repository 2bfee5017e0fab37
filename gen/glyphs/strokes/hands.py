"""Hands: ways of writing that people share, as a school or a trade does.

A hand says which ways of writing each character it likes, and how it holds the
pen. A writer has one hand and strays from it; a glyph strays from its writer.
All names are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Hand:
    """One way of writing.

    Attributes
    ----------
    name
        A short invented name.
    slant_deg, slant_spread_deg
        Lean of upright strokes, positive to the right, and how far writers differ.
    breadth
        Width over what the paths say.
    size
        Writing height over the usual 20/28 of the frame.
    pen
        Width of the pen over the writing height.
    ease
        0 goes through every point of a path, 1 cuts corners as much as a B-spline.
    stray
        How far points of a path stray from glyph to glyph, writing height = 1.
    tremor
        Size of the fine unsteadiness, writing height = 1.
    reach
        How far strokes run past their ends (positive) or fall short (negative),
        over the distance to the neighbouring point.
    bend
        Size of the large-scale bending of a whole character.
    taper
        How much lighter the ends of a stroke are than its middle.
    likes
        Class to ways of writing, best-liked first. A class that isn't named uses
        all its ways, in an order of the hand's own.
    """

    name: str
    slant_deg: float = 8.0
    slant_spread_deg: float = 6.0
    breadth: float = 1.0
    size: float = 1.0
    pen: float = 0.11
    ease: float = 0.45
    stray: float = 0.022
    tremor: float = 0.004
    reach: float = 0.0
    bend: float = 0.10
    taper: float = 0.05
    likes: dict[str, str] = field(default_factory=dict)


def _likes(text: str) -> dict[str, str]:
    """Read ``0 round narrow; 1 plain`` as a table."""
    likes = {}
    for entry in text.split(";"):
        label, ways = entry.split(maxsplit=1)
        likes[label] = ways
    return likes


HANDS: tuple[Hand, ...] = (
    Hand(
        "fieldbook", slant_deg=6, pen=0.105, ease=0.4,
        likes=_likes(
            "0 round narrow; 1 plain bowed; 2 angular steep; 3 round flowing; 4 open closed;"
            "5 capped single; 6 curved straight; 7 plain curved; 8 ess crossed; 9 straight swept;"
            "A pointed lifted; G shelf spur; I barred; Q tailed flicked; O wide lapped; Y forked"
        ),
    ),
    Hand(
        "riverside", slant_deg=22, breadth=0.92, ease=0.65, stray=0.026, reach=0.04, taper=0.10,
        likes=_likes(
            "0 narrow hooked; 1 plain bowed; 2 looped swan; 3 nicked flowing; 4 running deep open;"
            "5 leaning single; 6 straight curved; 7 wave curved; 8 ess thrown; 9 swept straight;"
            "A knotted pointed; E curled; G round; I single; Q running; Y cupped; K looped;"
            "L looped"
        ),
    ),
    Hand(
        "plumbline", slant_deg=-2, slant_spread_deg=4, breadth=0.95, pen=0.095, ease=0.2,
        stray=0.016, bend=0.07,
        likes=_likes(
            "0 narrow round; 1 based flagged; 2 steep angular; 3 flat round; 4 closed open;"
            "5 capped; 6 straight tight; 7 nosed plain; 8 stacked; 9 closed straight;"
            "A lifted; E combed square; M peaked; N lifted; I barred; Y forked; Q tailed"
        ),
    ),
    Hand(
        "oxbow", slant_deg=10, breadth=1.16, pen=0.115, ease=0.6, bend=0.12,
        likes=_likes(
            "0 round sideways hooked; 1 plain flagged; 2 swan looped; 3 flowing round; 4 deep open;"
            "5 curling single; 6 hooked curved; 7 curved wave; 8 crossed ess; 9 hooked swept;"
            "A round; B open; C open plain; M round; N soft; W round; S snake; Z waved"
        ),
    ),
    Hand(
        "chalkside", slant_deg=4, pen=0.15, ease=0.5, size=1.03, stray=0.024, taper=0.02,
        likes=_likes(
            "0 round narrow; 1 plain; 2 angular looped; 3 round nicked; 4 open deep;"
            "5 single capped; 6 curved tight; 7 plain barred; 8 ess stacked; 9 straight swept;"
            "A pointed; I barred"
        ),
    ),
    Hand(
        "tallow", slant_deg=14, breadth=0.78, pen=0.1, ease=0.5, reach=-0.04,
        likes=_likes(
            "0 narrow; 1 bowed flagged; 2 steep swan; 3 flowing nicked; 4 closed running;"
            "5 leaning capped; 6 straight tight; 7 curved nosed; 8 thrown crossed;"
            "9 straight closed; E curled square; G spur; J topped; O egg; D looped"
        ),
    ),
    Hand(
        "ledger", slant_deg=16, slant_spread_deg=5, pen=0.085, ease=0.35, stray=0.016, bend=0.07,
        likes=_likes(
            "0 round hooked; 1 flagged plain; 2 looped angular; 3 nicked round; 4 closed open;"
            "5 capped single; 6 curved hooked; 7 barred nosed; 8 crossed ess; 9 straight hooked;"
            "I barred single; Z barred; Q running tailed; G spur shelf"
        ),
    ),
    Hand(
        "windrow", slant_deg=28, slant_spread_deg=8, breadth=0.95, pen=0.11, ease=0.8, stray=0.032,
        reach=0.08, bend=0.14, taper=0.12, tremor=0.005,
        likes=_likes(
            "0 hooked sideways round; 1 plain; 2 swan looped angular; 3 flowing;"
            "4 running open deep; 5 single curling leaning; 6 curved straight; 7 wave plain;"
            "8 thrown ess; 9 swept; E curled square; M round; U flared tailed; W round;"
            "X curved; V soft"
        ),
    ),
    Hand(
        "cold hands", slant_deg=3, pen=0.12, ease=0.3, stray=0.032, tremor=0.012, reach=-0.06,
        bend=0.13, size=0.95,
        likes=_likes(
            "0 sideways round; 1 plain flagged; 2 angular steep; 3 round flat; 4 open closed;"
            "5 capped curling; 6 hooked curved; 7 plain nosed; 8 stacked crossed; 9 closed straight"
        ),
    ),
    Hand(
        "first year", slant_deg=-8, slant_spread_deg=6, breadth=1.08, pen=0.125, ease=0.4,
        stray=0.034, reach=-0.02, bend=0.15, size=0.98,
        likes=_likes(
            "0 round sideways; 1 plain based; 2 swan angular; 3 flat flowing; 4 open closed;"
            "5 capped; 6 tight curved; 7 plain curved; 8 stacked ess; 9 hooked closed;"
            "A lifted pointed; E square; I barred; Q tailed"
        ),
    ),
    Hand(
        "paintstick", slant_deg=9, breadth=1.04, pen=0.165, ease=0.55, size=1.05, reach=0.03,
        taper=0.0,
        likes=_likes(
            "0 hooked round; 1 plain bowed; 2 looped steep; 3 nicked flowing; 4 running open;"
            "5 leaning single; 6 hooked straight; 7 barred curved; 8 ess crossed; 9 hooked straight"
        ),
    ),
    Hand(
        "margin note", slant_deg=12, breadth=0.9, pen=0.08, size=0.93, ease=0.7, stray=0.028,
        tremor=0.006, taper=0.15,
        likes=_likes(
            "0 round narrow sideways; 1 bowed plain; 2 swan steep; 3 flowing round; 4 deep open;"
            "5 curling single; 6 straight curved; 7 wave barred; 8 thrown crossed; 9 swept hooked;"
            "T waved; H linked; R looped; F waved; P hat; X curved"
        ),
    ),
)  # fmt: skip
