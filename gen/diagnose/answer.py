"""The answer in plain words: what is wrong, what mends it, and what else can be seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from gen.diagnose.differences import SetDifference
from gen.diagnose.fits import Fit
from gen.diagnose.judge import Ranked
from gen.diagnose.results import Diagnosis, Remedy
from gen.diagnose.set_finding import SetFinding
from gen.diagnose.words import TRAINING, told
from gen.evaluate.results import Proportion
from gen.glyphs.base import Whole

_ONE_ANSWER = 0.95
"""Share of the answers from which on a model is said to answer one class to all."""
_OF_ERRORS, _FEWEST_ERRORS = 0.4, 5
"""Share of the misread glyphs that must be one class read as one other, and how many."""
_TOLD = 2
_BY_CHANCE = 2.0
"""Times the commonest class that must be read rightly for labels to be believed."""
_OF_LABELS = frozenset({"label map", "labels out of step"})
_SEEN = frozenset(
    {
        "table layout",
        "container, header",
        "pixel packing",
        "polarity",
        "transparency",
        "always one class",
        "8-bit wrap",
        "label map",
        "labels out of step",
        "background, shadow",
        "range, normalisation",
        "scale and box",
        "aliasing",
        "class counts",
    }
)
"""Kinds of finding that may be a cause where no remedy explains all."""


def too_few(count: int, fewest: int) -> str:
    """That there are too few glyphs to say anything."""
    return (
        f"{count} glyphs are too few to say anything: with {fewest} or more there is an answer, "
        "with 50 to 300 a sure one."
    )


def one_class(count: int, name: str) -> str:
    """That glyphs of one class alone tell nothing."""
    return (
        f'All {count} glyphs are of class "{name}": whatever makes the model answer "{name}" to '
        "anything would look like a remedy. Add glyphs of other classes."
    )


def healthy(baseline: Proportion) -> str:
    """That nothing is wrong."""
    return (
        f"Nothing is wrong that these glyphs could show: {baseline.correct} of {baseline.n} are "
        "read rightly as they are."
    )


def explains(remedies: Sequence[Remedy], baseline: Proportion, floor: float) -> bool:
    """Whether the first remedy may reach the floor, or closes half of the way to it."""
    if not remedies:
        return False
    after = remedies[0].accuracy
    return after.high >= floor or after.value - baseline.value >= (floor - baseline.value) / 2


def answer(
    remedies: Sequence[Remedy],
    baseline: Proportion,
    floor: float,
    *,
    lead: Ranked | None = None,
    near: Fit | None = None,
    seen: Sequence[str] = (),
) -> tuple[str, ...]:
    """The answer, a sentence each.

    Parameters
    ----------
    remedies
        The surest first.
    baseline
        Accuracy of the glyphs as they are.
    floor
        The accuracy from which on nothing is wrong.
    lead
        The first remedy as it was ranked.
    near
        What comes nearest to helping, where nothing does.
    seen
        What else the answers of the model and the glyphs themselves show.
    """
    if not remedies:
        return (
            "No remedy was found: nothing that was tried gives accuracy back beyond chance.",
            *(() if near is None else (_nearest(near),)),
            *(() if baseline.high < floor else (_near_the_floor(baseline, floor),)),
            *seen,
            "What was tried is listed under what is ruled out; what remains are marks unlike "
            "those that the model was taught, by other hands or of other classes, wrong labels, "
            "or a model that knows too little.",
        )
    first = remedies[0]
    mended = (
        f"Mended so, {first.accuracy.correct} of {first.accuracy.n} are read rightly, where "
        f"{baseline.correct} of {baseline.n} are as they are."
    )
    perhaps = _perhaps(lead)
    if not explains(remedies, baseline, floor):
        return (
            "No remedy was found that explains it; the best that was tried gives a part of the "
            "accuracy back.",
            first.wrong,
            f"{mended} What remains are marks unlike those that the model was taught, wrong "
            "labels, or a model that knows too little.",
            *perhaps,
            *seen,
        )
    out = [first.wrong]
    if first.equally:
        out.append(f"To these pictures the same is done by: {'; '.join(first.equally)}.")
        if any(one.startswith("placement") for one in first.equally):
            out.append("Where marks are laid into the frame by --fit, name that rule there.")
    out += [mended, first.change, *perhaps]
    if first.accuracy.high < floor:
        other = (
            () if perhaps else ("What is still misread has another cause that no remedy shows.",)
        )
        out += [*other, *seen]
    return tuple(out)


def symptoms(
    answered: Whole, labels: Whole, classes: Sequence[str], checks: Sequence[SetFinding]
) -> tuple[str, ...]:
    """What the answers of a model and the glyphs themselves show, where no remedy explains all.

    Parameters
    ----------
    answered, labels
        ndarray of shape (n,): the classes that the model answers and the true ones.
    classes
        Their names.
    checks
        What was looked for in the glyphs.
    """
    # A model that reads many rightly has shown that labels go with their pictures.
    least = _BY_CHANCE * np.bincount(labels).max()
    known = (answered == labels).sum() > least
    kinds = _SEEN - _OF_LABELS if known else _SEEN
    found = [one.says for one in checks if one.found and one.kind in kinds][:_TOLD]
    return (
        *_answers(answered, labels, classes),
        *(f"The glyphs themselves show this: {says}." for says in found),
    )


def _answers(answered: Whole, labels: Whole, classes: Sequence[str]) -> tuple[str, ...]:
    count = len(classes)
    some = answered >= 0
    times = np.bincount(answered[some], minlength=count)
    if times.max() >= _ONE_ANSWER * len(answered):
        name = classes[int(times.argmax())]
        return (
            f'The model answers "{name}" to {times.max()} of {len(answered)} of these glyphs: '
            "look whether the pictures reach it at all (--show-input); an empty array, or one "
            "that never changes, looks so.",
        )
    table = np.bincount(labels[some] * count + answered[some], minlength=count**2)
    table = table.reshape(count, count)
    errors = table - np.diag(np.diag(table))
    true, said = divmod(int(errors.argmax()), count)
    most = int(errors[true, said])
    if most < max(_FEWEST_ERRORS, _OF_ERRORS * errors.sum()):
        return ()
    return (
        f'What is misread most is "{classes[true]}" as "{classes[said]}": {most} of the '
        f"{errors.sum()} glyphs that are misread, where there are {table[true].sum()} of "
        f'class "{classes[true]}". Look whether those two are named as they should be.',
    )


def _near_the_floor(baseline: Proportion, floor: float) -> str:
    return (
        f"{baseline.correct} of {baseline.n} are read rightly, and chance alone could put a model "
        f"that reaches {100 * floor:g} % there: with more glyphs it can be told."
    )


def _nearest(fit: Fit) -> str:
    wrong = told(fit.whole).wrong
    return (
        f"What comes nearest, though among so many that were tried chance may do as much: "
        f"{wrong[0].lower()}{wrong[1:]} Mended so, {int(fit.right.sum())} of {len(fit.right)} are "
        "read rightly; more glyphs would tell."
    )


def _perhaps(lead: Ranked | None) -> tuple[str, ...]:
    if lead is None or lead.perhaps is None:
        return ()
    wrong = told(lead.further).wrong
    right = lead.perhaps.right
    return (
        f"Perhaps also, though it isn't sure: {wrong[0].lower()}{wrong[1:]} With that mended as "
        f"well, {int(right.sum())} of {len(right)} are read rightly.",
    )


def training_reads_otherwise(told_of: Diagnosis, found: Sequence[SetDifference]) -> Diagnosis:
    """Where a move helps and yet these marks lie as the training marks do: the files are alike,
    so it is the training code that read them otherwise."""
    if told_of.verdict != "explained":
        return told_of
    first = told_of.remedies[0]
    if {step.perturbation for step in first.steps} - {"translation", "row-slip"}:
        return told_of
    shifts = {one.measure.name: one.shift.value for one in found}
    names = {"x": "centroid_dx_px", "y": "centroid_dy_px"}
    for step in first.steps:
        along = str(dict(step.options).get("along", "x"))
        if abs(shifts.get(names[along], float(step.amount))) > abs(float(step.amount)) / 2:
            return told_of
    says = (
        "These marks lie where the marks of the training files do, so it isn't they that are out "
        "of place: the code that read those files for training did so otherwise, as a decoder "
        "does that begins too early or too late."
    )
    remedies = (replace(first, side=TRAINING), *told_of.remedies[1:])
    return replace(told_of, remedies=remedies, says=(told_of.says[0], says, *told_of.says[1:]))
