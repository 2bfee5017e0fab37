"""Crate tags of an orchard co-operative that doesn't exist.

Pickers ink a digit for the row and a letter for the variety on each tag; a
camera over the belt cuts them out, 32 x 32 px each, and writes them into IDX
files. All of it is made here, from the built-in strokes.
"""

from __future__ import annotations

import gzip
import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Whole
from gen.glyphs.strokes import write_strokes
from gen.render.coverage import draw

CLASSES = tuple("0123456789ABCDEFGH")
FRAME = (32, 32)
SEED = 20261
TRAIN_PER_CLASS, HELD_OUT_PER_CLASS = 340, 50
PICKERS = 24
HEADER_BYTES = 16


@dataclass(frozen=True)
class TagFiles:
    """Two IDX files of tags, as the camera's program writes them.

    Attributes
    ----------
    images, labels
        The bytes of each file.
    """

    images: bytes
    labels: bytes

    def save(self, folder: Path, stem: str) -> None:
        """Write both, gzipped without a time stamp."""
        for data, end in ((self.images, "images-idx3-ubyte"), (self.labels, "labels-idx1-ubyte")):
            (folder / f"{stem}-{end}.gz").write_bytes(gzip.compress(data, mtime=0))

    @property
    def answers(self) -> Whole:
        """The labels, ndarray of shape (n,)."""
        return np.frombuffer(self.labels, np.uint8, offset=8).astype(np.intp)


def made_tags() -> tuple[TagFiles, TagFiles]:
    """Tags to train on and tags held out, by the same pickers."""
    total = TRAIN_PER_CLASS + HELD_OUT_PER_CLASS
    glyphs = write_strokes(
        classes=CLASSES,
        count=total * len(CLASSES),
        frame=FRAME,
        seed=SEED,
        writers=PICKERS,
    )
    images = draw(glyphs.strokes(np.arange(len(glyphs))), FRAME)
    cut = TRAIN_PER_CLASS * len(CLASSES)
    return _files(images[:cut], glyphs.labels[:cut]), _files(images[cut:], glyphs.labels[cut:])


def _files(images: Pixels, labels: NDArray[np.intp]) -> TagFiles:
    count = len(images)
    return TagFiles(
        struct.pack(">4B3I", 0, 0, 8, 3, count, *FRAME) + images.tobytes(),
        struct.pack(">4BI", 0, 0, 8, 1, count) + labels.astype(np.uint8).tobytes(),
    )


def decode(file: bytes, *, skip: int = HEADER_BYTES) -> Pixels:
    """What a program reads that takes the header for `skip` bytes long.

    Parameters
    ----------
    file
        An IDX file of tags.
    skip
        16 is right; 12 forgets that the header also holds the width of a picture.

    Returns
    -------
    ndarray of shape (n, 32, 32), uint8
    """
    high, wide = FRAME
    count = (len(file) - HEADER_BYTES) // (high * wide)
    pixels = np.frombuffer(file, np.uint8, count=count * high * wide, offset=skip)
    return pixels.reshape(count, high, wide)
