"""What the registry of perturbations knows about a curve."""

from __future__ import annotations

from collections.abc import Mapping

from gen.evaluate.results import Curve, Side
from gen.perturb.base import Perturbation
from gen.recipe.model import Level


def registry() -> Mapping[str, Perturbation]:
    """The perturbations by name, looked up late so that a plug-in counts too."""
    from gen.perturb import PERTURBATIONS

    return PERTURBATIONS


def cause(curve: Curve, level: Level) -> str:
    """What makes a model expect this level: a clause without a full stop, or nothing."""
    known = registry().get(curve.perturbation)
    if known is None:
        return ""
    unit = curve.unit
    if curve.px_per_unit is not None:  # a length on paper: a perturbation itself knows px
        level, unit = float(f"{float(level) * curve.px_per_unit:.4g}"), "px"
    return known.cause(level, unit=unit, options=dict(curve.options))


def station(curve: Curve | Side) -> str:
    """Where on the path of light the perturbation happens; empty when unknown."""
    known = registry().get(curve.perturbation)
    return "" if known is None else known.entry.station


def is_switch(curve: Curve) -> bool:
    """Whether it is there or it isn't, with nothing between."""
    return curve.unit == "times"


def is_file_fault(curve: Curve | Side) -> bool:
    """Whether it is a fault of a program, of which no tolerance is expected."""
    return station(curve) == "file"
