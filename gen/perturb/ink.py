"""Station one: the pen makes ink."""

from __future__ import annotations

from typing import ClassVar

from gen.perturb.base import DryPen, Effect, Perturbation, WidthChange
from gen.recipe.model import Entry, Level, Option, Unit


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


class DryInk(Perturbation):
    """A pen that runs dry: breaks in the stroke."""

    entry: ClassVar[Entry] = Entry(
        name="dry-pen",
        station="ink",
        meaning="the share of the stroke's length that is left bare, in gaps along it",
        units=(Unit("share", nominal=0.0, low=0.0, high=0.9),),
        options=(
            Option(
                "gap_px",
                default=2.0,
                low=0.5,
                high=256.0,
                meaning="length of one gap along the stroke; neighbours run together",
            ),
        ),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Gaps at places drawn for each glyph, the same at all levels."""
        del unit, frame
        return DryPen(float(level), gap_px=_gap_px(options))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Broken training strokes."""
        del unit, options
        return (
            f"strokes with {100 * float(level):g} % of them bare suit it better, as they do when "
            "a threshold or a dry pen broke the strokes of its training marks"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With the length of a gap."""
        return f"dry pen, gaps of {_gap_px(options):g} px"


def _gap_px(options: dict[str, Level | None]) -> float:
    given = options.get("gap_px")
    return 2.0 if given is None else float(given)


PERTURBATIONS = (StrokeWidth(), DryInk())
"""In the order in which they happen when several do."""
