"""What scoring a model gives: plain frozen values that a report reads.

Nothing here computes; `curves.py` fills these in and `gen.report` prints them. Shares,
sureness, curves and maps each have a file of their own, and are all had from here.
"""

from __future__ import annotations

from dataclasses import dataclass

from gen.evaluate.result_curves import (
    Breaking,
    ClassScore,
    Confused,
    Curve,
    FirstClass,
    HiddenBlur,
    Peak,
    Point,
    Summary,
    Tolerance,
)
from gen.evaluate.result_maps import (
    Forecast,
    GridMap,
    LossShare,
    Side,
)
from gen.evaluate.result_shares import (
    Difference,
    Estimate,
    Proportion,
)
from gen.evaluate.result_sureness import (
    Calibration,
    Declining,
    ForeignMarks,
    Kept,
    ReliabilityBin,
)
from gen.recipe.model import Level

__all__ = [
    "Behaviour",
    "Breaking",
    "Calibration",
    "ClassScore",
    "Confused",
    "Curve",
    "Declining",
    "Difference",
    "Estimate",
    "Evaluation",
    "FailedCell",
    "FirstClass",
    "Forecast",
    "ForeignMarks",
    "GridMap",
    "HiddenBlur",
    "Judged",
    "Kept",
    "LossShare",
    "Peak",
    "Point",
    "Proportion",
    "ReliabilityBin",
    "Side",
    "Summary",
    "Tolerance",
]


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
    curve, blend
        Which curve or blend of the evaluation it is about; both None for nominal itself,
        and where none of it was scored.
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
    curve: int | None = None
    blend: int | None = None


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
