"""Station five: a program writes and reads the file.

These are faults of code, not of light. Held-out pictures go through the same
code as the training pictures, so a held-out score cannot see them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from gen.core.errors import LevelError
from gen.perturb.base import Effect, FileFault, Perturbation, Pixels
from gen.recipe.model import Entry, Level, Option, Unit

TIMES = Unit("times", nominal=0.0, low=0.0, high=1.0, whole=True)


@dataclass(frozen=True)
class SlippedRows(FileFault):
    """Each picture is read so many bytes early; what falls off one end comes in at the other."""

    early_bytes: int

    def apply(self, images: Pixels) -> Pixels:
        """The bytes of each picture, rolled as one long row."""
        flat = images.reshape(len(images), -1)
        return np.roll(flat, self.early_bytes, axis=1).reshape(images.shape)


@dataclass(frozen=True)
class SwappedAxes(FileFault):
    """Rows are read as columns."""

    def apply(self, images: Pixels) -> Pixels:
        """The transpose of each picture."""
        return np.ascontiguousarray(images.transpose(0, 2, 1))


@dataclass(frozen=True)
class Mirrored(FileFault):
    """Pictures are read backwards along x, along y, or both (a half turn)."""

    along: str

    def apply(self, images: Pixels) -> Pixels:
        """The mirror image of each picture."""
        step = {"x": np.s_[:, :, ::-1], "y": np.s_[:, ::-1], "both": np.s_[:, ::-1, ::-1]}
        return np.ascontiguousarray(images[step[self.along]])


@dataclass(frozen=True)
class Inverted(FileFault):
    """Ink is taken for paper and paper for ink."""

    def apply(self, images: Pixels) -> Pixels:
        """255 less each grey level."""
        return np.asarray(255 - images, dtype=np.uint8)


@dataclass(frozen=True)
class Ranged(FileFault):
    """Full ink is written as this grey level, and the rest in proportion."""

    full: float

    def apply(self, images: Pixels) -> Pixels:
        """Each grey level in proportion, rounded to the nearest."""
        table = np.floor(np.arange(256) * self.full / 255 + 0.5).astype(np.uint8)
        return np.asarray(table[images], dtype=np.uint8)


class RowSlip(Perturbation):
    """A decoder that starts a few bytes off, so that rows wrap."""

    entry: ClassVar[Entry] = Entry(
        name="row-slip",
        station="file",
        meaning="a decoder starts this many bytes early (late if negative): rows move and wrap",
        units=(Unit("bytes", nominal=0.0, whole=True),),
    )

    def limits(
        self, unit: Unit, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> tuple[float, float]:
        """One byte less than a whole picture."""
        del unit, options
        return 1.0 - frame[0] * frame[1], frame[0] * frame[1] - 1.0

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Bytes rolled."""
        del unit, options, frame
        return SlippedRows(int(float(level)))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """A header of another length."""
        del unit, options
        amount = int(float(level))
        early = amount > 0
        return (
            f"its training files were read from {abs(amount)} byte{'s' * (abs(amount) != 1)} too "
            f"{'early' if early else 'late'}: a header skipped {abs(amount)} too "
            f"{'short' if early else 'long'} moves every mark {abs(amount)} px "
            f"{'right' if early else 'left'} and wraps the rows"
        )


class _Switch(Perturbation):
    """A fault that either happens or doesn't."""

    fault: FileFault
    said: str

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """The fault, once."""
        del level, unit, options, frame
        return self.fault

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """What was done on one side only."""
        del level, unit, options
        return self.said


class AxisSwap(_Switch):
    """Rows taken for columns."""

    entry: ClassVar[Entry] = Entry(
        name="axis-swap",
        station="file",
        meaning="rows are read as columns, as from a file stored column by column",
        units=(TIMES,),
    )
    fault = SwappedAxes()
    said = (
        "its training pictures had rows and columns swapped: one side reads files column by "
        "column and the other row by row, or transposes"
    )

    def impossible(self, frame: tuple[int, int]) -> str | None:
        """Swapped axes would change the shape of a frame that isn't square."""
        if frame[0] == frame[1]:
            return None
        return f"a {frame[0]} x {frame[1]} px frame isn't square, so its axes can't be swapped"

    def check(
        self,
        level: Level,
        *,
        unit: Unit,
        options: dict[str, Level | None],
        frame: tuple[int, int],
        where: str,
    ) -> None:
        """Refuse a frame that isn't square: swapped axes would change its shape."""
        super().check(level, unit=unit, options=options, frame=frame, where=where)
        if level != unit.nominal and frame[0] != frame[1]:
            raise LevelError(
                where,
                "axes can only be swapped in a square frame",
                got=f"a {frame[0]} x {frame[1]} frame",
                allowed="a frame as high as it is wide",
                hint="leave this sweep out for these glyphs",
            )


class Mirror(Perturbation):
    """Pictures read backwards."""

    entry: ClassVar[Entry] = Entry(
        name="mirror",
        station="file",
        meaning="left and right are exchanged (along x), or top and bottom (along y)",
        units=(TIMES,),
        options=(
            Option(
                "along", default="x", choices=("x", "y"), meaning="x: left-right, y: top-bottom"
            ),
        ),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """A mirror image."""
        del level, unit, frame
        return Mirrored(str(options.get("along", "x")))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """A selfie camera or a bottom-up file."""
        del level, unit
        if options.get("along") == "y":
            return (
                "its training pictures were upside down in a mirror: one side reads rows from the "
                "bottom up, as some bitmap files store them"
            )
        return (
            "its training pictures were mirrored left to right: a mirrored camera or a reversed "
            "row on one side only"
        )

    def title(self, options: dict[str, Level | None]) -> str:
        """With the line it is along."""
        return f"mirror along {options.get('along', 'x')}"


class HalfTurn(_Switch):
    """The picture the wrong way up."""

    entry: ClassVar[Entry] = Entry(
        name="half-turn",
        station="file",
        meaning="the picture is turned by 180 degrees",
        units=(TIMES,),
    )
    fault = Mirrored("both")
    said = (
        "its training pictures were upside down: an orientation mark in the file that one side "
        "obeys and the other doesn't, or pixels read from the end"
    )


class InkPolarity(_Switch):
    """Ink for paper and paper for ink."""

    entry: ClassVar[Entry] = Entry(
        name="ink-polarity",
        station="file",
        meaning="ink is taken for paper: dark and bright are exchanged",
        units=(TIMES,),
    )
    fault = Inverted()
    said = (
        "its training pictures had ink and paper the other way round: one side inverts and the "
        "other doesn't"
    )


class ValueRange(Perturbation):
    """Grey levels written in another range than the one they are read in."""

    entry: ClassVar[Entry] = Entry(
        name="value-range",
        station="file",
        meaning="the grey level that full ink is written as, where 255 is meant",
        units=(Unit("grey levels", nominal=255.0, low=1.0, high=255.0),),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Values in proportion."""
        del unit, options, frame
        return Ranged(float(level))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Divided once more, or not."""
        del unit, options
        return (
            f"its training pictures were fainter, full ink at {float(level):g} of 255: values "
            "divided once more than here, or a file with fewer grey levels"
        )


PERTURBATIONS = (
    RowSlip(),
    AxisSwap(),
    Mirror(),
    HalfTurn(),
    InkPolarity(),
    ValueRange(),
)
"""In the order in which they happen when several do."""
