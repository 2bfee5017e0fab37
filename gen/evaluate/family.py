"""All tests of one evaluation, so that they can be corrected together."""

from __future__ import annotations

import numpy as np

from gen.evaluate.multiple import holm
from gen.evaluate.paired import NEWCOMBE, mcnemar_exact, newcombe_paired
from gen.evaluate.results import Difference
from gen.evaluate.sheet import Sheet
from gen.evaluate.writers import (
    WIDENED,
    Writers,
    design_effect,
    student_effect,
    student_tail,
)


class Family:
    """Paired differences between cells, corrected by Holm's method over all that were asked.

    Parameters
    ----------
    sheet
        The answers.

    Notes
    -----
    A difference that is asked for twice (one cell in two sweeps) counts twice. Where 5
    writers or more wrote the glyphs, tests and intervals are those of effective counts, by
    the design effect of each difference, and p-values are read by Student's law.

    Examples
    --------
    >>> from gen.evaluate.answers import Answers
    >>> sheet = Sheet(["nominal", "turned"], np.zeros(12, int), writers=None, classes=("a", "b"))
    >>> for name, wrong in (("nominal", 0), ("turned", 10)):
    ...     said = Answers(np.arange(12) < wrong, None, None)
    ...     _ = sheet.fill(name, np.arange(12), said, ink_lost=np.zeros(12))
    >>> family = Family(sheet)
    >>> family.ask("turned", "nominal")
    >>> family.settle()
    >>> found = family.of("turned", "nominal")
    >>> f"{found.value:.3f}", found.p_holm == 2 / 1024
    ('-0.833', True)
    """

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._writers = Writers.of(sheet.writers)
        self._asked: list[tuple[str, str]] = []
        self._settled: dict[tuple[str, str], Difference] = {}

    def ask(self, here: str, before: str) -> None:
        """Put the difference of one cell from another into the family."""
        self._asked.append((here, before))

    def settle(self) -> None:
        """Work all of them out."""
        if not self._asked:
            return
        counts = {pair: self._fourfold(*pair) for pair in dict.fromkeys(self._asked)}
        rows = [counts[pair] for pair in self._asked]
        table = np.array([row for row, _ in rows]).T
        _, only_here, only_before, _ = table
        effect = np.array([effect for _, effect in rows])
        method = NEWCOMBE
        told = table / effect
        p_values = mcnemar_exact(told[1], told[2])
        if self._writers is not None:
            people = len(self._sheet.labels), self._writers.count
            told, method = told / student_effect(*people), NEWCOMBE + WIDENED
            p_values = student_tail(p_values, *people)
        low, high = newcombe_paired(*told)
        corrected = holm(p_values)
        for at, pair in enumerate(self._asked):
            self._settled[pair] = Difference(
                value=float((only_here[at] - only_before[at]) / table[:, at].sum()),
                low=float(low[at]),
                high=float(high[at]),
                only_nominal=int(only_before[at]),
                only_level=int(only_here[at]),
                p_value=float(p_values[at]),
                p_holm=float(corrected[at]),
                method=method,
            )

    def of(self, here: str, before: str) -> Difference:
        """The difference of one cell from another, once all are settled."""
        return self._settled[here, before]

    def _fourfold(self, here: str, before: str) -> tuple[tuple[int, int, int, int], float]:
        """Glyphs read rightly in both cells, in one only, in neither; and the design effect."""
        now, then = self._sheet.right((here, before))
        both = int(np.count_nonzero(now & then))
        only_now, only_then = (int(np.count_nonzero(one)) - both for one in (now, then))
        effect = 1.0
        if self._writers is not None:
            change, whole = now.astype(np.int8) - then, np.zeros(len(now), np.intp)
            sums, sizes = (self._writers.sums(each, whole, 1) for each in (change, 1.0))
            effect = float(design_effect(sums, np.array([only_now + only_then]), sizes)[0])
        return (both, only_now, only_then, len(now) - both - only_now - only_then), effect
