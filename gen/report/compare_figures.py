"""The figures behind the pictures of a comparison, as tables."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations
from typing import TYPE_CHECKING

from gen.evaluate.compared import PairDifference
from gen.report.compare_keys import KEYS
from gen.report.markup import table
from gen.report.typeset import typeset
from gen.report.words import interval_words, p_figure, points, span

if TYPE_CHECKING:
    from gen.report.compare_make import Comparison

SIDE_BY_SIDE = 3
"""With more models than these a line has no room for all pairs: each then has a line."""


def figures(
    comparison: Comparison, title: str, head: str, places: Iterable[tuple[str, str]], *, ident: str
) -> str:
    """Tables of some cells: accuracies, and each pair's difference and test.

    Parameters
    ----------
    comparison
        What was compared.
    title
        What the cells are of.
    head
        What the first column names.
    places
        (words, cell): where, and the cell's name.
    ident
        The id of the first table.
    """
    models = comparison.compared.models
    pairs = list(combinations(range(models), 2))
    wide = models <= SIDE_BY_SIDE
    rows, by_pair = [], []
    for where, name in places:
        cell = comparison.compared.cell(name)
        row = [typeset(where)]
        row += ["no answers" if s is None else interval_words(s) for s in cell.accuracies]
        held = {(d.first, d.second): _difference(d) for d in cell.differences}
        for pair in pairs:
            told = held.get(pair, ("", ""))
            row += told if wide else ()
            by_pair.append((row[0], _less(pair), *told))
        rows.append(row)
    heads = [head, *(f"{KEYS[at]}, 95 % interval" for at in range(models))]
    if wide:
        heads += [one for pair in pairs for one in (_less(pair), "p, Holm")]
        return table(f"Figures: {title}", heads, rows, ident=ident)
    differences = (head, "Pair", "Difference", "p, Holm")
    return table(f"Figures: {title}", heads, rows, ident=ident) + table(
        f"Each pair: {title}", differences, by_pair
    )


def _less(pair: tuple[int, int]) -> str:
    return f"{KEYS[pair[0]]} minus {KEYS[pair[1]]}"


def _difference(one: PairDifference) -> tuple[str, str]:
    return typeset(f"{points(one.value)} {span(one.low, one.high)}"), p_figure(one.p_holm)
