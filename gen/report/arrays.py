"""Arrays as one npz file, the same bytes on every machine."""

from __future__ import annotations

import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from gen.core.files import cannot_write
from gen.core.npz import write_npz_array


def write_arrays(path: Path, arrays: Mapping[str, NDArray[Any]], *, packed: bool = False) -> Path:
    """Write arrays under their names, packed or as they are; returns the path.

    Raises
    ------
    OutputError
        If the file can't be written.
    """
    try:
        with zipfile.ZipFile(path, "w", allowZip64=True) as archive:
            for name, array in arrays.items():
                # Bytes in one order, whatever the machine's own.
                ordered = array.astype(array.dtype.newbyteorder("<"))
                write_npz_array(archive, name, ordered, packed=packed)
    except OSError as error:
        raise cannot_write(path, error) from error
    return path
