"""A set of drawings measured, checked, and held against another: all that is told of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from gen.diagnose.differences import SetDifference, differences
from gen.diagnose.measures import Measures, measure, pictures_of
from gen.diagnose.set_finding import SetFinding
from gen.diagnose.set_pictures import SetPictures, set_pictures
from gen.diagnose.sets import check_set
from gen.glyphs.base import Glyphs, Provenance
from gen.report.run import RunInfo


@dataclass(frozen=True)
class MeasuredSet:
    """One set with its measures and mean pictures.

    Attributes
    ----------
    frame, classes, provenance
        As the glyphs have them.
    measures
        Of every glyph.
    pictures
        Mean, deviation and class means.
    """

    frame: tuple[int, int]
    classes: tuple[str, ...]
    provenance: Provenance
    measures: Measures
    pictures: SetPictures

    @property
    def name(self) -> str:
        """What the person called it."""
        source = self.provenance
        return "built-in strokes" if source.name == "strokes" else source.name


@dataclass(frozen=True)
class Drawings:
    """What a set of drawings shows, alone or beside another.

    Attributes
    ----------
    here
        The set.
    against
        The one it is held against, if any.
    findings
        Every kind of fault, found first.
    run
        What was run.
    """

    here: MeasuredSet
    against: MeasuredSet | None
    findings: tuple[SetFinding, ...]
    run: RunInfo

    @cached_property
    def differences(self) -> tuple[SetDifference, ...]:
        """In what they differ, the clearest first; nothing without another set."""
        if self.against is None:
            return ()
        return differences(self.here.measures, self.against.measures)

    @property
    def found(self) -> tuple[SetFinding, ...]:
        """The findings that name a fault."""
        return tuple(finding for finding in self.findings if finding.found)

    @property
    def verdict(self) -> str:
        """What it comes to, in one line."""
        number = len(self.found)
        if not number:
            return "Nothing found against these drawings"
        return "One thing to look at" if number == 1 else f"{number} things to look at"

    def as_dict(self) -> dict[str, Any]:
        """All of it as plain values, valid against the schema that ships."""
        from gen.report.measure_document import as_dict

        return as_dict(self)

    def as_text(self, *, width: int = 80) -> str:
        """Tables and findings for a terminal."""
        from gen.report.measure_text import as_text

        return as_text(self, width=width)

    def as_html(self) -> str:
        """The page."""
        from gen.report.measure_page import as_html

        return as_html(self)

    def save(self, folder: Path | str) -> Mapping[str, Path]:
        """Write measure.html and measure.json into a folder that exists."""
        from gen.report.measure_write import write

        return write(self, folder)


def measure_set(
    glyphs: Glyphs,
    against: Glyphs | None = None,
    *,
    run: RunInfo | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Drawings:
    """Measure a set, check it, and compare it with another.

    Parameters
    ----------
    glyphs
        Pictures or strokes.
    against
        Another set, such as the one that a model was trained on.
    run
        What was run; left out, only the versions are known.
    progress
        Called with pictures done and pictures in all. Looking the sets over takes about as
        long as measuring them, and counts as much.

    Examples
    --------
    >>> from gen import write_strokes
    >>> told = measure_set(write_strokes(count=100, seed=1), write_strokes(count=100, seed=2))
    >>> told.verdict, len(told.differences)
    ('Nothing found against these drawings', 20)
    """
    first = len(glyphs)
    measured = first + (0 if against is None else len(against))
    total = 2 * measured
    told = progress or (lambda done, total: None)
    here = _measured(glyphs, lambda done: told(done, total))
    there = None
    if against is not None:
        there = _measured(against, lambda done: told(first + done, total))
    findings = check_set(glyphs, against)
    told(total, total)
    return Drawings(here, there, findings, RunInfo() if run is None else run)


def _measured(glyphs: Glyphs, told: Callable[[int], None]) -> MeasuredSet:
    images = pictures_of(glyphs)
    return MeasuredSet(
        glyphs.frame,
        glyphs.classes,
        glyphs.provenance,
        measure(images, progress=lambda done, _: told(done)),
        set_pictures(images, glyphs.labels, len(glyphs.classes)),
    )
