"""Verdicts, remedies and their figures in words, the same in text and page."""

from __future__ import annotations

from gen.diagnose.operations import Chain, Operation
from gen.diagnose.results import Diagnosis, Remedy
from gen.diagnose.words import title
from gen.report.words import count

HEALTHY, EXPLAINED, UNEXPLAINED, TOO_FEW = (
    "healthy",
    "explained",
    "unexplained",
    "too few glyphs",
)


def chain_of(remedy: Remedy) -> Chain:
    """The steps of a remedy, as they can be carried out."""
    return tuple(
        Operation(step.perturbation, step.amount, step.unit, step.options) for step in remedy.steps
    )


def named(remedy: Remedy) -> str:
    """A remedy in a few words.

    Examples
    --------
    >>> from gen.diagnose.results import RemedyStep
    >>> from gen.evaluate.results import Proportion
    >>> step = RemedyStep("translation", -3.0, "px", (("along", "x"),))
    >>> share = Proportion(9, 10, 0.9, 0.6, 0.98, "Wilson")
    >>> named(Remedy((step,), share, 0.4, 0.01, "", "", ""))
    'translation -3 px along x'
    """
    return title(chain_of(remedy))


def headline(diagnosis: Diagnosis) -> str:
    """The verdict in one line."""
    if diagnosis.verdict == EXPLAINED:
        # A move along both axes is one change.
        steps = len({step.perturbation for step in diagnosis.remedies[0].steps})
        made = "One change gives" if steps == 1 else f"{steps} changes together give"
        return f"{made} accuracy back: {named(diagnosis.remedies[0])}"
    return {
        HEALTHY: "Nothing found wrong: these glyphs are read",
        UNEXPLAINED: "No change was found that gives accuracy back",
        TOO_FEW: "Too few glyphs to say why",
    }[diagnosis.verdict]


def tried(diagnosis: Diagnosis) -> str:
    """How much the search went through: "1,204 remedies were tried"."""
    if not diagnosis.tried:
        return "Nothing was tried"
    one = diagnosis.tried == 1
    return f"{count(diagnosis.tried)} {'remedy was' if one else 'remedies were'} tried"
