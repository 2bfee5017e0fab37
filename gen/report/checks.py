"""What an evaluation says apart from its peaks; each function is one kind of finding."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from gen.evaluate.results import Curve, Evaluation, Point
from gen.report.causes import is_file_fault
from gen.report.finding import CHANCE, HOLDS, INK, NARROW, UNDER, Finding
from gen.report.places import place
from gen.report.values import share_values
from gen.report.words import listed, percent, quoted

INK_LOST = 0.01
ONE_ANSWER = 0.9


def chance(evaluation: Evaluation) -> tuple[float, float, str]:
    """Accuracy without looking: of a blind guess, of always naming the commonest class, its name.

    Returns
    -------
    tuple of (float, float, str)
    """
    total = sum(evaluation.counts)
    if not total or not evaluation.classes:
        return 0.0, 0.0, ""
    most = max(range(len(evaluation.counts)), key=lambda i: evaluation.counts[i])
    return 1 / len(evaluation.classes), evaluation.counts[most] / total, evaluation.classes[most]


def at_chance(evaluation: Evaluation) -> bool:
    """Whether the nominal interval reaches down to either of the two."""
    guess, majority, _ = chance(evaluation)
    return evaluation.baseline.accuracy.low <= max(guess, majority)


def near_chance(evaluation: Evaluation) -> Iterator[Finding]:
    """Nominal accuracy that guessing would give too."""
    if not at_chance(evaluation):
        return
    guess, majority, name = chance(evaluation)
    scored = evaluation.baseline.accuracy
    if scored.high < guess:
        says = (
            "At nominal the model does worse than a blind guess, as with classes "
            "named in another order."
        )
    elif majority > guess and scored.low > guess:
        says = (
            "At nominal the model can't be told from one that always answers "
            f"{quoted(name)}, the commonest class."
        )
    else:
        says = "At nominal the model can't be told from a blind guess."
    one, times = _commonest_answer(evaluation)
    if one and times >= ONE_ANSWER * scored.n:
        says = (
            f"{says.rstrip('.')}: it answers {quoted(one)} nearly always, as a model does "
            "whose pictures arrive empty or in another range of values."
        )
    figures = {
        "guess": guess,
        "majority": majority,
        "majority_class": name,
        "commonest_answer": one,
        "times": times,
    }
    yield Finding(CHANCE, says, {**share_values(scored), **figures})


def under_floor(evaluation: Evaluation) -> Iterator[Finding]:
    """Nominal accuracy under the floor, when it isn't near chance anyway."""
    scored = evaluation.baseline.accuracy
    if at_chance(evaluation) or scored.value >= evaluation.floor:
        return
    floor = percent(evaluation.floor)
    says = f"At nominal, with nothing changed, accuracy is already under the floor of {floor}."
    found = Finding(UNDER, says, {**share_values(scored), "floor": evaluation.floor})
    if is_close(found):
        says = (
            f"At nominal, with nothing changed, accuracy is under the floor of {floor}, but by no "
            "more than chance could explain; more glyphs would tell."
        )
    yield replace(found, says=says)


def is_close(finding: Finding) -> bool:
    """Whether the floor lies within the interval of an accuracy that is under it."""
    told = finding.evidence
    return finding.kind == UNDER and told.get("high", 0.0) >= told.get("floor", 1.0)


def narrow(evaluation: Evaluation) -> Iterator[Finding]:
    """Curves that fall under the floor at the first step on each side, told in one sentence."""
    if evaluation.baseline.accuracy.value < evaluation.floor:
        return
    found = []
    for index, curve in enumerate(evaluation.curves):
        steps = _first_steps(curve)
        if steps and all(p.accuracy.value < evaluation.floor for p in steps):
            found.append((index, curve, steps))
    if not found:
        return
    if len(found) == 1:
        index, curve, steps = found[0]
        where = " and ".join(place(curve, point.level) for point in steps)
        what, step = "There is hardly any room", f"the first step from nominal, {where},"
    else:
        titles = listed([curve.title for _, curve, _ in found])
        what = f"There is hardly any room for {titles}"
        step = "the first step from nominal"
    says = f"{what}: {step} is already under the floor of {percent(evaluation.floor)}."
    told = [
        {"curve": index, "level": point.level, **share_values(point.accuracy)}
        for index, _, steps in found
        for point in steps
    ]
    yield Finding(NARROW, says, {"floor": evaluation.floor, "steps": told}, found[0][0])


def ink_left(evaluation: Evaluation) -> Iterator[Finding]:
    """Levels at which the frame cut off part of the mark: a fact, told once for all sweeps."""
    lost = [
        (index, curve, point)
        for index, curve in enumerate(evaluation.curves)
        for point in cut_levels(curve)
    ]
    if lost:
        titles = listed(list(dict.fromkeys(curve.title for _, curve, _ in lost)), most=12)
        says = (
            f"At some levels of {titles} more than {percent(INK_LOST)} of the ink left the frame: "
            "there the mark itself is cut, whatever the model does."
        )
        told = [{"curve": i, "level": p.level, "ink_lost": p.ink_lost} for i, _, p in lost]
        yield Finding(INK, says, {"levels": told})


def cut_levels(curve: Curve) -> list[Point]:
    """The points where more than 1 % of the ink left the frame."""
    return [point for point in curve.points if point.ink_lost > INK_LOST]


def holds(evaluation: Evaluation) -> Iterator[Finding]:
    """Accuracy that stays at or over the floor however far the sweeps went."""
    pen = [curve for curve in evaluation.curves if not is_file_fault(curve)]
    tried = [
        (index, point)
        for index, curve in enumerate(evaluation.curves)
        if not is_file_fault(curve)
        for point in curve.points
        if point.level != curve.nominal
    ]
    if not tried or evaluation.baseline.accuracy.value < evaluation.floor:
        return
    index, least = min(tried, key=lambda pair: pair[1].accuracy.value)
    if least.accuracy.value < evaluation.floor:
        return
    titles = listed([curve.title for curve in pen])
    says = (
        f"Accuracy stays at or over the floor of {percent(evaluation.floor)} "
        f"at every level tried of {titles}."
    )
    evidence = {
        "floor": evaluation.floor,
        "levels": len(tried),
        "least": {"curve": index, "level": least.level, **share_values(least.accuracy)},
    }
    yield Finding(HOLDS, says, evidence)


def _first_steps(curve: Curve) -> list[Point]:
    """The points next to nominal; none where a fall is no sign of a narrow tolerance.

    A fault of a program is there or it isn't, and one step of a rule by name
    isn't near or far.
    """
    if is_file_fault(curve) or any(isinstance(point.level, str) for point in curve.points):
        return []
    ordered = sorted(curve.points, key=lambda point: float(point.level))
    at = [point.level for point in ordered].index(curve.nominal)
    return [ordered[i] for i in (at - 1, at + 1) if 0 <= i < len(ordered)]


def _commonest_answer(evaluation: Evaluation) -> tuple[str, int]:
    """The class that the model names most often at nominal, and how often."""
    answers = [sum(column) for column in zip(*evaluation.confusion, strict=True)]
    answers = answers[: len(evaluation.classes)]
    if not answers:
        return "", 0
    most = max(range(len(answers)), key=lambda i: answers[i])
    return evaluation.classes[most], answers[most]
