"""What programs do to pictures when they write and read them wrongly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.perturb.base import FileFault, Pixels


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


@dataclass(frozen=True)
class QuarterTurned(FileFault):
    """Pictures are read turned by so many quarters, anticlockwise as seen."""

    quarters: int

    def apply(self, images: Pixels) -> Pixels:
        """The turned pictures; whole pixels move."""
        return np.ascontiguousarray(np.rot90(images, self.quarters, axes=(1, 2)))


@dataclass(frozen=True)
class FewerBits(FileFault):
    """Grey levels are stored with fewer bits and spread over 0 to 255 again."""

    bits: int

    def apply(self, images: Pixels) -> Pixels:
        """Each grey level at the nearest of 2**bits evenly spaced ones; 0 and 255 stay."""
        last = (1 << self.bits) - 1
        step = (2 * np.arange(256) * last + 255) // 510
        table = ((2 * step * 255 + last) // (2 * last)).astype(np.uint8)
        return np.asarray(table[images], dtype=np.uint8)
