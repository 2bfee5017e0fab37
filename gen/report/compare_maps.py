"""The part of a comparison's page that shows grids: one of who is better, and one a model."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from gen.evaluate.compared import ComparedCell, ComparedGrid
from gen.evaluate.winning import leader, winner
from gen.report.album import Album
from gen.report.compare_figures import figures
from gen.report.compare_keys import KEYS, sample, shortened
from gen.report.compare_lines import LESS
from gen.report.compare_pictures import Pictured, ReadMark
from gen.report.compare_words import alike
from gen.report.maps import map_table, shade
from gen.report.markup import esc
from gen.report.typeset import typeset
from gen.report.words import amount, quoted

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison

TINTS = (0.02, 0.1, 0.25, 0.5)
"""From these differences on a cell has the next deeper tint of the model that is ahead."""

_TWO = (
    "First by how many points one model is ahead of the other, in its colour, heavy where a "
    "corrected test says so; then the accuracy of each in percent, shaded the more is lost. The "
    "cell where nothing is changed is framed."
)
_MORE = (
    "First which model is better than each other one, if any is, by corrected tests; then the "
    "accuracy of each in percent, shaded the more is lost. The cell where nothing is changed is "
    "framed."
)


def grids(comparison: Comparison, pictured: Pictured, album: Album) -> str:
    """Maps of each grid with their figures; nothing where there is no grid."""
    parts = "".join(
        _grid(comparison, grid, f"grid-{number}", pictured, album)
        for number, grid in enumerate(comparison.compared.grids, 1)
    )
    if not parts:
        return ""
    hint = _TWO if comparison.compared.models == 2 else _MORE
    return (
        '<section id="grids" aria-labelledby="grids-h"><h2 id="grids-h">Two changes at once</h2>'
        f'<p class="hint">{hint}</p>{parts}</section>'
    )


def _grid(
    comparison: Comparison, grid: ComparedGrid, ident: str, pictured: Pictured, album: Album
) -> str:
    of, models = grid.of, comparison.compared.models
    places = [
        (f"{amount(of.down, down)}, {amount(of.across, across)}", cell)
        for down, row in zip(of.down.levels, of.cells, strict=True)
        for across, cell in zip(of.across.levels, row, strict=True)
    ]
    better = esc(_better(grid, comparison.compared.tests))
    maps = "".join(_of_model(comparison, grid, place) for place in range(models))
    return (
        f'<article class="grid" id="{ident}" aria-labelledby="{ident}-h"><header>'
        f'<h3 id="{ident}-h">{esc(of.title)}</h3><p>{better}</p></header>'
        f'<div class="maps">{_of_all(comparison, grid, pictured, album)}'
        f'<div class="each">{maps}</div></div>'
        "<details><summary>Figures of this grid</summary>"
        f"{figures(comparison, of.title, 'Levels', places, ident=f'{ident}-table')}"
        "</details></article>"
    )


def _better(grid: ComparedGrid, tests: int) -> str:
    cells = sum(map(len, grid.of.cells))
    return "; ".join(
        f"{KEYS[a]} better than {KEYS[b]} in {won} of {cells} cells, worse in {lost}"
        if won or lost
        else f"{KEYS[a]} and {KEYS[b]}: {alike(tests)}, in any of {cells} cells"
        for a, b, won, lost in grid.better
    )


def _of_model(comparison: Comparison, grid: ComparedGrid, place: int) -> str:
    def cell(name: str) -> tuple[str, str]:
        share = comparison.compared.cell(name).accuracies[place]
        if share is None:
            return "failed", "failed"
        return shade(share.value), f"{100 * share.value:.1f}"

    key = f'<span class="key m{place}">{KEYS[place]} {sample(place)}</span>'
    caption = f"Accuracy of {KEYS[place]}, %: {grid.of.title}"
    return _map(grid, key + esc(shortened(comparison.names[place])), caption, cell)


def _of_all(comparison: Comparison, grid: ComparedGrid, pictured: Pictured, album: Album) -> str:
    """By how much one of two models is ahead, or which of more leads, with a mark in each cell."""
    compared = comparison.compared
    names = list(dict.fromkeys(name for row in grid.of.cells for name in row))
    strip = {mark.cell: mark for mark in pictured.through(compared, names)}
    two = compared.models == 2

    def cell(name: str) -> tuple[str, str]:
        kind, said = (_ahead if two else _leads)(compared.cell(name))
        return kind, _picture(strip[name], album) + said if name in strip else said

    heading = LESS if two else "Who leads"
    shown = f", and what is made of {quoted(next(iter(strip.values())).true)}" if strip else ""
    return _map(grid, heading, f"{heading}: {grid.of.title}{shown}", cell, "one pictured")


def _ahead(cell: ComparedCell) -> tuple[str, str]:
    if not cell.differences:
        return "failed", "failed"
    (one,) = cell.differences
    tint = sum(abs(one.value) >= least for least in TINTS)
    kinds = [f"lead-m{0 if one.value > 0 else 1}", f"tint-{tint}"] if tint else []
    kinds += ["over"] if winner(one) is not None else []
    return " ".join(kinds), typeset(f"{100 * one.value:+z.1f}")


def _leads(cell: ComparedCell) -> tuple[str, str]:
    one = leader(cell.differences, len(cell.accuracies))
    return ("", "nobody") if one is None else (f"over lead-m{one} tint-2", KEYS[one])


def _picture(mark: ReadMark, album: Album) -> str:
    read = ", ".join(
        f"{KEYS[at]} {'gives no answer' if one is None else f'reads {quoted(one)}'}"
        for at, one in enumerate(mark.answers)
    )
    return album.img(mark.image, f"{quoted(mark.true)}: {read}")


def _map(
    grid: ComparedGrid,
    heading: str,
    caption: str,
    cell: Callable[[str], tuple[str, str]],
    kind: str = "one",
) -> str:
    of = grid.of
    nominal = of.down.nominal, of.across.nominal

    def td(r: int, c: int) -> str:
        kinds, inner = cell(of.cells[r][c])
        if (of.down.levels[r], of.across.levels[c]) == nominal:
            kinds = f"{kinds} unchanged".lstrip()
        return f'<td class="{kinds}">{inner}</td>' if kinds else f"<td>{inner}</td>"

    return (
        f'<div class="{kind}"><h4>{heading}</h4>{map_table(of.down, of.across, caption, td)}</div>'
    )
