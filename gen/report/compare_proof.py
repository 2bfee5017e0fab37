"""Marks that one model reads and another one doesn't, beside what is said of the two."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

from gen.evaluate.compared import Compared, ComparedSweep
from gen.report.album import Album
from gen.report.compare_findings import Said
from gen.report.compare_keys import KEYS
from gen.report.compare_pairs import nearest_first, place_words
from gen.report.compare_pictures import Pictured, ReadMark, better_in
from gen.report.markup import esc
from gen.report.typeset import typeset
from gen.report.words import amount, quoted

BESIDE_A_FINDING = 2
IN_A_SWEEP, AT_A_LEVEL = 4, 2


@dataclass(frozen=True, eq=False)
class Shot:
    """A mark that the first of two models reads and the second doesn't, and where it is from."""

    mark: ReadMark
    first: int
    second: int
    where: str


def shots(said: Said, compared: Compared, pictured: Pictured) -> list[Shot]:
    """Marks that show what a finding says, each of another sweep."""
    found = []
    for one in said.shows:
        pair = one.first, one.second
        better = better_in(compared, *pair)
        for cells in one.together:
            marks = [mark for c in cells if c in better for mark in pictured.parted(c, *pair)]
            if marks:
                found.append(Shot(marks[0], *pair, _caption(compared, marks[0].cell)))
    return found


def proof(said: Said, compared: Compared, pictured: Pictured, album: Album) -> str:
    """Pictures beside a finding; or nothing."""
    few = shots(said, compared, pictured)[:BESIDE_A_FINDING]
    return _row([_figure(shot.mark, shot.first, shot.second, shot.where, album) for shot in few])


def _caption(compared: Compared, cell: str) -> str:
    """Where a mark is from; of a grid the levels alone, for its sentence names it."""
    if cell == compared.cells[0].cell:
        return "nominal"
    words = place_words(compared, cell)
    titles = [f"{grid.of.title} at " for grid in compared.grids]
    return next((words.removeprefix(t) for t in titles if words.startswith(t)), words)


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


def _figure(mark: ReadMark, first: int, second: int, where: str, album: Album) -> str:
    true, other = quoted(mark.true), quoted(mark.answers[second] or "")
    at = f", {where}" if where else ""
    words = f"{true}{at}: {KEYS[first]} reads it, {KEYS[second]} reads {other}"
    return (
        f"<figure>{album.img(mark.image, typeset(words))}<figcaption>{esc(typeset(where))}"
        f'<span class="right">{_key(first)} {esc(true)}</span>'
        f'<span class="wrong">{_key(second)} {esc(other)}</span></figcaption></figure>'
    )


def _key(place: int) -> str:
    return f'<b class="m{place}">{KEYS[place]}</b>'


def _row(figures: list[str]) -> str:
    return f'<div class="proof">{"".join(figures)}</div>' if figures else ""
