"""Small sources of glyphs, made on the spot."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

WriteIdx = Callable[..., Path]


def idx_bytes(values: np.ndarray, kind: int = 8) -> bytes:
    """An array as IDX: the format, written apart from the package's reader."""
    header = bytes([0, 0, kind, values.ndim])
    for size in values.shape:
        header += int(size).to_bytes(4, "big")
    return header + values.tobytes()


@pytest.fixture
def tags() -> np.ndarray:
    """Six crate tags of 7 x 5 px with bright ink, each its own."""
    images = np.zeros((6, 7, 5), dtype=np.uint8)
    for place in range(6):
        images[place, 1 : 3 + place % 4, 2] = 255 - place
    return images


@pytest.fixture
def write_idx(tmp_path: Path) -> WriteIdx:
    def write(name: str, values: np.ndarray, *, extra: bytes = b"", cut: int = 0) -> Path:
        raw = idx_bytes(values) + extra
        path = tmp_path / name
        path.write_bytes(raw[: len(raw) - cut])
        return path

    return write
