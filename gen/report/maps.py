"""The part of the page that shows grids: tables whose cells are shaded by accuracy."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from gen.evaluate.results import Evaluation, GridMap, Point, Side
from gen.report.album import Album
from gen.report.axis_words import axis_words
from gen.report.glyph_words import said_words
from gen.report.markup import esc, table
from gen.report.places import place
from gen.report.shown import Picture, ShownGrid
from gen.report.together import worst_cell
from gen.report.typeset import typeset
from gen.report.words import (
    amount,
    count,
    interval_words,
    number,
    percent,
)

# A shade for each tenth of accuracy that is lost; the style sheet has them.
SHADES = 10


def grids(evaluation: Evaluation) -> str:
    """A map of each grid, with its figures; nothing where there is no grid.

    The script of the page shows the glyph of the cell that is pointed at.
    """
    if not evaluation.grids:
        return ""
    floor = evaluation.floor
    parts = "".join(_grid(grid, i, floor) for i, grid in enumerate(evaluation.grids))
    return (
        '<section id="grids" aria-labelledby="grids-h"><h2 id="grids-h">Two changes at once</h2>'
        f'<p class="hint">Accuracy in percent, darker the more is lost; heavy figures keep '
        f"{percent(floor)}. The cell where nothing is changed is framed.</p>"
        f"{parts}</section>"
    )


def values(
    evaluation: Evaluation, shown: Sequence[ShownGrid], album: Album
) -> list[list[list[tuple[int | None, str, str]]]]:
    """For the script, for each grid and cell: the picture, what was said of it, and figures."""
    out = []
    for index, grid in enumerate(evaluation.grids):
        pictures = shown[index].cells if shown else None
        out.append(
            [
                [
                    _told(grid, r, c, None if pictures is None else pictures[r][c], album)
                    for c in range(len(grid.across.levels))
                ]
                for r in range(len(grid.down.levels))
            ]
        )
    return out


def _told(
    grid: GridMap, down: int, across: int, picture: Picture | None, album: Album
) -> tuple[int | None, str, str]:
    sides = ((grid.down, grid.down.levels[down]), (grid.across, grid.across.levels[across]))
    where = ", ".join(place(side, level) for side, level in sides)
    point = grid.points[down][across]
    if point is None:
        return None, "", f"{where}: the model failed"
    part = point.accuracy
    words = f"{where}: {interval_words(part)}, {count(part.correct)} of {count(part.n)}"
    if picture is None:
        return None, "", typeset(words)
    glyph = said_words(picture.true, picture.said)
    return album.later(picture.image), typeset(glyph), typeset(words)


def _grid(grid: GridMap, index: int, floor: float) -> str:
    ident = f"grid-{index + 1}"
    worst = worst_cell(grid)
    said = ""
    if worst is not None:
        down, across, point = worst
        said = (
            f"Worst {interval_words(point.accuracy)} at {amount(grid.down, down)} "
            f"and {amount(grid.across, across)}"
        )
    return (
        f'<article class="grid" id="{ident}" data-grid="{index}" aria-labelledby="{ident}-h">'
        f'<header><h3 id="{ident}-h">{esc(grid.title)}</h3><p>{esc(typeset(said))}</p></header>'
        f'<div class="mapped">{_map(grid, floor)}<div class="cell"></div></div>'
        f"<details><summary>Figures of this grid</summary>{_figures(grid)}</details></article>"
    )


def _map(grid: GridMap, floor: float) -> str:
    nominal = grid.down.nominal, grid.across.nominal

    def cell(r: int, c: int) -> str:
        here = grid.down.levels[r], grid.across.levels[c]
        return _cell(grid.points[r][c], floor, f"{r},{c}", nominal=here == nominal)

    return map_table(grid.down, grid.across, f"Accuracy, %: {grid.title}", cell)


def map_table(down: Side, across: Side, caption: str, cell: Callable[[int, int], str]) -> str:
    """A map: levels of one side down, those of the other across.

    Parameters
    ----------
    down, across
        The two sides.
    caption
        What the map shows.
    cell
        Gives the markup of the cell in a row and a column, both from 0.
    """
    heads = "".join(f'<th scope="col">{esc(_level(across, x))}</th>' for x in across.levels)
    rows = []
    for r, y in enumerate(down.levels):
        cells = "".join(cell(r, c) for c in range(len(across.levels)))
        rows.append(f'<tr><th scope="row">{esc(_level(down, y))}</th>{cells}</tr>')
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{esc(caption)}">'
        f'<table class="map"><caption>{esc(caption)}</caption><thead>'
        f'<tr><td></td><th scope="colgroup" colspan="{len(across.levels)}">{esc(_side(across))}'
        f'</th></tr><tr><th scope="col">{esc(_side(down))}</th>{heads}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _cell(point: Point | None, floor: float, at: str, *, nominal: bool) -> str:
    if point is None:
        return f'<td class="failed" data-cell="{at}">failed</td>'
    share = point.accuracy.value
    kinds = [shade(share), *(["over"] if share >= floor else []), *(["unchanged"] * nominal)]
    # "100" and not "100.0": a column of figures stays narrow.
    return f'<td class="{" ".join(kinds)}" data-cell="{at}">{100 * share:.1f}</td>'


def shade(share: float) -> str:
    """The class of a cell, darker the more is lost."""
    return f"shade-{min(SHADES - 1, int((1 - share) * SHADES))}"


def _figures(grid: GridMap) -> str:
    rows = []
    for y, row in zip(grid.down.levels, grid.points, strict=True):
        for x, point in zip(grid.across.levels, row, strict=True):
            where = typeset(f"{amount(grid.down, y)}, {amount(grid.across, x)}")
            if point is None:
                rows.append((where, "", "", "failed"))
                continue
            part = point.accuracy
            rows.append((where, count(part.n), count(part.correct), interval_words(part)))
    heads = ("Cell", "Glyphs", "Right", "Accuracy, 95 % interval")
    return table(f"Figures: {grid.title}", heads, rows)


def _level(side: Side, level: float | str) -> str:
    return typeset(amount(side, level) if side.unit == "times" else number(side, level))


def _side(side: Side) -> str:
    said = axis_words(side)
    return side.title if said == side.unit == "rule" else f"{side.title}, {said}"
