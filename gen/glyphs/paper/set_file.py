"""A labelled set of cut marks as a file of arrays."""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from gen.core.npz import write_npz_array
from gen.glyphs.base import Pixels

GLYPHS = "glyphs.npz"


def write_set(
    folder: Path,
    images: Pixels,
    labels: Sequence[int],
    classes: Sequence[str],
    *,
    writers: Sequence[str],
    photos: Sequence[str],
    **places: Sequence[int],
) -> None:
    """Write `glyphs.npz` into a folder; nothing in it is packed.

    Parameters
    ----------
    folder
        Where to.
    images
        ndarray of shape (n, side, side), uint8.
    labels
        Class index of each.
    classes
        Class names.
    writers, photos
        Who wrote each, and the photograph that it was cut out of.
    places
        Which mark of its photograph each is, under the name of that count.
    """
    with zipfile.ZipFile(folder / GLYPHS, "w") as archive:
        write_npz_array(archive, "images", images)
        write_npz_array(archive, "labels", np.array(labels, dtype=np.int64))
        write_npz_array(archive, "classes", np.array(classes))
        write_npz_array(archive, "writers", np.array(writers))
        write_npz_array(archive, "photos", np.array(photos))
        for name, numbers in places.items():
            write_npz_array(archive, name, np.array(numbers, dtype=np.int64))
