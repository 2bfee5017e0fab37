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
        Class to ways of writing, best-liked first; the other ways are rare. Where
        a class isn't named, all its ways are liked, in an order of the hand's own.
    """

    name: str
    slant_deg: float = 8.0
    slant_spread_deg: float = 6.0
    breadth: float = 1.0
    size: float = 1.0
    pen: float = 0.118
    ease: float = 0.45
    stray: float = 0.025
    tremor: float = 0.004
    reach: float = 0.0
    bend: float = 0.11
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
        "fieldbook", slant_deg=6, breadth=1.12, pen=0.123, ease=0.4,
        likes=_likes(
            "0 round narrow; 1 plain bowed; 2 angular steep low ribbon;"
            "3 round flowing angular belly; 4 open closed; 5 capped single flagged;"
            "6 curved straight; 7 plain curved shouldered; 8 ess crossed slung;"
            "9 straight swept leaned; A pointed lifted; G shelf spur; I barred;"
            "Q tailed flicked; O wide lapped; Y forked"
        ),
    ),
    Hand(
        "riverside", slant_deg=20, breadth=1.06, ease=0.65, stray=0.029, reach=0.04, taper=0.10,
        likes=_likes(
            "0 hooked wide narrow; 1 plain bowed; 2 ribbon curl sled looped swan;"
            "3 long nicked flowing; 4 running deep open; 5 flagged leaning single;"
            "6 wide straight curved; 7 wave curved; 8 pinched ess thrown gaping;"
            "9 loose swept straight; A knotted pointed; E curled; G round; I single; Q running;"
            "Y cupped; K looped; L looped"
        ),
    ),
    Hand(
        "plumbline", slant_deg=-2, slant_spread_deg=5, breadth=1.05, pen=0.118, ease=0.2,
        stray=0.018, bend=0.08,
        likes=_likes(
            "0 narrow round; 1 based flagged; 2 steep angular; 3 arrow flat round angular;"
            "4 closed open; 5 blocky capped; 6 straight tight; 7 hooked nosed plain;"
            "8 stacked late; 9 closed straight leaned; A lifted; E combed square; M peaked;"
            "N lifted; I barred; Y forked; Q tailed"
        ),
    ),
    Hand(
        "oxbow", slant_deg=10, breadth=1.25, pen=0.134, ease=0.6, bend=0.14,
        likes=_likes(
            "0 wide round sideways hooked; 1 plain flagged; 2 ribbon swan looped sled;"
            "3 belly flowing round; 4 wide deep open; 5 curling single blocky;"
            "6 wide hooked curved; 7 shouldered curved wave; 8 late slung crossed ess;"
            "9 loose hooked swept; A round; B open; C open plain; M round; N soft; W round;"
            "S snake; Z waved; I barred single"
        ),
    ),
    Hand(
        "chalkside", slant_deg=4, pen=0.171, breadth=1.1, ease=0.5, size=1.03,
        stray=0.027, taper=0.02,
        likes=_likes(
            "0 round wide; 1 plain; 2 angular looped squat; 3 round nicked angular;"
            "4 open deep; 5 single capped flagged; 6 curved tight open; 7 plain barred hooked;"
            "8 ess stacked slung late; 9 straight swept leaned; A pointed; I barred"
        ),
    ),
    Hand(
        "tallow", slant_deg=14, breadth=0.84, pen=0.128, ease=0.5, reach=-0.04,
        likes=_likes(
            "0 narrow; 1 bowed flagged; 2 curl ribbon steep; 3 flowing nicked long;"
            "4 closed running; 5 leaning capped; 6 straight tight open; 7 curved nosed hooked;"
            "8 pinched gaping thrown crossed; 9 straight closed loose; E curled square; G spur;"
            "J topped; O egg; D looped; I barred bare"
        ),
    ),
    Hand(
        "ledger", slant_deg=16, slant_spread_deg=5, pen=0.102, breadth=1.08, ease=0.35,
        stray=0.018, bend=0.08,
        likes=_likes(
            "0 round hooked; 1 flagged plain; 2 looped angular curl;"
            "3 nicked round angular belly; 4 closed open; 5 capped single flagged;"
            "6 curved hooked wide; 7 barred nosed shouldered; 8 crossed ess;"
            "9 straight leaned hooked; I barred single; Z barred; Q running tailed;"
            "G spur shelf"
        ),
    ),
    Hand(
        "windrow", slant_deg=26, slant_spread_deg=6, breadth=1.08, pen=0.128, ease=0.8, stray=0.036,
        reach=0.08, bend=0.16, taper=0.12, tremor=0.005,
        likes=_likes(
            "0 hooked sideways round wide; 1 plain; 2 squat sled swan looped angular;"
            "3 arrow long flowing; 4 running open deep wide; 5 flagged single curling leaning;"
            "6 open curved straight; 7 wave plain; 8 pinched gaping thrown ess; 9 swept loose;"
            "E curled square; M round; U flared tailed; W round; X curved; V soft;"
            "I barred single"
        ),
    ),
    Hand(
        "cold hands", slant_deg=3, pen=0.139, breadth=1.05, ease=0.3, stray=0.036, tremor=0.012,
        reach=-0.06, bend=0.15, size=0.95,
        likes=_likes(
            "0 sideways round; 1 plain flagged; 2 low squat angular; 3 arrow round flat;"
            "4 open closed; 5 capped curling blocky; 6 hooked curved open;"
            "7 hooked plain nosed; 8 late stacked crossed gaping; 9 closed straight leaned;"
            "I barred single"
        ),
    ),
    Hand(
        "first year", slant_deg=-8, slant_spread_deg=6, breadth=1.22, pen=0.139, ease=0.4,
        stray=0.038, reach=-0.02, bend=0.17, size=0.98,
        likes=_likes(
            "0 round sideways wide; 1 plain based; 2 squat swan angular low;"
            "3 angular flat flowing arrow; 4 wide open closed; 5 blocky capped;"
            "6 tight curved wide; 7 hooked plain curved; 8 stacked ess slung;"
            "9 leaned closed hooked; A lifted pointed; E square; I barred; Q tailed"
        ),
    ),
    Hand(
        "paintstick", slant_deg=9, breadth=1.15, pen=0.198, ease=0.55, size=1.05, reach=0.03,
        taper=0.0,
        likes=_likes(
            "0 hooked round wide; 1 plain bowed; 2 ribbon curl looped; 3 belly nicked flowing;"
            "4 running open wide; 5 leaning single flagged; 6 hooked straight wide;"
            "7 barred curved shouldered; 8 ess crossed slung; 9 straight loose hooked;"
            "I barred single; B single; D rising; E curled square; G round; M lifted peaked;"
            "R rising; Y cupped slide"
        ),
    ),
    Hand(
        "margin note", slant_deg=12, breadth=1.02, pen=0.091, size=0.93, ease=0.7, stray=0.031,
        tremor=0.006, taper=0.15,
        likes=_likes(
            "0 round narrow sideways; 1 bowed plain; 2 ribbon low swan; 3 flowing round long;"
            "4 deep open; 5 flagged curling single; 6 open straight curved;"
            "7 wave barred shouldered; 8 pinched thrown crossed gaping; 9 swept loose hooked;"
            "T waved; H linked; R looped; F waved; P hat; X curved; I barred single"
        ),
    ),
)  # fmt: skip
