"""What an evaluation says, in sentences, the most important first."""

from __future__ import annotations

from collections.abc import Iterator

from gen.evaluate.results import Evaluation
from gen.report import checks, class_checks, few, sureness, together, trust
from gen.report.finding import (
    ALSO,
    CHANCE,
    CONFUSED,
    FAILED,
    FIRST,
    FORECAST,
    HIDDEN_BLUR,
    HOLDS,
    INK,
    KEPT,
    KINDS,
    MISSED,
    NARROW,
    NOTHING,
    PEAK,
    SLIGHT,
    STRANGERS,
    SURE,
    TOGETHER,
    UNDER,
    UNTRIED,
    Finding,
)
from gen.report.peaks import peak_findings
from gen.report.words import percent

__all__ = ["KINDS", "Finding", "find", "verdict"]

# Of facts and good news alone it can be said that nothing wrong was found.
_HARMLESS = {HOLDS, KEPT, INK, SLIGHT, CONFUSED, HIDDEN_BLUR}
# These lie away from nominal, or in marks that no recipe speaks of.
_ASTRAY = {NARROW, FIRST, TOGETHER, STRANGERS, FORECAST}


def find(evaluation: Evaluation) -> tuple[Finding, ...]:
    """Say what an evaluation shows.

    Parameters
    ----------
    evaluation
        A scored model.

    Returns
    -------
    tuple of Finding
        Never empty, at most one of a kind. Faults come first: what was required
        and is missed, then what makes the figures doubtful, then the one that explains
        most; then what is good; then plain facts. Where all faults lie away from nominal,
        it is said first that nothing is wrong there.
    """
    peaks = list(peak_findings(evaluation))
    # What is off at nominal explains which classes suffer there; mend that first.
    explained = any(finding.kind == PEAK for finding in peaks)
    faults = [
        *trust.missed(evaluation),
        *trust.failed(evaluation),
        *trust.asked_again(evaluation),
        *trust.hangs_on_batch(evaluation),
        *(finding for finding in peaks if finding.kind == PEAK),
        *checks.near_chance(evaluation),
        *few.too_few(evaluation),
        *checks.under_floor(evaluation),
        *together.under_forecast(evaluation),
        *sureness.sure_and_wrong(evaluation),
        *sureness.marks_of_no_class(evaluation),
        *(() if explained else class_checks.weak_classes(evaluation)),
        *checks.narrow(evaluation),
        *(() if explained else class_checks.breaks_first(evaluation)),
        *together.worse_together(evaluation),
        *(finding for finding in peaks if finding.kind == ALSO),
        *few.too_few_of_a_class(evaluation),
    ]
    # What goes wrong only as marks stray, or with marks of no class, leaves it said that
    # nothing is wrong with the marks as they are.
    good: list[Finding] = []
    if not any(_at_nominal(fault) for fault in faults):
        good = list(_nothing_wrong(evaluation, careful=bool(faults)))
    slight = [finding for finding in peaks if finding.kind == SLIGHT]
    return (
        *good,
        *faults,
        *trust.kept(evaluation),
        *checks.holds(evaluation),
        *slight,
        *class_checks.most_confused(evaluation),
        *together.hidden_blur(evaluation),
        *checks.ink_left(evaluation),
    )


def _at_nominal(fault: Finding) -> bool:
    """Whether a fault is there with nothing changed, or makes the figures doubtful."""
    if fault.kind == SURE:
        return any(level["curve"] is None for level in fault.evidence["levels"])
    return fault.kind not in _ASTRAY


def verdict(findings: tuple[Finding, ...]) -> str:
    """Whether the model is safe to rely on, in one line.

    Examples
    --------
    >>> verdict((Finding("baseline under the floor", "..."),))
    'Not safe to rely on'
    """
    kinds = {finding.kind for finding in findings}
    close = any(checks.is_close(finding) for finding in findings)
    said = (
        (CHANCE in kinds or (UNDER in kinds and not close), "Not safe to rely on"),
        (MISSED in kinds, "Misses what was required"),
        (FAILED in kinds, "Fails on some of what it was shown"),
        (any(few.is_too_few(finding) for finding in findings), "Too few glyphs to tell"),
        (close, "Too close to the floor to tell"),
        (UNTRIED in kinds, "Only nominal was scored"),
        (kinds <= _HARMLESS | {NOTHING}, "Nothing found against relying on it"),
        (True, "Rely on it with care"),
    )
    return next(words for holds, words in said if holds)


def _nothing_wrong(evaluation: Evaluation, *, careful: bool) -> Iterator[Finding]:
    """Good news, which says that there is other news where there is."""
    floor = percent(evaluation.floor)
    scored = evaluation.baseline.accuracy
    figures = {"accuracy": scored.value, "low": scored.low, "high": scored.high, "n": scored.n}
    figures["floor"] = evaluation.floor
    if not (evaluation.curves or evaluation.grids or evaluation.blends):
        says = "Only nominal was scored: no sweep says what happens to marks that stray."
        yield Finding(UNTRIED, says, figures)
        return
    why = f"accuracy keeps to the floor of {floor}, and no sweep peaks clearly anywhere else"
    why += "; but see the findings below" if careful else ""
    yield Finding(NOTHING, f"At nominal nothing wrong was found: {why}.", figures, why=why)
