"""A report as a Python object."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from gen.evaluate.results import Evaluation
from gen.evaluate.sheet import Sheet
from gen.report import document, page, text
from gen.report.findings import Finding, find, verdict
from gen.report.run import RunInfo
from gen.report.shown import Shown
from gen.report.whole_page import in_a_frame
from gen.report.write import write_report


@dataclass(frozen=True)
class Report:
    """What an evaluation says; a notebook shows it as its page.

    Attributes
    ----------
    evaluation
        The scored model.
    shown
        The pictures of the page, with what the model said to each; None to leave
        pictures out.
    run
        What was run.
    sheet
        What the model said to every glyph, which `save` writes beside the rest so that
        reports can be compared; None to leave it out.
    notes
        What happened on the way, a line each.

    Examples
    --------
    A model that answers "plum" whatever it is shown.

    >>> import numpy as np
    >>> from gen import load_glyphs, make_report, parse_recipe
    >>> images = np.zeros((20, 8, 8), np.uint8)
    >>> images[:, 3:5, 3:5] = 255
    >>> glyphs = load_glyphs(images, labels=[0, 1] * 10, classes=("pear", "plum"))
    >>> always_plum = lambda pictures: np.ones(len(pictures), int)
    >>> report = make_report(always_plum, parse_recipe('title = "As they are"'), glyphs)
    >>> report.as_dict()["baseline"]["correct"], report.as_dict()["baseline"]["n"]
    (10, 20)
    """

    evaluation: Evaluation
    shown: Shown | None = field(default=None, repr=False, compare=False)
    run: RunInfo = field(default_factory=RunInfo)
    sheet: Sheet | None = field(default=None, repr=False, compare=False)
    notes: tuple[str, ...] = field(default=(), compare=False)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What it shows, the most important first."""
        return find(self.evaluation)

    @property
    def verdict(self) -> str:
        """Whether the model is safe to rely on, in one line."""
        return verdict(self.findings)

    def as_dict(self) -> dict[str, Any]:
        """The same as report.json."""
        return document.as_dict(self.evaluation, self.findings, self.run)

    def as_html(self) -> str:
        """The same as report.html."""
        return page.as_html(self.evaluation, self.findings, self.run, self.shown)

    def as_text(self, *, width: int = 80, blocks: bool = True) -> str:
        """The summary for a terminal of so many columns."""
        return text.as_text(
            self.evaluation, self.findings, self.run, self.shown, width=width, blocks=blocks
        )

    def save(self, folder: Path | str) -> Mapping[str, Path]:
        """Write report.html, and beside it its tables and arrays, into a folder.

        The folder is made if need be.

        Raises
        ------
        OutputError
            If it can't be written.
        """
        from gen.core.errors import OutputError

        into = Path(folder)
        try:
            into.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise OutputError(str(into), "can't be made", got=error.strerror) from error
        return write_report(into, self.evaluation, run=self.run, shown=self.shown, sheet=self.sheet)

    def __str__(self) -> str:
        return self.as_text()

    def _repr_html_(self) -> str:
        """The page, for a notebook."""
        return in_a_frame(self.as_html(), title="Inkdrift report")
