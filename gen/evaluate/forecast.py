"""A blend as a forecast: one accuracy, and what each perturbation takes from it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.bootstrap import Resampled
from gen.evaluate.family import Family
from gen.evaluate.points import Points
from gen.evaluate.results import Forecast, LossShare, Proportion
from gen.evaluate.shares import Shares
from gen.evaluate.sheet import Sheet
from gen.render.plan import BlendCell, Cell, PlannedBlend


@dataclass(frozen=True)
class PartCells:
    """For one part of a blend, on its first draw: the part alone, and all the others.

    Attributes
    ----------
    alone, without
        Cells; one of them is the whole blend or nominal where that is the same.
    """

    alone: Cell
    without: Cell


Blends = tuple[tuple[PlannedBlend, tuple[PartCells, ...]], ...]
"""The blends of a plan, each with the cells that its forecast needs."""


def part_cells(blend: PlannedBlend, nominal: Cell) -> tuple[PartCells, ...]:
    """The cells that tell what each part costs.

    The levels that a part draws hang on nothing but the part, so that a part alone
    draws what it draws within the whole. Two parts need two cells, more need two
    cells a part.

    Parameters
    ----------
    blend
        As planned.
    nominal
        The cell in which nothing is done.
    """
    first, count = blend.cells[0], len(blend.parts)
    known: dict[tuple[int, ...], Cell] = {(): nominal, tuple(range(count)): first}

    def with_parts(places: tuple[int, ...], name: str) -> Cell:
        if places not in known:
            parts = tuple(blend.parts[place] for place in places)
            known[places] = BlendCell(name, (), parts, first.seed, first.draw)
        return known[places]

    cells = []
    for place in range(count):
        others = tuple(other for other in range(count) if other != place)
        cells.append(
            PartCells(
                with_parts((place,), f"{first.name}-part-{place + 1}-alone"),
                with_parts(others, f"{first.name}-without-part-{place + 1}"),
            )
        )
    return tuple(cells)


def ask(blend: PlannedBlend, parts: tuple[PartCells, ...], sheet: Sheet, family: Family) -> None:
    """Put the tests that a forecast needs into the family."""
    nominal, first = sheet.cells[0], blend.cells[0].name
    if first in sheet.failed:
        return
    family.ask(first, nominal)
    for part in _told(parts, sheet):
        if part.alone.name not in {nominal, first}:
            family.ask(part.alone.name, nominal)
        if part.without.name != nominal:
            family.ask(first, part.without.name)


def make_forecast(
    blend: PlannedBlend,
    parts: tuple[PartCells, ...],
    points: Points,
    resampled: Resampled,
) -> Forecast | None:
    """A blend, scored; None when the model could not answer its first draw.

    Parameters
    ----------
    blend, parts
        As planned, and from `part_cells`.
    points
        Makes the points; its family has been asked and settled.
    resampled
        The bootstrap's draws of glyphs, for more than one draw of each.
    """
    sheet, family = points.sheet, points.family
    nominal, first = sheet.cells[0], blend.cells[0].name
    if first in sheet.failed:
        return None
    loss = family.of(first, nominal)
    shares = []
    for planned, part in zip(blend.parts, parts, strict=True):
        if part not in _told(parts, sheet):
            continue
        # The whole blend is its only part alone, and nominal is the blend without it.
        alone = family.of(part.alone.name, nominal)
        without = family.of(first, part.without.name)
        mean = (alone.value + without.value) / 2
        shares.append(
            LossShare(
                planned.title,
                planned.part.unit,
                alone,
                without,
                mean / loss.value if loss.high < 0 else None,
            )
        )
    drawn = [cell.name for cell in blend.cells if cell.name not in sheet.failed]
    return Forecast(
        blend.blend.title,
        len(drawn),
        over_draws(points.sheet.right(drawn), points.shares, resampled),
        loss,
        tuple(shares),
        tuple(drawn),
    )


def _told(parts: tuple[PartCells, ...], sheet: Sheet) -> list[PartCells]:
    return [p for p in parts if not {p.alone.name, p.without.name} & set(sheet.failed)]


def over_draws(right: NDArray[np.bool_], shares: Shares, resampled: Resampled) -> Proportion:
    """An accuracy over all draws of a blend.

    Those of one glyph hang together, so glyphs are what is resampled.

    Parameters
    ----------
    right
        ndarray of shape (draws, N): which glyphs were read rightly.
    shares
        Makes the share of a single draw.
    resampled
        The bootstrap's draws of the N glyphs, for more than one.
    """
    if len(right) == 1:
        return shares.of(right[0])
    correct, n = int(np.count_nonzero(right)), right.size
    if correct in {0, n}:
        # Where all draws agree the bootstrap has no width. A glyph tells as much as one draw
        # at least: the interval for so many glyphs covers no less than is said.
        one = shares.of(right[0])
        return replace(one, correct=correct, n=n, method=f"{one.method}, for {one.n:,} glyphs")
    spread = resampled.estimate(resampled.accuracy(right).mean(axis=1), correct / n)
    assert spread.low is not None and spread.high is not None, "an accuracy can always be told"
    return Proportion(correct, n, correct / n, spread.low, spread.high, resampled.method)
