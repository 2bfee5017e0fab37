"""The door: any source of glyphs, told apart by what is in it."""

from __future__ import annotations

import os
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gen.core.errors import GlyphError
from gen.glyphs.arrays import as_bytes, laid_out
from gen.glyphs.base import Pixels, Provenance, RasterGlyphs, StrokeGlyphs, pixels_digest
from gen.glyphs.classes import checked_names, parse_classes, renamed, understood_labels
from gen.glyphs.fit import Fit
from gen.glyphs.fitted_set import fitted_in_pieces, gathered
from gen.glyphs.found import Found
from gen.glyphs.grid import LINES, Grid
from gen.glyphs.labels import counts_differ, labels_of, understood_writers
from gen.glyphs.outlines import outline_kind, read_outlines
from gen.glyphs.polarity import settled
from gen.glyphs.ragged import Pictures
from gen.glyphs.read import SOURCES, is_dir, read
from gen.glyphs.table_form import PLACES

PathLike = str | os.PathLike[str]
_INKS = ("auto", "bright", "dark")


def load_glyphs(
    source: PathLike | NDArray[Any],
    *,
    labels: PathLike | ArrayLike | Mapping[str, str] | None = None,
    classes: str | Sequence[str] | None = None,
    ink: str = "auto",
    fit: str | Fit | None = None,
    frame: tuple[int, int] | None = None,
    folders: str = "class",
    grid: str | Grid | None = None,
) -> RasterGlyphs | StrokeGlyphs:
    """Load labelled glyphs, ink bright, and say what was understood of them.

    Parameters
    ----------
    source
        An IDX file or a table with one picture a row, plain or gzipped; an npz or npy
        file; a folder of pictures with one sub-folder a class; one picture with a grid of
        glyphs; InkML or SVG, or a folder of them; a font, or a folder of them; or an
        ndarray of pictures. Files are told apart by content.
    labels
        A file (IDX, npy, npz, or text with one a line) or the labels themselves, one a
        picture; of a table "first" or "last", the column that has them; of a grid "rows"
        or "columns", each of which is a class. Not needed for a folder, for an npz or a
        table that has them, or for an IDX file beside which they lie under their usual
        name; of pen files a dict, the label of each file that states none.
    classes
        Names in place of those found, in order, as `parse_classes` reads them
        ("0-9", "pear,plum") or a sequence. Of pen files the classes to take, and of fonts
        the characters to set.
    ink
        "auto" to find out by how border and mark differ, or "bright" or "dark".
    fit
        The rule by which marks are fitted into a frame: "as drawn", "box centred",
        "centre of mass", "centre of mass, whole px", or a `Fit`, which says more.
        Pictures may then be of different sizes. Nothing is fitted when left out.
    frame
        (H, W) that marks are fitted into, 28 x 28 px when left out. Without a fit, that of
        pen files and fonts, or of pictures that are stored as rows of numbers.
    folders
        What sub-folders stand for: "class", "class/writer" or "writer/class".
    grid
        How the glyphs of one large picture are laid: "10x20" for 10 rows of 20, "10x20,
        gutter 2, margin 4" with what lies between and round them in px; or a `Grid`.

    Returns
    -------
    RasterGlyphs or StrokeGlyphs
        Pictures with images, ndarray of shape (N, H, W), uint8, ink bright; of pen files
        strokes. `provenance.notes` tells what was found and done.

    Raises
    ------
    GlyphError
        If anything can't be read, or is unlabelled. Files of a folder that can't be read
        are left out and named in a note, unless none is left of the folder or of a class.

    Examples
    --------
    >>> page = np.full((2, 8, 8), 255, dtype=np.uint8)
    >>> page[:, 2:6, 3] = 0
    >>> glyphs = load_glyphs(page, labels=[1, 7])
    >>> glyphs.provenance.notes
    ('ink is dark on bright paper, as 2 of 2 pictures show; inverted',)
    >>> int(glyphs.images[0, 3, 3]), glyphs.classes[1]
    (255, '1')
    >>> load_glyphs(page, labels=[1, 7], fit="box centred").frame
    (28, 28)
    """
    if ink not in _INKS:
        raise GlyphError("ink", "unknown ink", got=repr(ink), allowed=", ".join(_INKS))
    rule = _rule(fit, frame)
    if isinstance(source, np.ndarray):
        # A copy, so that the digest stays true whatever becomes of the caller's array.
        name, found = "array", Found("array", source.copy())
    else:
        name = os.fspath(source)
        if not name:
            raise GlyphError("source", "no source is named", got=repr(name), allowed=SOURCES)
        kind = None if grid is not None else outline_kind(Path(source))
        if kind is not None:
            return read_outlines(
                Path(source),
                kind,
                fit=rule,
                frame=frame,
                classes=classes,
                labels=labels,
                ink=ink,
                folders=folders,
            )
        if folders != "class" and not is_dir(Path(source)):
            raise GlyphError(
                "folders",
                "this says what the folders of a folder stand for",
                got=f"{name}, which is no folder",
                hint="leave it out",
            )
        place = str(labels) if isinstance(labels, (str, os.PathLike)) else ""
        found = read(
            Path(source),
            folders=folders,
            sizes_differ=rule is not None,
            frame=frame if rule is None else None,
            label=place or None,
            grid=Grid.of(grid) if isinstance(grid, str) else grid,
        )
        if place in {"table": PLACES, "grid": LINES}.get(found.kind, ()):
            labels = None
    if isinstance(labels, Mapping):
        raise GlyphError("labels", "labels by the name of a file are for pen files")
    values, label_notes = labels_of(name, found, labels, source)
    shown = _shown(name, found, ink, rule, frame)
    if len(values) != len(shown.images):
        raise counts_differ(name, len(shown.images), len(values))
    indices, names, numbered = understood_labels(name, values, found.classes)
    if classes is not None:
        new = parse_classes(classes) if isinstance(classes, str) else tuple(map(str, classes))
        new = checked_names("classes", new)
        indices, names, anew = renamed(name, indices, names, new, numbered=numbered)
        label_notes = (*label_notes, *anew)
    notes, who = (*found.notes, *label_notes, *shown.notes), None
    if found.writers is not None:
        who, said = understood_writers(name, found.writers, len(indices))
        notes = (*notes, said)
    digest = pixels_digest(shown.images, indices, names)
    return RasterGlyphs(
        frame=(shown.images.shape[1], shown.images.shape[2]),
        labels=indices,
        classes=names,
        provenance=Provenance(found.kind, name, digest, shown.ink, notes, shown.values),
        writers=who,
        images=shown.images,
    )


