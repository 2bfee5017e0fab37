"""One thing that an evaluation says."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Finding:
    """One sentence with what it rests on.

    Attributes
    ----------
    kind
        What sort of finding it is, in a few fixed words: "peak off nominal".
    says
        One plain sentence. It holds amounts of levels and limits that were set,
        and no measured figures, so that a rerun elsewhere says the same words.
    evidence
        The exact figures, as plain JSON values.
    curve
        Index of the curve that it belongs to; None when it is about the whole.
    why
        The end of the sentence where it gives a reason, behind a colon; or empty.
    """

    kind: str
    says: str
    evidence: dict[str, Any] = field(default_factory=dict)
    curve: int | None = None
    why: str = ""

    @property
    def headline(self) -> str:
        """The sentence up to its reason: "The model's accuracy peaks at +4 px".

        Examples
        --------
        >>> Finding("peak off nominal", "It peaks at 4: it is late.", why="it is late").headline
        'It peaks at 4'
        """
        return self.says.removesuffix(f": {self.why}.") if self.why else self.says

    @property
    def curves(self) -> tuple[int, ...]:
        """Every curve that it is about, its own first."""
        own = [] if self.curve is None else [self.curve]
        listed = (self.evidence.get(key) for key in ("peaks", "levels", "steps", "sweeps"))
        # Where a finding is about all levels, "levels" is how many there are.
        parts = [part for several in listed if isinstance(several, list) for part in several]
        told = [part["curve"] for part in parts if part["curve"] is not None]
        return tuple(dict.fromkeys(own + told))


MISSED = "requirement missed"
FAILED = "model failed"
UNSTEADY = "answers differ when asked again"
BATCH = "answers hang on the batch"
PEAK = "peak off nominal"
ALSO = "also higher off nominal"
SLIGHT = "slightly higher off nominal"
CHANCE = "baseline near chance"
UNDER = "baseline under the floor"
FORECAST = "forecast under the floor"
STRANGERS = "marks of no class named"
FIRST = "class that breaks first"
TOGETHER = "worse together"
CONFUSED = "pair most confused"
HIDDEN_BLUR = "blurred by resampling"
NARROW = "narrow tolerance"
INK = "ink left the frame"
CLASS = "class much worse"
SURE = "sure and wrong"
FEW = "too few glyphs"
HOLDS = "holds everywhere"
KEPT = "requirements kept"
NOTHING = "nothing wrong found"
UNTRIED = "nothing but nominal scored"
KINDS = (
    MISSED,
    FAILED,
    UNSTEADY,
    BATCH,
    PEAK,
    CHANCE,
    FEW,
    UNDER,
    FORECAST,
    SURE,
    STRANGERS,
    CLASS,
    NARROW,
    FIRST,
    TOGETHER,
    ALSO,
    NOTHING,
    UNTRIED,
    KEPT,
    HOLDS,
    SLIGHT,
    CONFUSED,
    HIDDEN_BLUR,
    INK,
)
