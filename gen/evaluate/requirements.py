"""Holding a model to what its recipe requires: the worst level decides."""

from __future__ import annotations

from dataclasses import dataclass

from gen.evaluate.results import Curve, Difference, Evaluation, Judged, Proportion
from gen.perturb import PERTURBATIONS
from gen.recipe.model import Level, Recipe, Requirement, Sweep
from gen.recipe.required import LOWER_END

_BEFORE = {"ratio", "quality"}  # units that stand before their number


@dataclass(frozen=True)
class _Evidence:
    """What was scored at one level, or for one blend.

    Attributes
    ----------
    level
        Where; None for a blend, which has no levels.
    accuracy
        There.
    difference
        From nominal, paired; None at nominal itself.
    curve, blend
        Which of the evaluation; both None for nominal itself.
    """

    level: Level | None
    accuracy: Proportion
    difference: Difference | None
    curve: int | None = None
    blend: int | None = None


def judge(recipe: Recipe, evaluation: Evaluation) -> tuple[Judged, ...]:
    """Hold a scored model to every requirement of the recipe.

    Parameters
    ----------
    recipe
        The one that was scored.
    evaluation
        What scoring it gave. Its `requirements` are not looked at.

    Returns
    -------
    tuple of Judged
        In the recipe's order. The level that does worst decides; of equals the first. A
        requirement some of which could not be scored is missed.
    """
    return tuple(_judged(part, recipe, evaluation) for part in recipe.requirements)


def says(part: Requirement) -> str:
    """A requirement in words.

    Examples
    --------
    >>> says(Requirement(0.97))
    'nominal keeps 97 %'
    >>> says(Requirement(None, drop=0.02, blend="Depot camera"))
    'blend "Depot camera" loses at most 2 points'
    >>> says(Requirement(0.95, perturbation="blur", unit="px", levels=(0.0, 1.0), ends=(0.0, 1.0)))
    'blur from 0 to 1 px keeps 95 %'
    >>> says(Requirement(0.1, perturbation="axis-swap", unit="times", levels=(1.0,)))
    'with axis swap keeps 10 %'
    """
    asked = (
        f"keeps {_hundred(part.keeps)} %"
        if part.keeps is not None
        else f"loses at most {_points(part.drop or 0.0)}"
    )
    return f"{_subject(part)} {asked}"


def _subject(part: Requirement) -> str:
    if part.of_nominal:
        return "nominal"
    if part.blend:
        return f'blend "{part.blend}"'
    title = PERTURBATIONS[part.perturbation].title(dict(part.options))
    if part.unit == "times" and part.ends is None:
        return f"{' and '.join('with' if level else 'without' for level in part.levels)} {title}"
    before, after = (f"{part.unit} ", "") if part.unit in _BEFORE else ("", f" {part.unit}")
    if part.ends is not None:
        low, high = part.ends
        return f"{title} from {before}{low:g} to {high:g}{after}"
    named = [f'"{level}"' if isinstance(level, str) else f"{level:g}" for level in part.levels]
    words = named[-1] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"
    return f"{title} at {words}" if named[0][0] == '"' else f"{title} at {before}{words}{after}"


def _hundred(share: float) -> str:
    return f"{100 * share:.10g}"


def _points(share: float) -> str:
    said = _hundred(share)
    return f"{said} {'point' if said == '1' else 'points'}"


def _judged(part: Requirement, recipe: Recipe, evaluation: Evaluation) -> Judged:
    found, lacking = _evidence(part, recipe, evaluation)
    if part.drop is not None:
        found = [each for each in found if each.difference is not None]
    nominal = evaluation.baseline.accuracy.value
    least = part.keeps if part.keeps is not None else max(0.0, nominal - (part.drop or 0.0))
    if not found:
        why = _joined(lacking)
        return Judged(says(part), False, part.judged_on, least, None, None, None, None, why)
    worst = min(found, key=lambda each: _figure(part, each))
    figure = _figure(part, worst)
    if part.drop is None:
        kept, value = figure >= least, figure
    else:
        # Held to the paired difference itself: nominal less the drop is rounded.
        kept, value = figure >= -part.drop, min(1.0, max(0.0, nominal + figure))
    return Judged(
        says=says(part),
        kept=kept and not lacking,
        judged_on=part.judged_on,
        least=least,
        level=worst.level,
        accuracy=worst.accuracy,
        value=value,
        difference=None if part.drop is None else worst.difference,
        why=_joined(lacking),
        curve=worst.curve,
        blend=worst.blend,
    )


