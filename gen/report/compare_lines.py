"""All that was compared as lines: nominal, each sweep, each blend, for page and terminal alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from gen.evaluate.compared import Compared, ComparedBlend, PairDifference
from gen.evaluate.results import Estimate
from gen.evaluate.winning import leader, winner
from gen.report.compare_keys import KEYS
from gen.report.words import listed, span

NOBODY, PLACES, OVER = "nobody", "in places", "over some"
LESS = "A minus B, points"
INTERVALS = (
    "Intervals of differences are 95 % each, not corrected for their number, so that one may "
    "leave 0 out where no difference holds after correction."
)


@dataclass(frozen=True)
class Line:
    """One line.

    Attributes
    ----------
    title
        What was compared.
    ident
        Where the page shows it; empty for nominal.
    leads
        The model that leads, by place; None when there is none.
    leads_words
        Its key; else those that are better somewhere, or that nobody is.
    shares
        An accuracy a model: at nominal, the mean of a sweep, or to be expected of a blend.
    less
        Of two models, the accuracy of the first less that of the second, in points; else empty.
    """

    title: str
    ident: str
    leads: int | None
    leads_words: str
    shares: tuple[float | None, ...]
    less: str


def lines(compared: Compared) -> tuple[Line, ...]:
    """Nominal, then the sweeps, then the blends."""
    two = compared.models == 2
    nominal = compared.cells[0]
    first = leader(nominal.differences, compared.models)
    out = [
        Line(
            "nothing changed",
            "",
            first,
            _leads(first, nominal.differences, OVER),
            tuple(None if share is None else share.value for share in nominal.accuracies),
            _difference(nominal.differences) if two else "",
        )
    ]
    for at, sweep in enumerate(compared.sweeps, 1):
        side = sweep.of.side
        moved = [
            difference
            for level, cell in zip(side.levels, sweep.of.cells, strict=True)
            if level != side.nominal
            for difference in compared.cell(cell).differences
        ]
        means: tuple[float | None, ...] = sweep.means or (None,) * compared.models
        less = _mean(sweep.pairs[0].mean) if two else ""
        words = _leads(sweep.leader, moved, PLACES)
        out.append(Line(side.title, f"sweep-{at}", sweep.leader, words, means, less))
    for at, blend in enumerate(compared.blends, 1):
        drawn = compared.cell(blend.of.cells[0]).differences
        shares = tuple(None if share is None else share.value for share in blend.accuracies)
        less = _over_draws(blend, drawn) if two else ""
        words = _leads(blend.leader, drawn, OVER)
        out.append(Line(blend.of.title, f"blend-{at}", blend.leader, words, shares, less))
    return tuple(out)


def _leads(leads: int | None, differences: Iterable[PairDifference], where: str) -> str:
    if leads is not None:
        return KEYS[leads]
    better = {one for d in differences if (one := winner(d)) is not None}
    return f"{listed([KEYS[at] for at in sorted(better)], 8)} {where}" if better else NOBODY


def _over_draws(blend: ComparedBlend, drawn: Sequence[PairDifference]) -> str:
    mean = blend.pairs[0].mean
    return _difference(drawn) if mean is None else _mean(mean)


def _difference(differences: Sequence[PairDifference]) -> str:
    """The difference of two models in one cell."""
    return "not known" if not differences else _less(differences[0])


def _mean(mean: Estimate | None) -> str:
    return "not known" if mean is None else _less(mean)


def _less(part: PairDifference | Estimate) -> str:
    """In points, whose name stands over the column."""
    if part.value is None or part.low is None or part.high is None:
        return "not known"
    return f"{100 * part.value:+z.1f} {span(part.low, part.high)}"
