"""What a reader hands over, before range, polarity and names are settled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from numpy.typing import NDArray

from gen.glyphs.ragged import Pictures


@dataclass(frozen=True)
class Found:
    """Pictures and labels as their source has them.

    Attributes
    ----------
    kind
        "IDX", "npz", "folder", "table", "grid" or "array".
    images
        ndarray of any layout and range that `gen.glyphs.arrays` understands; or pictures
        of different sizes, which have to be fitted.
    labels
        ndarray of shape (N,) of numbers or names; None when the source has none.
    classes
        Class names that came with the source; None when it has none.
    notes
        What was found and done so far, a line each.
    writers
        ndarray of shape (N,) of numbers or names; None when the source doesn't say who
        wrote what.
    """

    kind: str
    images: NDArray[Any] | Pictures
    labels: NDArray[Any] | None = None
    classes: tuple[str, ...] | None = None
    notes: tuple[str, ...] = ()
    writers: NDArray[Any] | None = None
