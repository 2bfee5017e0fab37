"""Marks that one model reads and another one doesn't, beside what is said of the two."""

from __future__ import annotations

from itertools import permutations

from gen.evaluate.compared import Compared, ComparedSweep
from gen.evaluate.winning import Pair
from gen.report.album import Album
from gen.report.compare_findings import Said
from gen.report.compare_keys import KEYS
from gen.report.compare_pairs import place_words
from gen.report.compare_pictures import Pictured, ReadMark, better_in, nearest_first
from gen.report.markup import esc
from gen.report.typeset import typeset
from gen.report.words import amount, quoted

BESIDE_A_FINDING = 2
IN_A_SWEEP, AT_A_LEVEL = 4, 2


def proof(said: Said, compared: Compared, pictured: Pictured, album: Album) -> str:
    """Pictures that show what a finding says, each of another sweep; or nothing."""
    shots = [
        shot
        for pair in said.praised
        for cells in _together(compared)
        for shot in _first_of(cells, pair, compared, pictured, album)
    ]
    return _row(shots[:BESIDE_A_FINDING])


def parted_in(sweep: ComparedSweep, compared: Compared, pictured: Pictured, album: Album) -> str:
    """Marks of a sweep on which models part, nearest to nominal first, all pairs in turn."""
    side = sweep.of.side
    found = []
    for pair in sweep.pairs:
        for first, second in ((pair.first, pair.second), (pair.second, pair.first)):
            better = better_in(compared, first, second)
            found.append(
                [
                    _figure(mark, first, second, amount(side, level), album)
                    for level, cell in nearest_first(sweep)
                    if cell in better
                    for mark in pictured.parted(cell, first, second)[:AT_A_LEVEL]
                ]
            )
    return _in_turn(found)


def parted_of(cell: str, compared: Compared, pictured: Pictured, album: Album) -> str:
    """Marks of one cell on which models part, all pairs in turn."""
    both_ways = permutations(range(compared.models), 2)
    return _in_turn(
        [
            [_figure(mark, *pair, "", album) for mark in pictured.parted(cell, *pair)]
            for pair in both_ways
            if cell in better_in(compared, *pair)
        ]
    )


def _in_turn(found: list[list[str]]) -> str:
    turns = [each[turn] for turn in range(IN_A_SWEEP) for each in found if turn < len(each)]
    if not turns:
        return ""
    return f'<p class="hint">Where they part:</p>{_row(turns[:IN_A_SWEEP])}'


def _together(compared: Compared) -> list[list[str]]:
    """Cells of which one picture is enough: nominal, then each sweep, grid and blend."""
    return [
        [compared.cells[0].cell],
        *([cell for _, cell in nearest_first(sweep)] for sweep in compared.sweeps),
        *([cell for row in grid.of.cells for cell in row] for grid in compared.grids),
        *([blend.of.cells[0]] for blend in compared.blends),
    ]


def _first_of(
    cells: list[str], pair: Pair, compared: Compared, pictured: Pictured, album: Album
) -> list[str]:
    better = better_in(compared, *pair)
    for cell in cells:
        marks = pictured.parted(cell, *pair) if cell in better else []
        if marks:
            nominal = cell == compared.cells[0].cell
            where = "nominal" if nominal else place_words(compared, cell)
            return [_figure(marks[0], *pair, where, album)]
    return []


def _figure(mark: ReadMark, first: int, second: int, where: str, album: Album) -> str:
    true, other = quoted(mark.true), quoted(mark.answers[second] or "")
    at = f", {where}" if where else ""
    words = f"{true}{at}: {KEYS[first]} reads it, {KEYS[second]} reads {other}"
    return (
        f"<figure>{album.img(mark.image, typeset(words))}<figcaption>{esc(typeset(where))}"
        f'<span class="right">{KEYS[first]} {esc(true)}</span>'
        f'<span class="wrong">{KEYS[second]} {esc(other)}</span></figcaption></figure>'
    )


def _row(figures: list[str]) -> str:
    return f'<div class="proof">{"".join(figures)}</div>' if figures else ""
