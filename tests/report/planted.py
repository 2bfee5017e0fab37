"""Evaluations made to measure: what a model with a known fault would score."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.results import (
    Behaviour,
    Breaking,
    Calibration,
    ClassScore,
    Confused,
    Curve,
    Declining,
    Difference,
    Estimate,
    Evaluation,
    FailedCell,
    FirstClass,
    Forecast,
    ForeignMarks,
    GridMap,
    HiddenBlur,
    Judged,
    Kept,
    LossShare,
    Peak,
    Point,
    Proportion,
    ReliabilityBin,
    Side,
    Summary,
    Tolerance,
)
from gen.recipe.model import Level
from gen.report.shown import (
    Followed,
    Picture,
    Said,
    Shown,
    ShownBlend,
    ShownGrid,
    ShownKind,
    ShownSweep,
)

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
        misread=_next_for_each(scores),
    )


def _next_for_each(scores: Sequence[ClassScore]) -> tuple[tuple[int, int, int], ...]:
    """What is read wrong is read as the next class."""
    wrong = [(i, (i + 1) % len(scores), s.accuracy) for i, s in enumerate(scores)]
    return tuple((i, j, part.n - part.correct) for i, j, part in wrong if part.n > part.correct)


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


def strip(curve: Curve, side: int = 28) -> NDArray[np.uint8]:
    """A bar in a frame for each level, moved by the level where that is an amount."""
    out = np.zeros((len(curve.points), side, side), np.uint8)
    for i, p in enumerate(curve.points):
        k = int(p.level) if not isinstance(p.level, str) else i
        out[i, 5:23, 12:16] = 255
        out[i, 5:8, 8:20] = 180
        out[i] = np.roll(out[i], k, axis=1)
    return out


def shown(made: Evaluation, side: int = 28) -> Shown:
    """Pictures for an evaluation: two bars followed, one upright, one lying, and misread ones."""
    return Shown(
        sweeps=tuple(shown_sweep(made, strip(curve, side)) for curve in made.curves),
        grids=tuple(
            ShownGrid(
                tuple(
                    tuple(None if p is None else picture(made, side, i + j) for j, p in row)
                    for i, row in enumerate(map(enumerate, grid.points))
                )
            )
            for grid in made.grids
        ),
        blends=tuple(
            ShownBlend(tuple(picture(made, side, i) for i in range(12))) for _ in made.blends
        ),
        at_nominal=tuple(picture(made, side, i, wrong=True) for i in range(7)),
        strangers=tuple(
            ShownKind(marks.kind, np.full((6, side, side), 90, np.uint8)) for marks in made.foreign
        ),
    )


def shown_sweep(made: Evaluation, images: NDArray[np.uint8]) -> ShownSweep:
    """The pictures of one curve: of its levels four are misread each, at the last none."""
    side = images.shape[1]
    levels = len(images)
    right = Said(made.classes[0], 0.75, True)
    wrong = Said(made.classes[1], 0.5, False)
    said = tuple(right if i % 3 else wrong for i in range(levels))
    misread = tuple(
        tuple(picture(made, side, i + j, wrong=True) for j in range(4 if i < levels - 1 else 0))
        for i in range(levels)
    )
    return ShownSweep(
        followed=(
            Followed(3, made.classes[0], images, said),
            Followed(8, made.classes[-1], images.transpose(0, 2, 1).copy(), said[::-1]),
        ),
        misread=misread,
        first_lost=misread[1][:3] if levels > 2 else (),
        first_lost_at=1 if levels > 2 else None,
    )


def picture(made: Evaluation, side: int, k: int, *, wrong: bool = False) -> Picture:
    """A spot at some place, read rightly or not."""
    image = np.zeros((side, side), np.uint8)
    image[4 : side - 4, 6 + k % (side - 12)] = 255
    true = k % len(made.classes)
    answered = (true + 1) % len(made.classes) if wrong else true
    said = Said(made.classes[answered], None if made.answers == "labels" else 0.625, not wrong)
    return Picture(k, made.classes[true], image, said, np.ascontiguousarray(image.T))


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


# What the bootstrap, calibration, grids, blends and marks of no class add


def difference(gap: float, n: int = N) -> Difference:
    """A paired difference of so much, clear where it is over three points."""
    won, lost = max(0, round(gap * n)) + 5, max(0, -round(gap * n)) + 5
    p = 1e-9 if abs(gap) > 0.03 else 0.4
    low, high = max(-1.0, gap - 0.02), min(1.0, gap + 0.02)
    return Difference(gap, low, high, lost, won, p, min(1.0, 10 * p), "paired")


def estimate(value: float | None, half: float = 0.2, *, beyond: str = "") -> Estimate:
    """A figure with an interval of two halves; "low" or "high" lies beyond the levels."""
    if value is None:
        return Estimate(None, None, None, 1.0, 0.0, "bootstrap percentile, 2,000 draws of glyphs")
    low = None if beyond == "low" else value - half
    high = None if beyond == "high" else value + half
    share_beyond = 0.3 if beyond else 0.0
    return Estimate(
        value, low, high, 0.0, share_beyond, "bootstrap percentile, 2,000 draws of glyphs"
    )


def calibration(accuracy: float, confidence: float, n: int = N) -> Calibration:
    """Two bins, in which the model is as much too sure as on the whole."""
    gap = confidence - accuracy
    few = n // 4
    bins = []
    for low, high, many in ((0.6, 0.7, few), (0.9, 1.0, n - few)):
        told = (low + high) / 2
        right = share(round(min(1.0, max(0.0, told - gap)) * many), many)
        bins.append(ReliabilityBin(low, high, many, told, right))
    kept = tuple(
        Kept(
            part,
            1.0 - 0.5 * part,
            share(round(min(1.0, accuracy + (1 - part) / 20) * n * part), round(n * part)),
        )
        for part in (1.0, 0.95, 0.9, 0.8, 0.5)
    )
    return Calibration(1.2 * (1 - accuracy), 2.0 * (1 - accuracy), abs(gap), gap, tuple(bins), kept)


def sure_of(made: Curve, confidence: Callable[[Point], float]) -> Curve:
    """The same curve from a model whose mean confidence is known."""
    points = tuple(
        replace(p, calibration=calibration(p.accuracy.value, confidence(p), p.accuracy.n))
        for p in made.points
    )
    return replace(made, points=points)


def summed_up(made: Curve, **changes: object) -> Curve:
    """The same curve with a summary whose ends are those of its tolerance."""
    low, high = made.tolerance.low, made.tolerance.high
    levels = [float(p.level) for p in made.points if not isinstance(p.level, str)]
    nominal = made.nominal
    summary = Summary(
        tolerance_low=None if low is None or made.tolerance.open_low else estimate(low),
        tolerance_high=None if high is None or made.tolerance.open_high else estimate(high),
        half_low=None,
        half_high=None,
        area=estimate(sum(p.accuracy.value for p in made.points) / len(made.points), 0.01),
    )
    if levels and not isinstance(nominal, str):
        up = tuple(level for level in levels if level > nominal)
        down = tuple(level for level in reversed(levels) if level < nominal)
        sides = []
        for name, way in (("down", down), ("up", up)):
            if way:
                middle = way[len(way) // 2]
                counts = tuple(40 for _ in way)
                quartiles = (way[0], middle, None)
                sides.append(Breaking(name, way, counts, N - 40 * len(way), quartiles))
        summary = replace(
            summary,
            breaking=tuple(sides),
            half_low=estimate(down[len(down) // 2]) if down else None,
            half_high=estimate(up[len(up) // 2], beyond="high") if up else None,
        )
    return replace(made, summary=replace(summary, **changes))  # type: ignore[arg-type]


def with_class(made: Curve, name: str, accuracy: dict[float, float]) -> Curve:
    """The same curve, one class of which is read so well at some levels; the others as before."""

    def changed(p: Point) -> Point:
        if p.level not in accuracy:
            return p
        scores, lost = [], 0
        for each in p.per_class:
            own = each.accuracy
            if each.name == name:
                right = round(accuracy[float(p.level)] * own.n)
                lost = own.correct - right
                own = share(right, own.n)
            scores.append(ClassScore(each.name, own))
        whole = share(p.accuracy.correct - lost, p.accuracy.n)
        return replace(p, accuracy=whole, per_class=tuple(scores))

    return replace(made, points=tuple(changed(p) for p in made.points))


def crossed(
    accuracy: Callable[[float, float], float],
    down: Sequence[float] = (0.0, 10.0, 20.0, 30.0),
    across: Sequence[float] = (0.0, 0.5, 1.0, 2.0),
) -> GridMap:
    """Rotation by blur."""
    base = accuracy(0.0, 0.0)
    rows = tuple(
        tuple(
            replace(
                point("x", accuracy(a, b), base=None if a == 0 == b else base),
                level=f"grid1 {a:g}deg {b:g}px",
            )
            for b in across
        )
        for a in down
    )
    return GridMap(
        "rotation by blur",
        Side("rotation", "deg", 0.0, (("about", "frame"),), "rotation", tuple(down)),
        Side("blur", "px", 0.0, (), "blur", tuple(across)),
        rows,
    )


def depot_camera(accuracy: float = 0.82, base: float = 0.97) -> Forecast:
    """A blend of three, of which blur costs most."""
    loss = accuracy - base
    parts = []
    for title, unit, part in (
        ("translation along x", "px", 0.2),
        ("blur", "px", 0.7),
        ("rotation", "deg", 0.1),
    ):
        alone, without = difference(part * loss), difference(-part * loss)
        parts.append(LossShare(title, unit, alone, without, part))
    scored = replace(share(round(accuracy * 4 * N), 4 * N), method="bootstrap by glyphs")
    cells = tuple(f"blend-01-draw-{draw}" for draw in (1, 2, 3, 4))
    return Forecast("Depot camera", 4, scored, difference(loss), tuple(parts), cells)


KINDS_OF_STRANGERS = ("blank", "noise", "scribble", "two marks", "strangers")


def strangers(
    named: Sequence[float] = (0.9, 0.4, 0.02, 0.3, 0.25), *, labels: bool = False
) -> tuple[ForeignMarks, ...]:
    """Marks of no class, some of them surely named."""
    return tuple(
        ForeignMarks(
            kind, share(200 if labels else round(200 * part), 200),
            None if labels else 0.5 + part / 2, "7", 0.6,
        )
        for kind, part in zip(KINDS_OF_STRANGERS, named, strict=True)
    )  # fmt: skip


def declining(threshold: float = 0.87) -> Declining:
    """Turns most strangers away, and few of the marks that have a class."""
    return Declining(
        threshold, share(465, 500), share(21, 500), share(474, 479),
        "the least confidence that turns away 95 % of the marks of no class",
    )  # fmt: skip


def judged(kept: bool, says: str = "translation along x from -2 to 2 px keeps 95 %") -> Judged:
    """A requirement, kept or missed."""
    scored = share(968 if kept else 931, 1000)
    return Judged(says, kept, "lower end", 0.95, -2.0, scored, scored.low, curve=0)


def thorough() -> Evaluation:
    """A model in which something is to be said about everything that can be asked."""
    made = healthy()
    curves = []
    broken = with_class(made.curves[0], "4", {2.0: 0.61})
    for index, each in enumerate((broken, *made.curves[1:])):
        changes: dict[str, object] = {}
        if index == 0:
            first = FirstClass("4", 2.0, share(61, 100))
            pair = Confused("4", "9", 2.0, share(33, 100))
            changes = {"first_class": first, "confused": pair}
        if each.perturbation == "rotation":
            changes = {
                "hidden_blur": (
                    HiddenBlur(10.0, 0.35, 0.012, 0.4),
                    HiddenBlur(-10.0, 0.35, 0.012, 0.4),
                )
            }
        summed = summed_up(each, **changes)
        curves.append(sure_of(summed, lambda p: max(0.85, p.accuracy.value)))
    base = replace(made.baseline, calibration=calibration(0.97, 0.975), misread=((0, 1, 3),))
    return replace(
        made,
        baseline=base,
        curves=tuple(curves),
        grids=(crossed(_brittle),),
        blends=(depot_camera(),),
        foreign=strangers(),
        declining=declining(),
        behaviour=Behaviour(64, 0, 2, 1, 0.031, ("a batch of 256 was halved: out of memory",)),
        failed=(FailedCell("01-translation-x+9px", "ValueError: the mark is out of the picture"),),
        requirements=(judged(False), judged(True, "blur to 0.5 px keeps 90 %")),
        left_out=("3 glyphs without ink",),
        resampled="glyphs",
    )


def _brittle(angle_deg: float, sigma_px: float) -> float:
    """Each change alone costs little, both together much."""
    alone = 0.97 - angle_deg / 1000 - sigma_px / 100
    return alone - (0.25 if angle_deg >= 20 and sigma_px >= 1 else 0.0)
