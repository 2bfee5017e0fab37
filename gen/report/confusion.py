"""What was read as what at one level: a matrix, or of many classes the pairs that matter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from gen.evaluate.results import Point, Proportion
from gen.report.markup import esc
from gen.report.words import count, measured

MATRIX = 12
"""A matrix of more classes than this is too wide to stand beside a chart."""
PAIRS = 8
SHADES = 10

Cell = tuple[str, str]
"""Its text and its kind: "own", "shade-3" or nothing."""


@dataclass(frozen=True)
class Confusion:
    """A table with named rows.

    Attributes
    ----------
    kind
        "matrix" or "pairs".
    caption, heads
        Over it.
    rows
        Of cells, the first of which names the row.
    rest
        What was left out; or empty.
    """

    kind: str
    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    rest: str = ""

    def markup(self) -> str:
        """The table; nothing where there is no row."""
        if not self.rows:
            return ""
        heads = "".join(f'<th scope="col">{esc(head)}</th>' for head in self.heads)
        rows = "".join(
            f'<tr><th scope="row">{esc(row[0][0])}</th>{"".join(map(_cell, row[1:]))}</tr>'
            for row in self.rows
        )
        rest = f"<p>{esc(self.rest)}</p>" if self.rest else ""
        return (
            f'<table class="{self.kind}"><caption>{esc(self.caption)}</caption>'
            f"<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>{rest}"
        )

    def values(self) -> dict[str, Any]:
        """The same for a script: a cell without a kind is its text alone."""
        return {
            "kind": self.kind,
            "caption": self.caption,
            "heads": self.heads,
            "rows": [[[text, kind] if kind else text for text, kind in row] for row in self.rows],
            "rest": self.rest,
        }


def confusion(classes: tuple[str, ...], point: Point, where: str) -> Confusion:
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
) -> Confusion:
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
    return Confusion("matrix", caption, ("", *classes), tuple(rows))


def _pairs(
    classes: tuple[str, ...], point: Point, scored: dict[str, Proportion], where: str
) -> Confusion:
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
    return Confusion("pairs", f"Most confused: {where}", heads, tuple(rows), rest)


def _shade(share: float) -> str:
    return f"shade-{min(SHADES - 1, 1 + int(share * (SHADES - 1)))}"


def _cell(cell: Cell) -> str:
    text, kind = cell
    return f'<td class="{kind}">{esc(text)}</td>' if kind else f"<td>{esc(text)}</td>"
