"""What confidence is worth: wrong answers given surely, and marks of no class named surely."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from gen.evaluate.results import Curve, Evaluation, ForeignMarks, Point
from gen.report.causes import is_file_fault
from gen.report.finding import STRANGERS, SURE, Finding
from gen.report.places import place
from gen.report.values import declining_values, foreign_values
from gen.report.words import listed, percent

SURE_FROM = 0.9
# Ten wrong answers bound a mean confidence well enough to speak of it.
WRONG_ANSWERS = 10
# How far mean confidence must lie over the upper end of accuracy's interval. At
# nominal a soundly calibrated model stays within a point or two of its accuracy; as
# marks stray every model is somewhat too sure, and only a wide gap misleads.
TOO_SURE = 0.05
TOO_SURE_ASTRAY = 0.20
# A model that is in doubt on the whole misleads nobody.
SURE_ON_THE_WHOLE = 0.80
# Naming one in twenty marks of no class, beyond what chance explains, is worth mending.
NAMED = 0.05

_At = tuple[int, Curve, Point]

KINDS_IN_WORDS = {
    "blank": "blank paper",
    "noise": "noise",
    "scribble": "scribbles",
    "two marks": "two marks at once",
    "strangers": "characters that it doesn't know",
}


def sure_and_wrong(evaluation: Evaluation) -> Iterator[Finding]:
    """Wrong answers with high confidence, and confidence that stays while accuracy falls."""
    tail = "so its confidence does not warn of them"
    base = evaluation.baseline
    if _sure(base):
        says = f"The wrong answers at nominal come with a mean confidence over 90 %, {tail}."
        figures = [{"curve": None, **_figures(base)}]
        yield Finding(SURE, says, {"levels": figures, "begins": figures})
        return
    if _too_sure(base, TOO_SURE):
        says = (
            "At nominal the model is surer than it is right, so its confidence can't be taken "
            "at its word."
        )
        figures = [{"curve": None, **_figures(base)}]
        yield Finding(SURE, says, {"levels": figures, "begins": figures})
        return
    found, begins = _astray(evaluation, _sure)
    if found:
        titles = listed(list(dict.fromkeys(curve.title for _, curve, _ in found)))
        says = (
            f"Away from nominal ({titles}) wrong answers come with a mean confidence over 90 %, "
            f"{tail}; this begins {_places(begins)}."
        )
    else:
        found, begins = _astray(evaluation, _misleads)
        if not found:
            return
        says = (
            "As marks stray the model stays sure while its accuracy falls: "
            f"this begins {_places(begins)}."
        )
    levels = [{"curve": index, **_figures(point)} for index, _, point in found]
    starts = [{"curve": index, **_figures(point)} for index, _, point in begins]
    yield Finding(SURE, says, {"levels": levels, "begins": starts})


def marks_of_no_class(evaluation: Evaluation) -> Iterator[Finding]:
    """Blank paper, noise, scribbles and the like that get a class all the same."""
    marks = evaluation.foreign
    if not marks:
        return
    evidence: dict[str, Any] = {
        "kinds": [foreign_values(kind) for kind in marks],
        "declining": declining_values(evaluation.declining),
    }
    if labels_only(evaluation):
        says = (
            "The model gives labels only, so it can't decline: it names a class for whatever it "
            f"is shown, {listed([kind_words(kind) for kind in marks])} among it."
        )
        yield Finding(STRANGERS, says, evidence)
        return
    named = [kind for kind in marks if kind.named.low > NAMED]
    if not named:
        return
    says = (
        f"The model is sure of a class for {listed([kind_words(kind) for kind in named])}, "
        "which have none"
    )
    if evaluation.declining is not None:
        says += "; below the confidence given here it should decline"
    yield Finding(STRANGERS, f"{says}.", evidence)


def labels_only(evaluation: Evaluation) -> bool:
    """Whether the model says what it sees and not how sure it is."""
    return evaluation.answers == "labels"


def kind_words(marks: ForeignMarks) -> str:
    """A kind of marks of no class, for a sentence."""
    return KINDS_IN_WORDS.get(marks.kind, marks.kind)


def named_words(evaluation: Evaluation) -> str:
    """What "named" means for this model, for headings."""
    return "named" if labels_only(evaluation) else f"named with {percent(SURE_FROM)} or more"


def _astray(evaluation: Evaluation, holds: Callable[[Point], bool]) -> tuple[list[_At], list[_At]]:
    """The points off nominal for which it holds, and where it begins on each side of each sweep."""
    found: list[_At] = []
    begins: list[_At] = []
    for index, curve in enumerate(evaluation.curves):
        if is_file_fault(curve):
            continue
        such = [p for p in curve.points if p.level != curve.nominal and holds(p)]
        found += [(index, curve, point) for point in such]
        begins += [(index, curve, point) for point in _nearest(curve, such)]
    return found, begins


def _places(points: list[_At]) -> str:
    return listed([place(curve, point.level) for _, curve, point in points], most=4)


def _nearest(curve: Curve, such: list[Point]) -> list[Point]:
    """Of some points the nearest to nominal on each side; all where levels are names."""
    if isinstance(curve.nominal, str) or any(isinstance(p.level, str) for p in such):
        return such
    nominal = curve.nominal
    lower = [p for p in such if float(p.level) < nominal]
    upper = [p for p in such if float(p.level) > nominal]
    out = [max(lower, key=lambda p: float(p.level))] if lower else []
    return out + ([min(upper, key=lambda p: float(p.level))] if upper else [])


def _sure(point: Point) -> bool:
    confident = point.confidence_wrong is not None and point.confidence_wrong > SURE_FROM
    return confident and _wrong(point) >= WRONG_ANSWERS


def _misleads(point: Point) -> bool:
    told = mean_confidence(point)
    return told is not None and told >= SURE_ON_THE_WHOLE and _too_sure(point, TOO_SURE_ASTRAY)


def _too_sure(point: Point, gap: float) -> bool:
    told = mean_confidence(point)
    enough = _wrong(point) >= WRONG_ANSWERS
    return enough and told is not None and told > point.accuracy.high + gap


def mean_confidence(point: Point) -> float | None:
    """Mean confidence over all answers; None when the model gives labels only."""
    part = point.calibration
    return None if part is None else point.accuracy.value + part.overconfidence


def _wrong(point: Point) -> int:
    return point.accuracy.n - point.accuracy.correct


def _figures(point: Point) -> dict[str, Any]:
    part = point.calibration
    return {
        "level": point.level,
        "wrong": _wrong(point),
        "n": point.accuracy.n,
        "accuracy": point.accuracy.value,
        "confidence": mean_confidence(point),
        "confidence_wrong": point.confidence_wrong,
        "confidence_right": point.confidence_right,
        "overconfidence": None if part is None else part.overconfidence,
        "ece": None if part is None else part.ece,
    }
