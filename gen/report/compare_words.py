"""What comparisons are told with: levels, differences and means of models, in words."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.compared import PairDifference, PairOverSweep
from gen.evaluate.results import Estimate, Side
from gen.recipe.model import Level
from gen.report.words import amount, at, listed, p_words, points, span

ALIKE = "No difference that chance can't explain"
"""Verdict where no test found any."""


def where_words(side: Side, better: Sequence[Level], *, most: int | None = None) -> str:
    """Levels of a sweep in words: "from 1 px on", "up to -2 px and at +3 px".

    Parameters
    ----------
    side, better
        The sweep, and those of its levels that are meant.
    most
        More stretches or names than these are only counted.

    Examples
    --------
    >>> side = Side("blur", "px", 0.0, (), "blur", (0.0, 1.0, 2.0, 3.0))
    >>> where_words(side, (2.0, 3.0)), where_words(side, (1.0,))
    ('from 2 px on', 'at 1 px')
    """
    held = [level in better for level in side.levels]
    if all(held):
        return "with and without" if side.unit == "times" else "at every level"
    if side.unit == "times" and any(held) and not held[side.levels.index(side.nominal)]:
        return ""  # a fault is there or it isn't, and its title says it
    if len(held) <= 2 or any(isinstance(level, str) for level in side.levels):
        named = [at(side, level) for level in side.levels if level in better]
        return _few(named, side, better, most)
    runs, last = [], len(held) - 1
    start = 0
    while start <= last:
        if not held[start]:
            start += 1
            continue
        end = start
        while end < last and held[end + 1]:
            end += 1
        low, high = amount(side, side.levels[start]), amount(side, side.levels[end])
        if start == end:
            runs.append(f"at {low}")
        elif end == last:
            runs.append(f"from {low} on")
        else:
            runs.append(f"up to {high}" if start == 0 else f"from {low} to {high}")
        start = end + 1
    return _few(runs, side, better, most)


def _few(words: list[str], side: Side, better: Sequence[Level], most: int | None) -> str:
    if most is not None and len(words) > most:
        return f"at {len(better)} of {len(side.levels)} levels"
    return listed(words, len(words))


def difference_words(difference: PairDifference) -> str:
    """A difference: "+4.2 points (+1.0 to +7.4), p < 0.001 corrected".

    The interval is of this difference alone, so that it may leave nought out where the
    corrected test finds nothing: hence the word.
    """
    return (
        f"{points(difference.value)} {span(difference.low, difference.high)}, "
        f"{p_words(difference.p_holm)} corrected"
    )


def mean_words(mean: Estimate | None) -> str:
    """A mean difference with its interval."""
    if mean is None or mean.value is None:
        return "not known"
    if mean.low is None or mean.high is None:
        return points(mean.value)
    return f"{points(mean.value)} {span(mean.low, mean.high)}"


def between(over: PairOverSweep, side: Side, names: Sequence[str]) -> str:
    """A pair over one sweep: where which is better."""
    told = [
        f"{names[one]} is better {where_words(side, better)}".rstrip()
        for one, better in ((over.first, over.first_better), (over.second, over.second_better))
        if better
    ]
    return "; ".join(told) or ALIKE.lower()
