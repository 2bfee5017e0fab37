"""Other ways to hand pictures over: what a model may have been trained on instead."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.expect import Expectation
from gen.evaluate.first_look import OtherReading
from gen.evaluate.multiple import holm
from gen.evaluate.paired import mcnemar_exact

Flags = NDArray[np.bool_]

ENOUGH = 0.8
"""A model that reads more than this needs no other reading."""
FAR_BETTER = 0.2
ALPHA = 0.01

MEAN, DEVIATION = 0.1307, 0.3081
"""Of the MNIST training pictures, as they are usually taken out (common practice)."""

RANGES: tuple[tuple[str, float, float], ...] = (
    ("values from 0 to 1", 0.0, 1.0),
    ("values from 0 to 255", 0.0, 255.0),
    ("values from -1 to 1", -1.0, 1.0),
    ("values from 0 to 1/255, divided twice", 0.0, 1 / 255),
    (
        f"values with mean {MEAN} and deviation {DEVIATION} taken out",
        -MEAN / DEVIATION,
        (1 - MEAN) / DEVIATION,
    ),
)
"""In words, with what bare paper and full ink become."""


def other_readings(expects: Expectation) -> list[tuple[str, str, Expectation, bool]]:
    """What else the same pictures could be handed over as.

    Parameters
    ----------
    expects
        What is handed over now.

    Returns
    -------
    list of (says, how, expects, turned)
        In words, as options, as an expectation, and whether rows and columns are
        exchanged besides.
    """
    out = []
    for says, low, high in RANGES:
        if (low, high) != (expects.low, expects.top):
            other = replace(expects, dtype="float32", low=low, high=high)
            out.append((says, f"--dtype float32 --values {low:.6g}..{high:.6g}", other, False))
    ink = "dark" if expects.ink == "bright" else "bright"
    turned = replace(expects, ink=ink)
    out.append((f"{ink} ink", f"--takes-ink {ink}", turned, False))
    out.append(("rows and columns exchanged", "so in its file, or exchange them", expects, True))
    return out


def far_better(
    expects: Expectation,
    right: Flags,
    ask: Callable[[Expectation, bool], Flags | None],
) -> tuple[OtherReading, ...]:
    """The other readings that score far better, the best first.

    Parameters
    ----------
    expects
        What is handed over now.
    right
        ndarray of shape (n,), bool: which glyphs are read rightly so.
    ask
        Hands the same pictures over otherwise, with rows and columns exchanged or not,
        and says which are read rightly; None where the model fails.
    """
    if not len(right) or right.mean() > ENOUGH:
        return ()
    tried = [
        (says, how, other, answer)
        for says, how, other, turned in other_readings(expects)
        if (answer := ask(other, turned)) is not None
    ]
    if not tried:
        return ()
    p_values = holm(
        [float(mcnemar_exact(np.sum(a & ~right), np.sum(right & ~a))) for *_, a in tried]
    )
    found = [
        OtherReading(other, says, how, int(answer.sum()), float(p))
        for (says, how, other, answer), p in zip(tried, p_values, strict=True)
        if p < ALPHA and answer.mean() - right.mean() >= FAR_BETTER
    ]
    return tuple(sorted(found, key=lambda one: -one.correct))
