"""What was understood of a model from its first batch, and what looks wrong."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.answers import Answers, Key
from gen.evaluate.class_names import listed
from gen.evaluate.expect import Expectation

FIRST_LOOK = 64
"""Glyphs of a first look."""
_SAME_ANSWER = 20  # from this many glyphs of several classes on, one answer to all is worth a word


@dataclass(frozen=True)
class OtherReading:
    """Another way to hand the same pictures over.

    Attributes
    ----------
    expects
        What was handed over instead.
    says
        What differs, in words: "0 for bare paper to 255 for full ink".
    how
        The options that say so: "--values 0..255".
    correct
        Glyphs of the batch that were read rightly then.
    p_holm
        McNemar's exact test against the reading in use, after Holm's correction over all
        that were tried.
    """

    expects: Expectation
    says: str
    how: str
    correct: int
    p_holm: float


@dataclass(frozen=True)
class FirstLook:
    """What was understood of a model from its first batch; `print` shows it.

    Attributes
    ----------
    expects
        What it is handed, layout included.
    answers
        "labels", "probabilities" or "logits".
    classes
        How its answers map to the class names.
    correct, n
        Glyphs of the batch that it read rightly, and all of them.
    lines
        The same in words.
    other_readings
        Other ways to hand the same pictures over that score far better, the best first.
    """

    expects: Expectation
    answers: str
    classes: str
    correct: int
    n: int
    lines: tuple[str, ...]
    other_readings: tuple[OtherReading, ...] = ()

    def __str__(self) -> str:
        return "\n".join(self.lines)


def told(
    model: str,
    *,
    expects: Expectation,
    note: str,
    answers: Answers,
    labels: NDArray[np.intp],
    key: Key,
    declared: bool = False,
    others: tuple[OtherReading, ...] = (),
) -> FirstLook:
    """Put a first look into words.

    Parameters
    ----------
    model
        Name of the model, and how it is asked.
    expects, note
        What it was handed, and how that was known.
    answers, labels
        What it said, and what is so.
    key
        How its answers are read.
    declared
        Whether the kind of its answers was stated, and not found.
    others
        Other readings that score far better.
    """
    correct = int((answers.labels == labels).sum())
    lines = [
        f"model     {model}",
        f"handed    {expects} ({note})",
        f"answers   {_kind_in_words(key)}{', as stated' if declared else ''}",
        f"classes   {key.how}: {listed(key.classes)}",
        f"read      {correct} of {len(labels)} of these glyphs rightly"
        f" ({correct / len(labels) * 100:.1f} %)",
        *_worries(answers, labels, key, correct),
        *(_better(other, len(labels)) for other in others[:1]),
    ]
    return FirstLook(expects, key.kind, key.how, correct, len(labels), tuple(lines), others)


def _better(other: OtherReading, n: int) -> str:
    return (
        f"careful   the same pictures score far better, {other.correct} of {n}, when handed over "
        f"as {other.says}; if it was trained so, say {other.how}"
    )


def _kind_in_words(key: Key) -> str:
    return key.kind if key.kind == "labels" else f"{key.kind}, {len(key.columns)} columns"


def _worries(answers: Answers, labels: NDArray[np.intp], key: Key, correct: int) -> list[str]:
    """What a person would want to hear at once: one answer to all, classes that never come."""
    known = set(key.columns) if key.columns else set(key.names.values())
    absent = [name for place, name in enumerate(key.classes) if place not in known]
    lines = [f"careful   it has never heard of {listed(absent)}"] if absent else []
    if len(labels) < _SAME_ANSWER or len(np.unique(labels)) < 2:
        return lines
    if len(np.unique(answers.labels)) == 1:
        always = key.classes[int(answers.labels[0])]
        lines.append(
            f'careful   it answers "{always}" to everything: is its input in the range it expects?'
        )
    elif correct <= 2 * len(labels) / len(key.classes) and len(key.classes) > 2:
        lines.append("careful   that is near guessing: look at what it was handed")
    return lines
