"""From an answer sheet to an evaluation: nothing is asked any more."""

from __future__ import annotations

from dataclasses import dataclass

from gen.evaluate import forecast, hidden
from gen.evaluate.bootstrap import Resampled
from gen.evaluate.curves import Reach, make_curve
from gen.evaluate.family import Family
from gen.evaluate.grids import make_map
from gen.evaluate.points import Points
from gen.evaluate.results import Curve, Evaluation, FailedCell
from gen.evaluate.sheet import Sheet
from gen.evaluate.summary import summarise
from gen.glyphs.base import RasterGlyphs, StrokeGlyphs
from gen.render.plan import Cell, Plan


@dataclass(frozen=True)
class Asked:
    """What was asked for, beside the plan the cells that only statistics need."""

    plan: Plan
    blends: forecast.Blends
    probes: tuple[Cell, ...]
    variances: dict[str, float]


@dataclass(frozen=True)
class Statistics:
    """From an answer sheet to an evaluation."""

    asked: Asked
    sheet: Sheet
    glyphs: RasterGlyphs | StrokeGlyphs
    floor: float
    interval: str
    draws: int

    def evaluation(self) -> Evaluation:
        """All that the answers show; what the model itself said of itself isn't in it yet."""
        plan, sheet = self.asked.plan, self.sheet
        points = Points(sheet, self._family(), self.interval)
        resampled = Resampled.of(len(sheet.labels), writers=sheet.writers, draws=self.draws)
        nominal = plan.cells[0].name
        baseline, counts = points.point(nominal), points.tally(nominal)
        forecasts = [
            forecast.make_forecast(blend, parts, points, resampled)
            for blend, parts in self.asked.blends
        ]
        return Evaluation(
            model="",
            answers="",
            glyphs=_source(self.glyphs),
            glyphs_digest=self.glyphs.provenance.digest,
            recipe=plan.recipe.title,
            recipe_digest=plan.recipe.digest,
            classes=self.glyphs.classes,
            counts=tuple(counts.class_counts.tolist()),
            floor=self.floor,
            baseline=baseline,
            confusion=tuple(tuple(row) for row in counts.confusion.tolist()),
            curves=self._curves(points, resampled),
            left_out=(),
            seconds=(),
            grids=tuple(make_map(grid, points) for grid in plan.grids),
            blends=tuple(each for each in forecasts if each is not None),
            failed=tuple(FailedCell(cell, why) for cell, why in sheet.failed.items()),
            resampled=resampled.drawn,
        )

    def _family(self) -> Family:
        """Every difference that the report tells, as often as it is listed."""
        plan, sheet = self.asked.plan, self.sheet
        family = Family(sheet)
        listed = [cell for sweep in plan.sweeps for cell in sweep.cells]
        listed += [cell for grid in plan.grids for row in grid.cells for cell in row]
        for cell in listed:
            if cell != plan.cells[0] and cell.name not in sheet.failed:
                family.ask(cell.name, plan.cells[0].name)
        for blend, parts in self.asked.blends:
            forecast.ask(blend, parts, sheet, family)
        family.settle()
        return family

    def _curves(self, points: Points, resampled: Resampled) -> tuple[Curve, ...]:
        plan, sheet = self.asked.plan, self.sheet
        nominal = points.tally(plan.cells[0].name)
        counts = nominal.class_counts
        guess = max(1 / len(counts), int(counts.max()) / nominal.n)
        curves = []
        for sweep in plan.sweeps:
            reach = Reach.of(sweep, sheet.failed, frame=plan.frame)
            curve = make_curve(sweep, points, reach=reach, floor=self.floor)
            curves.append(
                summarise(
                    curve,
                    sheet,
                    resampled,
                    guess=guess,
                    floor=self.floor,
                    reach=reach,
                    whole=sweep.unit.whole,
                    shares=points.shares,
                    sweeps=len(plan.sweeps),
                )
            )
        told = {
            float(cell.steps[0].level): float(sheet.right([cell.name]).mean())
            for cell in self.asked.probes
            if cell.name not in sheet.failed
        }
        cost = hidden.blur_curve(curves, told, nominal.correct / nominal.n)
        if cost is None:
            return tuple(curves)
        return tuple(hidden.with_hidden_blur(c, self.asked.variances, cost) for c in curves)


def _source(glyphs: RasterGlyphs | StrokeGlyphs) -> str:
    came, (height, width) = glyphs.provenance, glyphs.frame
    place = "built-in strokes" if came.kind == "strokes" else f"{came.kind}: {came.name}"
    word = "glyph" if len(glyphs) == 1 else "glyphs"
    return f"{place}, {len(glyphs)} {word} of {height} x {width} px"
