"""Which reader a source needs, told by what is in it."""

from __future__ import annotations

from pathlib import Path

from gen.core.errors import GlyphError
from gen.glyphs.archive import NPY_MAGIC, ZIP_MAGICS, read_npy, read_npz
from gen.glyphs.found import Found
from gen.glyphs.grid import LINES, Grid, read_grid
from gen.glyphs.idx import looks_like_idx, named_idx, read_idx_noted
from gen.glyphs.picture import picture_kind
from gen.glyphs.stream import first_bytes
from gen.glyphs.table import looks_like_table, read_table
from gen.glyphs.table_form import PLACES

SOURCES = (
    "IDX or a table with one picture a row (plain or gzipped), npz, npy, InkML, SVG, a font, "
    "or a folder of pictures with one sub-folder a class"
)
_HEAD = 1 << 16


def read(
    path: Path,
    *,
    folders: str = "class",
    sizes_differ: bool = False,
    frame: tuple[int, int] | None = None,
    label: str | None = None,
    grid: Grid | None = None,
) -> Found:
    """Read a source by whatever its content says it is.

    Parameters
    ----------
    path
        A file or a folder.
    folders
        What the sub-folders of a folder stand for, as `read_folder` has it.
    sizes_differ
        Whether pictures of different sizes will do, because they are fitted afterwards.
    frame
        (H, W) of pictures that are stored as rows of numbers; square when left out.
    label
        "first" or "last", where the labels of a table are; found out when left out. Of a
        grid "rows" or "columns", when each of them is a class.
    grid
        How one large picture is cut; for nothing else.

    Raises
    ------
    GlyphError
        If it isn't there, is nothing that is known, or is broken.
    """
    if is_dir(path):
        if grid is not None:
            raise GlyphError(str(path), "a grid cuts one picture, and this is a folder")
        from gen.glyphs.folder import read_folder

        return read_folder(path, folders=folders, sizes_differ=sizes_differ)
    head = first_bytes(path, 8)
    if grid is not None:
        return read_grid(path, grid, lines=label if label in LINES else None)
    if head.startswith(ZIP_MAGICS):
        _refuse_packed(path)
        return read_npz(path)
    if head.startswith(NPY_MAGIC):
        _refuse_packed(path)
        return Found("array", read_npy(path))
    if looks_like_idx(head) or named_idx(path):
        images, notes = read_idx_noted(path)
        if images.ndim == 1:
            raise GlyphError(
                str(path),
                "these are labels, not pictures",
                got=f"an IDX file of 1 dimension, {len(images):,} numbers",
                hint="name the file of images; labels beside it are found",
            )
        return Found("IDX", images, notes=notes)
    start = first_bytes(path, _HEAD)
    if start and picture_kind(head) is None and looks_like_table(path, start):
        return read_table(path, frame=frame, label=label if label in PLACES else None)
    raise _unknown(path, head)


def is_dir(path: Path) -> bool:
    """Whether a source is a folder.

    Raises
    ------
    GlyphError
        If no path could be so.
    """
    try:
        return path.is_dir()
    except (OSError, ValueError) as cause:  # ValueError: a zero byte in the path
        raise GlyphError(str(path), "can't be read", got=cause) from cause


def _refuse_packed(path: Path) -> None:
    with path.open("rb") as plain:
        if plain.read(2) == b"\x1f\x8b":
            raise GlyphError(str(path), "gzip round an npz or npy isn't read", hint="gunzip it")


def _unknown(path: Path, head: bytes) -> GlyphError:
    where = str(path)
    if not head:
        return GlyphError(where, "the file is empty", allowed=SOURCES)
    kind = picture_kind(head)
    if kind is not None:
        return GlyphError(
            where,
            "one picture has no label",
            got=f"a {kind} file",
            hint="name a folder that has one sub-folder of pictures for each class; or, of one "
            "picture with many glyphs, say how they are laid (--grid ROWSxCOLUMNS)",
        )
    return GlyphError(
        where,
        "not a source of glyphs that is known",
        got=f"a file that begins {head[:4].hex(' ')}",
        allowed=SOURCES,
    )
