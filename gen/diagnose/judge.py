"""Which of the remedies explains: the simplest of those that can't be told from the best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gen.diagnose.evidence import Evidence
from gen.diagnose.fits import WORTH_A_STEP, Fit, paired_p, surely_better
from gen.diagnose.operations import (
    CLASS_ORDER,
    LABEL_SHIFT,
    NOT_IN_PICTURES,
    READING,
    Chain,
    Operation,
)
from gen.diagnose.search import GOOD_ENOUGH, Search
from gen.evaluate.multiple import holm

Real = NDArray[np.float64]

ALPHA = 0.05
LEAST_GAIN = 0.05
"""A remedy that gives back less is no explanation."""
BELIEF = 0.04
"""What a step of strain is worth, in how well pictures are read (0 to 2): of two remedies
between which the glyphs can't decide, a simpler one may read four of a hundred less surely."""
_NEARLY = 0.75
_WORTH_TELLING = 0.5
"""Share of what the first remedy gives back under which another isn't told."""
_MOST_CALM = 0.15
_EQUAL_RANGES = 3
_BY_A_RULE_PX = 1.0
_ALIKE = 0.95
"""Correlation of pictures from which on two remedies are said to do the same."""


@dataclass(frozen=True)
class Ranked:
    """A remedy with what the test says of it and others that do the same.

    Attributes
    ----------
    fit
        The remedy.
    p_holm
        Against none, corrected for all that was tried.
    equally
        Chains that do the same.
    perhaps
        The remedy with a further step that may help, and isn't sure to.
    further
        That step.
    """

    fit: Fit
    p_holm: float
    equally: tuple[Chain, ...] = ()
    perhaps: Fit | None = None
    further: Chain = ()


def rank(
    search: Search,
    best: Fit,
    others: Sequence[Fit],
    evidence: Evidence,
    also_tried: Sequence[Fit] = (),
) -> list[Ranked]:
    """Those remedies that surely help, the one that explains first.

    Parameters
    ----------
    search
        All that was tried.
    best
        What the search ended with.
    others
        Remedies of labels.
    evidence
        What the pictures say for and against each.
    also_tried
        Remedies of labels that are out of the running, and were tried all the same.
    """
    everything = [*search.tried, *others]
    p_values = corrected([*everything, *also_tried], search.nothing)
    sure = {
        id(fit): float(p)
        for fit, p in zip(everything, p_values[: len(everything)], strict=True)
        if p < ALPHA and _gain(fit, search) >= LEAST_GAIN
    }
    helping = [fit for fit in everything if id(fit) in sure]
    if not helping:
        return []
    leading = _but_for_values(helping, search, evidence)
    leading = [fit for fit in leading if fit is best or not _has_scrap(fit)] or leading
    top = max([best, *others], key=lambda fit: float(fit.worth.mean()))
    if not any(fit is top for fit in leading):
        top = max(leading, key=lambda fit: float(fit.worth.mean()))
    # That something helps is settled by the best. What can't be told from it needn't pass
    # the correction once more to be what explains.
    unsure = [fit for fit in everything if id(fit) not in sure]
    level = [
        fit
        for fit in (*leading, *(fit for fit in unsure if _nearly_as_much(fit, top, search)))
        if len(fit.families) <= len(top.families) and (fit is top or not surely_better(top, fit))
    ]
    calm = _calmer(search, level)
    level.sort(
        key=lambda fit: (
            BELIEF * evidence.strain(fit) - evidence.standing(fit) - calm.get(id(fit), 0)
        )
    )
    lead = _plainer(search, level[0], level)
    rest = sorted(
        (fit for fit in helping if fit is not lead and len(fit.families) == 1),
        key=lambda fit: (not any(fit is one for one in level), -float(fit.worth.mean())),
    )
    simple = simplified(search, lead)
    p_holm = {id(fit): float(p) for fit, p in zip(everything, p_values, strict=False)}
    out = [
        Ranked(simple, p_holm[id(lead)], twins(search, simple), *_perhaps(search, lead, evidence))
    ]
    same = set(out[0].equally)
    least = search.nothing.accuracy + _WORTH_TELLING * (lead.accuracy - search.nothing.accuracy)
    for fit in rest:
        if fit.accuracy < least:
            continue
        if fit.whole not in same and not _alike(search, fit.whole, simple.whole):
            out.append(Ranked(simplified(search, fit), sure[id(fit)]))
    return out


