"""Glyphs that were misread and that a remedy makes readable, before and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.diagnose.operations import CLASS_ORDER, LABEL_SHIFT
from gen.diagnose.results import Diagnosis, Remedy
from gen.diagnose.workbench import Workbench
from gen.evaluate.model import Model
from gen.glyphs.base import Glyphs, Pixels, Whole
from gen.report.diagnosis_mended import mended_labels
from gen.report.diagnosis_words import chain_of

MOST = 6
"""Examples of one remedy."""
MOST_LOOKED_AT = 300
_OF_LABELS = {LABEL_SHIFT, CLASS_ORDER}


@dataclass(frozen=True)
class Example:
    """One glyph before and after a remedy.

    Attributes
    ----------
    before, after
        ndarray of shape (H, W), uint8, ink bright.
    labelled, read
        Its class and the model's answer before, by name.
    labelled_after, read_after
        The same after.
    """

    before: Pixels
    after: Pixels
    labelled: str
    read: str
    labelled_after: str
    read_after: str

    @property
    def pictures_change(self) -> bool:
        """Whether the remedy changes the picture."""
        return not np.array_equal(self.before, self.after)


def examples_of(
    diagnosis: Diagnosis, model: Model, glyphs: Glyphs
) -> tuple[tuple[Example, ...], ...]:
    """For each remedy some glyphs that are misread as they are and read after it.

    Parameters
    ----------
    diagnosis
        What was found.
    model
        Looked at before with the classes of the glyphs.
    glyphs
        The glyphs that it is about.

    Returns
    -------
    tuple of tuples of Example, one a remedy, of as many classes as there are.

    Raises
    ------
    ModelError
        If the model fails.
    """
    if not diagnosis.remedies:
        return ()
    from gen.render.pictures import nominal_pictures

    count = min(MOST_LOOKED_AT, len(glyphs))
    some = np.arange(count, dtype=np.intp) * len(glyphs) // count
    bench = Workbench(model, nominal_pictures(glyphs, indices=some), glyphs.labels[some])
    return tuple(_of(remedy, bench, glyphs, some) for remedy in diagnosis.remedies)


def _of(remedy: Remedy, bench: Workbench, glyphs: Glyphs, some: Whole) -> tuple[Example, ...]:
    chain = chain_of(remedy)
    on_pictures = tuple(step for step in chain if step.perturbation not in _OF_LABELS)
    labels, names = bench.labels, glyphs.classes
    called = mended_labels(chain, glyphs.labels, glyphs.classes)[some]
    before, after = bench.trial(), bench.trial(on_pictures)
    chosen = _spread(~before.right & (after.answered == called), labels)
    pictures = bench.pictures(on_pictures)
    return tuple(
        Example(
            bench.images[place],
            pictures[place],
            names[labels[place]],
            names[before.answered[place]],
            names[called[place]],
            names[after.answered[place]],
        )
        for place in chosen
    )


def _spread(which: np.ndarray[tuple[int], np.dtype[np.bool_]], labels: Whole) -> list[int]:
    """Some of the marked places, of every class one before of any a second."""
    turns: dict[int, int] = {}
    places = []
    for place in np.flatnonzero(which):
        label = int(labels[place])
        turns[label] = turns.get(label, 0) + 1
        places.append((turns[label], label, int(place)))
    return [place for _, _, place in sorted(places)[:MOST]]
