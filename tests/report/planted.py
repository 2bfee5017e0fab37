"""Evaluations made to measure: what a model with a known fault would score."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.results import (
    ClassScore,
    Curve,
    Difference,
    Evaluation,
    Peak,
    Point,
    Proportion,
    Tolerance,
)
from gen.recipe.model import Level

N = 1000
FLOOR = 0.9
DIGITS = tuple("0123456789")
Z = 1.959963984540054


def share(correct: int, n: int) -> Proportion:
    """A proportion with its Wilson interval, written out here so that nothing else is trusted."""
    p = correct / n
    middle = (p + Z * Z / (2 * n)) / (1 + Z * Z / n)
    half = Z / (1 + Z * Z / n) * math.sqrt(p * (1 - p) / n + Z * Z / (4 * n * n))
    return Proportion(
        correct, n, p, max(0.0, middle - half), min(1.0, middle + half), "Wilson score"
    )


def point(
    level: Level,
    accuracy: float,
    *,
    base: float | None = None,
    n: int = N,
    wrong_confidence: float | None = 0.55,
    ink_lost: float = 0.0,
    classes: Sequence[str] = DIGITS,
    class_accuracy: dict[str, float] | None = None,
) -> Point:
    """One level; `base` is the accuracy at nominal, None at nominal itself."""
    correct = round(accuracy * n)
    difference = None
    if base is not None:
        gap = correct / n - round(base * n) / n
        won, lost = max(0, round(gap * n)) + 5, max(0, -round(gap * n)) + 5
        p = 1e-9 if abs(gap) > 0.03 else 0.4
        difference = Difference(
            gap, max(-1, gap - 0.02), min(1, gap + 0.02), lost, won, p, min(1, 10 * p), "paired"
        )
    per = max(1, n // len(classes))
    wanted = class_accuracy or {}
    scores = tuple(
        ClassScore(name, share(round(wanted.get(name, accuracy) * per), per)) for name in classes
    )
    return Point(
        level=level,
        accuracy=share(correct, n),
        difference=difference,
        per_class=scores,
        confidence_right=0.97,
        confidence_wrong=wrong_confidence if correct < n else None,
        ink_lost=ink_lost,
        cell=f"cell{level}",
    )


def curve(
    perturbation: str,
    unit: str,
    levels: Sequence[Level],
    accuracy: Callable[[Level], float],
    *,
    nominal: Level = 0.0,
    options: tuple[tuple[str, Level | None], ...] = (),
    title: str = "",
    floor: float = FLOOR,
    n: int = N,
    lost: Callable[[Level], float] = lambda level: 0.0,
    wrong_confidence: float | None = 0.55,
    classes: Sequence[str] = DIGITS,
) -> Curve:
    """A curve with the tolerance and the peak that its accuracies have."""
    base = accuracy(nominal)
    points = tuple(
        point(
            level,
            accuracy(level),
            base=None if level == nominal else base,
            n=n,
            ink_lost=lost(level),
            wrong_confidence=wrong_confidence,
            classes=classes,
        )
        for level in levels
    )
    at = list(levels).index(nominal)
    best = max(range(len(points)), key=lambda i: (points[i].accuracy.correct, -abs(i - at)))
    gain = points[best].difference
    off = gain is not None and gain.p_holm < 0.05 and gain.low > 0
    return Curve(
        perturbation=perturbation,
        unit=unit,
        nominal=nominal,
        options=options,
        title=title or perturbation.replace("-", " "),
        points=points,
        tolerance=_tolerance(points, at, floor),
        peak=Peak(points[best].level, points[best].accuracy.value, gain, off),
    )


def _tolerance(points: tuple[Point, ...], at: int, floor: float) -> Tolerance:
    kept = [p.accuracy.value >= floor for p in points]
    if not kept[at]:
        return Tolerance(floor, None, None, False, False, ())
    if any(isinstance(p.level, str) for p in points):
        names = tuple(p.level for p, ok in zip(points, kept, strict=True) if ok)
        return Tolerance(floor, None, None, False, False, names)
    ends = []
    for step, last in ((-1, 0), (1, len(points) - 1)):
        i = at
        while i != last and kept[i + step]:
            i += step
        end = float(points[i].level)
        if i != last:
            beyond, here = points[i + step], points[i]
            fall = here.accuracy.value - beyond.accuracy.value
            end += (float(beyond.level) - end) * (here.accuracy.value - floor) / fall
        ends.append((end, i == last))
    inside = tuple(p.level for p in points if ends[0][0] <= float(p.level) <= ends[1][0])
    return Tolerance(floor, ends[0][0], ends[1][0], ends[0][1], ends[1][1], inside)


def bell(
    centre: float, width: float, top: float = 0.97, foot: float = 0.1
) -> Callable[[Level], float]:
    """Accuracy that falls off on both sides of a level."""
    return lambda level: foot + (top - foot) * math.exp(-(((float(level) - centre) / width) ** 4))


def evaluation(
    *curves: Curve, base: float | None = None, n: int = N, **changes: object
) -> Evaluation:
    """An evaluation of these curves; the baseline is their nominal accuracy."""
    if base is None:
        first = curves[0]
        base = next(p for p in first.points if p.level == first.nominal).accuracy.value
    classes = changes.pop("classes", DIGITS)
    assert isinstance(classes, tuple)
    per = n // len(classes)
    k = len(classes)
    right = round(base * per)
    confusion = tuple(
        tuple(right if i == j else (per - right if j == (i + 1) % k else 0) for j in range(k))
        for i in range(k)
    )
    made = Evaluation(
        model="tags.py:read, (N, H, W) uint8 0 to 255",
        answers="probabilities",
        glyphs="strokes, 32 x 32 px",
        glyphs_digest="ab" * 32,
        recipe="First look",
        recipe_digest="cd" * 32,
        classes=classes,
        counts=(per,) * k,
        floor=FLOOR,
        baseline=point("nominal", base, n=n, classes=classes),
        confusion=confusion,
        curves=curves,
        left_out=(),
        seconds=(("rendering", 1.5), ("model", 2.0)),
    )
    return replace(made, **changes)  # type: ignore[arg-type]


PX = [float(k) for k in range(-8, 9)]
RULES = ("as drawn", "centre of mass", "box centred", "top left", "bottom right")


def along_x(accuracy: Callable[[Level], float], **more: object) -> Curve:
    """Translation along x from -8 to +8 px."""
    return curve(
        "translation",
        "px",
        PX,
        accuracy,
        options=(("along", "x"),),
        title="translation along x",
        **more,  # type: ignore[arg-type]
    )


def healthy() -> Evaluation:
    """A model with nothing wrong, and sweeps wide enough to see it fall."""
    switch = {0.0: 0.97, 1.0: 0.2}
    rules = dict(zip(RULES, (0.97, 0.97, 0.96, 0.3, 0.28), strict=True))
    return evaluation(
        along_x(bell(0, 5), lost=lambda level: 0.03 if abs(float(level)) >= 7 else 0.0),
        curve(
            "translation",
            "px",
            PX,
            bell(0, 6),
            options=(("along", "y"),),
            title="translation along y",
        ),
        curve(
            "rotation",
            "deg",
            [float(a) for a in range(-40, 41, 10)],
            bell(0, 30),
            options=(("about", "frame"),),
        ),
        curve("scale", "ratio", [0.6, 0.8, 0.9, 1.0, 1.1, 1.2, 1.4], bell(1, 0.35), nominal=1.0),
        curve("blur", "px", [0.0, 0.5, 1.0, 1.5, 2.0, 3.0], bell(0, 2.4)),
        curve("stroke-width", "px", [-1.0, -0.5, 0.0, 0.5, 1.0, 2.0], bell(0.2, 3)),
        curve("placement", "rule", RULES, lambda level: rules[str(level)], nominal="as drawn"),
        curve("row-slip", "bytes", [-4.0, -1.0, 0.0, 1.0, 4.0], bell(0, 3)),
        curve("axis-swap", "times", [0.0, 1.0], lambda level: switch[float(level)]),
    )


def slipped(k: int = 4) -> Evaluation:
    """A model whose decoder started k bytes early, in training and in its own test."""
    base = bell(k, 1.05 * abs(k), top=0.96)(0.0)
    switch = {0.0: base, 1.0: 0.2}
    rules = dict(zip(RULES, (base, base + 0.01, base + 0.01, 0.13, base + 0.1), strict=True))
    return evaluation(
        along_x(
            bell(k, 1.05 * abs(k), top=0.96),
            lost=lambda level: 0.03 if abs(float(level)) >= 7 else 0.0,
        ),
        curve(
            "translation",
            "px",
            PX,
            bell(0, 6, top=base),
            options=(("along", "y"),),
            title="translation along y",
        ),
        curve(
            "rotation",
            "deg",
            [float(a) for a in range(-40, 41, 10)],
            lambda level: base + (0.15 if level == 10 else 0.0) - abs(float(level)) / 200,
            options=(("about", "frame"),),
        ),
        curve(
            "scale",
            "ratio",
            [0.8, 0.9, 1.0, 1.1, 1.2],
            lambda level: {0.8: 0.2, 0.9: 0.33, 1.0: base, 1.1: base + 0.05, 1.2: 0.44}[
                float(level)
            ],
            nominal=1.0,
        ),
        curve("blur", "px", [0.0, 0.5, 1.0, 1.5, 2.0, 3.0], bell(0, 2.4, top=base)),
        curve("placement", "rule", RULES, lambda level: rules[str(level)], nominal="as drawn"),
        curve(
            "row-slip",
            "bytes",
            [float(b) for b in range(-8, 9)],
            lambda level: bell(k, abs(k), top=0.962)(level) if level else base,
        ),
        curve("axis-swap", "times", [0.0, 1.0], lambda level: switch[float(level)]),
    )


def strips(made: Evaluation, side: int = 28) -> list[NDArray[np.uint8]]:
    """A bar in a frame for each level, moved by the level where that is an amount."""
    out = []
    for each in made.curves:
        strip = np.zeros((len(each.points), side, side), np.uint8)
        for i, p in enumerate(each.points):
            k = int(p.level) if not isinstance(p.level, str) else i
            strip[i, 5:23, 12:16] = 255
            strip[i, 5:8, 8:20] = 180
            strip[i] = np.roll(strip[i], k, axis=1)
        out.append(strip)
    return out


def fragile() -> Evaluation:
    """A model that reads well and bears no move at all."""
    return evaluation(along_x(bell(0, 0.9)))


def few() -> Evaluation:
    """A good model, and two dozen glyphs."""
    classes = ("row", "letter")
    return evaluation(along_x(bell(0, 5), n=24, classes=classes), n=24, classes=classes)


def guessing() -> Evaluation:
    """A model that knows nothing."""
    return evaluation(along_x(lambda level: 0.105))