def nearest(search: Search, others: Sequence[Fit], evidence: Evidence) -> Fit | None:
    """Where nothing surely helps, the single remedy that comes nearest to it; None if none does.

    By itself it is beyond chance; among so many that were tried it isn't.
    """
    near = [
        fit
        for fit in (*search.tried, *others)
        if len(fit.families) == 1
        and _gain(fit, search) >= LEAST_GAIN
        and paired_p(fit.right, search.nothing.right) < ALPHA
    ]
    return min(
        near, key=lambda fit: BELIEF * evidence.strain(fit) - evidence.standing(fit), default=None
    )


def _but_for_values(helping: Sequence[Fit], search: Search, evidence: Evidence) -> Sequence[Fit]:
    """Remedies without other values, where a fault that can be seen explains about as much.

    Larger values help a model over faint, thin or noisy marks a part of the way; where values
    are what is wrong, mending them mends all.
    """
    most = max((_gain(fit, search) for fit in helping if evidence.shows(fit)), default=0.0)
    return [
        fit
        for fit in helping
        if READING not in fit.names
        or fit.accuracy >= GOOD_ENOUGH
        or most < _WORTH_TELLING * _gain(fit, search)
    ]


def _has_scrap(fit: Fit) -> bool:
    """Whether a chain has a step that is too small to be a fault."""
    return len(fit.families) > 1 and any(one.is_scrap(fit.whole) for one in fit.families)


def _nearly_as_much(fit: Fit, top: Fit, search: Search) -> bool:
    """Whether a remedy gives most of what the best gives back, beyond chance by itself."""
    gain, most = (_gain(one, search) for one in (fit, top))
    alone = paired_p(fit.right, search.nothing.right)
    return gain >= max(LEAST_GAIN, _NEARLY * most) and alone < ALPHA / 5


def _calmer(search: Search, level: Sequence[Fit]) -> dict[int, float]:
    """How much other values are believed more, or less, for how sure they make the model.

    Of values in the right range a model is as sure as it should be. What is wrong with the
    pictures can't make it so of values in another.
    """
    likely = {
        id(fit): float(search.bench.trial(fit.whole).likelihood.mean())
        for fit in level
        if not {step.perturbation for step in fit.whole} & {LABEL_SHIFT, CLASS_ORDER}
    }
    read = [fit for fit in level if READING in fit.names and id(fit) in likely]
    rest = [likely[id(fit)] for fit in level if READING not in fit.names and id(fit) in likely]
    if not rest:
        return {}
    return {
        id(fit): float(np.clip(likely[id(fit)] - max(rest), -_MOST_CALM, _MOST_CALM))
        for fit in read
    }


def _gain(fit: Fit, search: Search) -> float:
    """Accuracy that a remedy gives back, over glyphs or over classes, whichever is less.

    Where most glyphs are of one class, whatever makes a model answer that class to anything
    would look like a remedy.
    """
    won = fit.right.astype(np.float64) - search.nothing.right
    _, which, count = np.unique(search.bench.labels, return_inverse=True, return_counts=True)
    return float(min(won.mean(), (np.bincount(which, won) / count).mean()))


def _perhaps(search: Search, lead: Fit, evidence: Evidence) -> tuple[Fit | None, Chain]:
    """A further step that may well help, short of being sure."""
    longer = [
        fit
        for fit in search.tried
        if fit.families[:-1] == lead.families
        and fit.accuracy - lead.accuracy >= WORTH_A_STEP
        and paired_p(fit.right, lead.right) < ALPHA
        and not fit.families[-1].is_scrap(fit.whole)
    ]
    if not longer:
        return None, ()
    best = max(longer, key=lambda fit: evidence.standing(fit) - BELIEF * evidence.strain(fit))
    return best, best.whole[len(lead.whole) :]


def corrected(fits: Sequence[Fit], nothing: Fit) -> Real:
    """P-values of remedies against none, corrected for all that was tried.

    Chains are many and seldom needed: they share two fifths of the error that is allowed,
    single remedies the rest, and Holm's correction runs within each (a weighted
    Bonferroni split, valid however the tests hang together).

    Parameters
    ----------
    fits
        All that was tried.
    nothing
        The pictures as they are.
    """
    p_values = np.array([paired_p(fit.right, nothing.right) for fit in fits])
    single = np.array([len(fit.families) == 1 for fit in fits], np.bool_)
    out = np.ones(len(fits))
    for part, share in ((single, 0.6), (~single, 0.4)):
        if part.any():
            out[part] = np.minimum(holm(p_values[part]) / share, 1.0)
    return out