@dataclass(frozen=True)
class _Shown:
    """Pictures with bright ink in one frame, and what was seen and done on the way."""

    images: Pixels
    ink: str
    values: str
    notes: tuple[str, ...]


def _shown(
    name: str, found: Found, ink: str, rule: Fit | None, frame: tuple[int, int] | None
) -> _Shown:
    if isinstance(found.images, Pictures):
        assert rule is not None
        return _fitted_pictures(found.images, ink, rule)
    rows = frame if rule is None else None
    if rows is not None and found.images.ndim != 2:
        raise GlyphError(
            "frame",
            "pictures have a frame of their own",
            got=f"{rows[0]} x {rows[1]}",
            hint="leave it out, or say by what rule marks are fitted into it (--fit RULE, or fit= "
            "in Python)",
        )
    images, layout_notes = laid_out(name, found.images, rows)
    images, range_notes, full = as_bytes(name, images)
    pixels, shown, note = settled(images, ink)
    notes = (*layout_notes, *range_notes, note)
    if rule is not None:
        pixels, more = gathered(fitted_in_pieces(pixels, rule), len(pixels), rule)
        notes = (*notes, *more)
    return _Shown(pixels, shown, f"0..{full}", notes)


def _fitted_pictures(pictures: Pictures, ink: str, rule: Fit) -> _Shown:
    with warnings.catch_warnings():
        # Pillow warns of broken tags and of palettes; what matters is raised or noted.
        warnings.simplefilter("ignore")
        shown, note, done = pictures.settled(ink)
        images, more = gathered(pictures.fitted(rule, shown), len(pictures), rule)
    notes = (f"pictures of {pictures.sizes}", *done, note, *more)
    return _Shown(images, shown, "0..255", notes)


def _rule(fit: str | Fit | None, frame: tuple[int, int] | None) -> Fit | None:
    if fit is None:
        return None
    if isinstance(fit, str):
        return Fit(fit, frame or (28, 28))
    if frame not in (None, fit.frame):
        raise GlyphError(
            "frame", "the fit has a frame of its own", got=f"{frame}", allowed=f"{fit.frame}"
        )
    return fit
