"""Whether a model answers the same glyph alike, however it is asked.

Training-time layers left on, statistics taken over the batch, or answers handed back in
another order all show here and in no accuracy.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.answers import Answers
from gen.evaluate.model import Model
from gen.evaluate.results import Behaviour
from gen.glyphs.subset import spread_over

Pixels = NDArray[np.uint8]

ALONE = 16
"""Glyphs that are asked about one by one."""
CHANGED = 1e-3
"""Change of a confidence that counts. Sums of float32 taken in another order, as libraries
do for batches of another size, move a confidence by far less: by 2.4e-7 at most in two
convolutional networks run by PyTorch, and not at all by OpenCV (tests/outside)."""


def behaviour(model: Model, images: Pixels) -> Behaviour:
    """Ask about the same glyphs again, alone, and at other places of the batch.

    Parameters
    ----------
    model
        Looked at before.
    images
        ndarray of shape (n, H, W), uint8, ink bright, n >= 1: those of the first look.

    Raises
    ------
    ModelError
        If the model fails on the whole batch.

    Examples
    --------
    A model that compares each picture with the mean of its batch:

    >>> from gen.evaluate.model import wrap_model
    >>> def darker_than_most(x):
    ...     ink = x.sum(axis=(1, 2))
    ...     return (ink > ink.mean()).astype(int)
    >>> dots = np.zeros((4, 2, 2), np.uint8)
    >>> dots[2:] = 200
    >>> model = wrap_model(darker_than_most)
    >>> _ = model.first_look(dots, np.array([0, 0, 1, 1]), ("pale", "dark"))
    >>> behaviour(model, dots).alone
    2
    """
    n = len(images)
    first, again = (model.answer(images, cell="nominal, asked again") for _ in range(2))
    order = np.roll(np.arange(n), n // 2 + 1)
    back = np.argsort(order)
    notes: list[str] = []
    elsewhere = _only(model.answer(images[order], cell="nominal, in another order"), back)
    few = spread_over(n, ALONE)
    changed, changes = _changed(first, again), [_largest(first, again), _largest(first, elsewhere)]
    alone = 0
    for place in few.tolist():
        here = _only(first, np.array([place]))
        try:
            single = model.answer(images[place : place + 1], cell="nominal, one by one")
        except ModelError as error:
            why = error.fact if error.got is None else f"{error.fact}: {error.got}"
            notes.append(f"it can't be asked about one glyph alone: {why}")
            break
        alone += int(_changed(here, single).any())
        changes.append(_largest(here, single))
    told = [change for change in changes if change is not None]
    return Behaviour(
        n=n,
        again=int(changed.sum()),
        alone=alone,
        elsewhere=int(_changed(first, elsewhere).sum()),
        largest=max(told) if told else None,
        notes=tuple(notes),
    )


def _only(answers: Answers, places: NDArray[np.intp]) -> Answers:
    return Answers(
        answers.labels[places],
        None if answers.confidence is None else answers.confidence[places],
        None if answers.probabilities is None else answers.probabilities[places],
    )


def _changed(one: Answers, other: Answers) -> NDArray[np.bool_]:
    """Which glyphs got another answer."""
    differs = np.asarray(one.labels != other.labels)
    if one.confidence is not None and other.confidence is not None:
        differs = differs | (np.abs(one.confidence - other.confidence) > CHANGED)
    return differs


def _largest(one: Answers, other: Answers) -> float | None:
    if one.confidence is None or other.confidence is None:
        return None
    return float(np.abs(one.confidence - other.confidence).max())
