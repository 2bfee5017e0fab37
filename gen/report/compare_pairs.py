"""What is said of two models: where which is better, and by how much."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from gen.evaluate.compared import Compared, ComparedSweep, PairDifference
from gen.evaluate.confused import distance
from gen.evaluate.winning import Pair, winner
from gen.recipe.model import Level
from gen.report.compare_words import alike, difference_words, where_words
from gen.report.words import amount, at, listed, quoted

MOST_SWEEPS = 6
STRETCHES = 2


def of_pair(compared: Compared, pair: Pair) -> list[tuple[str, PairDifference]]:
    """Every cell in which two models differ or don't, and how."""
    return [
        (cell.cell, difference)
        for cell in compared.cells
        for difference in cell.differences
        if (difference.first, difference.second) == pair
    ]


@dataclass(frozen=True)
class Better:
    """Where one model is better than another.

    Attributes
    ----------
    first, second
        The two, by place.
    together
        Names of cells, those together of which one example is enough: of a sweep, a grid.
    """

    first: int
    second: int
    together: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Sentence:
    """What is said of two models, and of what.

    Attributes
    ----------
    says
        In words.
    figures_of
        The pair that figures under it are of, the one that is praised first; or None.
    shows
        Where it could be seen; or None.
    """

    says: str
    figures_of: Pair | None = None
    shows: Better | None = None


def sentences(compared: Compared, names: Sequence[str], pair: Pair) -> list[Sentence]:
    """All that is said of a pair."""
    tests = dict(of_pair(compared, pair))
    if not tests:
        says = f"{names[pair[0]]} and {names[pair[1]]} were scored in no cell in common."
        return [Sentence(says)]
    if all(winner(difference) is None for difference in tests.values()):
        some = {"sweep": compared.sweeps, "grid": compared.grids, "blend": compared.blends}
        tried = listed([kind for kind, found in some.items() if found]).replace(" and ", " or ")
        where = "at nominal" + (f" or in any {tried}" if tried else "")
        none = alike(compared.tests)
        says = f"Between {names[pair[0]]} and {names[pair[1]]}: {none}, {where}."
        return [Sentence(says, pair)]
    told, quiet = _where(compared, pair, tests)
    out: list[Sentence] = []
    for one, other in (pair, pair[::-1]):
        parts = told[one]
        if len(parts) > MOST_SWEEPS + 1:  # what would be counted as one more is told as well
            kinds = "sweeps and blends" if compared.blends else "sweeps"
            parts = [*parts[:MOST_SWEEPS], f"and in {len(parts) - MOST_SWEEPS} more {kinds}"]
        if parts:
            says = f"{names[one]} reads better than {names[other]} {'; '.join(parts)}."
            out.append(Sentence(says, (one, other), Better(one, other, _along(compared))))
    for said in _grids_say(compared, names, pair):
        # Where only grids tell the two apart, the first of them has the figures.
        out.append(said if out else replace(said, figures_of=pair))
    if quiet:
        out.append(Sentence(f"In {listed(quiet, MOST_SWEEPS)}: {alike(compared.tests)}."))
    return out


def _along(compared: Compared) -> tuple[tuple[str, ...], ...]:
    """Nominal, then each sweep from there outwards, then each blend."""
    return (
        (compared.cells[0].cell,),
        *(tuple(cell for _, cell in nearest_first(sweep)) for sweep in compared.sweeps),
        *((blend.of.cells[0],) for blend in compared.blends),
    )


def nearest_first(sweep: ComparedSweep) -> list[tuple[Level, str]]:
    """The levels of a sweep and their cells, nearest to nominal first; without nominal."""
    side = sweep.of.side
    pairs = zip(side.levels, sweep.of.cells, strict=True)
    return sorted(
        (pair for pair in pairs if pair[0] != side.nominal),
        key=lambda pair: distance(pair[0], side.nominal),
    )


def _where(
    compared: Compared, pair: Pair, tests: Mapping[str, PairDifference]
) -> tuple[dict[int, list[str]], list[str]]:
    """Where each of two is better, and where neither is."""
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
            levels = better[one]
            if side.unit == "times":
                levels = tuple(level for level in levels if level != side.nominal)
            words = where_words(side, levels, most=STRETCHES)
            told[one].append(f"in {side.title} {words}".rstrip())
        if not here:
            quiet.append(side.title)
    for blend in compared.blends:
        drawn = tests.get(blend.of.cells[0])
        ahead = None if drawn is None else winner(drawn)
        title = f"the blend {quoted(blend.of.title)}"
        if ahead is None:
            quiet.append(title)
        else:
            told[ahead].append(f"in {title}")
    return told, quiet


def _grids_say(compared: Compared, names: Sequence[str], pair: Pair) -> list[Sentence]:
    out = []
    for grid in compared.grids:
        for first, second, won, lost in grid.better:
            if (first, second) == pair and (won or lost):
                cells = tuple(cell for row in grid.of.cells for cell in row)
                ahead = pair if won >= lost else pair[::-1]
                says = (
                    f"In {grid.of.title}, {names[pair[0]]} reads better in {won} of "
                    f"{len(cells)} cells, {names[pair[1]]} in {lost}."
                )
                out.append(Sentence(says, shows=Better(*ahead, (cells,))))
    return out


def figures_words(compared: Compared, pair: Pair) -> str:
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


def _in_favour(compared: Compared, pair: Pair) -> list[tuple[str, PairDifference]]:
    """Every difference as the first of the pair less the second, whichever was told first."""
    told = of_pair(compared, pair)
    if told:
        return told
    return [
        (cell, replace(one, value=-one.value, low=-one.high, high=-one.low))
        for cell, one in of_pair(compared, pair[::-1])
    ]


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
    for blend in compared.blends:
        if cell in blend.of.cells:
            return f"the blend {quoted(blend.of.title)}"
    return f"cell {cell}"
