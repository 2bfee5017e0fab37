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
        Name of the interval: "Wilson score", or "Clopper-Pearson".
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
class Estimate:
    """A figure that the bootstrap gives an interval to.

    Attributes
    ----------
    value
        On the glyphs as they are; None when it can't be told from them.
    low, high
        Ends of its 95 % interval; None where the end lies beyond the levels tried, or
        when the figure couldn't be told in so many draws that there is no interval.
    undefined
        Share of the draws in which it couldn't be told: a tolerance when nominal
        itself is under the floor.
    beyond
        Share of the draws in which it lies beyond the levels tried.
    method
        "bootstrap percentile, 2,000 draws of glyphs", or "of writers".
    """

    value: float | None
    low: float | None
    high: float | None
    undefined: float
    beyond: float
    method: str


@dataclass(frozen=True)
class ReliabilityBin:
    """Answers whose confidence lies in (low, high].

    Attributes
    ----------
    low, high
        Edges, as m / M.
    n
        Answers in it.
    confidence
        Their mean confidence.
    accuracy
        Share of them that is right, with its interval.
    """

    low: float
    high: float
    n: int
    confidence: float
    accuracy: Proportion


@dataclass(frozen=True)
class Kept:
    """What is left when the least sure answers are declined.

    Attributes
    ----------
    coverage
        Share of the glyphs that is still answered: the share nearest to the one asked
        for that no tie in confidence cuts through.
    threshold
        The least confidence that is still answered.
    accuracy
        Of those answered.
    """

    coverage: float
    threshold: float
    accuracy: Proportion


@dataclass(frozen=True)
class Calibration:
    """What confidence is worth at one level.

    Attributes
    ----------
    brier
        Brier's score of 1950: squared errors summed over the classes, mean over the
        glyphs, 0 to 2.
    log_loss
        Mean of -ln of the probability that the true class got, natural; probabilities
        under 1e-15 count as that.
    ece
        Expected calibration error over the bins: mean distance between accuracy and
        confidence, weighted by how many answers a bin holds.
    overconfidence
        Mean confidence less accuracy: over 0 when the model is surer than it is right.
    bins
        Those that hold an answer, ascending.
    kept
        Accuracy when the least sure are declined, coverage descending from 1.
    """

    brier: float
    log_loss: float
    ece: float
    overconfidence: float
    bins: tuple[ReliabilityBin, ...]
    kept: tuple[Kept, ...]


@dataclass(frozen=True)
class Breaking:
    """Where each glyph is first misread on one side of nominal.

    Attributes
    ----------
    side
        "down" towards lower levels, "up" towards higher ones.
    levels
        The levels on that side, outwards from nominal.
    counts
        Of the glyphs that nominal reads rightly, how many are first misread at each.
    never
        Those of them that are read rightly at all levels.
    quartiles
        The levels by which a quarter, a half and three quarters of the glyphs that
        nominal reads rightly have been misread; None where they never are.
    """

    side: str
    levels: tuple[float, ...]
    counts: tuple[int, ...]
    never: int
    quartiles: tuple[float | None, float | None, float | None]


@dataclass(frozen=True)
class FirstClass:
    """The class that falls under the floor nearest to nominal.

    Attributes
    ----------
    name
        The class.
    level
        Where it is first under the floor.
    accuracy
        Of the class at that level; its interval ends below the floor.
    """

    name: str
    level: Level
    accuracy: Proportion


@dataclass(frozen=True)
class Confused:
    """The two classes that a sweep makes the model confuse most.

    Attributes
    ----------
    true, answered
        Names of the class and of what it is read as.
    level
        The level, nearest to nominal, from which on it is so.
    share
        Of the class's glyphs that are read so at that level.
    """

    true: str
    answered: str
    level: Level
    share: Proportion


@dataclass(frozen=True)
class HiddenBlur:
    """How much of a drop the blur that resampling brings could explain.

    Attributes
    ----------
    level
        The level of the curve.
    sigma_px
        The blur that has the variance which resampling added, px.
    drop
        Accuracy that the model's own blur curve loses at that blur.
    share
        Of the drop at the level; at most 1.
    """

    level: Level
    sigma_px: float
    drop: float
    share: float


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
    misread
        The confusion matrix without its diagonal: (true class, answer, glyphs) for
        every pair that occurs, by index into the classes, sorted.
    calibration
        What confidence is worth; None when the model gives labels only.
    """

    level: Level
    accuracy: Proportion
    difference: Difference | None
    per_class: tuple[ClassScore, ...]
    confidence_right: float | None
    confidence_wrong: float | None
    ink_lost: float
    cell: str
    misread: tuple[tuple[int, int, int], ...] = ()
    calibration: Calibration | None = None


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
    levels
        The levels that were the peak in 95 % of the bootstrap's draws: for amounts the
        two ends of the interval, for names those that make up the share, commonest
        first. Empty when there was no bootstrap.
    """

    level: Level
    accuracy: float
    gain: Difference | None
    off_nominal: bool
    levels: tuple[Level, ...] = ()


@dataclass(frozen=True)
class Summary:
    """A curve in figures, and what a sweep does to glyphs and classes.

    Attributes
    ----------
    tolerance_low, tolerance_high
        The ends of the tolerance with their intervals; None for curves over names and
        on a side without levels.
    half_low, half_high
        The level on each side at which half of what nominal reads better than chance
        is lost; None as before.
    area
        Mean accuracy over the range of levels tried (trapezoid rule over the range);
        over names the plain mean.
    breaking
        Where glyphs break, a side each; over names empty.
    first_class
        The class that breaks first, if one does.
    confused
        The pair most confused, if there is one.
    hidden_blur
        Levels where resampling's own blur could explain more than a tenth of the drop.
    """

    tolerance_low: Estimate | None
    tolerance_high: Estimate | None
    half_low: Estimate | None
    half_high: Estimate | None
    area: Estimate
    breaking: tuple[Breaking, ...] = ()
    first_class: FirstClass | None = None
    confused: Confused | None = None
    hidden_blur: tuple[HiddenBlur, ...] = ()


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
    summary
        What the bootstrap and a look at single glyphs and classes add; None when it
        wasn't asked for.
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
    summary: Summary | None = None


