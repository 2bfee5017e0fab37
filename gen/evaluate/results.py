"""What scoring a model gives: plain frozen values that a report reads.

Nothing here computes; `curves.py` fills these in and `gen.report` prints them.
"""

from __future__ import annotations

from dataclasses import dataclass

from gen.recipe.model import Level


@dataclass(frozen=True)
class Proportion:
    """A share of n with its interval.

    Attributes
    ----------
    correct, n
        Counts.
    value, low, high
        The share and the ends of its 95 % interval, between 0 and 1.
    method
        Name of the interval: "Wilson score".
    """

    correct: int
    n: int
    value: float
    low: float
    high: float
    method: str


@dataclass(frozen=True)
class Difference:
    """How accuracy differs from nominal on the same glyphs.

    Attributes
    ----------
    value, low, high
        Accuracy at the level less accuracy at nominal, with its 95 % interval
        (negative is a drop).
    only_nominal, only_level
        Glyphs read rightly at one of the two only.
    p_value
        McNemar's exact test, two-sided; 0.0 stands for less than 1e-300.
    p_holm
        The same after Holm's correction over all levels of the evaluation.
    method
        Name of the interval: "Newcombe, paired (method 10)".
    """

    value: float
    low: float
    high: float
    only_nominal: int
    only_level: int
    p_value: float
    p_holm: float
    method: str


@dataclass(frozen=True)
class ClassScore:
    """Accuracy on the glyphs of one class."""

    name: str
    accuracy: Proportion


@dataclass(frozen=True)
class Point:
    """One level of a curve.

    Attributes
    ----------
    level
        Amount in the curve's unit, or a rule's name.
    accuracy
        Share of glyphs read rightly.
    difference
        Against nominal on the same glyphs; None at nominal itself.
    per_class
        Accuracy by class, in the order of the classes; classes without glyphs left out.
    confidence_right, confidence_wrong
        Mean confidence where the answer was right, and where it was wrong; None
        when the model gives labels only or there are no such answers.
    ink_lost
        Mean share of ink that left the frame.
    cell
        Name of the cell of the plan that was scored.
    """

    level: Level
    accuracy: Proportion
    difference: Difference | None
    per_class: tuple[ClassScore, ...]
    confidence_right: float | None
    confidence_wrong: float | None
    ink_lost: float
    cell: str


@dataclass(frozen=True)
class Tolerance:
    """The unbroken range of levels round nominal that keeps accuracy at or over the floor.

    Attributes
    ----------
    floor
        The accuracy to keep.
    low, high
        The ends of the range in the curve's unit, found on straight lines
        between neighbouring levels, brought in to whole amounts where the unit has
        no others; both None when nominal itself is under the floor, and for names.
    open_low, open_high
        Whether accuracy was still over the floor at the last level tried on that
        side, so that the range may go on.
    levels
        The levels inside the range, for curves over names.
    """

    floor: float
    low: float | None
    high: float | None
    open_low: bool
    open_high: bool
    levels: tuple[Level, ...]


@dataclass(frozen=True)
class Peak:
    """The level where accuracy is highest; of equals, the one nearest nominal.

    Attributes
    ----------
    level
        Where it is.
    accuracy
        How high.
    gain
        Against nominal, paired; None when the peak is at nominal.
    off_nominal
        True only when the peak is not at nominal, McNemar's exact test says so
        after Holm's correction (p < 0.05), and the paired interval of the gain
        stays above zero.
    """

    level: Level
    accuracy: float
    gain: Difference | None
    off_nominal: bool


@dataclass(frozen=True)
class Curve:
    """A sweep, scored.

    Attributes
    ----------
    perturbation, unit, nominal, options
        As planned; `options` as (name, value) pairs.
    title
        Words for headings: "translation along x", "blur".
    points
        One a level, in the order of the sweep, nominal included.
    tolerance, peak
        What the curve says.
    px_per_unit
        Where levels are lengths on paper, how many px one of the unit has; else None.
    """

    perturbation: str
    unit: str
    nominal: Level
    options: tuple[tuple[str, Level | None], ...]
    title: str
    points: tuple[Point, ...]
    tolerance: Tolerance
    peak: Peak
    px_per_unit: float | None = None


@dataclass(frozen=True)
class Evaluation:
    """Everything that scoring one model with one recipe on one glyph set gave.

    Attributes
    ----------
    model
        What the model was called and what was understood of it, in a line or two.
    answers
        "labels", "probabilities" or "logits".
    glyphs, recipe
        What was used: source line and digest, recipe title and digest.
    classes, counts
        Class names and glyphs of each.
    baseline
        The nominal point.
    confusion
        At nominal: rows are true classes, columns are answers.
    curves
        One a sweep.
    left_out
        What was not scored and why, a line each (glyphs without ink, say).
    seconds
        Wall time spent in "rendering", "model" and "statistics".
    """

    model: str
    answers: str
    glyphs: str
    glyphs_digest: str
    recipe: str
    recipe_digest: str
    classes: tuple[str, ...]
    counts: tuple[int, ...]
    floor: float
    baseline: Point
    confusion: tuple[tuple[int, ...], ...]
    curves: tuple[Curve, ...]
    left_out: tuple[str, ...]
    seconds: tuple[tuple[str, float], ...]
