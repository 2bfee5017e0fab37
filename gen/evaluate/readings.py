"""Other ways to hand pictures over: what a model may have been trained on instead."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.expect import Expectation
from gen.evaluate.first_look import OtherReading
from gen.evaluate.multiple import holm
from gen.evaluate.paired import mcnemar_exact
from gen.evaluate.plug import OverdueError

Flags = NDArray[np.bool_]

ENOUGH = 0.8
"""A model that reads more than this needs no other reading."""
FAR_BETTER = 0.2
ALPHA = 0.01

MEAN, DEVIATION = 0.1307, 0.3081
"""Of the MNIST training pictures, from memory, as it is common practice to take them out."""

RANGES: tuple[tuple[str, float, float], ...] = (
    ("", 0.0, 1.0),  # of readings that score alike, the commonest comes first
    ("", 0.0, 255.0),
    ("", -1.0, 1.0),
    (
        f", mean {MEAN} and deviation {DEVIATION} taken out",
        -MEAN / DEVIATION,
        (1 - MEAN) / DEVIATION,
    ),
    (", divided by 255 twice", 0.0, 1 / 255),
)
"""What bare paper and full ink become, and what more is to be said of it."""


@dataclass(frozen=True)
class Reading:
    """A way to hand pictures over: in words, as options, and as an expectation."""

    says: str
    how: str
    expects: Expectation


def single_readings(expects: Expectation) -> list[Reading]:
    """What differs in one thing: the range of values, the polarity, or the axes.

    Examples
    --------
    >>> [each.how for each in single_readings(Expectation())][:2]
    ['--values 0..255', '--values -1..1']
    """
    ink = "dark" if expects.ink == "bright" else "bright"
    axes = "columns" if expects.axes == "rows" else "rows"
    return [
        *_ranges(expects),
        Reading(
            f"{ink} ink: {_ends(replace(expects, ink=ink))}",
            f"--takes-ink {ink}",
            replace(expects, ink=ink),
        ),
        Reading("pictures with their axes swapped", f"--axes {axes}", replace(expects, axes=axes)),
    ]


def double_readings(expects: Expectation) -> list[Reading]:
    """The other polarity together with each other range."""
    ink = "dark" if expects.ink == "bright" else "bright"
    return [
        replace(each, how=f"{each.how} --takes-ink {ink}")
        for each in _ranges(replace(expects, ink=ink))
    ]


def far_better(
    expects: Expectation,
    right: Flags,
    ask: Callable[[Expectation], Flags],
) -> tuple[OtherReading, ...]:
    """The other readings that score far better, the best first.

    Far better is a gain of at least `FAR_BETTER` for which McNemar's exact test, after
    Holm's correction over all that were tried, is under `ALPHA`. Polarity together with
    a range is tried only when nothing else is far better.

    Parameters
    ----------
    expects
        What is handed over now.
    right
        ndarray of shape (n,), bool: which glyphs are read rightly so.
    ask
        Hands the same pictures over otherwise and says which are read rightly. Where it
        raises `ModelError` that reading doesn't count as tried.
    """
    if not len(right) or right.mean() > ENOUGH:
        return ()
    tried: list[tuple[Reading, Flags]] = []
    found: tuple[OtherReading, ...] = ()
    for readings in (single_readings(expects), double_readings(expects)):
        try:
            tried += _answered(readings, ask)
        except OverdueError:  # every other one would take as long
            return found
        found = _best(tried, right)
        if found:
            break
    return found


def _answered(
    readings: list[Reading], ask: Callable[[Expectation], Flags]
) -> Iterator[tuple[Reading, Flags]]:
    for reading in readings:
        try:
            yield reading, ask(reading.expects)
        except OverdueError:
            raise
        except ModelError:
            continue


def _best(tried: list[tuple[Reading, Flags]], right: Flags) -> tuple[OtherReading, ...]:
    if not tried:
        return ()
    p_values = holm(
        [float(mcnemar_exact(np.sum(a & ~right), np.sum(right & ~a))) for _, a in tried]
    )
    found = [
        OtherReading(reading.expects, reading.says, reading.how, int(answer.sum()), float(p))
        for (reading, answer), p in zip(tried, p_values, strict=True)
        if p < ALPHA and answer.mean() - right.mean() >= FAR_BETTER
    ]
    return tuple(sorted(found, key=lambda one: -one.correct))


def _ranges(expects: Expectation) -> Iterator[Reading]:
    for more, low, high in RANGES:
        if (low, high) == (expects.bottom, expects.top):
            continue
        other = expects.scaled(low, high)
        how = f"--values {low:.6g}..{high:.6g}"
        if (low, high) == (-MEAN / DEVIATION, (1 - MEAN) / DEVIATION):
            other = replace(other, low=0.0, high=None, mean=MEAN, deviation=DEVIATION)
            how = f"--mean {MEAN} --deviation {DEVIATION}"
        if other.dtype != expects.dtype:
            how = f"--dtype {other.dtype} {how}"
        yield Reading(f"{_ends(other)}{more}", how, other)


def _ends(expects: Expectation) -> str:
    paper, full = expects.bottom, expects.top
    if expects.ink == "dark":
        paper, full = full, paper
    return f"{paper:.4g} for bare paper to {full:.4g} for full ink"
