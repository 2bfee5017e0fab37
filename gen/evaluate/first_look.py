"""What was understood of a model from its first batch, and what looks wrong."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.evaluate.answers import Answers, Key, listed
from gen.evaluate.expect import Expectation

_SAME_ANSWER = 20  # from this many glyphs of several classes on, one answer to all is worth a word


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
    """

    expects: Expectation
    answers: str
    classes: str
    correct: int
    n: int
    lines: tuple[str, ...]

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
    """
    correct = int((answers.labels == labels).sum())
    lines = [
        f"model     {model}",
        f"handed    {expects} ({note})",
        f"answers   {_kind_in_words(key)}",
        f"classes   {key.how}: {listed(key.classes)}",
        f"read      {correct} of {len(labels)} of these glyphs rightly"
        f" ({correct / len(labels) * 100:.1f} %)",
        *_worries(answers, labels, key, correct),
    ]
    return FirstLook(expects, key.kind, key.how, correct, len(labels), tuple(lines))


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
