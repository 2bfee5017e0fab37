"""Station two: the paper is laid down.

Everything here is an affine map of the plane. Points are (y, x) in px with +y
down; an angle is anticlockwise as seen on the screen.
"""

from __future__ import annotations

import math
from typing import ClassVar

from gen.core.exact import cos_sin_deg, tan_deg
from gen.perturb.base import Effect, Perturbation
from gen.perturb.directions import along_option, way
from gen.perturb.placement import Placement
from gen.perturb.plane import Linear
from gen.recipe.model import Entry, Level, Option, Unit

ABOUT = Option(
    "about",
    default="frame",
    choices=("frame", "mark"),
    meaning="what stays where it is: the frame's centre, or the mark's own centroid",
)


class Translation(Perturbation):
    """The mark sits elsewhere by so many px along a line."""

    entry: ClassVar[Entry] = Entry(
        name="translation",
        station="pose",
        meaning="the mark is moved; positive is right (x), down (y), or towards the angle given",
        units=(Unit("px", nominal=0.0),),
        options=(along_option("x, y, or a direction in degrees anticlockwise from x"),),
    )

    def limits(
        self, unit: Unit, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> tuple[float, float]:
        """One px less than the frame along that line."""
        del unit
        along = options.get("along")
        side = {"x": frame[1], "y": frame[0]}.get(str(along), min(frame))
        return 1.0 - side, side - 1.0

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A shift."""
        del unit, frame
        down, right = way(options.get("along"))
        return Linear(shift_px=(down * float(level), right * float(level)))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """A slip in a decoder, or another way of centring."""
        del unit
        amount, along = float(level), options.get("along", "x")
        size = f"{abs(amount):g}"
        if along == "x":
            side = "right" if amount > 0 else "left"
            said = f"its training marks sat {size} px further {side} than these"
            if amount == round(amount):
                begins = "before the pixels" if amount > 0 else "into the pixels"
                return (
                    f"{said}: a decoder that begins {size} byte{'s' * (size != '1')} {begins} "
                    f"does exactly this, and so does a crop that is {size} px off"
                )
            return f"{said}: a crop or a rule for centring that is {size} px off"
        if along == "y":
            side = "lower" if amount > 0 else "higher"
            return (
                f"its training marks sat {size} px {side} than these: a crop or a rule for "
                f"centring that is {size} px off, or a decoder off by whole rows"
            )
        return (
            f"its training marks sat {abs(amount):g} px "
            f"{'further along' if amount > 0 else 'further back along'} that line than these: a "
            "crop or a rule for centring that differs"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With the line it is along."""
        along = options.get("along", "x")
        return f"translation along {along}" + ("" if isinstance(along, str) else " deg")


class Rotation(Perturbation):
    """The sheet came in turned."""

    entry: ClassVar[Entry] = Entry(
        name="rotation",
        station="pose",
        meaning="the mark is turned; positive is anticlockwise",
        units=(Unit("deg", nominal=0.0, low=-180.0, high=180.0),),
        options=(ABOUT,),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A turn."""
        del unit, frame
        cosine, sine = cos_sin_deg(float(level))
        return Linear(
            matrix=((cosine, -sine), (sine, cosine)), about=str(options.get("about", "frame"))
        )

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Turned or deskewed training pictures."""
        del unit, options
        amount = float(level)
        way = "anticlockwise" if amount > 0 else "clockwise"
        return (
            f"marks turned {abs(amount):g} degrees {way} suit it better, as they do when marks "
            "are straightened on one side only or a camera is mounted askew"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With what it turns about, when that isn't the frame's centre."""
        return "rotation" + (" about the mark" if options.get("about") == "mark" else "")


class Scale(Perturbation):
    """The mark is larger or smaller, pen and all, as from a camera moved."""

    entry: ClassVar[Entry] = Entry(
        name="scale",
        station="pose",
        meaning="the mark is enlarged (over 1) or reduced, its strokes with it",
        units=(Unit("ratio", nominal=1.0, low=0.1, high=4.0),),
        options=(ABOUT,),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """An enlargement."""
        del unit, frame
        ratio = float(level)
        return Linear(matrix=((ratio, 0.0), (0.0, ratio)), about=str(options.get("about", "frame")))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Another box that marks were fitted to."""
        del unit, options
        ratio = float(level)
        return (
            f"marks {ratio:g} times the size suit it better, as they do when training marks were "
            f"fitted to a {'larger' if ratio > 1 else 'smaller'} box or cropped "
            f"{'tighter' if ratio > 1 else 'wider'}"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With what it is about, when that isn't the frame's centre."""
        return "scale" + (" about the mark" if options.get("about") == "mark" else "")


class Aspect(Perturbation):
    """The mark is wider or taller than it was: a resize that forgot its proportions."""

    entry: ClassVar[Entry] = Entry(
        name="aspect",
        station="pose",
        meaning="width over height, times this (over 1 is wider); the area stays",
        units=(Unit("ratio", nominal=1.0, low=0.25, high=4.0),),
        options=(ABOUT,),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Stretched along x by the root of the ratio, and along y by one over it."""
        del unit, frame
        across = math.sqrt(float(level))
        return Linear(
            matrix=((1.0 / across, 0.0), (0.0, across)), about=str(options.get("about", "frame"))
        )

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """A resize to a square, on one side only."""
        del unit, options
        ratio = float(level)
        return (
            f"marks made {'wider' if ratio > 1 else 'taller'}, {ratio:g} times the width over "
            "height, suit it better, as they do when crops of any shape were resized to a "
            "square on one side only"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With what it is about, when that isn't the frame's centre."""
        return "aspect" + (" about the mark" if options.get("about") == "mark" else "")


class Slant(Perturbation):
    """The hand leans: uprights lean over, lines along x stay along x."""

    entry: ClassVar[Entry] = Entry(
        name="slant",
        station="pose",
        meaning="the mark leans; positive is to the right at the top, as handwriting slopes",
        units=(Unit("deg", nominal=0.0, low=-60.0, high=60.0),),
        options=(ABOUT,),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A shear: what is above the centre moves right by its height times the tangent."""
        del unit, frame
        return Linear(
            matrix=((1.0, 0.0), (-tan_deg(float(level)), 1.0)),
            about=str(options.get("about", "frame")),
        )

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Other hands, or marks set upright on one side."""
        del unit, options
        amount = float(level)
        return (
            f"marks that lean {abs(amount):g} degrees more to the "
            f"{'right' if amount > 0 else 'left'} suit it better, as they do when other hands "
            "wrote its training marks or slant is taken out on one side only"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With what it is about, when that isn't the frame's centre."""
        return "slant" + (" about the mark" if options.get("about") == "mark" else "")


PERTURBATIONS = (Placement(), Scale(), Aspect(), Slant(), Rotation(), Translation())
"""In the order in which they happen when several do: a mark is laid by its rule and sized,
it leans as its writer's hand does, the sheet comes in turned, and is moved. A slant before
a turn leans towards the line of writing, wherever that then points."""
