"""npz archives with the same bytes on every day and system, and read back with care.

Format: NumPy Enhancement Proposal 1 (npy), and zip for the archive round it.
"""

from __future__ import annotations

import math
import warnings
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import InkdriftError

Array = NDArray[Any]

_AT_ONCE = 2**20


def npz_member(name: str, *, packed: bool = False) -> zipfile.ZipInfo:
    """A member that is the same on every day and system; if packed, as zlib packs it there."""
    member = zipfile.ZipInfo(f"{name}.npy", (1980, 1, 1, 0, 0, 0))
    member.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
    member.create_system = 3
    member.external_attr = 0o600 << 16
    return member


def write_npz_array(
    archive: zipfile.ZipFile, name: str, array: Array, *, packed: bool = False
) -> None:
    """Add one array to an archive that is being written."""
    member = npz_member(name, packed=packed)
    with archive.open(member, "w", force_zip64=array.nbytes >= zipfile.ZIP64_LIMIT) as to:
        np.lib.format.write_array(to, array, version=(1, 0), allow_pickle=False)


def read_npz_arrays(path: Path, names: Sequence[str], *, most_bytes: int) -> Mapping[str, Array]:
    """Read some arrays of an archive: numbers and text only, and no more than is allowed.

    Parameters
    ----------
    path
        The archive.
    names
        Of the arrays; each must be there. Others are not looked at.
    most_bytes
        How large the archive may say that these are together.

    Raises
    ------
    InkdriftError
        If the file can't be read, is no archive, is broken or cut short, lacks a
        name, needs pickle, states false sizes, or is too large.
    """
    try:
        with warnings.catch_warnings(), zipfile.ZipFile(path) as archive:
            warnings.simplefilter("ignore")  # numpy warns of headers from Python 2; they are fine
            held = {info.filename.removesuffix(".npy"): info for info in archive.infolist()}
            missing = [name for name in names if name not in held]
            if missing:
                raise InkdriftError(
                    str(path),
                    f"there is no array {missing[0]!r} in it",
                    got=", ".join(map(ascii, list(held)[:20])) or "an empty archive",
                    allowed=", ".join(names),
                )
            stated = sum(held[name].file_size for name in names)
            if stated > most_bytes:
                raise InkdriftError(
                    str(path),
                    "the archive unpacks to more than it may",
                    got=f"{stated:,} bytes",
                    allowed=f"up to {most_bytes:,} bytes",
                )
            out = {}
            for name in names:
                with archive.open(held[name]) as stream:
                    out[name] = _array(f"{path}: {name}", stream, held[name].file_size)
            return out
    except InkdriftError:
        raise
    except OSError as error:
        raise InkdriftError(str(path), "can't be read", got=error.strerror or error) from error
    except Exception as error:  # broken bytes make zipfile and numpy raise a dozen kinds
        raise InkdriftError(
            str(path), "the archive is broken", got=error, hint="copy or write it again"
        ) from error


def _array(where: str, stream: IO[bytes], size: int) -> Array:
    """One array, once its header agrees with the size of the member."""
    if np.lib.format.read_magic(stream) != (1, 0):
        raise InkdriftError(where, "unknown version of npy", allowed="1.0")
    shape, fortran, dtype = np.lib.format.read_array_header_1_0(stream)
    if dtype.hasobject or dtype.kind not in "buifU":
        raise InkdriftError(where, "holds neither numbers nor text", got=f"dtype {dtype}")
    need, rest = math.prod(shape) * dtype.itemsize, size - stream.tell()
    if need != rest:
        raise InkdriftError(
            where,
            "the array isn't as long as its header states",
            got=f"{rest:,} bytes",
            allowed=f"shape {shape} of {dtype} = {need:,} bytes",
        )
    # A piece at a time: what is stated is only believed when it comes. Reading to the
    # end makes zipfile compare the checksum.
    body = bytearray()
    while piece := stream.read(_AT_ONCE):
        body += piece
        if len(body) > need:
            break
    if len(body) != need:
        raise InkdriftError(where, "the array ends early", got=f"{len(body):,} bytes")
    if not need:
        return np.zeros(shape, dtype)
    flat: Array = np.frombuffer(bytes(body), dtype=dtype)
    return flat.reshape(shape[::-1]).T if fortran else flat.reshape(shape)
