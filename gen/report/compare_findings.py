"""A comparison in sentences: which model is better, where, and by how much."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from gen.evaluate.compared import Compared
from gen.evaluate.winning import Pair, leader, winner
from gen.report.compare_pairs import Better, figures_words, of_pair, sentences
from gen.report.compare_words import alike
from gen.report.words import count, listed, quoted

NEARLY = 0.9
"""Share of the cells from which on it is "nearly everywhere"."""

MOST, FEW_CELLS = 0.5, 0.1
"""Shares of the cells that are "most places", and that are still "a few"."""

FEW = 30
"""With fewer glyphs, only a large difference can show."""

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
    shows
        Where it could be seen.
    """

    kind: str
    says: str
    measured: str = ""
    shows: tuple[Better, ...] = ()


def verdict(compared: Compared, names: Sequence[str]) -> str:
    """The comparison in one line."""
    found = [
        one for cell in compared.cells for d in cell.differences if (one := winner(d)) is not None
    ]
    if not found:
        return alike(compared.tests).capitalize()
    if compared.models == 2:
        return _of_two(found, compared.tests, names)
    best = _best(compared)
    if best is not None:
        return f"{names[best]} reads best"
    over = [sweep.leader for sweep in compared.sweeps]
    over += [blend.leader for blend in compared.blends]
    leads = Counter(one for one in over if one is not None)
    for one, times in leads.most_common(1):
        if times >= MOST * len(over):
            kinds = "sweeps and blends" if compared.blends else "sweeps"
            return f"{names[one]} leads in {times} of {len(over)} {kinds}"
    return f"None of the {compared.models} models reads best"


def _of_two(found: Sequence[int], tests: int, names: Sequence[str]) -> str:
    """One of two models is better, here and there or everywhere."""
    one = max((0, 1), key=found.count)
    share, lost = found.count(one) / tests, found.count(1 - one) / tests
    if lost == 0 and share >= NEARLY:
        return f"{names[one]} is better {'nearly ' * (share < 1)}everywhere"
    if lost == 0:
        return (
            f"{names[one]} is better in {'most ' * (share >= MOST)}places, {names[1 - one]} nowhere"
        )
    if share >= MOST and lost < share:
        some = "a few" if lost <= FEW_CELLS else "some"
        return f"{names[one]} is better in most places, {names[1 - one]} in {some}"
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
    pairs.sort(key=lambda pair: -sum(winner(d) is not None for _, d in of_pair(compared, pair)))
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
    titles = [(sweep.leader, sweep.of.side.title) for sweep in compared.sweeps]
    titles += [(one.leader, f"the blend {quoted(one.of.title)}") for one in compared.blends]
    leads: dict[int, list[str]] = {}
    for one, title in titles:
        if one is not None:
            leads.setdefault(one, []).append(title)
    if not leads:
        kinds = "sweep or blend" if compared.blends else "sweep"
        return [Said(BEST, f"No model is better than all the others in any {kinds}.")]
    told = [f"{names[one]} leads in {listed(where)}" for one, where in leads.items()]
    return [Said(BEST, "; ".join(told) + ".")]


def _pair(compared: Compared, names: Sequence[str], pair: Pair) -> list[Said]:
    """What is said of two models; when there are no others, a finding a sentence."""
    said = [
        Said(
            PAIR,
            one.says,
            "" if one.figures_of is None else figures_words(compared, one.figures_of),
            () if one.shows is None else (one.shows,),
        )
        for one in sentences(compared, names, pair)
    ]
    if compared.models > 2:
        shows = tuple(where for one in said for where in one.shows)
        return [Said(PAIR, " ".join(one.says for one in said), said[0].measured, shows)]
    return said
