"""What an evaluation says apart from its peaks; each function is one kind of finding."""

from __future__ import annotations

from collections.abc import Iterator

from gen.evaluate.results import Curve, Evaluation, Point, Proportion
from gen.report.causes import is_file_fault
from gen.report.finding import CHANCE, CLASS, FEW, HOLDS, INK, NARROW, SURE, UNDER, Finding
from gen.report.words import listed, percent, place, quoted

FEWEST = 30
FEWEST_OF_CLASS = 5
INK_LOST = 0.01
SURE_FROM = 0.9
# Ten wrong answers bound a mean confidence well enough to speak of it.
WRONG_ANSWERS = 10
# A class must be worse than the rest by this much beyond its interval: with 36
# classes, one in each evaluation falls outside its own interval by chance.
CLASS_GAP = 0.10
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
    yield Finding(CHANCE, says, {**_share(scored), **figures})


def too_few(evaluation: Evaluation) -> Iterator[Finding]:
    """So few glyphs that the intervals say little."""
    n = evaluation.baseline.accuracy.n
    if n < FEWEST:
        glyphs = "glyph was" if n == 1 else "glyphs were"
        says = f"Only {n} {glyphs} scored; with fewer than {FEWEST} no figure here is worth much."
        yield Finding(FEW, says, {"n": n, "fewest": FEWEST, "classes": []})


def is_too_few(finding: Finding) -> bool:
    """Whether a finding says that the whole set is too small, and not just a class."""
    return finding.kind == FEW and not finding.evidence["classes"]


def too_few_of_a_class(evaluation: Evaluation) -> Iterator[Finding]:
    """Classes with so few glyphs that their own figures say little."""
    if evaluation.baseline.accuracy.n < FEWEST:
        return
    rare = [
        (name, count)
        for name, count in zip(evaluation.classes, evaluation.counts, strict=True)
        if count < FEWEST_OF_CLASS
    ]
    if rare:
        names = listed([quoted(name) for name, _ in rare])
        says = (
            f"There are fewer than {FEWEST_OF_CLASS} glyphs of {names}, "
            "too few to speak of single classes."
        )
        told = [{"class": name, "n": count} for name, count in rare]
        evidence = {"n": evaluation.baseline.accuracy.n, "fewest": FEWEST_OF_CLASS, "classes": told}
        yield Finding(FEW, says, evidence)


def under_floor(evaluation: Evaluation) -> Iterator[Finding]:
    """Nominal accuracy under the floor, when it isn't near chance anyway."""
    scored = evaluation.baseline.accuracy
    if at_chance(evaluation) or scored.value >= evaluation.floor:
        return
    floor = percent(evaluation.floor)
    says = f"At nominal, with nothing changed, accuracy is already under the floor of {floor}."
    if scored.high >= evaluation.floor:
        says = f"{says[:-1]}, though by no more than chance could explain."
    yield Finding(UNDER, says, {**_share(scored), "floor": evaluation.floor})


def sure_and_wrong(evaluation: Evaluation) -> Iterator[Finding]:
    """Wrong answers that come with high confidence."""
    tail = "so its confidence does not warn of them."
    base = evaluation.baseline
    if _sure(base):
        says = f"The wrong answers at nominal come with a mean confidence over 90 %, {tail}"
        yield Finding(SURE, says, {"levels": [{"curve": None, **_confidence(base)}]})
        return
    found = [
        (index, curve, point)
        for index, curve in enumerate(evaluation.curves)
        for point in curve.points
        if not is_file_fault(curve) and point.level != curve.nominal and _sure(point)
    ]
    if found:
        titles = listed(list(dict.fromkeys(curve.title for _, curve, _ in found)))
        says = (
            f"Away from nominal ({titles}) wrong answers come "
            f"with a mean confidence over 90 %, {tail}"
        )
        levels = [{"curve": index, **_confidence(point)} for index, _, point in found]
        yield Finding(SURE, says, {"levels": levels})


def weak_classes(evaluation: Evaluation) -> Iterator[Finding]:
    """Classes read much worse than all others together."""
    if at_chance(evaluation):
        return
    base = evaluation.baseline
    weak = []
    for scored in base.per_class:
        own = scored.accuracy
        rest = base.accuracy.n - own.n
        if own.n < FEWEST_OF_CLASS or rest <= 0:
            continue
        others = (base.accuracy.correct - own.correct) / rest
        if own.high + CLASS_GAP < others:
            weak.append(
                {
                    "class": scored.name,
                    **_share(own),
                    "others": others,
                    **_taken_for(evaluation, scored.name),
                }
            )
    if not weak:
        return
    names = [quoted(str(found["class"])) for found in weak]
    if len(weak) == 1:
        taken = weak[0]["taken_for"]
        mostly = f", mostly as {quoted(str(taken))}" if taken is not None else ""
        says = f"{names[0]} is read much worse than the other classes{mostly}."
    else:
        says = f"{listed(names)} are read much worse than the other classes."
    yield Finding(CLASS, says, {"classes": weak})


def narrow(evaluation: Evaluation) -> Iterator[Finding]:
    """Curves that fall under the floor at the first step on each side."""
    if evaluation.baseline.accuracy.value < evaluation.floor:
        return
    for index, curve in enumerate(evaluation.curves):
        steps = _first_steps(curve)
        if not steps or any(p.accuracy.value >= evaluation.floor for p in steps):
            continue
        where = " and ".join(place(curve, point.level) for point in steps)
        says = (
            f"There is hardly any room: the first step from nominal, {where}, "
            f"is already under the floor of {percent(evaluation.floor)}."
        )
        told = [{"level": p.level, **_share(p.accuracy)} for p in steps]
        yield Finding(NARROW, says, {"floor": evaluation.floor, "steps": told}, index)


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
    tried = [p for curve in pen for p in curve.points if p.level != curve.nominal]
    if not tried or evaluation.baseline.accuracy.value < evaluation.floor:
        return
    least = min(tried, key=lambda point: point.accuracy.value)
    if least.accuracy.value < evaluation.floor:
        return
    titles = listed([curve.title for curve in pen])
    says = (
        f"Accuracy stays at or over the floor of {percent(evaluation.floor)} "
        f"at every level tried of {titles}."
    )
    evidence = {"floor": evaluation.floor, "levels": len(tried), "least": _share(least.accuracy)}
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


def _taken_for(evaluation: Evaluation, name: str) -> dict[str, object]:
    """The class that over half of the wrong answers name, if there is one."""
    row_index = evaluation.classes.index(name)
    row = evaluation.confusion[row_index]
    wrong = [(count, i) for i, count in enumerate(row) if i != row_index]
    most, where = max(wrong, default=(0, 0))
    if 2 * most > sum(count for count, _ in wrong) and where < len(evaluation.classes):
        return {"taken_for": evaluation.classes[where], "times": most}
    return {"taken_for": None, "times": most}


def _sure(point: Point) -> bool:
    wrong = point.accuracy.n - point.accuracy.correct
    confident = point.confidence_wrong is not None and point.confidence_wrong > SURE_FROM
    return confident and wrong >= WRONG_ANSWERS


def _confidence(point: Point) -> dict[str, object]:
    return {
        "level": point.level,
        "wrong": point.accuracy.n - point.accuracy.correct,
        "n": point.accuracy.n,
        "confidence_wrong": point.confidence_wrong,
        "confidence_right": point.confidence_right,
    }


def _share(part: Proportion) -> dict[str, object]:
    return {
        "n": part.n,
        "correct": part.correct,
        "accuracy": part.value,
        "low": part.low,
        "high": part.high,
    }
