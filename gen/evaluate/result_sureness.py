"""What a model's confidence is worth, on its own marks and on marks of no class."""

from __future__ import annotations

from dataclasses import dataclass

from gen.evaluate.result_shares import Proportion


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
