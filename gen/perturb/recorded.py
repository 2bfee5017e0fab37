"""What paper, light and sensor do to values: the arithmetic of the fourth station.

The sensor counts light, and light is what ink leaves of it: 255 less ink, 0 to 255.
Grey paper, printed lines and shadow each let through a share of the light, so their
shares multiply, and full ink stays full ink. Nothing wraps: what would be brighter than
bare paper is bare paper.

Shares are whole multiples of 2**-16 of a grey level and products are whole numbers;
draws by lot come from `gen.core.draws`, and what is done with them is + - * / and square
root element by element. The bytes are the same on every machine.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.core.draws import normals, uniforms
from gen.perturb.base import PictureChange, Pixels, Real, Whole

Steps = NDArray[np.int64]

_STEP = 1 << 16
_FULL = 255 * _STEP
_COVER = 1 << 12


@dataclass(frozen=True)
class Faded(PictureChange):
    """Full ink is this share as dark, and the rest in proportion; paper stays paper."""

    ratio: float

    def apply(self, images: Pixels, *, seed: int, indices: Whole) -> Pixels:
        """Each value in proportion, rounded to the nearest."""
        del seed, indices
        table = np.floor(np.arange(256) * self.ratio + 0.5).astype(np.uint8)
        return np.asarray(table[images], dtype=np.uint8)


def darkened(images: Pixels, dark: Steps) -> Pixels:
    """Light held back as if bare paper had these grey levels, in steps of 2**-16, (H, W).

    Examples
    --------
    Paper becomes 51 levels dark; half ink keeps four fifths of its light; full ink stays.

    >>> shade = np.full((1, 1), 51 << 16)
    >>> [int(darkened(np.full((1, 1, 1), ink, np.uint8), shade)[0, 0, 0]) for ink in (0, 127, 255)]
    [51, 153, 255]
    """
    light = (255 - images.astype(np.int64)) * (_FULL - dark)
    return np.asarray((255 * _FULL - light + _FULL // 2) // _FULL, dtype=np.uint8)


@dataclass(frozen=True)
class GreyPaper(PictureChange):
    """The paper is evenly grey, so many levels dark."""

    levels: float

    def apply(self, images: Pixels, *, seed: int, indices: Whole) -> Pixels:
        """Every pixel darkened alike."""
        del seed, indices
        return darkened(images, np.full(images.shape[1:], round(self.levels * _STEP)))


@dataclass(frozen=True)
class Shadow(PictureChange):
    """Light falls off in a straight line across the frame, by so many levels at the far edge."""

    levels: float
    way: tuple[float, float]

    def share(self, frame: tuple[int, int]) -> Real:
        """How far along the line each pixel is, (H, W): 0 at the near edge, 1 at the far one."""
        y, x = np.indices(frame).astype(np.float64)
        at = self.way[0] * y + self.way[1] * x
        span = float(at.max() - at.min())
        return np.asarray((at - at.min()) / (span if span > 0 else 1.0))

    def apply(self, images: Pixels, *, seed: int, indices: Whole) -> Pixels:
        """Every pixel darkened by its share."""
        del seed, indices
        frame = (images.shape[1], images.shape[2])
        return darkened(images, np.rint(self.share(frame) * self.levels * _STEP).astype(np.int64))


@dataclass(frozen=True)
class Ruled(PictureChange):
    """Lines are printed on the paper, so many levels dark; one runs through the middle."""

    levels: float
    spacing_px: float
    line_px: float
    along: str

    def cover(self, frame: tuple[int, int]) -> Real:
        """The share of each pixel that is line, (H, W): its covered area."""
        rows = self._across(frame[0])[:, None] if self.along != "y" else np.zeros((1, 1))
        columns = self._across(frame[1])[None, :] if self.along != "x" else np.zeros((1, 1))
        return np.asarray(np.broadcast_to(rows + columns - rows * columns, frame))

    def _across(self, length: int) -> Real:
        middle, half = (length - 1) / 2, self.line_px / 2
        most = int(np.ceil(length / self.spacing_px)) + 1
        at = np.arange(length)[:, None]
        line = middle + self.spacing_px * np.arange(-most, most + 1)
        low = np.maximum(at - 0.5, line - half)
        high = np.minimum(at + 0.5, line + half)
        covered = np.maximum(high - low, 0.0)
        total = covered[:, 0]
        for each in range(1, covered.shape[1]):
            total = total + covered[:, each]
        return np.asarray(np.minimum(total, 1.0))

    def apply(self, images: Pixels, *, seed: int, indices: Whole) -> Pixels:
        """Every pixel darkened by what of it is line."""
        del seed, indices
        frame = (images.shape[1], images.shape[2])
        return darkened(images, np.rint(self.cover(frame) * self.levels * _STEP).astype(np.int64))


@dataclass(frozen=True)
class Noisy(PictureChange):
    """A linear camera's noise: the same everywhere, and more of it where there is light.

    The model is that of EMVA standard 1288 for a camera of linear response: a pixel that
    receives so many electrons varies by their number (shot noise, Poisson) plus a constant
    (read noise). Both are drawn together as one nearly normal deviate, which is right for
    more than about ten electrons.

    Attributes
    ----------
    variance
        Of bare ink, where no light is, in grey levels squared.
    variance_per_level
        How much more for each grey level of light.
    """

    variance: float
    variance_per_level: float = 0.0

    def apply(self, images: Pixels, *, seed: int, indices: Whole) -> Pixels:
        """Values with noise added, rounded and held between 0 and 255."""
        height, width = images.shape[1:]
        drawn = normals(seed, "noise", indices, count=height * width).reshape(images.shape)
        light = 255.0 - np.arange(256)
        deviation = np.sqrt(self.variance + self.variance_per_level * light)[images]
        seen = np.floor(images + drawn * deviation + 0.5)
        return np.asarray(np.clip(seen, 0, 255), dtype=np.uint8)


@dataclass(frozen=True)
class Covered(PictureChange):
    """A square patch of bare paper or of ink lies over the mark, centred somewhere on its ink."""

    side_px: float
    ink: bool

    def apply(self, images: Pixels, *, seed: int, indices: Whole) -> Pixels:
        """What the patch covers of a pixel has its value; the rest keeps its own."""
        height, width = images.shape[1:]
        centre = ink_places(images, uniforms(seed, "occlusion", indices, count=3))
        covered = [
            np.rint(
                np.clip(
                    np.minimum(np.arange(side) + 0.5, centre[:, which, None] + self.side_px / 2)
                    - np.maximum(np.arange(side) - 0.5, centre[:, which, None] - self.side_px / 2),
                    0.0,
                    1.0,
                )
                * _COVER
            ).astype(np.int64)
            for which, side in enumerate((height, width))
        ]
        cover = covered[0][:, :, None] * covered[1][:, None, :]
        whole = _COVER * _COVER
        total = images * (whole - cover) + (255 * cover if self.ink else 0)
        return np.asarray((total + whole // 2) // whole, dtype=np.uint8)


def ink_places(images: Pixels, drawn: Real) -> Real:
    """A point on the ink of each picture, drawn in proportion to the ink.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.
    drawn
        ndarray of shape (n, 3), uniform deviates: which pixel, and where in it.

    Returns
    -------
    ndarray of shape (n, 2), float64, (y, x) in px; near the frame's centre without ink.
    """
    count, height, width = images.shape
    reached = np.cumsum(images.reshape(count, -1), axis=1, dtype=np.int64)
    ink = reached[:, -1]
    pixel = (reached <= np.floor(drawn[:, 0] * ink)[:, None]).sum(axis=1)
    pixel = np.where(ink > 0, pixel, (height // 2) * width + width // 2)
    return np.stack([pixel // width + drawn[:, 1] - 0.5, pixel % width + drawn[:, 2] - 0.5], axis=1)
