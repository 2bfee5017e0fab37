"""Station five: a program writes and reads the file.

These are faults of code, not of light. Held-out pictures go through the same
code as the training pictures, so a held-out score cannot see them.
"""

from __future__ import annotations

from typing import ClassVar

from gen.core.errors import LevelError
from gen.perturb.base import Effect, FileFault, Perturbation
from gen.perturb.faults import (
    FewerBits,
    Inverted,
    Mirrored,
    QuarterTurned,
    Ranged,
    SlippedRows,
    SwappedAxes,
)
from gen.perturb.jpeg import Compressed
from gen.recipe.model import Entry, Level, Option, Unit

TIMES = Unit("times", nominal=0.0, low=0.0, high=1.0, whole=True)


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
        size = f"{abs(amount)} byte{'s' * (abs(amount) != 1)}"
        begins = "before the pixels" if early else "into the pixels"
        return (
            f"its training files were read from {size} too {'early' if early else 'late'}: a "
            f"decoder that begins {size} {begins}, as when it takes the header for "
            f"{'shorter' if early else 'longer'} than it is, moves every mark {abs(amount)} px "
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


class QuarterTurns(Perturbation):
    """The picture on its side."""

    entry: ClassVar[Entry] = Entry(
        name="quarter-turns",
        station="file",
        meaning="the picture is turned by so many quarters, anticlockwise",
        units=(Unit("quarters", nominal=0.0, low=0.0, high=3.0, whole=True),),
    )

    def check(
        self,
        level: Level,
        *,
        unit: Unit,
        options: dict[str, Level | None],
        frame: tuple[int, int],
        where: str,
    ) -> None:
        """Refuse an odd number in a frame that isn't square: its shape would change."""
        super().check(level, unit=unit, options=options, frame=frame, where=where)
        if float(level) % 2 and frame[0] != frame[1]:
            raise LevelError(
                where,
                "an odd number of quarter turns needs a square frame",
                got=f"{float(level):g} quarters in a {frame[0]} x {frame[1]} frame",
                allowed="0 or 2 quarters in this frame",
                hint="leave this level out for these glyphs",
            )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Whole pixels turned."""
        del unit, options, frame
        return QuarterTurned(int(float(level)))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """An orientation mark, or axes exchanged and then mirrored."""
        del unit, options
        said = {1: "on their left side", 2: "upside down", 3: "on their right side"}
        return (
            f"its training pictures lay {said.get(int(float(level)), 'as these do')}: an "
            "orientation mark in the file that one side obeys and the other doesn't"
        )


class BitDepth(Perturbation):
    """Fewer grey levels in the file."""

    entry: ClassVar[Entry] = Entry(
        name="bit-depth",
        station="file",
        meaning="grey levels are stored with so many bits: 2**bits of them, 0 and 255 among them",
        units=(Unit("bits", nominal=8.0, low=1.0, high=8.0, whole=True),),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Each value at the nearest that is left."""
        del unit, options, frame
        return FewerBits(int(float(level)))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """A threshold, or a file format with few grey levels."""
        del unit, options
        bits = int(float(level))
        how = "a threshold" if bits == 1 else "a format with fewer grey levels"
        return (
            f"its training pictures had {2**bits} grey levels: {how} on one side and not on the "
            "other"
        )


class Jpeg(Perturbation):
    """Lossy compression as in JPEG files."""

    entry: ClassVar[Entry] = Entry(
        name="jpeg",
        station="file",
        meaning="compressed as a JPEG file of this quality and read back; 100: not compressed",
        units=(Unit("quality", nominal=100.0, low=1.0, high=100.0, whole=True),),
    )

    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """Compressed and read back."""
        del unit, options, frame
        return Compressed(int(float(level)))

    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """Training pictures kept as JPEG files."""
        del unit, options
        return (
            f"pictures stored as JPEG of quality {float(level):g} suit it better, as they do when "
            "its training pictures were kept as such files and these were not"
        )


PERTURBATIONS = (
    RowSlip(),
    AxisSwap(),
    Mirror(),
    HalfTurn(),
    QuarterTurns(),
    InkPolarity(),
    ValueRange(),
    BitDepth(),
    Jpeg(),
)
"""In the order in which they happen when several do."""
