"""Saving the exact array that a model was handed, as a picture and as numbers.

Most faults between a file and a model sit in this array and nowhere else.
"""

from __future__ import annotations

import io
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import OutputError
from gen.core.files import whole_file

SHOWN = 64
"""How many glyphs the picture shows."""

_GAP_PX = 1
_SIDE_PX = 896  # the sheet is enlarged by whole pixels until about this wide


def save_input(
    array: NDArray[Any], folder: str | Path, *, frame: tuple[int, int] | None = None
) -> tuple[str, ...]:
    """Write `input.png`, `input.json` and `input.npy` into a folder.

    Parameters
    ----------
    array
        What the model was handed: ndarray of shape (n, H, W), (n, H*W), (n, 1, H, W)
        or (n, H, W, 1), n >= 1.
    folder
        Made when it isn't there. Each file is written whole or not at all.
    frame
        (H, W) in px, for flat arrays; without it they are shown as squares where
        that works out, and as one row each where it doesn't.

    Returns
    -------
    tuple of str
        What was written, and the numbers, in words.

    Raises
    ------
    OutputError
        If a file can't be written.
    """
    folder = Path(folder)
    least, greatest = float(array.min()), float(array.max())
    shown = array[:SHOWN].astype(np.float64).reshape(-1, *_frame(array, frame))
    zeros, all_shown = float((array == 0).mean()), len(shown) == len(array)
    facts = {
        "shape": list(array.shape),
        "dtype": str(array.dtype),
        "least": least,
        "greatest": greatest,
        "mean": float(array.mean(dtype=np.float64)),
        "zeros": zeros,
        "picture": {"glyphs": len(shown), "black": least, "white": greatest},
    }
    raw = io.BytesIO()
    np.save(raw, array, allow_pickle=False)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(str(folder), "can't be written", got=error.strerror) from error
    for name, content in (
        ("input.npy", raw.getvalue()),
        ("input.png", _png(_sheet(shown, least, greatest))),
        ("input.json", (json.dumps(facts, indent=2) + "\n").encode("utf-8")),
    ):
        with whole_file(folder / name) as scratch:
            scratch.write_bytes(content)
    return (
        f"input     {array.dtype} {array.shape}",
        f"          least {least:g}, greatest {greatest:g}, mean {facts['mean']:.6g},"
        f" {zeros * 100:.1f} % exactly 0",
        f"          input.png shows {'them all' if all_shown else f'the first {len(shown)}'},"
        f" {least:g} black to {greatest:g} white",
        "          input.npy is the array itself, input.json has these numbers",
    )


def _frame(array: NDArray[Any], frame: tuple[int, int] | None) -> tuple[int, int]:
    if array.ndim == 4 and array.shape[-1] == 1:  # channels last
        return array.shape[1], array.shape[2]
    if array.ndim > 2:
        return array.shape[-2], array.shape[-1]
    if frame is not None and frame[0] * frame[1] == array.shape[1]:
        return frame
    side = math.isqrt(array.shape[1])
    return (side, side) if side * side == array.shape[1] else (1, array.shape[1])


def _sheet(shown: NDArray[np.float64], least: float, greatest: float) -> NDArray[np.uint8]:
    """The glyphs side by side, grey gaps between, enlarged by whole pixels."""
    scale = 255 / (greatest - least) if greatest > least else 0.0
    grey = np.rint((shown - least) * scale).astype(np.uint8)
    n, height, width = grey.shape
    across = math.ceil(math.sqrt(n * height / width)) if height > 1 else 1
    across = max(1, min(n, across))
    down = math.ceil(n / across)
    tall, wide = height + _GAP_PX, width + _GAP_PX
    sheet = np.full((down * tall + _GAP_PX, across * wide + _GAP_PX), 96, dtype=np.uint8)
    for at, glyph in enumerate(grey):
        top, left = at // across * tall + _GAP_PX, at % across * wide + _GAP_PX
        sheet[top : top + height, left : left + width] = glyph
    times = max(1, _SIDE_PX // sheet.shape[1])
    return sheet.repeat(times, axis=0).repeat(times, axis=1)


def _png(sheet: NDArray[np.uint8]) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(sheet).save(out, format="PNG")
    return out.getvalue()
