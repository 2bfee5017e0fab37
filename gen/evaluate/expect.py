"""What a model expects to be handed and what it answers with, and how ink becomes that."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.expect_keys import CHECKS, DTYPES, INKS, LAYOUTS, number, wrong
from gen.recipe.spelling import nearest_hint

__all__ = ["DTYPES", "INKS", "LAYOUTS", "Expectation", "merged", "prepare"]

_AXES = {
    "NHW": "(n, {}, {})",
    "flat": "(n, {}*{}), {} after {}",
    "N1HW": "(n, 1, {}, {})",
    "NHW1": "(n, {}, {}, 1)",
}
_SCALE = {"low", "high", "mean", "deviation"}


@dataclass(frozen=True)
class Expectation:
    """What a model expects of its input, and what is known of its answers.

    Attributes
    ----------
    layout
        "NHW" for (n, H, W), "flat" for (n, H*W), "N1HW" for (n, 1, H, W), "NHW1" for
        (n, H, W, 1); None when it is to be found on the first batch.
    dtype
        "float32", "float64" or "uint8".
    low, high
        The values at the two ends of the grey scale, linear between; `high` left
        out is 1, or 255 for uint8.
    ink
        "bright": the low end is bare paper and the high one full ink; "dark": the
        other way.
    mean, deviation
        In place of low and high: greys g from 0 to 1 are handed over as
        (g - mean) / deviation.
    axes
        "rows": row after row; "columns": the model reads the picture transposed.
    frame
        (H, W) of the pictures as one sees them; None where the model takes any.
    classes
        Names in the order of its columns or numbers; None when they are those of
        the glyphs.
    answers
        "labels", "probabilities" or "logits"; None when it is to be found.
    batch
        The most glyphs that it is handed at once; None for no limit.

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
    >>> print(Expectation(layout="flat", mean=0.5, deviation=0.25, axes="columns"))
    float32 (n, W*H), column after column, -2 for bare paper to 2 for full ink
    """

    layout: str | None = None
    dtype: str = "float32"
    low: float = 0.0
    high: float | None = None
    ink: str = "bright"
    mean: float | None = None
    deviation: float | None = None
    axes: str = "rows"
    frame: tuple[int, int] | None = None
    classes: tuple[str, ...] | None = None
    answers: str | None = None
    batch: int | None = None

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if value is not None:
                object.__setattr__(self, field.name, CHECKS[field.name](field.name, value))
        if (self.mean is None) != (self.deviation is None):
            lone = "mean" if self.deviation is None else "deviation"
            other = "deviation" if self.deviation is None else "mean"
            raise wrong(lone, f"{lone} alone", "a mean and a deviation", hint=f"give {other} too")
        if self.mean is not None:
            self._check_mean()
        for key, value in (("low", self.bottom), ("high", self.top)):
            number(key, value)
            if self.dtype == "uint8" and not (0 <= value <= 255 and value == int(value)):
                raise wrong(key, value, "a whole number from 0 to 255, since dtype is uint8")
        if not self.bottom < self.top:
            raise wrong(
                "high",
                f"{self.top:g}",
                f"more than low, which is {self.bottom:g}",
                hint='ink = "dark" turns the scale round',
            )

    def _check_mean(self) -> None:
        if self.low != 0.0 or self.high is not None:
            raise _both_scales()
        if self.dtype == "uint8":
            raise wrong("mean", "mean and deviation with dtype uint8", "float32 or float64")

    @property
    def bottom(self) -> float:
        """The least value: `low`, or what mean and deviation make of 0."""
        if self.mean is None or self.deviation is None:
            return self.low
        return -self.mean / self.deviation

    @property
    def top(self) -> float:
        """The greatest value: `high`, or what mean and deviation, or the dtype, make of it."""
        if self.mean is not None and self.deviation is not None:
            return (1.0 - self.mean) / self.deviation
        if self.high is not None:
            return self.high
        return 255.0 if self.dtype == "uint8" else 1.0

    def said(self) -> dict[str, Any]:
        """As a mapping, without what is left open."""
        whole = {field.name: getattr(self, field.name) for field in fields(self)}
        if self.mean is not None:
            del whole["low"]
        return {key: value for key, value in whole.items() if value is not None}

    def scaled(self, low: float, high: float) -> Expectation:
        """The same with other values for the two ends of the grey scale.

        A scale that isn't that of uint8 turns this dtype into float32.
        """
        dtype = "float32" if self.dtype == "uint8" and (low, high) != (0, 255) else self.dtype
        return replace(self, dtype=dtype, low=low, high=high, mean=None, deviation=None)

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
        for key in said:
            if key not in CHECKS:
                raise ModelError(
                    where,
                    f'unknown key "{key}" among what the model expects',
                    allowed=", ".join(CHECKS),
                    hint=nearest_hint(str(key), CHECKS),
                )
        try:
            if said.get("mean") is not None and {"low", "high"} & set(said):
                raise _both_scales()
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
        names = ("H", "W", "row", "row") if self.axes == "rows" else ("W", "H", "column", "column")
        axes = _AXES[self.layout].format(*names) if self.layout else "layout not known yet"
        paper, full = self.bottom, self.top
        if self.ink == "dark":
            paper, full = full, paper
        swapped = ", axes swapped" if self.axes == "columns" and self.layout != "flat" else ""
        most = "" if self.batch is None else f", at most {self.batch} at once"
        return (
            f"{self.dtype} {axes}{swapped}, {paper:g} for bare paper to {full:g} for full ink{most}"
        )


def _both_scales() -> ModelError:
    return wrong(
        "mean",
        "mean and deviation beside low or high",
        "one of the two pairs",
        hint="leave out low and high",
    )


def merged(lower: Mapping[str, Any], upper: Mapping[str, Any]) -> dict[str, Any]:
    """What two say, the upper one where both speak.

    The ends of one scale say nothing of another's: who names a mean takes back low and
    high, and the other way round, and another dtype takes back both.

    Examples
    --------
    >>> merged({"high": 16, "ink": "dark"}, {"mean": 0.1, "deviation": 0.3})
    {'ink': 'dark', 'mean': 0.1, 'deviation': 0.3}
    """
    dropped: set[str] = set()
    if {"mean", "deviation"} & set(upper):
        dropped |= {"low", "high"}
    if {"low", "high"} & set(upper):
        dropped |= {"mean", "deviation"}
    if "dtype" in upper and lower and upper["dtype"] != lower.get("dtype", "float32"):
        dropped |= _SCALE
    return {**{key: value for key, value in lower.items() if key not in dropped}, **upper}


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
    ndarray, fresh, C-contiguous and finite, in the layout, axes and dtype expected.
        Each grey is rounded once.

    Examples
    --------
    >>> dot = np.zeros((1, 2, 2), np.uint8)
    >>> dot[0, 0, 1] = 255
    >>> prepare(dot, Expectation(layout="flat", ink="dark")).tolist()
    [[1.0, 0.0, 1.0, 1.0]]
    >>> prepare(dot, Expectation(layout="flat", axes="columns")).tolist()
    [[0.0, 0.0, 1.0, 0.0]]
    """
    import cv2

    ink = np.arange(256, dtype=np.float64)
    if expects.ink == "dark":
        ink = ink[::-1]
    if expects.mean is not None and expects.deviation is not None:
        values = (ink / 255 - expects.mean) / expects.deviation
    else:
        values = expects.bottom + (expects.top - expects.bottom) * ink / 255
    if expects.dtype == "uint8":
        values = np.rint(values)
    if expects.axes == "columns":
        images = images.transpose(0, 2, 1)
    n, height, width = images.shape
    flat = np.ascontiguousarray(images).reshape(n, height * width)
    # A table of 256 values, looked up; five times as fast as numpy's own indexing.
    handed = np.asarray(cv2.LUT(flat, values.astype(expects.dtype)))
    shape = {
        "flat": (n, height * width),
        "N1HW": (n, 1, height, width),
        "NHW1": (n, height, width, 1),
    }
    return handed.reshape(shape.get(expects.layout or "NHW", (n, height, width)))
