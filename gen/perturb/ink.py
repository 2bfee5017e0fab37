"""Station one: the pen makes ink."""

from __future__ import annotations

from typing import ClassVar

from gen.perturb.base import Effect, Perturbation, WidthChange
from gen.recipe.model import Entry, Level, Unit


class StrokeWidth(Perturbation):
    """A fresh or a worn pen: strokes wider or narrower along their whole length."""

    entry: ClassVar[Entry] = Entry(
        name="stroke-width",
        station="ink",
        meaning="the pen is wider (positive, or over 1) or narrower; half the change on each side",
        units=(
            Unit("px", nominal=0.0, low=-10.0, high=10.0),
            Unit("ratio", nominal=1.0, low=0.1, high=5.0),
        ),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A change of pen width."""
        del options, frame
        amount = float(level)
        return WidthChange(added_px=amount) if unit == "px" else WidthChange(ratio=amount)

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Pen and brush, or the way pictures were reduced."""
        del options
        amount = float(level)
        wider = amount > (0.0 if unit == "px" else 1.0)
        by = f"{abs(amount):g} px {'wider' if wider else 'narrower'}"
        if unit == "ratio":
            by = f"{amount:g} times as wide"
        return (
            f"strokes {by} suit it better, as they do when it was trained on such strokes: another "
            f"pen or brush, or a {'threshold' if wider else 'reduction'} that "
            f"{'thickens' if wider else 'thins'} them"
        )


PERTURBATIONS = (StrokeWidth(),)
