"""npz archives and npy arrays, read without pickle and never past a limit.

An array of 64 MiB or more is unpacked to a file without a name and looked at there, so
that neither a large set nor an archive that unpacks to one fills the memory.

Format: NumPy Enhancement Proposal 1 (npy), and zip for the archive round it.
"""

from __future__ import annotations

import math
import warnings
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any, cast

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.classes import checked_names, decoded, listed
from gen.glyphs.found import Found
from gen.glyphs.mapped import LARGE, PIECE, spooled
from gen.glyphs.stream import MOST_BYTES, read_up_to

NPY_MAGIC = b"\x93NUMPY"
ZIP_MAGICS = (b"PK\x03\x04", b"PK\x05\x06")

_MOST_HEADER_BYTES = 10_000
"""What numpy reads at most without being told that it is safe."""
_LABELS = ("labels", "label", "target", "targets", "y")
# Names of pictures, best first, each with the names that its labels may have.
# Case doesn't count.
_PAIRS: dict[str, tuple[str, ...]] = {
    "images": _LABELS,
    "image": _LABELS,
    "x": ("y", *_LABELS),
    "data": ("target", *_LABELS),
    "x_test": ("y_test",),
    "test_images": ("test_labels",),
    "images_test": ("labels_test",),
    "arr_0": ("arr_1",),
}
_WRITERS = ("writers", "writer")
_CLASSES = ("classes", "class_names", "target_names", "names")


def read_npz(path: Path) -> Found:
    """Read pictures, and labels, class names and writers if they are there, from an npz.

    Parameters
    ----------
    path
        An archive with `images` and `labels`, or x and y, data and target,
        x_test and y_test, arr_0 and arr_1; class names as `classes`; who wrote each
        as `writers`, a name or number a picture.

    Raises
    ------
    GlyphError
        If the archive is broken, holds no such names, needs pickle, or states
        sizes that are false or over the limit.
    """
    with _one_error(path), zipfile.ZipFile(path) as archive:
        held = _held(path, archive)
        by_name = {name.lower(): name for name in held}
        images = next((by_name[name] for name in _PAIRS if name in by_name), None)
        if images is None:
            raise _no_such(path, "pictures", tuple(_PAIRS), tuple(held))
        wanted = {"images": images}
        roles = (
            ("labels", _PAIRS[images.lower()]),
            ("classes", _CLASSES),
            ("writers", _WRITERS),
        )
        for role, names in roles:
            name = next((by_name[name] for name in names if name in by_name), None)
            if name is not None:
                wanted[role] = name
        _refuse_bombs(path, [held[name] for name in wanted.values()])
        # Labels first: when they can't be, many pictures needn't be unpacked.
        read = {
            role: _member(path, archive, held[name])
            for role, name in sorted(wanted.items(), key=lambda pair: pair[0] == "images")
        }
    read_from = ", ".join(f"{role} from {name!r}" for role, name in wanted.items())
    unread = listed(tuple(repr(name) for name in held if name not in wanted.values()))
    notes = (f"read {read_from}" + (f"; not read: {unread}" if unread else ""),)
    names_of = _names(path, read)
    return Found("npz", read["images"], read.get("labels"), names_of, notes, read.get("writers"))


def read_npz_labels(path: Path) -> NDArray[Any]:
    """Read only the labels of an npz archive."""
    with _one_error(path), zipfile.ZipFile(path) as archive:
        held = _held(path, archive)
        by_name = {name.lower(): name for name in held}
        names = (*_LABELS, "y_test", "test_labels")
        found = next((by_name[name] for name in names if name in by_name), None)
        if found is None and len(held) == 1:
            found = next(iter(held))
        if found is None:
            raise _no_such(path, "labels", names, tuple(held))
        _refuse_bombs(path, [held[found]])
        return _member(path, archive, held[found])


def read_npy(path: Path) -> NDArray[Any]:
    """Read one array from an npy file.

    Raises
    ------
    GlyphError
        If the file is broken, needs pickle, or isn't as long as it states.
    """
    with _one_error(path), path.open("rb") as stream:
        return _read_array(str(path), stream, path.stat().st_size)


@contextmanager
def _one_error(path: Path) -> Iterator[None]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # numpy warns of headers from Python 2; they are fine
            yield
    except (GlyphError, MemoryError):
        raise
    except Exception as cause:  # broken bytes make zipfile and numpy raise a dozen kinds
        raise GlyphError(
            str(path), "the archive is broken", got=cause, hint="copy or write it again"
        ) from cause


