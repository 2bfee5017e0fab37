"""The parts of an evaluation as plain values, before they are rounded."""

from __future__ import annotations

from typing import Any

from gen.evaluate.results import (
    Behaviour,
    Breaking,
    Calibration,
    Curve,
    Declining,
    Difference,
    Estimate,
    Forecast,
    ForeignMarks,
    GridMap,
    Judged,
    Peak,
    Point,
    Proportion,
    Side,
    Summary,
    Tolerance,
)

Values = dict[str, Any]

_ESTIMATES = ("tolerance_low", "tolerance_high", "half_low", "half_high", "area")


def fields(part: object, *names: str) -> Values:
    """What is called the same in a file as in the program; tuples become lists.

    Examples
    --------
    >>> fields(Proportion(9, 10, 0.9, 0.6, 0.98, "Wilson"), "n", "correct")
    {'n': 10, 'correct': 9}
    """
    found = {name: getattr(part, name) for name in names}
    return {name: list(one) if isinstance(one, tuple) else one for name, one in found.items()}


def share_values(part: Proportion) -> Values:
    """A share with its counts and the ends of its interval."""
    return {
        "n": part.n,
        "correct": part.correct,
        "accuracy": part.value,
        "low": part.low,
        "high": part.high,
    }


def point_values(point: Point) -> Values:
    """One level."""
    return {
        "level": point.level,
        **share_values(point.accuracy),
        "difference": difference_values(point.difference),
        "per_class": [{"class": c.name, **share_values(c.accuracy)} for c in point.per_class],
        "misread": [list(triple) for triple in point.misread],
        **fields(point, "confidence_right", "confidence_wrong"),
        "calibration": _calibration(point.calibration),
        **fields(point, "ink_lost", "cell"),
    }


def difference_values(part: Difference | None) -> Values | None:
    """A paired difference; None stays None."""
    if part is None:
        return None
    return fields(part, "value", "low", "high", "only_nominal", "only_level", "p_value", "p_holm")


def curve_values(curve: Curve) -> Values:
    """One sweep."""
    return {
        **fields(curve, "perturbation", "title", "unit", "px_per_unit", "nominal"),
        "options": dict(curve.options),
        "tolerance": _tolerance(curve.tolerance),
        "peak": _peak(curve.peak),
        "summary": _summary(curve.summary),
        "points": [point_values(point) for point in curve.points],
    }


def grid_values(grid: GridMap) -> Values:
    """One grid, row by row."""
    return {
        "title": grid.title,
        "down": side_values(grid.down),
        "across": side_values(grid.across),
        "points": [
            [None if point is None else point_values(point) for point in row] for row in grid.points
        ],
    }


def side_values(part: Side) -> Values:
    """One side of a grid, or the levels of a sweep."""
    return {
        **fields(part, "perturbation", "title", "unit", "nominal"),
        "options": dict(part.options),
        "levels": list(part.levels),
    }


def blend_values(blend: Forecast) -> Values:
    """One blend: the forecast, and what each part of it costs."""
    return {
        **fields(blend, "title", "draws"),
        "accuracy": share_values(blend.accuracy),
        "method": blend.accuracy.method,
        "loss": difference_values(blend.loss),
        "parts": [
            {
                **fields(part, "title", "unit"),
                "alone": difference_values(part.alone),
                "without": difference_values(part.without),
                "share": part.share,
            }
            for part in blend.parts
        ],
        **fields(blend, "cells"),
    }


def foreign_values(marks: ForeignMarks) -> Values:
    """What the model says to one kind of marks of no class."""
    return {
        "kind": marks.kind,
        "named": share_values(marks.named),
        **fields(marks, "confidence", "commonest", "commonest_share"),
    }


def declining_values(part: Declining | None) -> Values | None:
    """When to decline, and what that costs."""
    if part is None:
        return None
    return {
        "threshold": part.threshold,
        "foreign_declined": share_values(part.foreign_declined),
        "own_declined": share_values(part.own_declined),
        "accuracy": None if part.accuracy is None else share_values(part.accuracy),
        "rule": part.rule,
    }


def behaviour_values(part: Behaviour | None) -> Values | None:
    """How the model answers when it is asked again."""
    if part is None:
        return None
    return fields(part, "n", "again", "alone", "elsewhere", "largest", "notes")


def requirement_values(part: Judged) -> Values:
    """One requirement with its evidence."""
    return {
        **fields(part, "says", "kept", "judged_on", "least", "level"),
        "accuracy": None if part.accuracy is None else share_values(part.accuracy),
        "value": part.value,
        "difference": difference_values(part.difference),
        **fields(part, "why", "curve", "blend"),
    }


def _calibration(part: Calibration | None) -> Values | None:
    if part is None:
        return None
    return {
        **fields(part, "brier", "log_loss", "ece", "overconfidence"),
        "bins": [
            {"from": b.low, "to": b.high, "confidence": b.confidence, **share_values(b.accuracy)}
            for b in part.bins
        ],
        "kept": [
            {"coverage": k.coverage, "threshold": k.threshold, **share_values(k.accuracy)}
            for k in part.kept
        ],
    }


def _tolerance(part: Tolerance) -> Values:
    return fields(part, "floor", "low", "high", "open_low", "open_high", "levels")


def _peak(part: Peak) -> Values:
    return {
        **fields(part, "level", "accuracy", "off_nominal"),
        "gain": difference_values(part.gain),
        "levels": list(part.levels),
    }


def _summary(part: Summary | None) -> Values | None:
    if part is None:
        return None
    first, pair = part.first_class, part.confused
    return {
        **{name: _estimate(getattr(part, name)) for name in _ESTIMATES},
        "breaking": [_breaking(side) for side in part.breaking],
        "first_class": None
        if first is None
        else {"class": first.name, "level": first.level, **share_values(first.accuracy)},
        "confused": None
        if pair is None
        else {**fields(pair, "true", "answered", "level"), **share_values(pair.share)},
        "hidden_blur": [
            fields(blur, "level", "sigma_px", "drop", "share") for blur in part.hidden_blur
        ],
    }


def _breaking(part: Breaking) -> Values:
    return fields(part, "side", "levels", "counts", "never", "quartiles")


def _estimate(part: Estimate | None) -> Values | None:
    if part is None:
        return None
    return fields(part, "value", "low", "high", "undefined", "beyond", "method")
