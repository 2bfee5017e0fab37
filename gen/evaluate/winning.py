"""When one model counts as better than another, and when it leads."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.compared import PairDifference

ALPHA = 0.05
"""A model counts as better at a level below this corrected p-value."""

Pair = tuple[int, int]
"""Two models, by place."""


def winner(difference: PairDifference) -> int | None:
    """The model that is better, by place; None where chance could explain it."""
    if difference.p_holm >= ALPHA:
        return None
    return difference.first if difference.value > 0 else difference.second


def leader(differences: Sequence[PairDifference], models: int) -> int | None:
    """The model that is somewhere better than each other one, and nowhere worse than any."""
    wins = {
        (one, difference.first + difference.second - one)
        for difference in differences
        if (one := winner(difference)) is not None
    }
    for place in range(models):
        others = [other for other in range(models) if other != place]
        if all((place, other) in wins and (other, place) not in wins for other in others):
            return place
    return None