def _held(path: Path, archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    """The arrays by name; two of one name could belong to two different sets."""
    held: dict[str, zipfile.ZipInfo] = {}
    lower: set[str] = set()
    for info in archive.infolist():
        name = info.filename.removesuffix(".npy")
        if name.lower() in lower:
            raise GlyphError(
                str(path),
                "two arrays have the same name, so which belongs to which can't be told",
                got=f"{name!r} twice, however its letters are written",
                hint="one set in each file",
            )
        lower.add(name.lower())
        held[name] = info
    return held


def _refuse_bombs(path: Path, members: list[zipfile.ZipInfo]) -> None:
    stated = sum(member.file_size for member in members)
    if stated > MOST_BYTES:
        raise GlyphError(
            str(path),
            "the archive unpacks to more than can be a set of glyphs",
            got=f"{stated:,} bytes",
            allowed=f"up to {MOST_BYTES:,} bytes",
        )


def _member(path: Path, archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> NDArray[Any]:
    with archive.open(info) as stream:
        return _read_array(f"{path}: {info.filename}", stream, info.file_size)


def _read_array(where: str, stream: IO[bytes], size: int) -> NDArray[Any]:
    """One npy array, once its header agrees with the size of the file."""
    version = np.lib.format.read_magic(stream)
    if version not in ((1, 0), (2, 0)):
        raise GlyphError(where, "unknown version of npy", got=version, allowed="1.0 or 2.0")
    if version == (1, 0):
        shape, fortran, dtype = np.lib.format.read_array_header_1_0(stream)
    else:
        _refuse_long_header(where, stream)
        shape, fortran, dtype = np.lib.format.read_array_header_2_0(stream)
    if dtype.hasobject:
        raise GlyphError(
            where,
            "needs pickle, which could run code, so it isn't read",
            got=f"dtype {dtype}",
            hint="save plain numbers, or names as text (dtype U)",
        )
    if dtype.kind not in "buifUS":
        raise GlyphError(where, "holds neither numbers nor names", got=f"dtype {dtype}")
    need, rest = math.prod(shape) * dtype.itemsize, size - stream.tell()
    if need != rest:
        raise GlyphError(
            where,
            "the array isn't as long as its header states",
            got=f"{rest:,} bytes",
            allowed=f"shape {shape} of {dtype} = {need:,} bytes",
        )
    if need > MOST_BYTES or need == 0:
        raise GlyphError(
            where, "the array is empty" if need == 0 else "the array is too large", got=shape
        )
    flat: NDArray[Any]
    if need >= LARGE:
        flat = spooled(_pieces(where, stream, need), (math.prod(shape),), dtype)
    else:
        # One byte more makes zipfile reach the end and compare the checksum.
        body = read_up_to(cast(Any, stream), need + 1)
        if len(body) != need:
            raise GlyphError(where, "the array ends early", got=f"{len(body):,} bytes")
        flat = np.frombuffer(body, dtype=dtype)
    return flat.reshape(shape[::-1]).T if fortran else flat.reshape(shape)


def _refuse_long_header(where: str, stream: IO[bytes]) -> None:
    """Refuse a header of up to 4 GiB, room for which would be made before it is read."""
    start = stream.tell()
    length = int.from_bytes(stream.read(4), "little")
    if length > _MOST_HEADER_BYTES:
        raise GlyphError(
            where,
            "the header is longer than any",
            got=f"{length:,} bytes",
            allowed=f"up to {_MOST_HEADER_BYTES:,}",
        )
    stream.seek(start)


def _pieces(where: str, stream: IO[bytes], need: int) -> Iterator[bytes]:
    """What an array holds, piece by piece, to its end, where the checksum is compared."""
    seen = 0
    while piece := stream.read(min(PIECE, need + 1 - seen)):
        seen += len(piece)
        yield piece
    if seen != need:
        raise GlyphError(where, "the array ends early", got=f"{seen:,} bytes")


def _names(path: Path, read: dict[str, NDArray[Any]]) -> tuple[str, ...] | None:
    if "classes" not in read:
        return None
    where = f"{path}: classes"
    if read["classes"].ndim != 1:
        raise GlyphError(where, "class names must be one row", got=f"shape {read['classes'].shape}")
    names, labels = read["classes"], read.get("labels")
    numbers = names.dtype.kind in "uif" and names.tolist() != list(range(len(names)))
    if numbers and labels is not None and labels.dtype.kind not in "US":
        raise GlyphError(
            where,
            "whether labels are these numbers or their places can't be told",
            got=listed(tuple(map(str, names.tolist()))),
            allowed="0, 1, 2 ..., or names as text",
            hint="leave the class names out if each label is its own number",
        )
    return checked_names(where, decoded(where, names))


def _no_such(path: Path, what: str, names: tuple[str, ...], held: tuple[str, ...]) -> GlyphError:
    return GlyphError(
        str(path),
        f"no {what} under a known name",
        got=listed(held) or "an empty archive",
        allowed=", ".join(names),
        hint="save with np.savez(file, images=..., labels=...)",
    )
