"""How far a mark may go: the unbroken range of levels that keeps the floor."""

from __future__ import annotations

import math
from collections.abc import Sequence

from gen.evaluate.results import Tolerance
from gen.recipe.model import Level


def tolerance(
    levels: Sequence[Level],
    accuracies: Sequence[float],
    *,
    nominal: Level,
    floor: float,
    limits: tuple[float, float] = (-math.inf, math.inf),
    whole: bool = False,
) -> Tolerance:
    """The range of levels round nominal with accuracy at or over a floor.

    Parameters
    ----------
    levels
        Amounts ascending, or names; nominal among them.
    accuracies
        The accuracy at each.
    nominal
        The level at which nothing changes.
    floor
        The accuracy to keep, 0 to 1.
    limits
        Least and greatest amount that the perturbation can have; a range that
        reaches one of them isn't open there.
    whole
        Whether the unit has whole amounts only: ends are then brought in to the
        last whole amount.

    Returns
    -------
    Tolerance
        Ends lie on the straight line between the last level that holds and the
        first that doesn't.

    Examples
    --------
    >>> kept = tolerance([-2.0, 0.0, 1.0, 2.0], [0.95, 1.0, 0.96, 0.86], nominal=0.0, floor=0.9)
    >>> f"{kept.low:.2f} {kept.high:.2f}", kept.open_low, kept.open_high
    ('-2.00 1.60', True, False)
    """
    start = list(levels).index(nominal)
    if accuracies[start] < floor:
        return Tolerance(floor, None, None, False, False, ())
    if isinstance(nominal, str):
        holds = tuple(
            level for level, value in zip(levels, accuracies, strict=True) if value >= floor
        )
        return Tolerance(floor, None, None, False, False, holds)
    amounts = [float(level) for level in levels]
    low, open_low = _walk(amounts[start::-1], accuracies[start::-1], floor)
    high, open_high = _walk(amounts[start:], accuracies[start:], floor)
    if whole:
        low = nominal - math.floor(nominal - low)
        high = nominal + math.floor(high - nominal)
    return Tolerance(
        floor, low, high, open_low and low > limits[0], open_high and high < limits[1], ()
    )


def _walk(
    amounts: Sequence[float], accuracies: Sequence[float], floor: float
) -> tuple[float, bool]:
    """Go outwards from nominal; give where the floor is crossed and whether it never was."""
    for at in range(1, len(amounts)):
        if accuracies[at] < floor:
            share = (accuracies[at - 1] - floor) / (accuracies[at - 1] - accuracies[at])
            return amounts[at - 1] + share * (amounts[at] - amounts[at - 1]), False
    return amounts[-1], True
