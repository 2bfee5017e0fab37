"""What JPEG compression does to grey levels, in whole numbers.

The lossy part of the baseline process of ITU-T T.81 (ISO/IEC 10918-1): blocks of 8 x 8,
the cosine transform of section A.3.3, the luminance table K.1 of Annex K scaled for a
quality, and back. The coding of the quantised numbers that follows loses nothing and is
left out. How a quality scales the table isn't in the standard; this is the common practice
of JPEG libraries: 5000 / q percent below quality 50, 200 - 2 q percent from there on.

The transform is carried out with cosines rounded to multiples of 2**-18. Every product
and partial sum is a whole number below 2**53, so float64 holds it exactly whatever the
order of summation.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from gen.core.exact import cos_sin_deg, whole_multiples
from gen.perturb.base import FileFault, Pixels, Real

SIDE = 8
_BITS = 18
LUMINANCE = (
    (16, 11, 10, 16, 24, 40, 51, 61),
    (12, 12, 14, 19, 26, 58, 60, 55),
    (14, 13, 16, 24, 40, 57, 69, 56),
    (14, 17, 22, 29, 51, 87, 80, 62),
    (18, 22, 37, 56, 68, 109, 103, 77),
    (24, 35, 55, 64, 81, 104, 113, 92),
    (49, 64, 78, 87, 103, 121, 120, 101),
    (72, 92, 95, 98, 112, 100, 103, 99),
)
"""Table K.1 of ITU-T T.81: luminance quantisation, row by row of vertical frequency."""
LOSSLESS = 100
"""The quality that stands for a file that isn't compressed at all."""


def quantisation(quality: int) -> Real:
    """Steps for a quality from 1 to 99, (8, 8), whole numbers from 1 to 255.

    Examples
    --------
    >>> quantisation(50)[0, :3].tolist(), quantisation(90)[0, :3].tolist()
    ([16.0, 11.0, 10.0], [3.0, 2.0, 2.0])
    """
    percent = 5000 // quality if quality < 50 else 200 - 2 * quality
    steps = (np.array(LUMINANCE) * percent + 50) // 100
    return np.asarray(np.clip(steps, 1, 255), dtype=np.float64)


@lru_cache(maxsize=1)
def cosines() -> Real:
    """The one-dimensional transform (frequency, place) in steps of 2**-18 (T.81, A.3.3)."""
    table = np.array(
        [
            [0.5 * cos_sin_deg((2 * x + 1) * u * 180 / (2 * SIDE))[0] for x in range(SIDE)]
            for u in range(SIDE)
        ]
    )
    table[0] = np.sqrt(0.125)
    table = whole_multiples(table, _BITS)
    table.setflags(write=False)
    return table


@dataclass(frozen=True)
class Compressed(FileFault):
    """Pictures are compressed at a quality from 1 to 99 and read back; 100 keeps them."""

    quality: int

    def apply(self, images: Pixels) -> Pixels:
        """The pictures as a decoder hands them on."""
        if self.quality == LOSSLESS:
            return images
        count, height, width = images.shape
        down, across = -(-height // SIDE), -(-width // SIDE)
        # T.81, A.2.4: blocks over the edge are filled up with the last row and column.
        room = ((0, 0), (0, down * SIDE - height), (0, across * SIDE - width))
        full = np.pad(images, room, mode="edge").astype(np.float64) - 128.0
        blocks = full.reshape(count, down, SIDE, across, SIDE).transpose(0, 1, 3, 2, 4)
        back = _through(np.ascontiguousarray(blocks), quantisation(self.quality))
        back = back.transpose(0, 1, 3, 2, 4).reshape(count, down * SIDE, across * SIDE)
        return np.ascontiguousarray(back[:, :height, :width])


def _through(blocks: Real, steps: Real) -> Pixels:
    """Blocks (..., 8, 8) of levels about 0, transformed, quantised and back."""
    to = cosines()
    one = float(1 << 2 * _BITS)
    spectrum = to @ blocks @ to.T
    amount = np.floor(np.abs(spectrum) / (steps * one) + 0.5)
    amount = np.copysign(amount, spectrum) * steps
    back = (to.T @ amount @ to) * (1.0 / one)
    return np.clip(np.floor(back + 0.5) + 128.0, 0, 255).astype(np.uint8)
