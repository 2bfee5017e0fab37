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
        "confidence_right": point.confidence_right,
        "confidence_wrong": point.confidence_wrong,
        "calibration": _calibration(point.calibration),
        "ink_lost": point.ink_lost,
        "cell": point.cell,
    }


def difference_values(part: Difference | None) -> Values | None:
    """A paired difference; None stays None."""
    if part is None:
        return None
    return {
        "value": part.value,
        "low": part.low,
        "high": part.high,
        "only_nominal": part.only_nominal,
        "only_level": part.only_level,
        "p_value": part.p_value,
        "p_holm": part.p_holm,
    }


def curve_values(curve: Curve) -> Values:
    """One sweep."""
    return {
        "perturbation": curve.perturbation,
        "title": curve.title,
        "unit": curve.unit,
        "px_per_unit": curve.px_per_unit,
        "nominal": curve.nominal,
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
        "down": _side(grid.down),
        "across": _side(grid.across),
        "points": [
            [None if point is None else point_values(point) for point in row] for row in grid.points
        ],
    }


def blend_values(blend: Forecast) -> Values:
    """One blend: the forecast, and what each part of it costs."""
    return {
        "title": blend.title,
        "draws": blend.draws,
        "accuracy": share_values(blend.accuracy),
        "method": blend.accuracy.method,
        "loss": difference_values(blend.loss),
        "parts": [
            {
                "title": part.title,
                "unit": part.unit,
                "alone": difference_values(part.alone),
                "without": difference_values(part.without),
                "share": part.share,
            }
            for part in blend.parts
        ],
    }


def foreign_values(marks: ForeignMarks) -> Values:
    """What the model says to one kind of marks of no class."""
    return {
        "kind": marks.kind,
        "named": share_values(marks.named),
        "confidence": marks.confidence,
        "commonest": marks.commonest,
        "commonest_share": marks.commonest_share,
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
    return {
        "n": part.n,
        "again": part.again,
        "alone": part.alone,
        "elsewhere": part.elsewhere,
        "largest": part.largest,
        "notes": list(part.notes),
    }


def requirement_values(part: Judged) -> Values:
    """One requirement with its evidence."""
    return {
        "says": part.says,
        "kept": part.kept,
        "judged_on": part.judged_on,
        "least": part.least,
        "level": part.level,
        "accuracy": None if part.accuracy is None else share_values(part.accuracy),
        "value": part.value,
        "difference": difference_values(part.difference),
        "why": part.why,
    }


def _calibration(part: Calibration | None) -> Values | None:
    if part is None:
        return None
    return {
        "brier": part.brier,
        "log_loss": part.log_loss,
        "ece": part.ece,
        "overconfidence": part.overconfidence,
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
    return {
        "floor": part.floor,
        "low": part.low,
        "high": part.high,
        "open_low": part.open_low,
        "open_high": part.open_high,
        "levels": list(part.levels),
    }


def _peak(part: Peak) -> Values:
    return {
        "level": part.level,
        "accuracy": part.accuracy,
        "off_nominal": part.off_nominal,
        "gain": difference_values(part.gain),
        "levels": list(part.levels),
    }


def _summary(part: Summary | None) -> Values | None:
    if part is None:
        return None
    first, pair = part.first_class, part.confused
    return {
        "tolerance_low": _estimate(part.tolerance_low),
        "tolerance_high": _estimate(part.tolerance_high),
        "half_low": _estimate(part.half_low),
        "half_high": _estimate(part.half_high),
        "area": _estimate(part.area),
        "breaking": [_breaking(side) for side in part.breaking],
        "first_class": None
        if first is None
        else {"class": first.name, "level": first.level, **share_values(first.accuracy)},
        "confused": None
        if pair is None
        else {
            "true": pair.true,
            "answered": pair.answered,
            "level": pair.level,
            **share_values(pair.share),
        },
        "hidden_blur": [
            {"level": b.level, "sigma_px": b.sigma_px, "drop": b.drop, "share": b.share}
            for b in part.hidden_blur
        ],
    }


def _breaking(part: Breaking) -> Values:
    return {
        "side": part.side,
        "levels": list(part.levels),
        "counts": list(part.counts),
        "never": part.never,
        "quartiles": list(part.quartiles),
    }


def _estimate(part: Estimate | None) -> Values | None:
    if part is None:
        return None
    return {
        "value": part.value,
        "low": part.low,
        "high": part.high,
        "undefined": part.undefined,
        "beyond": part.beyond,
        "method": part.method,
    }


def _side(part: Side) -> Values:
    return {
        "perturbation": part.perturbation,
        "title": part.title,
        "unit": part.unit,
        "nominal": part.nominal,
        "options": dict(part.options),
        "levels": list(part.levels),
    }