def _figure(part: Requirement, found: _Evidence) -> float:
    """What is judged: an accuracy, or a difference from nominal (negative is a drop)."""
    told = found.accuracy if part.drop is None else found.difference
    assert told is not None, "levels without a difference have no drop"
    return told.low if part.judged_on == LOWER_END else told.value


def _joined(lacking: list[str]) -> str:
    if len(lacking) < 2:
        return "".join(lacking)
    return f"{lacking[0]}; and {len(lacking) - 1} more like it"


def _evidence(
    part: Requirement, recipe: Recipe, evaluation: Evaluation
) -> tuple[list[_Evidence], list[str]]:
    """What was scored, and what wasn't and why."""
    if part.of_nominal:
        return [_Evidence(evaluation.baseline.level, evaluation.baseline.accuracy, None)], []
    if part.blend:
        return _of_blend(part, recipe, evaluation)
    found: list[_Evidence] = []
    lacking: list[str] = []
    curves = [
        (index, curve) for index, curve in enumerate(evaluation.curves) if _axis(curve) == part.axis
    ]
    sweeps = [
        (number, sweep)
        for number, sweep in enumerate(recipe.sweeps, 1)
        if (sweep.perturbation, sweep.unit, sweep.options) == part.axis
    ]
    if len(curves) != len(sweeps):
        # What makes no sense in a frame of some shape is left out of the whole run.
        return [], ["its sweep was left out, as marks of this shape can't be put through it"]
    for (number, sweep), (index, curve) in zip(sweeps, curves, strict=True):
        told = {point.level: point for point in curve.points}
        asked = {*sweep.levels, curve.nominal}
        for level in part.levels:
            if level in told:
                point = told[level]
                found.append(_Evidence(level, point.accuracy, point.difference, curve=index))
            elif level in asked:
                lacking.append(_why(number, sweep, level, evaluation))
    seen = {each.level for each in found}
    if not lacking:
        lacking += [
            f"{_named(level, part.unit)} was not scored"
            for level in part.levels
            if level not in seen
        ]
    return found, lacking


def _axis(curve: Curve) -> tuple[str, str, tuple[tuple[str, Level | None], ...]]:
    return curve.perturbation, curve.unit, curve.options


def _of_blend(
    part: Requirement, recipe: Recipe, evaluation: Evaluation
) -> tuple[list[_Evidence], list[str]]:
    wanted = sum(blend.draws for blend in recipe.blends if blend.title == part.blend)
    for index, forecast in enumerate(evaluation.blends):
        if forecast.title == part.blend:
            lacking = wanted - forecast.draws
            said = f"{lacking} of its {wanted} draws could not be scored"
            why = [_with_reason(said, _blend_reasons(part, recipe, evaluation))] if lacking else []
            return [_Evidence(None, forecast.accuracy, forecast.loss, blend=index)], why
    return [], [_with_reason("it could not be scored", _blend_reasons(part, recipe, evaluation))]


def _blend_reasons(part: Requirement, recipe: Recipe, evaluation: Evaluation) -> list[str]:
    """What the model said to draws of a blend that it couldn't answer."""
    starts = [
        f"blend-{number:02d}-draw-"
        for number, blend in enumerate(recipe.blends, 1)
        if blend.title == part.blend
    ]
    return [
        failed.why
        for failed in evaluation.failed
        if any(
            # What follows is the draw's number; cells of single parts are named on from it.
            failed.cell.startswith(start) and failed.cell.removeprefix(start).isdigit()
            for start in starts
        )
    ]


def _why(number: int, sweep: Sweep, level: Level, evaluation: Evaluation) -> str:
    """Why a level has no point: what the model said, where the cell is among the failed."""
    said = f"-{level}" if isinstance(level, str) else f"{level:+g}{sweep.unit}"
    said = said.replace(" ", "-").replace(",", "")
    mine = [
        failed
        for failed in evaluation.failed
        if failed.cell.startswith(f"{number:02d}-") and failed.cell.endswith(said)
    ]
    # The name of "top left" ends as that of "left" does, and is longer.
    mine.sort(key=lambda failed: len(failed.cell))
    return _with_reason(
        f"{_named(level, sweep.unit)} was not scored", [failed.why for failed in mine]
    )


def _with_reason(said: str, reasons: list[str]) -> str:
    return ": ".join([said, *reasons[:1]])


def _named(level: Level, unit: str) -> str:
    if isinstance(level, str):
        return f'"{level}"'
    return f"level {unit} {level:g}" if unit in _BEFORE else f"level {level:g} {unit}"
