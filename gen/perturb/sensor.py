"""Station four: the sensor records it.

What lies on the paper comes first, then the light on it, then the sensor itself.
"""

from __future__ import annotations

from typing import ClassVar

from gen.perturb.base import Effect, Perturbation
from gen.perturb.directions import along_option, in_words, way
from gen.perturb.recorded import Covered, Faded, GreyPaper, Noisy, Ruled, Shadow
from gen.recipe.model import Entry, Level, Option, Unit

NO_NOISE_ELECTRONS = 3_200_000.0
"""So many electrons from bare paper that their noise never reaches half a grey level:
deviates stay below 3.4642, times 255 / sqrt(3.2 million) is 0.494."""


def _number(options: dict[str, Level | None], name: str, default: float) -> float:
    given = options.get(name)
    return default if given is None else float(given)


class Contrast(Perturbation):
    """Faint ink: a dry marker, a pale pen, a picture taken too bright."""

    entry: ClassVar[Entry] = Entry(
        name="contrast",
        station="sensor",
        meaning="how dark full ink is, as a share of what it was; paper stays paper",
        units=(Unit("ratio", nominal=1.0, low=0.02, high=1.0),),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Ink fades."""
        del unit, options, frame
        return Faded(float(level))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Fainter training marks."""
        del unit, options
        return (
            f"ink {float(level):g} times as dark suits it better, as it does when its training "
            "marks were fainter: another pen, a brighter exposure, or a stretch of values on one "
            "side only"
        )


class Occlusion(Perturbation):
    """Something lies over a part of the mark."""

    entry: ClassVar[Entry] = Entry(
        name="occlusion",
        station="sensor",
        meaning="a square patch of this side lies over the mark, its middle on the ink",
        units=(Unit("px", nominal=0.0),),
        options=(
            Option(
                "patch",
                default="paper",
                choices=("paper", "ink"),
                meaning="what the patch shows: bare paper or full ink",
            ),
        ),
    )

    def limits(
        self, unit: Unit, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> tuple[float, float]:
        """From nothing to the longer side of the frame."""
        del unit, options
        return 0.0, float(max(frame))

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A patch at a place drawn for each glyph, the same at all sizes."""
        del unit, frame
        return Covered(float(level), ink=options.get("patch") == "ink")

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Damaged training marks."""
        del unit
        what = "blots" if options.get("patch") == "ink" else "pieces missing"
        return (
            f"marks with {what} of {float(level):g} px suit it better, as they do when its "
            "training marks were damaged so, or damaged on purpose"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With what covers the mark."""
        return f"occlusion by {options.get('patch') or 'paper'}"


class RuledPaper(Perturbation):
    """Lines printed on the paper."""

    entry: ClassVar[Entry] = Entry(
        name="ruled",
        station="sensor",
        meaning="lines are printed on the paper, so many grey levels dark; ink over them stays ink",
        units=(Unit("grey levels", nominal=0.0, low=0.0, high=255.0),),
        options=(
            Option(
                "spacing_px",
                default=8.0,
                low=2.0,
                high=1024.0,
                meaning="from the middle of a line to that of the next; one is at the centre",
            ),
            Option("line_px", default=1.0, low=0.1, high=256.0, meaning="width of a line"),
            Option(
                "along",
                default="x",
                choices=("x", "y", "both"),
                meaning="x: lines run from left to right, y: down, both: squared paper",
            ),
        ),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Lines darken the paper."""
        del unit, frame
        return Ruled(
            float(level),
            spacing_px=_number(options, "spacing_px", 8.0),
            line_px=_number(options, "line_px", 1.0),
            along=str(options.get("along") or "x"),
        )

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Ruled training paper."""
        del unit
        return (
            f"paper ruled {float(level):g} grey levels dark every "
            f"{_number(options, 'spacing_px', 8.0):g} px suits it better, as it does when lines "
            "were left in its training pictures and taken out of these"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With the way the lines run."""
        along = options.get("along") or "x"
        spacing = f"every {_number(options, 'spacing_px', 8.0):g} px"
        return f"squared paper {spacing}" if along == "both" else f"ruled along {along} {spacing}"


class Background(Perturbation):
    """Paper that isn't white."""

    entry: ClassVar[Entry] = Entry(
        name="background",
        station="sensor",
        meaning="the paper is evenly grey, so many levels dark; full ink stays full ink",
        units=(Unit("grey levels", nominal=0.0, low=0.0, high=255.0),),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Grey paper under the ink."""
        del unit, options, frame
        return GreyPaper(float(level))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """A background that was not taken out."""
        del unit, options
        return (
            f"paper {float(level):g} grey levels dark suits it better, as it does when the "
            "background was taken out of these pictures and left in its training pictures"
        )


class ShadowGradient(Perturbation):
    """Light from one side."""

    entry: ClassVar[Entry] = Entry(
        name="shadow",
        station="sensor",
        meaning="light falls off evenly across the frame; bare paper is so dark at the far edge",
        units=(Unit("grey levels", nominal=0.0, low=0.0, high=255.0),),
        options=(along_option("which way it gets darker: x, y, or degrees anticlockwise from x"),),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A straight fall of light."""
        del unit, frame
        return Shadow(float(level), way(options.get("along")))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Uneven light over the training pictures."""
        del unit
        return (
            f"a shadow {float(level):g} grey levels deep {in_words(options.get('along'))} suits it "
            "better, as it does when its training pictures were lit from one side and these are "
            "evened out"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With the way it falls."""
        return f"shadow {in_words(options.get('along'))}"


class Noise(Perturbation):
    """The sensor's own unrest, and that of the light itself."""

    entry: ClassVar[Entry] = Entry(
        name="noise",
        station="sensor",
        meaning="noise of this deviation everywhere; in electrons: as many as bare paper gives",
        units=(
            Unit("grey levels", nominal=0.0, low=0.0, high=128.0),
            Unit("electrons", nominal=NO_NOISE_ELECTRONS, low=16.0, high=NO_NOISE_ELECTRONS),
        ),
        options=(
            Option(
                "read_electrons",
                default=0.0,
                low=0.0,
                high=100.0,
                meaning="deviation of read noise, for levels in electrons",
            ),
        ),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Noise of a variance that rises with the light."""
        del frame
        if unit == "grey levels":
            return Noisy(variance=float(level) * float(level))
        # So many electrons are 255 grey levels of light; they vary by their own number.
        grey = 255.0 / float(level)
        read = _number(options, "read_electrons", 0.0) * grey
        return Noisy(variance=read * read, variance_per_level=grey)

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Training pictures taken in the dark."""
        del options
        how = f"of {float(level):g} {'grey levels' if unit == 'grey levels' else 'electrons'}"
        return (
            f"noise {how} suits it better, as it does when its training pictures were taken in "
            "poor light or noise was added to them"
        )


PERTURBATIONS = (
    Contrast(),
    Occlusion(),
    RuledPaper(),
    Background(),
    ShadowGradient(),
    Noise(),
)
"""In the order in which they happen when several do."""
