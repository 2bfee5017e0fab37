"""What a model expects to be handed, and how ink becomes that."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError

LAYOUTS = ("NHW", "flat", "N1HW")
"""The layouts, in the order in which they are tried."""

DTYPES = ("float32", "float64", "uint8")
INKS = ("bright", "dark")

_FAR = 1e30  # beyond this float32 has no room for the scale between the two ends

_AXES = {"NHW": "(n, H, W)", "flat": "(n, H*W), row after row", "N1HW": "(n, 1, H, W)"}


@dataclass(frozen=True)
class Expectation:
    """What a model expects of its input.

    Attributes
    ----------
    layout
        "NHW" for (n, H, W), "flat" for (n, H*W), "N1HW" for (n, 1, H, W); None
        when it is to be found on the first batch.
    dtype
        "float32", "float64" or "uint8".
    low, high
        The values at the two ends of the grey scale, linear between; `high` left
        out is 1, or 255 for uint8. Inputs normalised by mean m and deviation s
        have low = -m / s and high = (1 - m) / s.
    ink
        "bright": `low` is bare paper and `high` full ink; "dark": the other way.

    Raises
    ------
    ModelError
        If a value is none of these.

    Examples
    --------
    >>> Expectation(layout="flat", dtype="uint8").top
    255.0
    >>> print(Expectation(layout="NHW"))
    float32 (n, H, W), 0 for bare paper to 1 for full ink
    """

    layout: str | None = None
    dtype: str = "float32"
    low: float = 0.0
    high: float | None = None
    ink: str = "bright"

    def __post_init__(self) -> None:
        if self.layout is not None:
            _one_of("layout", self.layout, LAYOUTS)
        _one_of("dtype", self.dtype, DTYPES)
        _one_of("ink", self.ink, INKS)
        for key, value in (("low", self.low), ("high", self.top)):
            if isinstance(value, bool) or not isinstance(value, (int, float, np.number)):
                raise _wrong(key, value, "a number")
            if not math.isfinite(value) or abs(value) > _FAR:
                raise _wrong(key, value, f"a finite number, at most {_FAR:g} either way")
            if self.dtype == "uint8" and not (0 <= value <= 255 and value == int(value)):
                raise _wrong(key, value, "a whole number from 0 to 255, since dtype is uint8")
        if not self.low < self.top:
            raise _wrong(
                "high",
                f"{self.top:g}",
                f"more than low, which is {self.low:g}",
                hint='ink = "dark" turns the scale round',
            )

    @property
    def top(self) -> float:
        """The greatest value: `high`, or what the dtype makes of leaving it out."""
        if self.high is not None:
            return self.high
        return 255.0 if self.dtype == "uint8" else 1.0

    @classmethod
    def from_mapping(cls, said: Mapping[str, Any], *, where: str = "") -> Expectation:
        """Read what a model's file says, refusing what isn't known.

        Raises
        ------
        ModelError
            If a key or a value is unknown.

        Examples
        --------
        >>> Expectation.from_mapping({"dtype": "uint8", "ink": "dark"}).ink
        'dark'
        """
        known = [field.name for field in fields(cls)]
        for key in said:
            if key not in known:
                near = difflib.get_close_matches(str(key), known, n=1)
                raise ModelError(
                    where,
                    f'unknown key "{key}" among what the model expects',
                    allowed=", ".join(known),
                    hint=f'"{near[0]}"' if near else None,
                )
        try:
            return cls(**said)
        except ModelError as error:
            raise ModelError(
                where or error.where,
                error.fact,
                got=error.got,
                allowed=error.allowed,
                hint=error.hint,
            ) from None

    def __str__(self) -> str:
        axes = _AXES[self.layout] if self.layout else "layout not known yet"
        paper, full = (self.low, self.top) if self.ink == "bright" else (self.top, self.low)
        return f"{self.dtype} {axes}, {paper:g} for bare paper to {full:g} for full ink"


def prepare(images: NDArray[np.uint8], expects: Expectation) -> NDArray[Any]:
    """Turn ink into the array that a model is handed.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright; not changed.
    expects
        What the model expects, layout included.

    Returns
    -------
    ndarray, fresh, C-contiguous and finite, in the layout and dtype expected.
        Each grey is rounded once.

    Examples
    --------
    >>> dot = np.zeros((1, 2, 2), np.uint8)
    >>> dot[0, 0, 0] = 255
    >>> prepare(dot, Expectation(layout="flat", ink="dark")).tolist()
    [[0.0, 1.0, 1.0, 1.0]]
    """
    import cv2

    ink = np.arange(256, dtype=np.float64)
    if expects.ink == "dark":
        ink = ink[::-1]
    values = expects.low + (expects.top - expects.low) * ink / 255
    if expects.dtype == "uint8":
        values = np.rint(values)
    n, height, width = images.shape
    flat = np.ascontiguousarray(images).reshape(n, height * width)
    # A table of 256 values, looked up; five times as fast as numpy's own indexing.
    handed = np.asarray(cv2.LUT(flat, values.astype(expects.dtype)))
    shape = {"flat": (n, height * width), "N1HW": (n, 1, height, width)}
    return handed.reshape(shape.get(expects.layout or "NHW", (n, height, width)))


def _one_of(key: str, value: object, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        text = ", ".join(f'"{name}"' for name in allowed)
        near = difflib.get_close_matches(str(value), allowed, n=1)
        raise _wrong(
            key,
            f'"{value}"' if isinstance(value, str) else value,
            text,
            hint=f'"{near[0]}"' if near else None,
        )


def _wrong(key: str, value: object, allowed: str, *, hint: str | None = None) -> ModelError:
    return ModelError(
        "what the model expects", f"{key} can't be this", got=value, allowed=allowed, hint=hint
    )
