"""Station three: the lens sees it."""

from __future__ import annotations

from typing import ClassVar

from gen.perturb.base import Blur, Effect, Perturbation
from gen.recipe.model import Entry, Level, Unit


class Defocus(Perturbation):
    """The lens is out of focus: each point of light spreads as a Gaussian."""

    entry: ClassVar[Entry] = Entry(
        name="blur",
        station="lens",
        meaning="Gaussian blur of this standard deviation, as from a lens out of focus",
        units=(Unit("px", nominal=0.0, low=0.0, high=16.0),),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A Gaussian spread."""
        del unit, options, frame
        return Blur(sigma_px=float(level))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Softer training pictures."""
        del unit, options
        return (
            f"pictures softer by {float(level):g} px suit it better, as they do when its training "
            "pictures were smoothed or reduced and these were not"
        )


PERTURBATIONS = (Defocus(),)
