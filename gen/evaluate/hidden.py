"""Hidden blur: how much of a drop the rendering itself could explain.

Pictures that are moved by parts of a px, or turned, are resampled, and that blurs them
a little. The model's own blur curve says what so much blur costs it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from gen.evaluate.results import Curve, HiddenBlur, Point
from gen.glyphs.base import Glyphs, RasterGlyphs
from gen.render.plan import Cell, Plan, Step

WORTH_TELLING = 0.1
"""Share of a drop from which on it is told."""
MEASURED = 60
"""Glyphs by which the variance that resampling adds is measured."""
ALPHA = 0.05
_NO_BLUR_PX2 = 1e-3
_ROUNDING_PX2 = 0.01  # pictures of 8 bits put so much on a variance that is measured
_PROBES_PX = (0.25, 0.5)  # resampling adds at most 0.25 px^2, as a blur of 0.5 px does


def probe_cells(plan: Plan, variances: Mapping[str, float]) -> tuple[Cell, ...]:
    """Cells to score so that a blur curve is there: none where nothing is resampled.

    Parameters
    ----------
    plan
        What is scored anyway; a sweep of blur in it is used as it is.
    variances
        From `hidden_variance_px2`.
    """
    if max(variances.values(), default=0.0) < _NO_BLUR_PX2:
        return ()
    if any(sweep.sweep.perturbation == "blur" for sweep in plan.sweeps):
        return ()
    return tuple(
        Cell(f"probe-blur{level:+g}px", (Step("blur", "px", level),)) for level in _PROBES_PX
    )


def hidden_variance_px2(plan: Plan, glyphs: Glyphs) -> dict[str, float]:
    """Variance that resampling added in each cell that can be measured, px^2.

    Of the two axes the one that gained more: a blur that has as much along both is no
    less than what resampling did.

    Parameters
    ----------
    plan
        What is scored.
    glyphs
        Strokes are drawn anew in every cell, and never resampled.
    """
    if not isinstance(glyphs, RasterGlyphs):
        return {}
    from gen.render.calibrate import calibrate

    return {
        row.cell: max(row.hidden_variance_px2)
        for row in calibrate(plan, glyphs, most=MEASURED)
        if row.hidden_variance_px2 is not None
    }


def blur_curve(
    curves: Iterable[Curve], probes: Mapping[float, float], nominal: float
) -> tuple[list[float], list[float]] | None:
    """What blur costs the model: variances in px^2 ascending, and the accuracy lost at each.

    Parameters
    ----------
    curves
        Scored sweeps, one of blur perhaps among them.
    probes
        Accuracy by sigma in px, from `probe_cells`.
    nominal
        Accuracy at nominal.
    """
    known = dict(probes)
    for curve in curves:
        if curve.perturbation == "blur":
            known.update(
                {
                    float(point.level) * (curve.px_per_unit or 1.0): point.accuracy.value
                    for point in curve.points
                    if not isinstance(point.level, str)
                }
            )
    if not known:
        return None
    known[0.0] = nominal
    sigmas = sorted(known)
    return [sigma**2 for sigma in sigmas], [nominal - known[sigma] for sigma in sigmas]


def with_hidden_blur(
    curve: Curve,
    variances: Mapping[str, float],
    cost: tuple[list[float], list[float]],
) -> Curve:
    """A curve that says where hidden blur could explain more than a tenth of the drop.

    Parameters
    ----------
    curve
        With its summary.
    variances
        From `hidden_variance_px2`, by cell.
    cost
        From `blur_curve`. Between its levels the loss is taken to grow with the
        variance; beyond the last one nothing is said.
    """
    if curve.summary is None or curve.perturbation == "blur":
        return curve
    found = []
    for point in curve.points:
        variance = variances.get(point.cell, 0.0)
        if variance <= 0 or variance > cost[0][-1] + _ROUNDING_PX2 or not _drops(point):
            continue
        assert point.difference is not None, "what drops isn't nominal"
        drop = float(np.interp(variance, *cost))
        share = min(1.0, drop / -point.difference.value)
        if share > WORTH_TELLING:
            found.append(HiddenBlur(point.level, float(np.sqrt(variance)), drop, share))
    return replace(curve, summary=replace(curve.summary, hidden_blur=tuple(found)))


def _drops(point: Point) -> bool:
    change = point.difference
    return change is not None and change.value < 0 and change.p_holm < ALPHA
