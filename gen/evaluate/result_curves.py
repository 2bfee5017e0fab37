"""A sweep, scored: its points, and what the whole of it says."""

from __future__ import annotations

from dataclasses import dataclass

from gen.evaluate.result_shares import Difference, Estimate, Proportion
from gen.evaluate.result_sureness import Calibration
from gen.recipe.model import Level


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
        side, so that the range may go on; not where the model failed at the next level.
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
        Mean accuracy over the range of levels answered (trapezoid rule over the range);
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
