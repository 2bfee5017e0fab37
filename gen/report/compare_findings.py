"""A comparison in sentences: which model is better, where, and by how much."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from gen.evaluate.compared import Compared, PairDifference
from gen.evaluate.winning import Pair, leader, winner
from gen.report.compare_words import ALIKE, difference_words, where_words
from gen.report.words import amount, at, count, listed

NEARLY = 0.9
"""Share of the cells from which on it is "nearly everywhere"."""

MOST, FEW_CELLS = 0.5, 0.1
"""Shares of the cells that are "most places", and that are still "a few"."""

FEW = 30
"""With fewer glyphs, only a large difference can show."""

MOST_SWEEPS = 6
STRETCHES = 2

MOST_PAIRS = 6
"""Pairs told in full at once; further ones are folded away or counted."""

PAIR, BEST, CAREFUL = "pair", "best of all", "careful"


@dataclass(frozen=True)
class Said:
    """One finding.

    Attributes
    ----------
    kind, says, measured
        Its kind, its sentences, and the figures under them.
    praised
        Of whom: (the model that is better, the other one), by place.
    """

    kind: str
    says: str
    measured: str = ""
    praised: tuple[Pair, ...] = ()


def verdict(compared: Compared, names: Sequence[str]) -> str:
    """The comparison in one line."""
    found = [
        one for cell in compared.cells for d in cell.differences if (one := winner(d)) is not None
    ]
    if not found:
        return ALIKE
    if compared.models == 2:
        return _of_two(found, compared.tests, names)
    best = _best(compared)
    if best is not None:
        return f"{names[best]} reads best"
    leads = Counter(sweep.leader for sweep in compared.sweeps if sweep.leader is not None)
    for one, times in leads.most_common(1):
        if times >= MOST * len(compared.sweeps):
            return f"{names[one]} leads in {times} of {len(compared.sweeps)} sweeps"
    return f"None of the {compared.models} models reads best"


def _of_two(found: Sequence[int], tests: int, names: Sequence[str]) -> str:
    """One of two models is better, here and there or everywhere."""
    one = max((0, 1), key=found.count)
    share, lost = found.count(one) / tests, found.count(1 - one) / tests
    if lost == 0 and share >= NEARLY:
        return f"{names[one]} is better {'nearly ' * (share < 1)}everywhere"
    if lost == 0:
        return f"{names[one]} is better in places, {names[1 - one]} nowhere"
    if share >= MOST and lost <= FEW_CELLS:
        return f"{names[one]} is better in most places, {names[1 - one]} in a few"
    return f"{names[0]} and {names[1]} are each better in places"


def findings(compared: Compared, names: Sequence[str], notes: Sequence[str]) -> tuple[Said, ...]:
    """What the comparison shows, the most important first.

    Parameters
    ----------
    compared, names
        What was found, and what the models are called.
    notes
        What the reader has to bear in mind besides, a sentence each.
    """
    pairs = list(combinations(range(compared.models), 2))
    # Where most tests found something first; sorting keeps the order of equals.
    pairs.sort(key=lambda pair: -sum(winner(d) is not None for _, d in _all(compared, pair)))
    careful = [Said(CAREFUL, note) for note in notes]
    if compared.glyphs < FEW:
        says = (
            f"Only {count(compared.glyphs)} glyphs were compared: a difference has to be large "
            "to be told from chance."
        )
        careful.append(Said(CAREFUL, says))
    return (
        *_leading(compared, names),
        *(said for pair in pairs for said in _pair(compared, names, pair)),
        *careful,
    )


def split(found: Sequence[Said]) -> tuple[list[Said], list[Said]]:
    """Findings to tell at once, and the pairs beyond the first few."""
    pairs = [said for said in found if said.kind == PAIR]
    later = pairs[MOST_PAIRS:]
    return [said for said in found if said not in later], later


def _best(compared: Compared) -> int | None:
    every = [difference for cell in compared.cells for difference in cell.differences]
    return leader(every, compared.models)


def _leading(compared: Compared, names: Sequence[str]) -> list[Said]:
    if compared.models < 3:
        return []
    best = _best(compared)
    if best is not None:
        says = f"{names[best]} is better than each of the others somewhere, and nowhere worse."
        return [Said(BEST, says)]
    leads: dict[int, list[str]] = {}
    for sweep in compared.sweeps:
        if sweep.leader is not None:
            leads.setdefault(sweep.leader, []).append(sweep.of.side.title)
    if not leads:
        return [Said(BEST, "No model is better than all the others in any sweep.")]
    told = [f"{names[one]} leads in {listed(titles)}" for one, titles in leads.items()]
    return [Said(BEST, "; ".join(told) + ".")]


def _all(compared: Compared, pair: Pair) -> list[tuple[str, PairDifference]]:
    return [
        (cell.cell, difference)
        for cell in compared.cells
        for difference in cell.differences
        if (difference.first, difference.second) == pair
    ]


def _in_favour(compared: Compared, pair: Pair) -> list[tuple[str, PairDifference]]:
    """Every difference as the first of the pair less the second, whichever was told first."""
    told = _all(compared, pair)
    if told:
        return told
    return [
        (cell, replace(one, value=-one.value, low=-one.high, high=-one.low))
        for cell, one in _all(compared, pair[::-1])
    ]


def _pair(compared: Compared, names: Sequence[str], pair: Pair) -> list[Said]:
    """What is said of two models; when there are no others, a finding a sentence."""
    sentences = _pair_says(compared, names, pair)
    said = [
        Said(PAIR, says)
        if praised is None
        else Said(PAIR, says, _pair_measured(compared, praised), (praised,))
        for says, praised in sentences
    ]
    if compared.models > 2:
        praised = tuple(of for one in said for of in one.praised)
        return [Said(PAIR, " ".join(one.says for one in said), said[0].measured, praised)]
    return said


def _pair_says(
    compared: Compared, names: Sequence[str], pair: Pair
) -> list[tuple[str, Pair | None]]:
    """Sentences, each with the pair that its figures are of: the one that is praised first."""
    tests = dict(_all(compared, pair))
    if not tests:
        says = f"{names[pair[0]]} and {names[pair[1]]} were scored in no cell in common."
        return [(says, None)]
    if all(winner(difference) is None for difference in tests.values()):
        kinds = [("sweep", compared.sweeps), ("grid", compared.grids)]
        tried = [kind for kind, some in kinds if some]
        where = "at nominal" + (f" or in any {' or '.join(tried)}" if tried else "")
        says = f"Between {names[pair[0]]} and {names[pair[1]]}: {ALIKE.lower()}, {where}."
        return [(says, pair)]
    nominal = tests.get(compared.cells[0].cell)
    told: dict[int, list[str]] = {pair[0]: [], pair[1]: []}
    at_nominal = None if nominal is None else winner(nominal)
    if at_nominal is not None:
        told[at_nominal].append("with nothing changed")
    quiet = []
    for sweep in compared.sweeps:
        side = sweep.of.side
        over = next(one for one in sweep.pairs if (one.first, one.second) == pair)
        better = {pair[0]: over.first_better, pair[1]: over.second_better}
        # Nominal stands in every sweep and has been told once.
        here = [one for one in pair if any(level != side.nominal for level in better[one])]
        for one in here:
            told[one].append(
                f"in {side.title} {where_words(side, better[one], most=STRETCHES)}".rstrip()
            )
        if not here:
            quiet.append(side.title)
    sentences: list[tuple[str, Pair | None]] = []
    for one, other in (pair, pair[::-1]):
        parts = told[one]
        if len(parts) > MOST_SWEEPS:
            parts = [*parts[:MOST_SWEEPS], f"and in {len(parts) - MOST_SWEEPS} more sweeps"]
        if parts:
            says = f"{names[one]} reads better than {names[other]} {'; '.join(parts)}."
            sentences.append((says, (one, other)))
    # Where only grids tell the two apart, the first of them has the figures.
    told_of = None if sentences else pair
    for says in _grids_say(compared, names, pair):
        sentences.append((says, told_of))
        told_of = None
    if quiet:
        sentences.append((f"{ALIKE} in {listed(quiet, MOST_SWEEPS)}.", None))
    return sentences


def _grids_say(compared: Compared, names: Sequence[str], pair: Pair) -> list[str]:
    return [
        f"In {grid.of.title}, {names[pair[0]]} reads better in {won} of "
        f"{sum(map(len, grid.of.cells))} cells, {names[pair[1]]} in {lost}."
        for grid in compared.grids
        for first, second, won, lost in grid.better
        if (first, second) == pair and (won or lost)
    ]


def _pair_measured(compared: Compared, pair: Pair) -> str:
    """How much better the one that a sentence praises is: at nominal, and where it is most.

    Parameters
    ----------
    compared
        The models.
    pair
        The one that is praised, and the other.
    """
    tests = _in_favour(compared, pair)
    if not tests:
        return ""
    nominal = dict(tests).get(compared.cells[0].cell)
    told = [] if nominal is None else [f"At nominal {difference_words(nominal)}"]
    cell, largest = max(tests, key=lambda one: one[1].value)
    if largest is not nominal and largest.value > 0:
        told.append(f"largest {difference_words(largest)}, {place_words(compared, cell)}")
    return "; ".join(told)


def place_words(compared: Compared, cell: str) -> str:
    """Where a cell is, in words: "blur at 2 px"."""
    for sweep in compared.sweeps:
        for level, name in zip(sweep.of.side.levels, sweep.of.cells, strict=True):
            if name == cell:
                return f"{sweep.of.side.title} {at(sweep.of.side, level)}"
    for grid in compared.grids:
        of = grid.of
        for down, row in zip(of.down.levels, of.cells, strict=True):
            for across, name in zip(of.across.levels, row, strict=True):
                if name == cell:
                    return f"{of.title} at {amount(of.down, down)} and {amount(of.across, across)}"
    return f"cell {cell}"
