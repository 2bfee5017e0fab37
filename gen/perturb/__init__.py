"""The path of light: what may happen to a mark, station by station."""

from __future__ import annotations

from gen.perturb import file, ink, lens, pose, sensor
from gen.perturb.base import Perturbation
from gen.recipe.model import Catalogue

PERTURBATIONS: dict[str, Perturbation] = {
    perturbation.entry.name: perturbation
    for station in (ink, pose, lens, sensor, file)
    for perturbation in station.PERTURBATIONS
}
"""Every perturbation by name, in the order of the path of light."""

CATALOGUE: Catalogue = {name: each.entry for name, each in PERTURBATIONS.items()}
"""What recipes are held to."""

__all__ = ["CATALOGUE", "PERTURBATIONS", "Perturbation"]
