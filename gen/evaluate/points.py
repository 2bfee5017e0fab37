"""One cell as a point: shares with their intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.evaluate.confidence import calibration
from gen.evaluate.family import Family
from gen.evaluate.intervals import proportions
from gen.evaluate.results import ClassScore, Difference, Point, Proportion
from gen.evaluate.sheet import Sheet
from gen.evaluate.tally import Tally, tally
from gen.recipe.model import Level

NOMINAL = "nominal"


@dataclass(frozen=True)
class Points:
    """Makes points out of the rows of an answer sheet.

    Attributes
    ----------
    sheet
        The answers.
    family
        The differences of its cells, settled.
    interval
        Name of the interval for shares: "wilson" or "clopper-pearson".
    """

    sheet: Sheet
    family: Family
    interval: str = "wilson"

    def tally(self, cell: str) -> Tally:
        """The counts of a cell."""
        return tally(self.sheet.row(cell), self.sheet.labels, classes=len(self.sheet.classes))

    def point(self, cell: str, *, level: Level = NOMINAL) -> Point:
        """A cell as a point, its difference from nominal included."""
        row = self.sheet.row(cell)
        counts = tally(row, self.sheet.labels, classes=len(self.sheet.classes))
        difference: Difference | None = None
        if cell != self.sheet.cells[0]:
            difference = self.family.of(cell, self.sheet.cells[0])
        total, right = counts.class_counts, counts.class_correct
        shown = np.flatnonzero(total).tolist()
        shares = self.shares(
            [*right[shown].tolist(), counts.correct], [*total[shown].tolist(), counts.n]
        )
        return Point(
            level=level,
            accuracy=shares[-1],
            difference=difference,
            per_class=tuple(
                ClassScore(self.sheet.classes[place], share)
                for place, share in zip(shown, shares[:-1], strict=True)
            ),
            confidence_right=counts.confidence_right,
            confidence_wrong=counts.confidence_wrong,
            ink_lost=counts.ink_lost,
            cell=cell,
            misread=counts.misread,
            calibration=calibration(row, interval=self.interval),
        )

    def shares(self, correct: list[int], n: list[int]) -> tuple[Proportion, ...]:
        """Shares with their intervals."""
        return proportions(correct, n, interval=self.interval)
