"""Station three: the lens sees it."""

from __future__ import annotations

from typing import ClassVar

from gen.perturb.base import Blur, Effect, MotionBlur, Perturbation, Resolution
from gen.perturb.directions import along_option, in_words, way
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


class MotionSmear(Perturbation):
    """The mark moves while the shutter is open, or the camera does."""

    entry: ClassVar[Entry] = Entry(
        name="motion-blur",
        station="lens",
        meaning="an even smear of this length in a straight line, as from a belt that runs",
        units=(Unit("px", nominal=0.0, low=0.0, high=64.0),),
        options=(along_option("the line: x, y, or degrees anticlockwise from x"),),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A smear, the same both ways."""
        del unit, frame
        return MotionBlur(float(level), way(options.get("along")))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Training pictures taken in motion."""
        del unit
        return (
            f"pictures smeared by {float(level):g} px {in_words(options.get('along'))} suit it "
            "better, as they do when its training pictures were taken of moving marks and these "
            "of marks at rest"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With the line of the smear."""
        return f"motion blur {in_words(options.get('along'))}"


class CaptureResolution(Perturbation):
    """A sensor with fewer pixels, or a picture taken from farther off."""

    entry: ClassVar[Entry] = Entry(
        name="resolution",
        station="lens",
        meaning="taken with this share of the pixels a side, and enlarged back to the frame",
        units=(Unit("ratio", nominal=1.0, low=0.05, high=1.0),),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Coarser pixels, enlarged."""
        del unit, options, frame
        return Resolution(float(level))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Training pictures that were enlarged."""
        del unit, options
        return (
            f"pictures with {float(level):g} times the pixels a side suit it better, as they do "
            "when its training pictures were small ones enlarged and these are sharp"
        )


PERTURBATIONS = (Defocus(), MotionSmear(), CaptureResolution())
"""In the order in which they happen when several do: light is spread, then it is counted."""
