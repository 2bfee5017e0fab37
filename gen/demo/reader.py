"""A small reader, trained on the spot in whole numbers.

One hidden layer, and scores that are pushed to +1 for the right class and to -1
for the others wherever they fall short (squared hinge loss, one class against the
rest). Nothing but products, sums and comparisons: every value is a whole multiple
of a power of two with few enough bits that float64 holds each sum exactly, so the
reader comes out the same, bit for bit, on every machine and every version of
numpy, and so does the whole demo.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from gen.core.draws import words

Real = NDArray[np.float64]
HIDDEN = 64
EPOCHS = 16
BATCH = 64
RATE, MOMENTUM = 1 / 2048, 7 / 8
_KEPT_BITS = 12  # of the weights, once trained: they fit 16-bit files


def _grid(values: Real, bits: int) -> Real:
    """The nearest whole multiples of 2**-bits."""
    return np.rint(values * 2.0**bits) * 2.0**-bits


@dataclass(frozen=True)
class Reader:
    """A trained reader of crate tags.

    Attributes
    ----------
    first, second
        Weights of shape (H*W + 1, HIDDEN) and (HIDDEN + 1, classes); the last
        row of each is for the constant 1.
    """

    first: Real
    second: Real

    expects: ClassVar[dict[str, str]] = {"layout": "flat", "dtype": "uint8"}

    def scores(self, pictures: NDArray[np.uint8]) -> Real:
        """One score a class, about -1 to 1, ndarray of shape (n, classes)."""
        _, scores = _forward(_inputs(pictures), self.first, self.second)
        return scores

    def predict_proba(self, pictures: NDArray[np.uint8]) -> Real:
        """What each score is over -1, as a share of the whole."""
        shares = np.maximum(self.scores(pictures), -0.999) + 1.0
        return np.asarray(shares / shares.sum(axis=1, keepdims=True))

    def save(self, path: Path) -> None:
        """Write the weights as 16-bit whole numbers in steps of 2**-12."""
        steps = 2.0**_KEPT_BITS
        np.savez(
            path,
            first=(self.first * steps).astype("<i2"),
            second=(self.second * steps).astype("<i2"),
        )

    @classmethod
    def load(cls, path: Path) -> Reader:
        """Read what `save` wrote."""
        with np.load(path) as kept:
            first, second = (kept[name] / 2.0**_KEPT_BITS for name in ("first", "second"))
        return cls(first, second)


def _inputs(pictures: NDArray[np.uint8]) -> Real:
    """Ink from 0 to almost 1, flat, with a constant 1 behind."""
    flat = pictures.reshape(len(pictures), -1) / 256.0
    return np.concatenate([flat, np.ones((len(flat), 1))], axis=1)


def _forward(inputs: Real, first: Real, second: Real) -> tuple[Real, Real]:
    hidden = _grid(np.maximum(inputs @ first, 0.0), 10)
    hidden = np.concatenate([hidden, np.ones((len(hidden), 1))], axis=1)
    return hidden, hidden @ second


def _start(rows: int, columns: int, purpose: str, reach: float) -> Real:
    """Even draws from -reach to reach."""
    draws = words(1, purpose, np.arange(rows), count=columns) >> np.uint64(11)
    return _grid((draws.astype(np.float64) * 2.0**-52 - 1.0) * reach, 20)


def _shuffled(count: int, epoch: int) -> NDArray[np.intp]:
    draws = words(2, "demo order", np.arange(count), stream=epoch, count=1)[:, 0]
    return np.argsort(draws, kind="stable")


def train(
    pictures: NDArray[np.uint8],
    labels: NDArray[np.intp],
    classes: int,
    *,
    progress: Callable[[int, int], None] | None = None,
) -> Reader:
    """Train a reader.

    Parameters
    ----------
    pictures
        ndarray of shape (n, H, W), uint8.
    labels
        ndarray of shape (n,), 0 to classes - 1.
    classes
        Number of classes.
    progress
        Called with epochs done and epochs in all.
    """
    inputs = _inputs(pictures)
    wanted = np.where(labels[:, None] == np.arange(classes), 1.0, -1.0)
    first = _start(inputs.shape[1], HIDDEN, "demo first layer", 1 / 16)
    second = _start(HIDDEN + 1, classes, "demo second layer", 1 / 8)
    push_first, push_second = np.zeros_like(first), np.zeros_like(second)
    for epoch in range(EPOCHS):
        rate = RATE if epoch < EPOCHS - 3 else RATE / 4
        order = _shuffled(len(inputs), epoch)
        for start in range(0, len(order) - BATCH + 1, BATCH):
            some = order[start : start + BATCH]
            hidden, scores = _forward(inputs[some], first, second)
            short = np.maximum(0.0, 1.0 - wanted[some] * scores)
            slope = _grid(-wanted[some] * short, 12)
            back = _grid(np.where(hidden[:, :-1] > 0, slope @ second[:-1].T, 0.0), 12)
            push_second = _grid(MOMENTUM * push_second - rate * (hidden.T @ slope), 20)
            push_first = _grid(MOMENTUM * push_first - rate * (inputs[some].T @ back), 20)
            second, first = second + push_second, first + push_first
        if progress is not None:
            progress(epoch + 1, EPOCHS)
    return Reader(_grid(first, _KEPT_BITS), _grid(second, _KEPT_BITS))
