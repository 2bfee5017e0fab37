"""What comparisons are told with: levels, differences and means of models, in words."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.compared import PairDifference, PairOverSweep
from gen.evaluate.results import Estimate, Side
from gen.recipe.model import Level
from gen.report.words import amount, at, count, listed, p_words, points, span


def alike(tests: int) -> str:
    """What is said where no test found a difference.

    A figure's own interval may leave nought out all the same, so that the words name the
    correction, wherever there is more than one test to correct for.

    Parameters
    ----------
    tests
        How many tests were corrected together.

    Examples
    --------
    >>> alike(91)
    'no difference that holds after correction for all 91 tests'
    >>> alike(1)
    "no difference that chance can't explain"
    """
    if tests < 2:
        return "no difference that chance can't explain"
    return f"no difference that holds after correction for all {count(tests)} tests"


def where_words(side: Side, better: Sequence[Level], *, most: int | None = None) -> str:
    """Levels of a sweep in words: "from 1 px to 3 px", "at -2 px".

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
    ('from 2 px to 3 px', 'at 1 px')
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
        runs.append(f"at {low}" if start == end else f"from {low} to {high}")
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


def between(over: PairOverSweep, side: Side, names: Sequence[str], tests: int) -> str:
    """A pair over one sweep: where which is better by tests corrected together."""
    told = [
        f"{names[one]} is better {where_words(side, better)}".rstrip()
        for one, better in ((over.first, over.first_better), (over.second, over.second_better))
        if better
    ]
    return "; ".join(told) or alike(tests)