@dataclass(frozen=True)
class Side:
    """One side of a grid: what changes from row to row, or from column to column."""

    perturbation: str
    unit: str
    nominal: Level
    options: tuple[tuple[str, Level | None], ...]
    title: str
    levels: tuple[Level, ...]


@dataclass(frozen=True)
class GridMap:
    """A grid, scored.

    Attributes
    ----------
    title
        Words for a heading: "rotation by blur".
    down, across
        The two sides.
    points
        For each level down, the point of each level across; a point's `level` is the
        name of its cell. Differences are against nominal. None where the model failed.
    """

    title: str
    down: Side
    across: Side
    points: tuple[tuple[Point | None, ...], ...]


@dataclass(frozen=True)
class LossShare:
    """What one perturbation of a blend costs.

    Attributes
    ----------
    title, unit
        Which.
    alone
        Accuracy with this part alone, less nominal, paired.
    without
        Accuracy of the whole blend less that of the blend without this part, paired.
    share
        Of the blend's loss: the mean of the two over the loss, which is Shapley's
        value when parts interact in pairs at most; None when nothing is lost.
    """

    title: str
    unit: str
    alone: Difference
    without: Difference
    share: float | None


@dataclass(frozen=True)
class Forecast:
    """A blend, scored: the accuracy to expect of what it stands for.

    Attributes
    ----------
    title
        As the recipe has it.
    draws
        Draws of each glyph.
    accuracy
        Over all draws of all glyphs; `n` counts both. The interval is Wilson's for one
        draw, and of the bootstrap by glyphs (or writers) for more.
    loss
        Accuracy of the first draw less nominal, paired.
    parts
        What each perturbation costs, on the first draw.
    """

    title: str
    draws: int
    accuracy: Proportion
    loss: Difference
    parts: tuple[LossShare, ...]


@dataclass(frozen=True)
class ForeignMarks:
    """What the model says to marks of no class, of one kind.

    Attributes
    ----------
    kind
        "blank", "noise", "scribble", "two marks" or "strangers".
    named
        Share that gets a class with a confidence of 0.9 or more; of a model that gives
        labels only, all of them.
    confidence
        Mean; None when the model gives labels only.
    commonest
        The class that they are called most often, and the share.
    """

    kind: str
    named: Proportion
    confidence: float | None
    commonest: str
    commonest_share: float


@dataclass(frozen=True)
class Declining:
    """The confidence under which the model should decline.

    Attributes
    ----------
    threshold
        Chosen on one half of the marks, judged on the other.
    foreign_declined
        Share of marks of no class that are declined then.
    own_declined
        Share of marks that have a class and are declined all the same.
    accuracy
        Of those of the latter that are still answered.
    rule
        How it was chosen, in words.
    """

    threshold: float
    foreign_declined: Proportion
    own_declined: Proportion
    accuracy: Proportion | None
    rule: str


@dataclass(frozen=True)
class Behaviour:
    """Whether the model answers a glyph alike however it is asked.

    Attributes
    ----------
    n
        Glyphs of the first look that were asked again.
    again
        How many got another answer when the same batch was handed over twice.
    alone, elsewhere
        How many got another answer alone, and at another place of the batch.
    largest
        Largest change of any confidence; None when the model gives labels only.
    notes
        What else happened: a batch that had to be halved.
    """

    n: int
    again: int
    alone: int
    elsewhere: int
    largest: float | None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class FailedCell:
    """A cell that the model could not answer, and why, in one line."""

    cell: str
    why: str


@dataclass(frozen=True)
class Judged:
    """A requirement of the recipe, held to the evidence.

    Attributes
    ----------
    says
        The requirement in words: "translation along x from -2 to 2 px keeps 95 %".
    kept
        Whether it is.
    judged_on
        "estimate", or "lower end" of the interval.
    least
        The accuracy that is asked for: where a drop is limited, that of nominal less it.
    level, accuracy
        The level that does worst, and what it reaches; None when nothing could be scored,
        and a blend has no level.
    value
        The figure that was judged: the estimate there, or the lower end; where a drop is
        limited, that of nominal with the paired difference.
    difference
        Where a drop is limited, the paired difference that was judged; else None.
    why
        What could not be scored, for which it is missed whatever the rest shows; or empty.
    """

    says: str
    kept: bool
    judged_on: str
    least: float
    level: Level | None
    accuracy: Proportion | None
    value: float | None
    difference: Difference | None = None
    why: str = ""


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
    grids, blends
        In the recipe's order.
    foreign, declining
        What the model says to marks of no class; empty and None when it wasn't asked.
    behaviour
        Whether it answers alike when asked again; None when it wasn't asked.
    failed
        Cells that the model could not answer; they are in no curve.
    requirements
        In the recipe's order.
    resampled
        What the bootstrap drew: "glyphs", "writers"; empty without one.
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
    grids: tuple[GridMap, ...] = ()
    blends: tuple[Forecast, ...] = ()
    foreign: tuple[ForeignMarks, ...] = ()
    declining: Declining | None = None
    behaviour: Behaviour | None = None
    failed: tuple[FailedCell, ...] = ()
    requirements: tuple[Judged, ...] = ()
    resampled: str = ""
