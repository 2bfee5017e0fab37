"""Peaks away from nominal: which one leads, which are the same thing, which are lesser."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from gen.evaluate.results import Curve, Evaluation, Point
from gen.recipe.model import Level
from gen.report.causes import cause, is_file_fault
from gen.report.finding import ALSO, PEAK, SLIGHT, Finding
from gen.report.places import place
from gen.report.sweep_facts import loosely_placed
from gen.report.values import difference_values, fields
from gen.report.words import listed

# With many glyphs a gain of a few tenths of a point is significant and yet no fault:
# a little blur helps most models. Under this it is a fact, not a cause.
SLIGHT_GAIN = 0.02
# A rule that lays every mark alike makes reading easier for any model, whatever it was
# trained on: a soundly trained one gained 2.4 points from centred boxes.
SLIGHT_GAIN_BY_RULE = 0.05


@dataclass(frozen=True)
class _Candidate:
    """Curves that peak at the same physical change, the one that is told first in front."""

    curves: tuple[tuple[int, Curve], ...]

    @property
    def best(self) -> Point:
        return max((_peak_point(curve) for _, curve in self.curves), key=_height)

    @property
    def simplicity(self) -> int:
        """0 for whole pixels elsewhere, 1 for other amounts, 2 for rules with a name."""
        ranks = []
        for _, curve in self.curves:
            if isinstance(curve.peak.level, str):
                ranks.append(2)
            elif curve.perturbation == "translation" or is_file_fault(curve):
                ranks.append(0)
            else:
                ranks.append(1)
        return min(ranks)


def peak_findings(evaluation: Evaluation) -> Iterator[Finding]:
    """The leading peak off nominal, told once, and the lesser ones in one further sentence.

    The highest leads; among those that the interval of the highest can't tell
    from it, the simplest does, since a shift also lifts the curves of scale,
    turn and placement a little.
    """
    candidates = _candidates(evaluation)
    clear = [c for c in candidates if not all(_is_slight(curve) for _, curve in c.curves)]
    if not clear:
        if candidates:
            yield _slight([pair for c in candidates for pair in c.curves])
        return
    highest = max((candidate.best for candidate in clear), key=_height)
    as_high = [c for c in clear if c.best.accuracy.value >= highest.accuracy.low]
    lead = min(as_high, key=lambda c: (c.simplicity, -c.best.accuracy.value, c.curves[0][0]))
    yield _leading(lead, evaluation)
    lesser = [pair for c in candidates if c is not lead for pair in c.curves]
    if lesser:
        yield _lesser(lesser, lead)


def _candidates(evaluation: Evaluation) -> list[_Candidate]:
    """Curves that peak off nominal; those that are one and the same change put together."""
    groups: dict[object, list[tuple[int, Curve]]] = {}
    for index, curve in enumerate(evaluation.curves):
        if curve.peak.off_nominal:
            groups.setdefault(_change(curve, curve.peak.level) or index, []).append((index, curve))
    # Translation is told first: a mark that lies k px further right is what a person sees.
    return [
        _Candidate(tuple(sorted(group, key=lambda pair: (is_file_fault(pair[1]), pair[0]))))
        for group in groups.values()
    ]


def _change(curve: Curve, level: Level) -> tuple[str, float] | None:
    """A name for the physical change, where more than one perturbation makes it.

    One byte is one pixel, so a decoder that starts k bytes early shows every
    mark k px further right.
    """
    if isinstance(level, str):
        return None
    along = dict(curve.options).get("along")
    if curve.perturbation == "translation" and curve.unit == "px" and along in {"x", 0.0}:
        return ("right_px", float(level))
    if curve.perturbation == "row-slip" and curve.unit == "bytes":
        return ("right_px", float(level))
    about_frame = dict(curve.options).get("about", "frame") == "frame"
    turned = {
        "rotation": level if about_frame and curve.unit == "deg" else 0.0,
        "half-turn": 180.0 * level,
        "quarter-turns": 90.0 * level,
    }.get(curve.perturbation, 0.0)
    # Turns that have a second name are the whole quarters; -90 and +270 deg are one of them.
    return ("turned_deg", turned % 360) if turned and turned % 90 == 0 else None


def _leading(lead: _Candidate, evaluation: Evaluation) -> Finding:
    index, first = lead.curves[0]
    at = place(first, first.peak.level)
    same = [place(curve, curve.peak.level) for _, curve in lead.curves[1:]]
    # Of equal explanations the fault in the file says what to mend.
    teller = next((c for _, c in lead.curves if is_file_fault(c)), first)
    why = cause(teller, teller.peak.level)
    equally = f", and equally {listed(same)}" if same else ""
    if loosely_placed(first):
        at = at.replace("at ", "at about ", 1)
    says = f"The model's accuracy peaks {at}{equally}, not at nominal"
    return Finding(
        PEAK,
        f"{says}: {why}." if why else f"{says}.",
        {
            **_figures(index, first),
            "accuracy_nominal": evaluation.baseline.accuracy.value,
            "cause": why,
            "same_as": [_figures(i, curve) for i, curve in lead.curves[1:]],
            "peaks": [{"curve": i} for i, _ in lead.curves],
        },
        index,
        why,
    )


def _lesser(lesser: list[tuple[int, Curve]], lead: _Candidate) -> Finding:
    lesser = sorted(lesser, key=lambda pair: (-round(_gain(pair[1]), 2), pair[0]))
    first = lead.curves[0][1]
    titles = listed([curve.title for _, curve in sorted(lesser, key=_index)])
    says = (
        f"Also, accuracy is higher away from nominal for {titles}; "
        f"mend the peak {place(first, first.peak.level)} first, then look again."
    )
    return Finding(ALSO, says, {"peaks": [_figures(index, curve) for index, curve in lesser]})


def _is_slight(curve: Curve) -> bool:
    by_rule = isinstance(curve.peak.level, str)
    return _gain(curve) < (SLIGHT_GAIN_BY_RULE if by_rule else SLIGHT_GAIN)


def _slight(higher: list[tuple[int, Curve]]) -> Finding:
    titles = listed([curve.title for _, curve in sorted(higher, key=_index)])
    says = (
        f"Accuracy is a little higher away from nominal for {titles}, "
        "but not by enough to point at a fault."
    )
    return Finding(SLIGHT, says, {"peaks": [_figures(index, curve) for index, curve in higher]})


def _index(pair: tuple[int, Curve]) -> int:
    return pair[0]


def _figures(index: int, curve: Curve) -> dict[str, Any]:
    point = _peak_point(curve)
    return {
        "curve": index,
        **fields(curve, "title", "perturbation"),
        "options": dict(curve.options),
        **fields(curve, "unit", "nominal"),
        "level": curve.peak.level,
        "accuracy": point.accuracy.value,
        **fields(point.accuracy, "low", "high", "n"),
        "gain": difference_values(curve.peak.gain),
    }


def _gain(curve: Curve) -> float:
    return 0.0 if curve.peak.gain is None else curve.peak.gain.value


def _height(point: Point) -> float:
    return point.accuracy.value


def _peak_point(curve: Curve) -> Point:
    return next(point for point in curve.points if point.level == curve.peak.level)
