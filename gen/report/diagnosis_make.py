"""From a model and some glyphs to a diagnosis that can be read, in one call."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from gen.diagnose.diagnose import diagnose
from gen.diagnose.results import Diagnosis
from gen.evaluate.model import wrap_model
from gen.glyphs.base import Glyphs
from gen.report.diagnosis_examples import Example, examples_of
from gen.report.diagnosis_mended import Mended, mend
from gen.report.diagnosis_words import headline
from gen.report.run import RunInfo


@dataclass(frozen=True, eq=False)
class DiagnosisReport:
    """Why a model fails on some glyphs; a notebook shows it as its page.

    Attributes
    ----------
    diagnosis
        What was found, in figures.
    examples
        For each remedy some glyphs before and after it.
    mended
        All glyphs with the first remedy applied; None if there is no remedy.
    run
        What was run.

    Examples
    --------
    >>> import numpy as np
    >>> from gen import load_glyphs, make_diagnosis
    >>> dots = load_glyphs(np.full((9, 8, 8), 200, np.uint8), labels=[0, 1, 0] * 3, ink="bright")
    >>> report = make_diagnosis(lambda pictures: np.zeros(len(pictures), int), dots)
    >>> report.headline
    'Too few glyphs to say why'
    """

    diagnosis: Diagnosis
    examples: tuple[tuple[Example, ...], ...] = field(default=(), repr=False)
    mended: Mended | None = field(default=None, repr=False)
    run: RunInfo = field(default_factory=RunInfo)

    @property
    def verdict(self) -> str:
        """Whether it is explained: "healthy", "explained", "unexplained" or "too few glyphs"."""
        return self.diagnosis.verdict

    @property
    def headline(self) -> str:
        """The same in one line of plain words."""
        return headline(self.diagnosis)

    def as_dict(self) -> dict[str, Any]:
        """The same as diagnosis.json."""
        from gen.report.diagnosis_document import as_dict

        return as_dict(self)

    def as_html(self) -> str:
        """The same as diagnosis.html."""
        from gen.report.diagnosis_page import as_html

        return as_html(self)

    def as_text(self, *, width: int = 80, blocks: bool = True) -> str:
        """The answer for a terminal of so many columns, shades drawn as blocks or in ASCII."""
        from gen.report.diagnosis_text import as_text

        return as_text(self, width=width, blocks=blocks)

    def save(self, folder: Path | str) -> Mapping[str, Path]:
        """Write diagnosis.html, diagnosis.json and mended.npz into a folder, made if need be.

        Returns
        -------
        mapping of file name to path; mended.npz only where a remedy changes the glyphs.

        Raises
        ------
        OutputError
            If they can't be written.
        """
        from gen.report.diagnosis_write import write

        return write(self, folder)

    def __str__(self) -> str:
        return self.as_text()

    def _repr_html_(self) -> str:
        """The page, for a notebook."""
        from gen.report.whole_page import in_a_frame

        return in_a_frame(self.as_html(), title="Inkdrift diagnosis")


def make_diagnosis(
    model: object,
    glyphs: Glyphs,
    *,
    trained_on: Glyphs | None = None,
    floor: float = 0.9,
    command: str = "",
    progress: Callable[[int, int], None] | None = None,
) -> DiagnosisReport:
    """Say why a model fails on some glyphs, and which change gives accuracy back.

    Parameters
    ----------
    model
        What `load_model` gives, or any function or object that answers for pictures.
    glyphs
        Labelled glyphs that the model should read and doesn't: 50 to 300 of a person's own
        drawings are enough.
    trained_on
        Some of the glyphs that it was trained on, in the same frame; what differs from them
        is then told.
    floor
        The accuracy from which on nothing is called wrong, over 0 and at most 1.
    command
        How it was run, for the page to repeat.
    progress
        Called with (fits of a remedy done, fits in all as far as can be said).

    Returns
    -------
    DiagnosisReport
        `str` of it is the answer; `save` writes page, JSON and the mended glyphs.

    Raises
    ------
    ModelError
        If the model fails on the glyphs as they are.
    GlyphError
        If no glyph has ink, or the training glyphs have another frame.

    Examples
    --------
    A reader of two bars, and bars that lie 3 px further right.

    >>> import numpy as np
    >>> from gen import load_glyphs
    >>> images = np.zeros((60, 8, 16), np.uint8)
    >>> images[::2, 2:6, 5] = images[1::2, 2:6, 11] = 255
    >>> bars = load_glyphs(images, labels=[0, 1] * 30, classes=("left", "right"))
    >>> def read(pictures):
    ...     right, left = pictures[:, :, 8].any(axis=1), pictures[:, :, 2].any(axis=1)
    ...     return np.where(right | ~left, 1, 0)
    >>> found = make_diagnosis(read, bars)
    >>> print(found.verdict, found.as_dict()["remedies"][0]["says"].split(".")[0], sep=": ")
    explained: These marks sit 3 px further right than the model was trained on
    """
    asked = wrap_model(model)
    found = diagnose(asked, glyphs, trained_on=trained_on, floor=floor, progress=progress)
    return DiagnosisReport(
        found,
        examples_of(found, asked, glyphs),
        mend(found, glyphs),
        RunInfo(command=command),
    )
