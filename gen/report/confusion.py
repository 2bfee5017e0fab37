"""What was read as what at one level: a matrix, or of many classes the pairs that matter."""

from __future__ import annotations

from gen.evaluate.results import Point, Proportion
from gen.report.panel_table import Cell, PanelTable
from gen.report.words import count, measured

MATRIX = 12
"""A matrix of more classes than this is too wide to stand beside a chart."""
PAIRS = 8
SHADES = 10


def confusion(classes: tuple[str, ...], point: Point, where: str) -> PanelTable:
    """What was read as what.

    Parameters
    ----------
    classes
        Their names.
    point
        The level.
    where
        Its name, for the caption.
    """
    scored = {each.name: each.accuracy for each in point.per_class}
    made = _matrix if len(classes) <= MATRIX else _pairs
    return made(classes, point, scored, where)


def _matrix(
    classes: tuple[str, ...], point: Point, scored: dict[str, Proportion], where: str
) -> PanelTable:
    wrong = {(true, answered): times for true, answered, times in point.misread}
    rows = []
    for i, name in enumerate(classes):
        cells: list[Cell] = [(name, "")]
        for j in range(len(classes)):
            times = wrong.get((i, j), 0)
            if i == j:
                cells.append((count(scored[name].correct if name in scored else 0), "own"))
            else:
                cells.append((count(times), _shade(times / scored[name].n)) if times else ("", ""))
        rows.append(tuple(cells))
    caption = f"True class down, read as across: {where}"
    return PanelTable("matrix", caption, ("", *classes), tuple(rows))


def _pairs(
    classes: tuple[str, ...], point: Point, scored: dict[str, Proportion], where: str
) -> PanelTable:
    most = sorted(point.misread, key=lambda pair: -pair[2])
    rows = []
    for true, answered, times in most[:PAIRS]:
        share = times / scored[classes[true]].n
        rows.append(
            (
                (classes[true], ""),
                (classes[answered], ""),
                (count(times), _shade(share)),
                (measured(share), ""),
            )
        )
    rest = ""
    if len(most) > PAIRS:
        lost = sum(times for _, _, times in most[PAIRS:])
        rest = f"and {count(lost)} glyphs in {count(len(most) - PAIRS)} other pairs"
    heads = ("True", "Read as", "Glyphs", "Of its class")
    return PanelTable("pairs", f"Most confused: {where}", heads, tuple(rows), rest)


def _shade(share: float) -> str:
    return f"shade-{min(SHADES - 1, 1 + int(share * (SHADES - 1)))}"