def _plainer(search: Search, lead: Fit, level: Sequence[Fit]) -> Fit:
    """A move, where a slip of rows does no more: a person sees where a mark lies."""
    if lead.names != ("row slip",) or not twins(search, lead):
        return lead
    moves = [fit for fit in level if fit.names == ("translation",)]
    return moves[0] if moves else lead


def simplified(search: Search, fit: Fit) -> Fit:
    """The same with amounts that are easier to say, where that costs nothing.

    Parts of a px become whole ones, and a move along one axis loses its stray along the
    other, as long as the pictures are read as well.
    """
    chain = fit.whole
    if any(step.perturbation in NOT_IN_PICTURES for step in chain):
        return fit
    now = search.bench.trial(chain).worth
    for place, step in enumerate(chain):
        if step.perturbation != "translation" or isinstance(step.amount, str):
            continue
        exact = float(step.amount)
        whole = sorted((np.floor(exact), np.ceil(exact)), key=abs, reverse=True)
        for amount in (0.0, *whole):
            if amount == exact or abs(amount - exact) >= 1.0:
                continue
            changed = (replace(step, amount=float(amount)),) if amount else ()
            other = (*chain[:place], *changed, *chain[place + 1 :])
            if not other:
                continue
            less = now - search.bench.trial(other).worth
            error = less.std(ddof=1) / np.sqrt(len(less))
            if less.mean() <= max(2 * error, BELIEF) + 1e-9:
                return simplified(search, replace(fit, whole=other))
    return fit


def twins(search: Search, fit: Fit) -> tuple[Chain, ...]:
    """Other remedies that do the same to these pictures.

    A decoder that begins k bytes late moves every row by k px, and wraps them.
    """
    chain = fit.whole
    names = {step.perturbation for step in chain}
    out: list[Chain] = []
    _, _, width = search.bench.images.shape
    moves = [step for step in chain if step.perturbation == "translation"]
    along = {dict(step.options).get("along"): step.amount for step in moves}
    if names == {READING} and len(fit.families) == 1:
        everyone = np.ones(len(search.halves), np.bool_)
        likely = search.likeliest((), fit.families[0], everyone)
        out = [fit.families[0].make(amounts) for amounts in likely]
        return tuple(other for other in out if other != chain)[:_EQUAL_RANGES]
    if names == {"translation"}:
        down, right = (float(along.get(way, 0.0)) for way in "yx")
        if down == int(down) and right == int(right):
            slip = int(down) * width + int(right)
            out.append((Operation("row-slip", float(slip), "bytes"),))
        if max(abs(down), abs(right)) <= _BY_A_RULE_PX:
            # Rules for laying marks into a frame differ by as little as this.
            laid = [one.whole for one in search.tried if one.names == ("placement",)]
            out += [chain for chain in laid if dict(chain[0].options).get("box_px") is None]
    if names == {"row-slip"}:
        slip = int(float(chain[0].amount))
        down = round(slip / width)
        ways = ((float(down), "y"), (float(slip - down * width), "x"))
        out.append(
            tuple(Operation("translation", a, "px", (("along", way),)) for a, way in ways if a)
        )
    return tuple(
        other
        for other in out
        if other and _alike(search, other, chain) and _as_many(search, other, chain)
    )


def _alike(search: Search, one: Chain, other: Chain) -> bool:
    """Whether two remedies leave nearly the same pictures."""
    if any(s.perturbation in NOT_IN_PICTURES for s in (*one, *other)):
        return False
    first, second = (search.bench.pictures(chain).astype(float).ravel() for chain in (one, other))
    first, second = first - first.mean(), second - second.mean()
    size = np.sqrt((first @ first) * (second @ second))
    return bool(size > 0 and first @ second / size > _ALIKE)


def _as_many(search: Search, one: Chain, other: Chain) -> bool:
    less = search.bench.trial(other).worth - search.bench.trial(one).worth
    return bool(less.mean() <= 2 * less.std(ddof=1) / np.sqrt(len(less)) + 1e-9)
