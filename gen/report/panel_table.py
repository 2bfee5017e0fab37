"""A small table beside a chart: the same for the markup and for the script of the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from gen.report.markup import esc

Cell = tuple[str, str]
"""Its text and its kind: "own", "shade-3" or nothing."""


@dataclass(frozen=True)
class PanelTable:
    """A table with named rows.

    Attributes
    ----------
    kind
        "matrix", "pairs" or "bins", for the style sheet.
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


def _cell(cell: Cell) -> str:
    text, kind = cell
    return f'<td class="{kind}">{esc(text)}</td>' if kind else f"<td>{esc(text)}</td>"
