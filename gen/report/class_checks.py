"""Classes that are read worse than the others, at nominal and as marks stray."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from gen.evaluate.results import Confused, Curve, Evaluation, FirstClass, Point, Proportion
from gen.report.causes import is_file_fault
from gen.report.checks import at_chance
from gen.report.few import FEWEST_OF_CLASS
from gen.report.finding import CLASS, CONFUSED, FIRST, Finding
from gen.report.places import place
from gen.report.values import share_values
from gen.report.words import listed, quoted

# A class must be worse than the rest by this much beyond its interval: with 36
# classes, one in each evaluation falls outside its own interval by chance.
CLASS_GAP = 0.10
# A pair is worth a word where at least this share of a class is read as the other.
OFTEN = 0.05


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
                    **share_values(own),
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


def breaks_first(evaluation: Evaluation) -> Iterator[Finding]:
    """Classes that a sweep breaks while the others together still keep the floor.

    A class always comes first; it is a fault where accuracy over all classes hides it.
    """
    known = {
        found["class"] for each in weak_classes(evaluation) for found in each.evidence["classes"]
    }
    found = []
    for index, curve, first in _first_classes(evaluation):
        if first.name not in known and (alone := _breaks_alone(curve, first, evaluation.floor)):
            found.append((index, curve, first.name, alone))
    if not found:
        return
    by_class: dict[str, list[str]] = {}
    for _, curve, name, (point, _, _) in found:
        by_class.setdefault(name, []).append(place(curve, point.level))
    parts = [f"{quoted(name)} {listed(places, most=3)}" for name, places in by_class.items()]
    breaks = "One class breaks" if len(parts) == 1 else "Single classes break"
    says = f"{breaks} well before the others, which still keep to the floor there: {listed(parts)}."
    told = [
        {"curve": index, "class": name, "level": point.level, **share_values(own), "others": others}
        for index, _, name, (point, own, others) in found
    ]
    yield Finding(FIRST, says, {"sweeps": told})


def most_confused(evaluation: Evaluation) -> Iterator[Finding]:
    """The pair of classes that each sweep confuses most: a fact, told once for all of them."""
    found = [
        (index, curve, pair)
        for index, curve, pair in _pairs(evaluation)
        if pair.share.n >= FEWEST_OF_CLASS and pair.share.value >= OFTEN
    ]
    if not found:
        return
    by_pair: dict[tuple[str, str], list[str]] = {}
    for _, curve, pair in found:
        by_pair.setdefault((pair.true, pair.answered), []).append(place(curve, pair.level))
    parts = [
        f"{quoted(true)} read as {quoted(answered)}, first {listed(places, most=3)}"
        for (true, answered), places in by_pair.items()
    ]
    if len(parts) > 4:
        parts = [*parts[:3], f"and {len(parts) - 3} more pairs"]
    says = f"As marks stray, what is confused most is {'; '.join(parts)}."
    told: list[dict[str, Any]] = [
        {
            "curve": index,
            "true": pair.true,
            "answered": pair.answered,
            "level": pair.level,
            **share_values(pair.share),
        }
        for index, _, pair in found
    ]
    yield Finding(CONFUSED, says, {"sweeps": told})


def _first_classes(evaluation: Evaluation) -> Iterator[tuple[int, Curve, FirstClass]]:
    for index, curve in enumerate(evaluation.curves):
        if curve.summary and curve.summary.first_class and not is_file_fault(curve):
            yield index, curve, curve.summary.first_class


def _pairs(evaluation: Evaluation) -> Iterator[tuple[int, Curve, Confused]]:
    for index, curve in enumerate(evaluation.curves):
        if curve.summary and curve.summary.confused and not is_file_fault(curve):
            yield index, curve, curve.summary.confused


def _breaks_alone(
    curve: Curve, first: FirstClass, floor: float
) -> tuple[Point, Proportion, float] | None:
    """The level nearest to nominal where it is far below the others, and they keep the floor.

    With the accuracy of the class and that of all others together; None if there is no
    such level.
    """
    for point in sorted(curve.points, key=lambda point: _distance(curve, point)):
        own = next((each.accuracy for each in point.per_class if each.name == first.name), None)
        if own is None or own.n < FEWEST_OF_CLASS or point.accuracy.n <= own.n:
            continue
        others = (point.accuracy.correct - own.correct) / (point.accuracy.n - own.n)
        if others >= floor and own.high + CLASS_GAP < others:
            return point, own, others
    return None


def _distance(curve: Curve, point: Point) -> float:
    """How far from nominal; all names are as far."""
    if isinstance(curve.nominal, str) or isinstance(point.level, str):
        return float(point.level != curve.nominal)
    return abs(point.level - curve.nominal)


def _taken_for(evaluation: Evaluation, name: str) -> dict[str, object]:
    """The class that over half of the wrong answers name, if there is one."""
    row_index = evaluation.classes.index(name)
    row = evaluation.confusion[row_index]
    wrong = [(count, i) for i, count in enumerate(row) if i != row_index]
    most, where = max(wrong, default=(0, 0))
    if 2 * most > sum(count for count, _ in wrong) and where < len(evaluation.classes):
        return {"taken_for": evaluation.classes[where], "times": most}
    return {"taken_for": None, "times": most}
