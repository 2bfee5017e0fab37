"""Where single glyphs break: the level at which each is first misread."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.results import Breaking

Whole = NDArray[np.intp]


def first_misread(right: NDArray[np.bool_]) -> Whole:
    """How many levels outwards each glyph is read rightly before it is first misread.

    Parameters
    ----------
    right
        ndarray of shape (L, N), bool: levels outwards, glyphs.

    Returns
    -------
    ndarray of shape (N,), intp: from 0, misread at the first level, to L, misread at none.

    Examples
    --------
    >>> first_misread(np.array([[True, False, True], [True, True, False]])).tolist()
    [2, 0, 1]
    """
    never = right.all(axis=0)
    first: Whole = np.where(never, len(right), right.argmin(axis=0) if len(right) else 0)
    return first


def breaking(
    levels: Sequence[float], right: NDArray[np.bool_], *, nominal: float
) -> tuple[Breaking, ...]:
    """Breaking points on each side that has levels, of the glyphs that nominal reads rightly.

    Parameters
    ----------
    levels
        Amounts ascending, nominal among them.
    right
        ndarray of shape (L, N), bool: which glyphs were read rightly at each.
    nominal
        The level at which nothing changes.

    Returns
    -------
    tuple of Breaking
        Down before up. Counts and `never` add up to the glyphs that nominal reads rightly.

    Examples
    --------
    Of four glyphs nominal reads three; one breaks at 1, one at 2, one never:

    >>> right = np.array([[1, 1, 1, 0], [0, 1, 1, 0], [1, 0, 1, 1]], bool)
    >>> up, = breaking([0.0, 1.0, 2.0], right, nominal=0.0)
    >>> up.counts, up.never, up.quartiles
    ((1, 1), 1, (1.0, 2.0, None))
    """
    followed = right[list(levels).index(nominal)]
    return tuple(
        _side(side, [float(levels[at]) for at in away], right[away][:, followed])
        for side, away in outwards(levels, nominal=nominal)
    )


def outwards(levels: Sequence[float], *, nominal: float) -> tuple[tuple[str, list[int]], ...]:
    """The sides of nominal that have levels, down before up, each with its levels' places.

    Parameters
    ----------
    levels
        Amounts ascending, nominal among them.
    nominal
        The level at which nothing changes.

    Examples
    --------
    >>> outwards([-2.0, -1.0, 0.0, 3.0], nominal=0.0)
    (('down', [1, 0]), ('up', [3]))
    """
    start = list(levels).index(nominal)
    sides = (("down", list(range(start - 1, -1, -1))), ("up", list(range(start + 1, len(levels)))))
    return tuple(side for side in sides if side[1])


def _side(side: str, levels: list[float], right: NDArray[np.bool_]) -> Breaking:
    glyphs = right.shape[1]
    counts = np.bincount(first_misread(right), minlength=len(levels) + 1)
    broken = np.cumsum(counts[:-1])
    return Breaking(
        side=side,
        levels=tuple(levels),
        counts=tuple(counts[:-1].tolist()),
        never=int(counts[-1]),
        quartiles=(
            _by(levels, broken, glyphs, 1),
            _by(levels, broken, glyphs, 2),
            _by(levels, broken, glyphs, 3),
        ),
    )


def _by(levels: list[float], broken: Whole, glyphs: int, quarters: int) -> float | None:
    """The level by which so many quarters of the glyphs have been misread."""
    if not glyphs or broken[-1] * 4 < quarters * glyphs:
        return None
    return levels[int(np.argmax(broken * 4 >= quarters * glyphs))]
