"""One cell as a point: shares with their intervals."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from gen.evaluate.confidence import calibration
from gen.evaluate.family import Family
from gen.evaluate.results import ClassScore, Difference, Point
from gen.evaluate.shares import Shares
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

    @cached_property
    def shares(self) -> Shares:
        """What makes shares of all scored glyphs."""
        return Shares.knowing(self.sheet.writers, self.interval)

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
        classes = self.sheet.classes
        by_class = self.shares.by(row.right, self.sheet.labels, len(classes))
        return Point(
            level=level,
            accuracy=self.shares.of(row.right),
            difference=difference,
            per_class=tuple(
                ClassScore(name, share)
                for name, share in zip(classes, by_class, strict=True)
                if share is not None
            ),
            confidence_right=counts.confidence_right,
            confidence_wrong=counts.confidence_wrong,
            ink_lost=counts.ink_lost,
            cell=cell,
            misread=counts.misread,
            calibration=calibration(row, shares=self.shares),
        )
