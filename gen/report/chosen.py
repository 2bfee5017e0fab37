"""Which glyphs are worth showing, by what the model said to all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from gen.evaluate.sheet import Row, Sheet
from gen.glyphs.base import Whole
from gen.glyphs.subset import spread_over

OF_A_PAIR = 2
"""As many misread glyphs of one class and one answer are shown before others have their turn."""
LOOKED_THROUGH = 4096
"""Glyphs among which those to follow are looked for."""


def followed(sheet: Sheet, nominal: str, cells: Sequence[str], most: int) -> list[int]:
    """Glyphs that fare as most do, each of another class.

    Of the glyphs of a class that are read rightly at nominal it is the one that is
    misread in as many cells as the middle one of them; a class of which none is read
    rightly has the middle one of all. The first is nearest the middle of all glyphs, the
    classes of the others are spread evenly over the rest.

    Parameters
    ----------
    sheet
        Every answer.
    nominal, cells
        Names of the nominal cell and of the cells in which glyphs may be misread.
    most
        How many at most.

    Returns
    -------
    list of int
        Places in a row of the sheet.
    """
    few = spread_over(len(sheet.labels), LOOKED_THROUGH)
    labels = sheet.labels[few]
    right = sheet.row(nominal).right[few]
    lost = np.zeros(len(few), np.intp)
    for cell in cells:
        lost += ~sheet.row(cell).right[few]
    typical = []
    for label in np.unique(labels):
        own = np.flatnonzero(labels == label)
        fit = own[right[own]] if right[own].any() else own
        typical.append(int(fit[_middle(lost[fit])]))
    usual = np.median(lost[right]) if right.any() else np.median(lost)
    first = min(typical, key=lambda place: (not right[place], abs(lost[place] - usual), place))
    others = [place for place in typical if place != first]
    rest = [others[i] for i in spread_over(len(others), most - 1)]
    return [int(few[place]) for place in (first, *rest)]


def misread(sheet: Sheet, row: Row, base: Row, most: int) -> list[int]:
    """Glyphs that are misread, the most telling first.

    First come those that nominal reads rightly, and of these the surest; a third of one
    class with one answer waits until all other pairs have had their turn.

    Parameters
    ----------
    sheet
        Every answer.
    row, base
        Of the cell, and of nominal.
    most
        How many at most.

    Returns
    -------
    list of int
        Places in the rows.
    """
    wrong = np.flatnonzero(~row.right)
    sure = np.zeros(len(wrong)) if row.confidence is None else row.confidence[wrong]
    order = wrong[np.lexsort((wrong, -sure, ~base.right[wrong]))]
    pairs: Counter[tuple[int, int]] = Counter()
    first: list[int] = []
    later: list[int] = []
    for place in order.tolist():
        pair = (int(sheet.labels[place]), int(row.answered[place]))
        pairs[pair] += 1
        (first if pairs[pair] <= OF_A_PAIR else later).append(place)
        if len(first) == most:
            break
    return (first + later)[:most]


def _middle(values: Whole) -> int:
    """Where the middle value is first found."""
    return int(np.flatnonzero(values == np.sort(values)[(len(values) - 1) // 2])[0])
