"""What a diagnosis gives: plain frozen values that pages and JSON print."""

from __future__ import annotations

from dataclasses import dataclass

from gen.diagnose.differences import SetDifference
from gen.diagnose.set_finding import SetFinding
from gen.evaluate.results import Proportion
from gen.recipe.model import Level

VERDICTS = ("healthy", "explained", "unexplained", "too few glyphs")


@dataclass(frozen=True)
class RemedyStep:
    """One step of a remedy.

    Attributes
    ----------
    perturbation
        A name from the catalogue of perturbations, or one of diagnosis's own.
    amount, unit
        How much of it mends the pictures.
    options
        As (name, value) pairs, where it has any.
    """

    perturbation: str
    amount: Level
    unit: str
    options: tuple[tuple[str, Level | None], ...] = ()


@dataclass(frozen=True)
class Remedy:
    """A change that gives accuracy back.

    Attributes
    ----------
    steps
        In the order in which they are done.
    accuracy
        Cross-fitted: each glyph is judged by the remedy that was fitted on the other half
        of the glyphs. The steps have the amounts that were fitted on all of them, put into
        whole px where that costs nothing.
    gain
        Accuracy less that of the glyphs as they are.
    p_value
        McNemar's exact test against the glyphs as they are, after Holm's correction over
        everything that was tried.
    wrong
        What is wrong, in one sentence without measured accuracies.
    change
        What to change, and on which side.
    side
        "training code", "preprocessing of the drawings", "the drawings", "the labels" or
        "what the model is handed".
    equally
        Other remedies that do the same to these pictures, in words.
    """

    steps: tuple[RemedyStep, ...]
    accuracy: Proportion
    gain: float
    p_value: float
    wrong: str
    change: str
    side: str
    equally: tuple[str, ...] = ()

    @property
    def says(self) -> str:
        """What is wrong and what to change, in words."""
        return f"{self.wrong} {self.change}"


@dataclass(frozen=True)
class Expected:
    """What the model's own curves let one expect where these glyphs sit.

    Attributes
    ----------
    title, unit
        Which curve.
    level
        Where these glyphs sit on it.
    predicted
        The accuracy of the training pictures at that level.
    seen
        The accuracy of these glyphs.
    perturbation
        Its name in the catalogue.
    """

    title: str
    unit: str
    level: float
    predicted: Proportion
    seen: Proportion
    perturbation: str = ""


@dataclass(frozen=True)
class Variation:
    """What training would have to vary to know marks such as these.

    Attributes
    ----------
    title, perturbation, unit
        What is varied.
    low, high
        Over which range, in the unit.
    loss
        Accuracy that the model loses on its own training pictures at the level where the
        middle one of these glyphs sits.
    """

    title: str
    perturbation: str
    unit: str
    low: float
    high: float
    loss: float

    @property
    def says(self) -> str:
        """What to do, and how to see whether it helps."""
        return (
            f"Train on pictures with {self.title} from {self.low:g} to {self.high:g} {self.unit}: "
            "render the training set at such levels (gen render), train again, and compare the "
            "two models on these glyphs (gen report, gen compare)."
        )


@dataclass(frozen=True)
class Diagnosis:
    """Why a model fails on some glyphs, and what would mend it.

    Attributes
    ----------
    verdict
        One of `VERDICTS`.
    baseline
        Accuracy on the glyphs as they are.
    remedies
        The surest first; empty when none helps.
    says
        The answer in plain words, a sentence each.
    ruled_out
        What was tried and does not help, in words.
    tried
        How many remedies were tried, amounts counted.
    expected
        What the model's curves say, where training pictures were given.
    differences
        What differs from the training pictures, by effect.
    checks
        What was looked for in the files and sets, found or ruled out.
    variations
        What training would have to vary, the costliest first; empty without training
        pictures.
    model, glyphs
        What was asked, and about what.
    floor
        The accuracy from which on nothing is called wrong.
    seconds
        Wall time of the search.
    """

    verdict: str
    baseline: Proportion
    remedies: tuple[Remedy, ...]
    says: tuple[str, ...]
    ruled_out: tuple[str, ...]
    tried: int
    expected: tuple[Expected, ...] = ()
    differences: tuple[SetDifference, ...] = ()
    checks: tuple[SetFinding, ...] = ()
    variations: tuple[Variation, ...] = ()
    model: str = ""
    glyphs: str = ""
    floor: float = 0.9
    seconds: float = 0.0
