"""pictures.npz: pictures of a report by cell and glyph, so that a comparison can show them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import InkdriftError
from gen.core.npz import read_npz_arrays
from gen.evaluate.results import Evaluation
from gen.report.arrays import write_arrays
from gen.report.showing import MOST_SIDE_PX
from gen.report.shown import Picture, Pixels, Shown

PICTURES = "pictures.npz"
"""Its name in the folder of a report."""

Place = tuple[str, int]
"""Name of a cell, and index of a glyph in its set."""

Kept = Mapping[Place, Pixels]
"""Pictures, ndarray of shape (H, W), uint8, ink bright, by where they are from."""

FOLLOWED, MISREAD = 3, 3
"""For each level, as many of the followed glyphs and of the misread ones are kept."""

MOST_PIXELS = 4 * 2**20
"""Over a thousand pictures of 64 x 64 px, the largest that a page shows."""

_NAMES = ("glyphs_digest", "recipe_digest", "cell_names", "cells", "glyphs", "images")


def kept_of(evaluation: Evaluation, shown: Shown) -> dict[Place, Pixels]:
    """The pictures of a page that say most to somebody who compares models.

    Where they would take too much room the last ones are left out: first comes one glyph
    through all levels and grids, then what is misread and drawn, then the other glyphs.

    Parameters
    ----------
    evaluation, shown
        What was scored, and the pictures of its page.
    """
    kept: dict[Place, Pixels] = {}
    room = MOST_PIXELS
    for cell, glyph, image in _in_order(evaluation, shown):
        if (cell, glyph) in kept:
            continue
        room -= image.size
        if room < 0:
            break
        kept[cell, glyph] = image
    return kept


def write_pictures(path: Path, kept: Kept, *, glyphs_digest: str, recipe_digest: str) -> Path:
    """Write pictures, packed, and give the path.

    `numpy.load` reads the file without pickle: `images` (K, H, W); `cells` (K,), in which
    cell each is, by index into `cell_names`; `glyphs` (K,), of which glyph of the set;
    `glyphs_digest` and `recipe_digest`, text.

    Parameters
    ----------
    path
        The file; its folder exists.
    kept
        At least one picture.
    glyphs_digest, recipe_digest
        Of what was shown.

    Raises
    ------
    OutputError
        If it can't be written.
    """
    names = list(dict.fromkeys(cell for cell, _ in kept))
    at = {name: place for place, name in enumerate(names)}
    arrays: dict[str, NDArray[Any]] = {
        "glyphs_digest": np.array(glyphs_digest, np.str_),
        "recipe_digest": np.array(recipe_digest, np.str_),
        "cell_names": np.array(names, np.str_),
        "cells": np.array([at[cell] for cell, _ in kept], np.int64),
        "glyphs": np.array([glyph for _, glyph in kept], np.int64),
        "images": np.stack(list(kept.values())),
    }
    return write_arrays(path, arrays, packed=True)


def read_pictures(path: Path, *, glyphs_digest: str, recipe_digest: str) -> dict[Place, Pixels]:
    """Read what `write_pictures` wrote; nothing where there is no such file.

    Parameters
    ----------
    path
        The file, which may have been written by anybody.
    glyphs_digest, recipe_digest
        Of what it must show.

    Raises
    ------
    InkdriftError
        If the file is broken, of another run, or what is in it doesn't fit together.
    """
    if not path.exists():
        return {}
    arrays = read_npz_arrays(path, _NAMES, most_bytes=16 * MOST_PIXELS)
    names, cells, glyphs, images = (arrays[name] for name in _NAMES[2:])
    fits = (
        all(arrays[name].dtype.kind == "U" and arrays[name].ndim == 0 for name in _NAMES[:2])
        and (names.dtype.kind, names.ndim) == ("U", 1)
        and cells.dtype.kind == glyphs.dtype.kind == "i"
        and (images.dtype, images.ndim) == (np.dtype(np.uint8), 3)
        and cells.shape == glyphs.shape == images.shape[:1]
        and 0 < min(images.shape[1:]) <= max(images.shape[1:]) <= MOST_SIDE_PX
        and bool(((cells >= 0) & (cells < len(names))).all())
    )
    if not fits:
        raise InkdriftError(
            str(path), "this is not what a report writes", hint="make the report again"
        )
    if (str(arrays["glyphs_digest"]), str(arrays["recipe_digest"])) != (
        glyphs_digest,
        recipe_digest,
    ):
        raise InkdriftError(
            str(path), "these pictures are of another run", hint="make the report again"
        )
    return {
        (str(names[cell]), int(glyph)): image
        for cell, glyph, image in zip(cells, glyphs, images, strict=True)
    }


_Told = tuple[str, int, Pixels]


def _in_order(evaluation: Evaluation, shown: Shown) -> Iterator[_Told]:
    """The most telling first."""
    curves = list(zip(evaluation.curves, shown.sweeps, strict=False))
    grids = list(zip(evaluation.grids, shown.grids, strict=False))
    nominal = evaluation.baseline.cell
    followed: list[list[_Told]] = [[] for _ in range(FOLLOWED)]
    misread: list[list[_Told]] = [[] for _ in range(MISREAD)]
    for curve, sweep in curves:
        for rank, one in zip(followed, sweep.followed, strict=False):
            rank += [(p.cell, one.glyph, i) for p, i in zip(curve.points, one.images, strict=True)]
        for point, wrong in zip(curve.points, sweep.misread, strict=True):
            for rank, picture in zip(misread, wrong, strict=False):
                rank.append((point.cell, picture.glyph, picture.image))
    mapped = [
        (point.cell, picture.glyph, picture.image)
        for grid, pictured in grids
        for points, row in zip(grid.points, pictured.cells, strict=True)
        for point, picture in zip(points, row, strict=True)
        if point is not None and picture is not None
    ]
    blends = [
        told
        for blend, drawn in zip(evaluation.blends, shown.blends, strict=False)
        for told in _of(blend.cells[0], drawn.drawn)
    ]
    yield from chain(
        followed[0], mapped, misread[0], _of(nominal, shown.at_nominal), blends,
        *misread[1:], *followed[1:],
    )  # fmt: skip


def _of(cell: str, pictures: Iterable[Picture]) -> list[_Told]:
    return [(cell, picture.glyph, picture.image) for picture in pictures]
