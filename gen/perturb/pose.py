"""Station two: the paper is laid down.

Everything here is an affine map of the plane. Points are (y, x) in px with +y
down; an angle is anticlockwise as seen on the screen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from gen.core.exact import cos_sin_deg
from gen.perturb.base import Effect, Marks, Perturbation, PoseChange, Real
from gen.perturb.directions import along_option, way
from gen.recipe.model import Entry, Level, Option, Unit

ABOUT = Option(
    "about",
    default="frame",
    choices=("frame", "mark"),
    meaning="what stays where it is: the frame's centre, or the mark's own centroid",
)


def frame_centre(frame: tuple[int, int]) -> Real:
    """The centre of a frame in pixel-centre coordinates: (13.5, 13.5) for 28 x 28."""
    return np.array([(frame[0] - 1) / 2, (frame[1] - 1) / 2])


@dataclass(frozen=True)
class Linear(PoseChange):
    """A linear map about the frame's centre or each mark's centroid, then a shift.

    Attributes
    ----------
    matrix
        ((yy, yx), (xy, xx)).
    shift_px
        (dy, dx), added afterwards.
    about
        "frame" or "mark".
    """

    matrix: tuple[tuple[float, float], tuple[float, float]] = ((1.0, 0.0), (0.0, 1.0))
    shift_px: tuple[float, float] = (0.0, 0.0)
    about: str = "frame"

    @property
    def needs_marks(self) -> bool:
        """Only when the map turns about the marks themselves."""
        return self.about == "mark"

    def affine(self, marks: Marks, frame: tuple[int, int]) -> Real:
        """The map as (2, 3), or (n, 2, 3) when it is about each mark."""
        (yy, yx), (xy, xx) = self.matrix
        centre = marks.centroid if self.needs_marks else frame_centre(frame)
        cy, cx = centre[..., 0], centre[..., 1]
        out = np.empty((*cy.shape, 2, 3))
        out[..., 0, 0], out[..., 0, 1], out[..., 1, 0], out[..., 1, 1] = yy, yx, xy, xx
        out[..., 0, 2] = cy - (yy * cy + yx * cx) + self.shift_px[0]
        out[..., 1, 2] = cx - (xy * cy + xx * cx) + self.shift_px[1]
        return out


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
                when = "early" if amount > 0 else "late"
                wrong = "short" if amount > 0 else "long"
                return (
                    f"{said}: a decoder that starts {size} byte{'s' * (size != '1')} {when} (a "
                    f"header skipped {size} too {wrong}) does exactly this, and so does a crop "
                    f"that is {size} px off"
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


EDGES: dict[str, tuple[int, int]] = {
    "top left": (-1, -1),
    "top": (-1, 0),
    "top right": (-1, 1),
    "left": (0, -1),
    "right": (0, 1),
    "bottom left": (1, -1),
    "bottom": (1, 0),
    "bottom right": (1, 1),
}
"""Rules that put the box against an edge or into a corner: which way, (y, x)."""

RULES = ("as drawn", "centre of mass", "centre of mass, whole px", "box centred", *EDGES)


@dataclass(frozen=True)
class Place(PoseChange):
    """Each mark is laid by a rule, after being fitted to a box when one is given."""

    rule: str
    box_px: float | None = None
    margin_px: float = 0.0

    @property
    def needs_marks(self) -> bool:
        """Always: a rule looks at where the mark is."""
        return True

    def affine(self, marks: Marks, frame: tuple[int, int]) -> Real:
        """Where each mark goes, (n, 2, 3)."""
        top_left, bottom_right = marks.box[:, :2], marks.box[:, 2:]
        size = bottom_right - top_left
        ratio = np.ones(len(size))
        if self.box_px is not None:
            ratio = self.box_px / np.maximum(size.max(axis=1), 1e-9)
        scaled = ratio[:, None]
        centre = frame_centre(frame)
        if self.rule == "centre of mass":
            shift = centre - scaled * marks.centroid
        elif self.rule == "centre of mass, whole px":
            # Rounded so that the centroid comes within half a px of index H // 2,
            # 14 of 28. With a box the fitted mark is first laid on the pixel grid.
            laid = _on_grid(scaled * top_left) if self.box_px is not None else 0.0
            index = np.array([frame[0] // 2, frame[1] // 2])
            shift = laid + np.floor(index - (scaled * marks.centroid + laid) + 0.5)
        else:
            middle = (top_left + bottom_right) / 2
            way = np.array(EDGES.get(self.rule, (0, 0)))
            room = (np.array(frame) - scaled * size) / 2 - self.margin_px
            shift = centre + way * room - scaled * middle
        out = np.zeros((len(size), 2, 3))
        out[:, 0, 0] = out[:, 1, 1] = ratio
        out[:, :, 2] = shift
        return out


def _on_grid(edge: Real) -> Real:
    """The shift that brings an outer edge to the nearest line between two pixels."""
    return np.floor(edge + 1.0) - 0.5 - edge


class Placement(Perturbation):
    """Tags stuck on anywhere: where in the frame the mark sits, and by what rule."""

    entry: ClassVar[Entry] = Entry(
        name="placement",
        station="pose",
        meaning="where and by what rule the mark sits in the frame",
        units=(Unit("rule", nominal="as drawn", names=RULES),),
        options=(
            Option(
                "box_px",
                default=None,
                low=1.0,
                high=4096.0,
                meaning="first fit the longer side of the mark's box to this many px, aspect kept",
            ),
            Option(
                "margin_px",
                default=0.0,
                low=0.0,
                high=4096.0,
                meaning="px kept free between the box and the edge, for edges and corners",
            ),
        ),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A rule, with the box it is fitted to."""
        del unit, frame
        box, margin = options.get("box_px"), options.get("margin_px")
        return Place(
            str(level),
            box_px=None if box is None else float(box),
            margin_px=0.0 if margin is None else float(margin),
        )

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Another rule on the training side."""
        del unit
        box = options.get("box_px")
        fitted = "" if box is None else f", fitted to a box of {float(box):g} px"
        return (
            f'laid by the rule "{level}"{fitted} these marks are nearer to what it was trained '
            "on: put that rule in front of the model, on both sides"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With the box, when marks are fitted to one."""
        box = options.get("box_px")
        return "placement" + ("" if box is None else f" in a box of {float(box):g} px")


PERTURBATIONS = (Placement(), Scale(), Rotation(), Translation())
"""In the order in which they happen when several do."""
