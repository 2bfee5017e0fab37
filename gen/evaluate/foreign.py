"""What a model says to marks of no class, and the confidence under which it should decline."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.answers import Answers
from gen.evaluate.model import Model
from gen.evaluate.results import Declining, ForeignMarks
from gen.evaluate.shares import Shares
from gen.evaluate.sheet import Row
from gen.glyphs.base import Glyphs, RasterGlyphs
from gen.glyphs.foreign import ALIKE, KINDS, LEAST_SIDE_PX, foreign_glyphs
from gen.glyphs.strokes import CLASSES
from gen.render.coverage import draw

Real = NDArray[np.float64]
Whole = NDArray[np.intp]

SURELY = 0.9
"""A class is named when it gets at least this confidence."""
MOST_SIDE_PX = 4096
WORTH_DECLINING = 0.5
"""Share of marks of no class that a threshold must turn away to be worth telling."""
RULE = (
    "on every second mark, the threshold with the greatest sum of two shares: marks of no class "
    "that are declined, and own marks that are still answered; judged on the others"
)


def ask_foreign(
    model: Model,
    glyphs: Glyphs,
    nominal: Row,
    *,
    seed: int,
    each: int = 100,
    shares: Shares | None = None,
) -> tuple[tuple[ForeignMarks, ...], Declining | None]:
    """Show a model marks of no class, in the frame of the glyphs that it reads.

    A kind at which the model fails is left out and noted in its `notes`: many divide by
    the ink of a blank sheet. Kinds that can't be made are left out too: all in frames of
    under 8 or over 4096 px, two marks when no class is a character that the built-in hand
    writes, strangers when any class isn't, since one of them might then be that class, or
    when none is left.

    Parameters
    ----------
    model
        After its first look.
    glyphs
        What it was scored on; its frame and class names are used.
    nominal
        What it said to the scored glyphs at nominal.
    seed
        Of the marks, 0 to 2**64 - 1.
    each
        Marks of each kind, at least 2.
    shares
        What makes shares of the scored glyphs; left out, Wilson's for independent glyphs.
        Marks of no class are independent, and have its interval as such.

    Returns
    -------
    marks
        One a kind.
    declining
        None when the model gives labels only, no kind can be made, or no threshold turns
        away half of them: such a model's confidence can't tell.

    Notes
    -----
    A threshold lies half way between the two confidences that it parts, and of thresholds
    as good the lowest is taken. Halves are every second mark: of own marks within each
    class that is answered, of the others within each kind, so that both halves are alike;
    each writer's glyphs are then in both, which one number can hardly make use of.
    """
    shares = shares or Shares()
    marks: list[ForeignMarks] = []
    sure: list[Real] = []
    for kind in possible_kinds(glyphs):
        try:
            answers = model.answer(pictures(kind, glyphs, count=each, seed=seed))
        except ModelError as error:
            why = error.fact if error.got is None else f"{error.fact}: {error.got}"
            model.notes.append(f"at marks of no class, {kind}, it could not answer: {why}")
            continue
        marks.append(_told(kind, answers, glyphs.classes, Shares(shares.interval)))
        if answers.confidence is not None:
            sure.append(answers.confidence)
    if not sure or nominal.confidence is None:
        return tuple(marks), None
    return tuple(marks), _declining(nominal, sure, shares)


def possible_kinds(glyphs: Glyphs) -> tuple[str, ...]:
    """The kinds of marks of no class that can be made for these glyphs."""
    if not LEAST_SIDE_PX <= min(glyphs.frame) <= max(glyphs.frame) <= MOST_SIDE_PX:
        return ()
    known = set(glyphs.classes)
    left_out = set()
    if not known & set(CLASSES):
        left_out.add("two marks")
    if not known <= set(CLASSES) or not set(CLASSES) - known - ALIKE:
        left_out.add("strangers")
    return tuple(kind for kind in KINDS if kind not in left_out)


def pictures(kind: str, glyphs: Glyphs, *, count: int, seed: int) -> NDArray[np.uint8]:
    """Marks of one kind, as pictures in the frame of the glyphs.

    Parameters
    ----------
    kind
        One of `possible_kinds`.
    glyphs
        Whose frame and classes they are held to.
    count, seed
        How many, and which.

    Returns
    -------
    ndarray of shape (count, H, W), uint8, ink bright.
    """
    known = [name for name in glyphs.classes if name in CLASSES]
    made = foreign_glyphs(kind, count=count, frame=glyphs.frame, seed=seed, known=known)
    if isinstance(made, RasterGlyphs):
        return made.images
    return draw(made.strokes(np.arange(count)), glyphs.frame)


@dataclass(frozen=True)
class Half:
    """Confidences in own marks and in others, and which of the former are right.

    `glyphs` says which of the scored glyphs the own marks are.
    """

    own: Real
    right: NDArray[np.bool_]
    foreign: Real
    glyphs: Whole | None = None


def best_threshold(half: Half) -> float:
    """The threshold that parts own marks from others best.

    Parameters
    ----------
    half
        At least one mark of each sort.

    Returns
    -------
    float
        Answers with less confidence are to be declined; 0 where nothing is gained by it.

    References
    ----------
    The sum less 1 is the index of W. J. Youden, Cancer 3 (1950) 32-35.

    Examples
    --------
    >>> own, others = np.array([0.5, 0.8, 0.9]), np.array([0.3, 0.4, 0.85])
    >>> f"{best_threshold(Half(own, np.ones(3, bool), others)):.2f}"
    '0.45'
    """
    values = np.unique(np.concatenate([half.own, half.foreign]))
    # Under each value: declined are all marks with less.
    declined = np.searchsorted(np.sort(half.foreign), values, side="left")
    lost = np.searchsorted(np.sort(half.own), values, side="left")
    # In whole numbers, so that ties are ties: the shares brought to one denominator.
    gain = declined * len(half.own) - lost * len(half.foreign)
    at = int(gain.argmax())
    return 0.0 if at == 0 else float((values[at - 1] + values[at]) / 2)


def halves(nominal: Row, foreign: list[Real]) -> tuple[Half, Half]:
    """Every second mark to choose on, the others to judge on.

    Parameters
    ----------
    nominal
        Own marks, with confidences.
    foreign
        Confidences by kind.
    """
    assert nominal.confidence is not None, "labels alone have no threshold"
    rank = _rank_within(nominal.answered.astype(np.intp))
    own = [np.flatnonzero(rank % 2 == part) for part in (0, 1)]
    first, second = (
        Half(
            own=nominal.confidence[own[part]].astype(np.float64),
            right=nominal.right[own[part]],
            # As rounded as own confidences are held, so that the same is the same.
            foreign=np.concatenate([kind[part::2] for kind in foreign]).astype("f4").astype("f8"),
            glyphs=own[part],
        )
        for part in (0, 1)
    )
    return first, second


def _declining(nominal: Row, foreign: list[Real], shares: Shares) -> Declining | None:
    chosen_on, judged_on = halves(nominal, foreign)
    if not (len(chosen_on.own) and len(judged_on.own) and len(judged_on.foreign)):
        return None
    threshold = best_threshold(chosen_on)
    answered = judged_on.own >= threshold
    foreign_declined = Shares(shares.interval).of(judged_on.foreign < threshold)
    if foreign_declined.value < WORTH_DECLINING:
        return None
    assert judged_on.glyphs is not None, "halves of scored glyphs say which"
    kept = judged_on.glyphs[answered]
    return Declining(
        threshold=threshold,
        foreign_declined=foreign_declined,
        own_declined=shares.some(judged_on.glyphs).of(~answered),
        accuracy=shares.some(kept).of(judged_on.right[answered]) if len(kept) else None,
        rule=RULE,
    )


def _told(kind: str, answers: Answers, classes: tuple[str, ...], shares: Shares) -> ForeignMarks:
    n = len(answers.labels)
    counts = np.bincount(answers.labels, minlength=len(classes))
    sure = answers.confidence
    named = np.ones(n, np.bool_) if sure is None else sure >= SURELY
    return ForeignMarks(
        kind=kind,
        named=shares.of(named),
        confidence=None if sure is None else float(sure.mean()),
        commonest=classes[int(counts.argmax())],
        commonest_share=int(counts.max()) / n,
    )


def _rank_within(group: Whole) -> Whole:
    """Of each member the number of earlier ones in its group."""
    order = np.argsort(group, kind="stable")
    held = np.bincount(group)
    rank = np.empty_like(group)
    rank[order] = np.arange(len(group)) - np.repeat(np.cumsum(held) - held, held)
    return rank
