"""Curves and answer sheets from answers that a test makes up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.curves import find_peak
from gen.evaluate.intervals import proportions
from gen.evaluate.results import ClassScore, Curve, Difference, Point
from gen.evaluate.sheet import Record, Row, Sheet
from gen.evaluate.tolerance import tolerance
from gen.recipe.model import Level

NO_TEST = Difference(0.0, -1.0, 1.0, 0, 0, 1.0, 1.0, "")


def told(
    levels: Sequence[Level],
    answered: NDArray[Any],
    labels: NDArray[Any],
    *,
    nominal: Level = 0.0,
    floor: float = 0.9,
    classes: int = 10,
    limits: tuple[float, float] = (-np.inf, np.inf),
    whole: bool = False,
) -> tuple[Curve, Sheet]:
    """A curve with its sheet, from answers (L, N) to glyphs with labels (N,)."""
    names = tuple("abcdefghijklmnopqrstuvwxyz"[:classes])
    cells = ["nominal" if level == nominal else f"cell {level}" for level in levels]
    sheet = Sheet(cells, labels.astype(np.intp), writers=None, classes=names)
    points = []
    for level, cell, said in zip(levels, cells, answered, strict=True):
        sheet.put(
            cell,
            np.arange(len(labels)),
            Record(said.astype(np.int16), None, np.zeros(len(labels))),
        )
        per_class = tuple(
            ClassScore(names[k], proportions((said[labels == k] == k).sum(), held)[0])
            for k, held in enumerate(np.bincount(labels, minlength=classes))
            if held
        )
        (accuracy,) = proportions((said == labels).sum(), len(labels))
        difference = None if level == nominal else NO_TEST
        points.append(Point(level, accuracy, difference, per_class, None, None, 0.0, cell))
    curve = Curve(
        perturbation="translation",
        unit="px",
        nominal=nominal,
        options=(),
        title="translation",
        points=tuple(points),
        tolerance=tolerance(
            levels,
            [point.accuracy.value for point in points],
            nominal=nominal,
            floor=floor,
            limits=limits,
            whole=whole,
        ),
        peak=find_peak(points, nominal),
    )
    return curve, sheet


def told_right(levels: Sequence[Level], right: NDArray[Any], **more: Any) -> tuple[Curve, Sheet]:
    """The same from which glyphs are read rightly, (L, N) bool; there are two classes."""
    labels = np.zeros(right.shape[1], np.intp)
    return told(levels, np.where(right, 0, 1), labels, classes=2, **more)


def row(confidence: Any, right: Any) -> Row:
    """A cell of two classes with confidences in what was answered."""
    sure, true = np.asarray(confidence, np.float32), np.asarray(right, np.bool_)
    share = np.where(true, sure, 1 - sure)
    return Row(
        answered=np.where(true, 0, 1).astype(np.int16),
        right=true,
        confidence=sure,
        true_share=share.astype(np.float32),
        squared=(2 * (1 - share) ** 2).astype(np.float32),
        ink_lost=0.0,
    )
