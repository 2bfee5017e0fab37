"""Diagnoses made by hand, so that every part of text, page and JSON has something to show."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from gen.diagnose.differences import differences
from gen.diagnose.measures import measure
from gen.diagnose.results import Diagnosis, Expected, Remedy, RemedyStep, Variation
from gen.diagnose.set_finding import SetFinding
from gen.evaluate.intervals import proportions
from gen.evaluate.model import wrap_model
from gen.evaluate.results import Proportion
from gen.glyphs.base import Pixels, Provenance, RasterGlyphs
from gen.report.diagnosis_examples import examples_of
from gen.report.diagnosis_make import DiagnosisReport
from gen.report.diagnosis_mended import mend

CLASSES = ("left", "middle", "right")
COUNT = 60
COLUMNS = (3, 8, 13)
MOVE = RemedyStep("translation", -2.0, "px", (("along", "x"),))
READING = RemedyStep("value range", "0 to 255", "range")
SHIFTED = RemedyStep("label shift", -1.0, "places")
ORDER = RemedyStep(
    "class order",
    "each is the class that follows it",
    "order",
    (("left", "middle"), ("middle", "right"), ("right", "left")),
)


def share(correct: int, n: int) -> Proportion:
    return proportions(correct, n)[0]


def drawn(moved_px: int = 2, classes: tuple[str, ...] = CLASSES) -> RasterGlyphs:
    """Bars in one of three places, too far right by some px; in no order of classes."""
    labels = np.random.default_rng(3).permutation(np.arange(COUNT) % len(classes))
    images = np.zeros((COUNT, 12, 20), np.uint8)
    for place, label in enumerate(labels):
        top = 1 + place % 3
        left = COLUMNS[label] + moved_px
        images[place, top : top + 7, left : left + 2] = 200 + place % 50
    source = Provenance("array", "bars.npz", "0" * 64)
    return RasterGlyphs(images.shape[1:], labels, classes, source, None, images)


def read(pictures: Pixels) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """Which third of the frame the ink lies in; right for bars that are not moved."""
    across = pictures.sum(axis=1)
    centre = (across * np.arange(across.shape[1])).sum(axis=1) / np.maximum(
        across.sum(axis=1), 1e-9
    )
    return np.digitize(centre, [3.7, 8.7])


def remedy(*steps: RemedyStep, correct: int = 57, equally: tuple[str, ...] = ()) -> Remedy:
    accuracy = share(correct, COUNT)
    return Remedy(
        steps=steps,
        accuracy=accuracy,
        gain=accuracy.value - 0.5,
        p_value=2e-8,
        wrong="These marks sit 2 px further right.",
        change="Move them 2 px left.",
        side="preprocessing of the drawings",
        equally=equally,
    )


def explained(*remedies: Remedy, glyphs: RasterGlyphs | None = None) -> DiagnosisReport:
    """A whole one: remedies, evidence of three kinds, and examples from a real reader."""
    bars = drawn() if glyphs is None else glyphs
    told = remedies or (
        remedy(MOVE, equally=("row-slip -2 bytes",)),
        remedy(RemedyStep("scale", 0.9, "ratio", (("about", "frame"),)), correct=40),
    )
    found = Diagnosis(
        verdict="explained",
        baseline=share(30, COUNT),
        remedies=told,
        says=("These marks sit 2 px further right.", "Move them 2 px left."),
        ruled_out=("rotation", "ink polarity"),
        tried=1234,
        expected=(Expected("translation along x", "px", 2.0, share(31, COUNT), share(30, COUNT)),),
        variations=(Variation("translation along x", "translation", "px", 0.0, 2.4, 0.47),),
        differences=_differences(),
        checks=(
            SetFinding("placement", "marks sit to the right", {"centroid_dx_px": 2.0}, found=True),
            SetFinding("blanks", "no glyph is blank", {"share": 0.0}),
        ),
        model="bars.py:read",
        glyphs="npz bars.npz",
    )
    return whole(found, bars)


@cache
def _differences() -> tuple[object, ...]:
    return differences(measure(drawn().images), measure(drawn(0).images))


def whole(found: Diagnosis, bars: RasterGlyphs) -> DiagnosisReport:
    """The report of a diagnosis, as it is made from a model that answers."""
    model = wrap_model(read)
    model.first_look(bars.images, bars.labels, bars.classes)
    return DiagnosisReport(found, examples_of(found, model, bars), mend(found, bars))


def without_remedy(verdict: str) -> DiagnosisReport:
    """One of the other verdicts."""
    says = {"healthy": "Nothing is wrong.", "unexplained": "No remedy was found."}
    found = replace(
        explained().diagnosis,
        verdict=verdict,
        remedies=(),
        says=(says.get(verdict, "60 glyphs are too few."),),
        tried=1234 if verdict == "unexplained" else 0,
        ruled_out=("rotation",) if verdict == "unexplained" else (),
        expected=(),
        variations=(),
        differences=(),
        checks=(),
    )
    return whole(found, drawn())
