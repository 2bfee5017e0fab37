"""Glyphs as PNG data URIs, ink dark on paper."""

from __future__ import annotations

import base64
import struct
import zlib

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]


def png(image: Pixels) -> bytes:
    """One picture as an 8-bit grey PNG (ISO/IEC 15948), ink dark.

    Written here because pages need nothing else of a picture library, which
    would have to be loaded first.

    Parameters
    ----------
    image
        ndarray of shape (H, W), uint8, 0 bare paper and 255 full ink.

    Examples
    --------
    >>> png(np.zeros((2, 3), np.uint8))[:8]
    b'\\x89PNG\\r\\n\\x1a\\n'
    """
    height, width = image.shape
    rows = np.zeros((height, width + 1), np.uint8)  # each row starts with its filter, 0: none
    rows[:, 1:] = 255 - image
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"".join(
        [
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", header),
            _chunk(b"IDAT", zlib.compress(rows.tobytes(), 9)),
            _chunk(b"IEND", b""),
        ]
    )


def data_uri(image: Pixels) -> str:
    """The same as text that a page can hold."""
    return "data:image/png;base64," + base64.b64encode(png(image)).decode("ascii")


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
