"""In what two sets of glyphs differ, the clearest first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.diagnose.effect import Interval, cliffs_delta, mann_whitney, shift
from gen.diagnose.measures import MEASURES, Measure, Measures
from gen.evaluate.multiple import holm

FEWEST = 3
"""Glyphs of each set that must tell an amount before it is compared."""
SURE = 0.05
CLEAR = 0.33
"""Size of Cliff's delta from which a difference is more than slight (J. Romano and others,
Florida Assoc. Institutional Research, 2006)."""


@dataclass(frozen=True)
class SetDifference:
    """One measure of two sets.

    Attributes
    ----------
    measure
        Which one, with its unit.
    here, there
        Median of the set and of the one it is held against.
    shift
        How much the set lies above the other, in the measure's unit: the Hodges-Lehmann
        estimate with its 95 % interval.
    delta
        Cliff's delta with its 95 % interval: -1 where every glyph lies below the other
        set's, 1 where every one lies above.
    p_value, p_holm
        Of the Mann-Whitney test, and after Holm's correction for all measures compared.
    """

    measure: Measure
    here: float
    there: float
    shift: Interval
    delta: Interval
    p_value: float
    p_holm: float

    @property
    def sure(self) -> bool:
        """Whether chance is ruled out at 5 %, for all measures together."""
        return self.p_holm < SURE

    @property
    def clear(self) -> bool:
        """Whether it is sure and more than slight."""
        return self.sure and abs(self.delta.value) >= CLEAR


def differences(here: Measures, there: Measures) -> tuple[SetDifference, ...]:
    """Compare two sets measure by measure.

    Parameters
    ----------
    here, there
        What `measure` gave for a set, and for the one it is held against.

    Returns
    -------
    tuple of SetDifference
        The one with the largest effect first. Measures that fewer than three glyphs of
        either set tell are left out.

    Examples
    --------
    >>> from gen.diagnose.measures import measure
    >>> bars = np.zeros((12, 28, 28), np.uint8)
    >>> for i in range(12):
    ...     bars[i, 6:20, 10 + i % 3 : 13 + i % 3] = 255
    >>> moved = np.roll(bars, 4, axis=2)
    >>> first = differences(measure(moved), measure(bars))[0]
    >>> first.measure.name, first.shift.value
    ('centroid_dx_px', 4.0)
    """
    compared = []
    for name, measure in MEASURES.items():
        a, b = (each[name][np.isfinite(each[name])] for each in (here, there))
        if min(len(a), len(b)) < FEWEST:
            continue
        middles = float(np.median(a)), float(np.median(b))
        compared.append((measure, middles, shift(a, b), cliffs_delta(a, b), mann_whitney(a, b)))
    corrected = holm([row[-1] for row in compared]) if compared else np.zeros(0)
    rows = [
        SetDifference(measure, *middles, moved, delta, p, float(p_holm))
        for (measure, middles, moved, delta, p), p_holm in zip(compared, corrected, strict=True)
    ]
    return tuple(sorted(rows, key=lambda row: (-abs(row.delta.value), row.p_holm)))
