"""The door: any source of pictures, told apart by what is in it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gen.core.errors import GlyphError
from gen.glyphs.archive import NPY_MAGIC, ZIP_MAGICS, read_npy, read_npz, read_npz_labels
from gen.glyphs.arrays import as_bytes, laid_out
from gen.glyphs.base import Provenance, RasterGlyphs, pixels_digest
from gen.glyphs.classes import checked_names, parse_classes, renamed, understood_labels
from gen.glyphs.found import Found
from gen.glyphs.idx import label_names, labels_beside, looks_like_idx, read_idx
from gen.glyphs.polarity import settled
from gen.glyphs.stream import first_bytes

PathLike = str | os.PathLike[str]
_INKS = ("auto", "bright", "dark")
_SOURCES = "IDX (plain or gzipped), npz, npy, or a folder of pictures with one sub-folder a class"
_PICTURES = {
    b"\x89PNG": "PNG",
    b"\xff\xd8\xff": "JPEG",
    b"GIF8": "GIF",
    b"BM": "BMP",
    b"II*\0": "TIFF",
    b"MM\0*": "TIFF",
}


def load_glyphs(
    source: PathLike | NDArray[Any],
    *,
    labels: PathLike | ArrayLike | None = None,
    classes: str | Sequence[str] | None = None,
    ink: str = "auto",
) -> RasterGlyphs:
    """Load labelled pictures, ink bright, and say what was understood of them.

    Parameters
    ----------
    source
        An IDX file, plain or gzipped; an npz or npy file; a folder of pictures
        with one sub-folder a class; or an ndarray of pictures. Files are told
        apart by content.
    labels
        A file (IDX, npy or npz) or the labels themselves, one a picture. Not
        needed for a folder, for an npz that has them, or for an IDX file beside
        which they lie under their usual name.
    classes
        Names in place of those found, in order, as `parse_classes` reads them
        ("0-9", "pear,plum") or a sequence.
    ink
        "auto" to find out by how border and mark differ, or "bright" or "dark".

    Returns
    -------
    RasterGlyphs
        images, ndarray of shape (N, H, W), uint8, ink bright;
        `provenance.notes` tells what was found and done.

    Raises
    ------
    GlyphError
        If anything can't be read, or is unlabelled.

    Examples
    --------
    >>> page = np.full((2, 8, 8), 255, dtype=np.uint8)
    >>> page[:, 2:6, 3] = 0
    >>> glyphs = load_glyphs(page, labels=[1, 7])
    >>> glyphs.provenance.notes
    ('ink is dark on bright paper, as 2 of 2 pictures show; inverted',)
    >>> int(glyphs.images[0, 3, 3]), glyphs.classes[1]
    (255, '1')
    """
    if ink not in _INKS:
        raise GlyphError("ink", "unknown ink", got=repr(ink), allowed=", ".join(_INKS))
    if isinstance(source, np.ndarray):
        # A copy, so that the digest stays true whatever becomes of the caller's array.
        name, found = "array", Found("array", source.copy())
    else:
        name = os.fspath(source)
        found = _read(Path(source))
    values, label_notes = _labels(name, found, labels, source)
    images, layout_notes = laid_out(name, found.images)
    images, range_notes = as_bytes(name, images)
    if len(values) != len(images):
        raise _counts_differ(name, len(images), len(values))
    indices, names, numbered = understood_labels(name, values, found.classes)
    if classes is not None:
        new = parse_classes(classes) if isinstance(classes, str) else tuple(map(str, classes))
        new = checked_names("classes", new)
        names = renamed(name, indices, names, new, numbered=numbered)
    pixels, shown, ink_note = settled(images, ink)
    notes = (*found.notes, *label_notes, *layout_notes, *range_notes, ink_note)
    digest = pixels_digest(pixels, indices, names)
    return RasterGlyphs(
        frame=(pixels.shape[1], pixels.shape[2]),
        labels=indices,
        classes=names,
        provenance=Provenance(found.kind, name, digest, shown, notes),
        writers=None,
        images=pixels,
    )


def _read(path: Path) -> Found:
    """Read a source by whatever its content says it is."""
    if _is_dir(path):
        from gen.glyphs.folder import read_folder

        return read_folder(path)
    head = first_bytes(path, 8)
    if head.startswith(ZIP_MAGICS):
        _refuse_packed(path)
        return read_npz(path)
    if head.startswith(NPY_MAGIC):
        _refuse_packed(path)
        return Found("array", read_npy(path))
    if looks_like_idx(head) or _named_idx(path):
        images = read_idx(path)
        if images.ndim == 1:
            raise GlyphError(
                str(path),
                "these are labels, not pictures",
                got=f"an IDX file of 1 dimension, {len(images):,} bytes",
                hint="name the file of images; labels beside it are found",
            )
        return Found("IDX", images)
    raise _unknown(path, head)


def _is_dir(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError) as cause:  # ValueError: a zero byte in the path
        raise GlyphError(str(path), "can't be read", got=cause) from cause


def _named_idx(path: Path) -> bool:
    """Whether a name promises IDX, so that a wrong magic number is worth explaining."""
    return "idx" in path.name.lower() or "ubyte" in path.name.lower()


def _refuse_packed(path: Path) -> None:
    with path.open("rb") as plain:
        if plain.read(2) == b"\x1f\x8b":
            raise GlyphError(str(path), "gzip round an npz or npy isn't read", hint="gunzip it")


def _unknown(path: Path, head: bytes) -> GlyphError:
    where = str(path)
    if not head:
        return GlyphError(where, "the file is empty", allowed=_SOURCES)
    kind = next((kind for magic, kind in _PICTURES.items() if head.startswith(magic)), None)
    if kind is not None:
        return GlyphError(
            where,
            "one picture has no label",
            got=f"a {kind} file",
            hint="name a folder that has one sub-folder of pictures for each class",
        )
    return GlyphError(
        where,
        "not a source of glyphs that is known",
        got=f"a file that begins {head[:4].hex(' ')}",
        allowed=_SOURCES,
    )


def _labels(
    name: str, found: Found, given: PathLike | ArrayLike | None, source: PathLike | NDArray[Any]
) -> tuple[NDArray[Any], tuple[str, ...]]:
    """The labels of what was found, and a note on where they came from."""
    if given is not None and found.kind == "folder":
        raise GlyphError(
            name, "a folder has its labels already, from its class folders", got="labels as well"
        )
    if isinstance(given, (str, os.PathLike)):
        return _read_labels(Path(given)), (f"labels read from {os.fspath(given)}",)
    if given is not None:
        try:
            return np.asarray(given), ()
        except ValueError as cause:  # lists of unequal length
            raise GlyphError(name, "labels must be one number or name a picture") from cause
    if found.labels is not None:
        return found.labels, ()
    looked = None
    if found.kind == "IDX" and not isinstance(source, np.ndarray):
        beside = labels_beside(Path(source))
        if beside is not None:
            return _read_labels(beside), (f"labels found beside it: {beside.name}",)
        looked = ", ".join(path.name for path in label_names(Path(source)))
    raise GlyphError(
        name,
        "the pictures have no labels",
        got=f"nothing beside it named {looked}" if looked else None,
        hint="give the file that has them (--labels FILE, or labels= in Python)",
    )


def _read_labels(path: Path) -> NDArray[Any]:
    """Labels from a file: IDX, npy or npz, told by content."""
    head = first_bytes(path, 8)
    if head.startswith(ZIP_MAGICS):
        return read_npz_labels(path)
    if not head.startswith(NPY_MAGIC) and not looks_like_idx(head) and not _named_idx(path):
        raise GlyphError(
            str(path),
            "not a file of labels that is known",
            got=f"a file that begins {head[:4].hex(' ')}" if head else "an empty file",
            allowed="IDX (plain or gzipped), npy or npz",
        )
    values: NDArray[Any]
    values = read_npy(path) if head.startswith(NPY_MAGIC) else read_idx(path)
    if values.ndim > 2:
        raise GlyphError(
            str(path),
            "these are pictures, not labels",
            got=f"shape {values.shape}",
            allowed="one number a picture",
        )
    return values


def _counts_differ(name: str, images: int, labels: int) -> GlyphError:
    hint = "do both come from the same set?"
    if labels - images in (8, 16):
        hint = f"{labels - images} more is one header: was it stored with the labels?"
    return GlyphError(
        name,
        "there are not as many labels as pictures",
        got=f"{images:,} pictures, {labels:,} labels",
        hint=hint,
    )
