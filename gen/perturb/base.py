"""What a perturbation is, and what it hands to the renderer.

A perturbation touches no pixel itself. Asked for a level, it gives an *effect*:
a small frozen value that says what happens at its station. The renderer knows
how to carry out each kind of effect on strokes and on pictures, composes the
neighbouring ones, and resamples once.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import LevelError
from gen.recipe.model import Entry, Level, Unit

Pixels = NDArray[np.uint8]
Real = NDArray[np.float64]
Whole = NDArray[np.intp]

STATIONS = ("ink", "pose", "lens", "sensor", "file")
"""The path of light: the order in which things happen to a mark."""


@dataclass(frozen=True)
class Marks:
    """Where the ink of some glyphs is, before anything is done to it.

    Attributes
    ----------
    centroid
        ndarray of shape (n, 2), float64: first moment of ink, (y, x) in px.
    box
        ndarray of shape (n, 4), float64: outer edges of the inked area, (top,
        left, bottom, right) in px. A single inked pixel at (3, 5) has the box
        (2.5, 4.5, 3.5, 5.5).
    """

    centroid: Real
    box: Real


@dataclass(frozen=True)
class Effect:
    """What happens at a station; subclasses say what."""


@dataclass(frozen=True)
class WidthChange(Effect):
    """The pen is wider or narrower: by `added_px`, or to `ratio` of its width."""

    added_px: float = 0.0
    ratio: float | None = None


@dataclass(frozen=True)
class DryPen(Effect):
    """The pen runs dry in places: `share` of the stroke is left bare, in gaps of `gap_px`."""

    share: float
    gap_px: float


class PoseChange(Effect, ABC):
    """The mark is laid elsewhere: an affine map of the plane, shared or one a glyph."""

    @abstractmethod
    def affine(self, marks: Marks, frame: tuple[int, int]) -> Real:
        """Where each point goes.

        Returns
        -------
        ndarray of shape (2, 3) or (n, 2, 3), float64: a point (y, x) goes to
        ``m[:, :2] @ (y, x) + m[:, 2]``.
        """

    @property
    def needs_marks(self) -> bool:
        """Whether `affine` looks at the marks; if not, one map serves all glyphs."""
        return False


@dataclass(frozen=True)
class Blur(Effect):
    """The lens spreads each point of light by a Gaussian of this deviation."""

    sigma_px: float


@dataclass(frozen=True)
class MotionBlur(Effect):
    """The mark moves while the shutter is open: an even smear in a straight line.

    Attributes
    ----------
    length_px
        Length of the smear; its variance along the line is length squared over 12.
    way
        (dy, dx), a unit vector along the line.
    """

    length_px: float
    way: tuple[float, float]


@dataclass(frozen=True)
class Resolution(Effect):
    """A sensor with this share of the pixels a side; its squares are enlarged back."""

    ratio: float


class FileFault(Effect, ABC):
    """A program writes or reads the file wrongly: whole pixels go elsewhere or change value."""

    @abstractmethod
    def apply(self, images: Pixels) -> Pixels:
        """The pictures as that program hands them on.

        Parameters
        ----------
        images
            ndarray of shape (n, H, W), uint8; not changed.
        """


class PictureChange(Effect, ABC):
    """Light and dust on the way to the sensor, and the sensor's own noise: values change.

    What is drawn by lot depends on the seed and on the index of the glyph alone, so a glyph
    looks the same by itself as in any batch, and draws are shared by all levels.
    """

    @abstractmethod
    def apply(self, images: Pixels, *, seed: int, indices: Whole) -> Pixels:
        """The pictures as the sensor records them.

        Parameters
        ----------
        images
            ndarray of shape (n, H, W), uint8, ink bright; not changed.
        seed
            The recipe's.
        indices
            ndarray of shape (n,), intp: which glyph of its set each picture shows.
        """


class Perturbation(ABC):
    """One named physical change.

    A subclass states its catalogue `entry`, the `effect` of a level, and what in
    the world makes it happen (`cause`). Adding a perturbation is adding one
    subclass in the file of its station and listing it in that file's
    `PERTURBATIONS`.
    """

    entry: ClassVar[Entry]

    @abstractmethod
    def effect(
        self, level: Level, *, unit: str, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> Effect:
        """What happens at this level, which is inside its range and not nominal."""

    @abstractmethod
    def cause(self, level: Level, *, unit: str, options: dict[str, Level | None]) -> str:
        """What in a decoder or in preprocessing makes a model expect this level.

        One clause that follows "accuracy peaks at ... : ", without a full stop.
        """

    def limits(
        self, unit: Unit, options: dict[str, Level | None], frame: tuple[int, int]
    ) -> tuple[float, float]:
        """Least and greatest amount in this frame; the catalogue's unless the frame sets them."""
        del options, frame
        assert unit.low is not None and unit.high is not None, "a frame-bound unit needs limits()"
        return unit.low, unit.high

    def impossible(self, frame: tuple[int, int]) -> str | None:
        """Why no frame of this shape can have any level but nominal; None if it can."""
        del frame
        return None

    def title(self, options: dict[str, Level | None]) -> str:
        """Words for a heading: the name, with the options that tell two sweeps apart."""
        del options
        return self.entry.name.replace("-", " ")

    def check(
        self,
        level: Level,
        *,
        unit: Unit,
        options: dict[str, Level | None],
        frame: tuple[int, int],
        where: str,
    ) -> None:
        """Refuse a level that this frame can't hold.

        Raises
        ------
        LevelError
            If it is outside the limits, which are named.
        """
        if isinstance(level, str):
            return
        low, high = self.limits(unit, options, frame)
        if not low <= level <= high:
            raise LevelError(
                where,
                "a level is out of range",
                got=f"{level:g} {unit.name}",
                allowed=f"{low:g} to {high:g} {unit.name} for a {frame[0]} x {frame[1]} frame",
                hint="a level inside the range, or a larger frame",
            )
