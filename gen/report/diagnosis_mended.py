"""The glyphs with a remedy applied, to be tried at once."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from gen.diagnose.families import ends_of
from gen.diagnose.operations import CLASS_ORDER, LABEL_SHIFT, READING, Chain, carry_out
from gen.diagnose.results import Diagnosis
from gen.glyphs.base import Glyphs, Pixels, Whole
from gen.report.arrays import write_arrays
from gen.report.diagnosis_words import chain_of

MENDED = "mended.npz"
_AT_ONCE = 1024


@dataclass(frozen=True)
class Mended:
    """What the best remedy makes of the glyphs.

    Attributes
    ----------
    images
        ndarray of shape (N, H, W), uint8, ink bright; None when pictures and labels are
        right and only what the model is handed has to change.
    labels
        ndarray of shape (N,), intp, after the remedy.
    classes
        The class names.
    options
        What to say besides on a command line: "--ink bright", "--values 0..255".
    says
        What it is and how to try it, in words.
    """

    images: Pixels | None
    labels: Whole
    classes: tuple[str, ...]
    options: tuple[str, ...]
    says: str


def mend(diagnosis: Diagnosis, glyphs: Glyphs) -> Mended | None:
    """Apply the best remedy to all glyphs; None if there is none.

    Parameters
    ----------
    diagnosis
        What was found.
    glyphs
        The glyphs that it is about.
    """
    if not diagnosis.remedies:
        return None
    chain = chain_of(diagnosis.remedies[0])
    labels = mended_labels(chain, glyphs.labels, glyphs.classes)
    values = tuple(option for step in chain for option in _values(step.perturbation, step.amount))
    if all(step.perturbation == READING for step in chain):
        says = (
            "No glyphs are written, because they are right as they are: hand the model other "
            f"values with {' '.join(values)}."
        )
        return Mended(None, labels, glyphs.classes, values, says)
    options = ("--ink bright", *values)
    says = (
        f"{MENDED}, written beside this, holds all {len(glyphs):,} glyphs with the first remedy "
        f"applied, ink bright: name it with --glyphs, and add {' '.join(options)}."
    )
    if any(step.perturbation == CLASS_ORDER for step in chain):
        says += " Each glyph has the name by which the model calls its class."
    return Mended(_pictures(glyphs, chain), labels, glyphs.classes, options, says)


def write_mended(mended: Mended, to: Path) -> Path:
    """Write images, labels and class names, with the same bytes at every rerun.

    Raises
    ------
    OutputError
        If the file can't be written.
    """
    assert mended.images is not None
    arrays = {
        "images": mended.images,
        "labels": mended.labels.astype("<i8"),
        "classes": np.array(mended.classes, dtype=np.str_),
    }
    return write_arrays(to, arrays)


def mended_labels(chain: Chain, labels: Whole, classes: tuple[str, ...]) -> Whole:
    """The labels after the steps that concern them.

    Where the classes are named in another order, each glyph gets the name by which the
    model calls its class.

    Parameters
    ----------
    chain
        Steps.
    labels
        ndarray of shape (N,), in the order of the file.
    classes
        The class names.

    Examples
    --------
    >>> from gen.diagnose.operations import Operation
    >>> back = Operation("label shift", 1.0, "places")
    >>> mended_labels((back,), np.array([0, 1, 2]), ("a", "b", "c")).tolist()
    [2, 0, 1]
    """
    for step in chain:
        if step.perturbation == LABEL_SHIFT:
            labels = np.roll(labels, int(float(step.amount)))
        if step.perturbation == CLASS_ORDER:
            stands_for = dict(step.options)
            order = [classes.index(str(stands_for.get(name, name))) for name in classes]
            labels = np.argsort(order)[labels]
    return labels


def _values(perturbation: str, amount: object) -> tuple[str, ...]:
    """The option that hands the model values of another range."""
    if perturbation != READING:
        return ()
    low, high = ends_of(amount)
    return (f"--values {low:.6g}..{high:.6g}",)


def _pictures(glyphs: Glyphs, chain: Chain) -> Pixels:
    """All glyphs with the steps done to them, a block at a time."""
    from gen.render.pictures import nominal_pictures

    out = np.empty((len(glyphs), *glyphs.frame), np.uint8)
    on_pictures = tuple(s for s in chain if s.perturbation not in {LABEL_SHIFT, CLASS_ORDER})
    for start in range(0, len(glyphs), _AT_ONCE):
        some = np.arange(start, min(start + _AT_ONCE, len(glyphs)), dtype=np.intp)
        out[some] = carry_out(nominal_pictures(glyphs, indices=some), on_pictures)
    return out
