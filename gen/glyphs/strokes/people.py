"""Writers: each has a hand, and strays from it in a way that stays the same.

Every number of a writer is a function of (seed, writer) alone, so writer 3 of a
crowd of 24 is writer 3 of a crowd of 2,000.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from gen.core.draws import normals, to_normal, to_uniform, words
from gen.core.exact import tan_deg
from gen.glyphs.strokes.hands import HANDS, Hand
from gen.glyphs.strokes.shape import CLASSES, KEYS, shapes

Real = NDArray[np.float64]
Whole = NDArray[np.intp]

WAYS = 9
"""Most ways of writing one class."""

BENDS = 7
"""Terms of the large-scale bending; `write` says what each does."""

# How often a hand's first, second ... way of writing is a writer's habit, and how often
# it is one of those that the hand doesn't name.
_LIKING = (0.50, 0.24, 0.14, 0.08, 0.04)
_STRANGE = 0.08

# How far writers of one hand differ: a share of the hand's own value, or in writing heights.
_BREADTH_SPREAD, _SIZE_SPREAD, _PEN_SPREAD, _EASE_SPREAD = 0.08, 0.05, 0.15, 0.15
_REACH_SPREAD, _KEY_SPREAD = 0.05, 0.022
# How far one class of a writer strays from what the writer does in all of them.
_CLASS_BREADTH, _CLASS_LEAN, _CLASS_BENDS = 0.10, 0.08, 0.8
# Words of a writer for a class, before those of the points: habit, lean, breadth, bends.
_OWN = 3 + BENDS


@dataclass(frozen=True)
class Crowd:
    """W writers, as arrays with a row each.

    Attributes
    ----------
    hand
        (W,), intp: index into HANDS.
    shear, breadth, size, pen, ease, stray, tremor, reach, taper, bend
        (W,), float64: see `Hand`; shear is the tangent of the slant and bend the
        size of what a glyph adds.
    bends
        (W, classes, BENDS), float64: the writer's own large-scale bending, the same
        in all classes but for a part.
    lean, spread
        (W, classes), float64: what the writer adds to the shear in one class, and
        multiplies its breadth by.
    habit
        (W, classes), intp: the way, as a rank in the hand's order, that the writer
        uses when nothing distracts.
    offset
        (W, classes, KEYS, 2), float64: what the writer does to each point of a
        path, writing height = 1.
    """

    hand: Whole
    shear: Real
    breadth: Real
    size: Real
    pen: Real
    ease: Real
    stray: Real
    tremor: Real
    reach: Real
    taper: Real
    bend: Real
    bends: Real
    lean: Real
    spread: Real
    habit: Whole
    offset: Real


def ways_of(number: int, label: str) -> list[tuple[int, float]]:
    """Ways in which a hand writes a class, best-liked first: shape number and share."""
    known = list(shapes().of_class[label])
    named = HANDS[number].likes.get(label)
    turn = (number + CLASSES.index(label)) % len(known)
    liked = known[turn:] + known[:turn] if named is None else named.split()
    rare = [way for way in known if way not in liked]
    share = {way: _LIKING[min(k, len(_LIKING) - 1)] for k, way in enumerate(liked)}
    total = 0.0  # not sum(): Python 3.12 made that add floats in another way
    for part in share.values():
        total += part
    for way in liked:
        share[way] *= (1 - _STRANGE if rare else 1.0) / total
    share |= {way: _STRANGE / len(rare) for way in rare}
    return [(shapes().of_class[label][way], share[way]) for way in liked + rare]


@lru_cache(maxsize=32)
def choices(classes: tuple[str, ...]) -> tuple[Whole, Real]:
    """What each hand chooses from.

    Returns
    -------
    shape numbers, ndarray of shape (hands, classes, WAYS), intp; and the
    cumulative share of each, float64, of which the last used one is 1.
    """
    shape = np.zeros((len(HANDS), len(classes), WAYS), dtype=np.intp)
    share = np.ones((len(HANDS), len(classes), WAYS))
    for number in range(len(HANDS)):
        for column, label in enumerate(classes):
            ways = ways_of(number, label)
            shape[number, column] = [ways[min(k, len(ways) - 1)][0] for k in range(WAYS)]
            passed = 0.0
            for k, (_, part) in enumerate(ways[:-1]):
                passed += part
                share[number, column, k] = passed
    return shape, share


def ranks(share: Real, draw: Real) -> Whole:
    """Which way a uniform draw means: how many cumulative shares it has passed."""
    passed: Whole = np.sum(draw[..., None] >= share, axis=-1)
    return np.minimum(passed, WAYS - 1)


@lru_cache(maxsize=8)
def crowd(seed: int, writers: int, classes: tuple[str, ...]) -> Crowd:
    """The writers of a seed, in turn of every hand."""
    who = np.arange(writers)
    hand = who % len(HANDS)

    def of_hand(name: str) -> Real:
        return np.array([getattr(h, name) for h in HANDS], dtype=np.float64)[hand]

    slant = np.array([tan_deg(h.slant_deg) for h in HANDS])[hand]
    spread = np.array([_slant_spread(h) for h in HANDS])[hand]
    z = normals(seed, "strokes: writer", who, count=9 + BENDS)
    # A class is known by its place in CLASSES, so that a set with fewer of them has the same ones.
    address = (who[:, None] * len(CLASSES) + [CLASSES.index(label) for label in classes]).ravel()
    drawn = words(seed, "strokes: writer and class", address, count=_OWN + 2 * KEYS)
    _, share = choices(classes)
    habit = to_uniform(drawn[:, 0]).reshape(writers, len(classes))
    own = to_normal(drawn[:, 1:]).reshape(writers, len(classes), -1)
    bends = z[:, None, 9:] + _CLASS_BENDS * own[:, :, 2 : 2 + BENDS]
    offset = own[:, :, 2 + BENDS :].reshape(writers, len(classes), KEYS, 2)
    size, pen = of_hand("size"), of_hand("pen")
    return Crowd(
        hand=hand,
        shear=slant + spread * z[:, 0],
        breadth=of_hand("breadth") * (1 + _BREADTH_SPREAD * z[:, 1]),
        size=size * (1 + _SIZE_SPREAD * z[:, 2]),
        pen=pen * (1 + _PEN_SPREAD * z[:, 3]),
        ease=np.clip(of_hand("ease") + _EASE_SPREAD * z[:, 4], 0.1, 1.0),
        stray=of_hand("stray") * (1 + 0.15 * z[:, 5]),
        tremor=of_hand("tremor") * (1 + 0.15 * z[:, 6]),
        reach=of_hand("reach") + _REACH_SPREAD * z[:, 7],
        taper=of_hand("taper") + 0.04 * z[:, 8],
        bend=of_hand("bend"),
        bends=of_hand("bend")[:, None, None] * bends,
        lean=_CLASS_LEAN * own[:, :, 0],
        spread=1 + _CLASS_BREADTH * own[:, :, 1],
        habit=ranks(share[hand], habit),
        offset=_KEY_SPREAD * offset,
    )


def _slant_spread(hand: Hand) -> float:
    """Spread of the tangent of the slant, taken at upright where it is least."""
    return tan_deg(hand.slant_spread_deg)
