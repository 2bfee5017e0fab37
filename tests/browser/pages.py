"""Every kind of page that the project writes, small, with the document that goes with it."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen import (
    Report,
    compare_reports,
    load_glyphs,
    make_report,
    nominal_pictures,
    parse_recipe,
    write_strokes,
)
from gen.glyphs.base import RasterGlyphs
from gen.report.measure_set import measure_set
from tests.report import planted
from tests.report.compare_support import BLEND, CELLS, DRAWS, GRID, pictures, reads, report_folder
from tests.report.diagnosis_support import drawn, explained, without_remedy

DIGITS = tuple("0123456789")
RECIPE = """\
title = "Belt two, first look"
note = "What the camera over belt two may do."

[[sweep]]
perturbation = "translation"
along = "x"
unit = "px"
levels = { from = -6, to = 6, step = 2 }

[[sweep]]
perturbation = "blur"
unit = "px"
levels = [0, 1, 2, 4]

[[sweep]]
perturbation = "placement"
unit = "rule"
levels = ["as drawn", "box centred", "top left"]

[[sweep]]
perturbation = "axis-swap"
unit = "times"
levels = [0, 1]

[[grid]]
down = { perturbation = "rotation", unit = "deg", levels = [-20, 0, 20] }
across = { perturbation = "blur", unit = "px", levels = [0, 1, 2] }

[[blend]]
title = "What belt two does"
draws = 2
[[blend.part]]
perturbation = "translation"
along = "y"
unit = "px"
normal = { mean = 1, sd = 1 }
[[blend.part]]
perturbation = "rotation"
unit = "deg"
triangular = { low = -8, mode = 0, high = 8 }

[[require]]
nominal = true
keeps = 0.7

[[require]]
perturbation = "translation"
along = "x"
unit = "px"
within = 4
keeps = 0.95
note = "Agreed with the packing shed."
"""
LETTERS = """\
title = "Rows and varieties"

[[sweep]]
perturbation = "scale"
unit = "ratio"
levels = [0.6, 0.8, 1, 1.2]

[[sweep]]
perturbation = "dry-pen"
unit = "share"
levels = [0, 0.1, 0.3]
"""


@dataclass(frozen=True)
class Written:
    """Where the pages are, by name."""

    folder: Path

    def page(self, name: str) -> Path:
        """The page of one name."""
        (found,) = sorted((self.folder / name).glob("*.html"))
        return found

    def document(self, name: str) -> dict[str, Any]:
        """What the page is about, as plain values."""
        (found,) = sorted((self.folder / name).glob("*.json"))
        read: dict[str, Any] = json.loads(found.read_text("utf-8"))
        return read


def digits(seed: int = 1, classes: tuple[str, ...] = DIGITS, marks: str = "") -> RasterGlyphs:
    """Digits, or other marks, as the built-in strokes draw them, as pictures."""
    strokes = write_strokes(classes=marks or DIGITS, count=120, seed=seed)
    return load_glyphs(nominal_pictures(strokes), labels=strokes.labels, classes=classes)


def reader(
    classes: tuple[str, ...] = DIGITS, marks: str = ""
) -> Callable[[NDArray[np.uint8]], Any]:
    """A model that takes a picture for the class whose mean is nearest, and says how surely."""
    taught = digits(seed=2, classes=classes, marks=marks)
    means = np.stack(
        [
            taught.images[taught.labels == k].mean(axis=0, dtype=np.float64).ravel() / 255
            for k in range(len(classes))
        ]
    )

    def predict_proba(pictures: NDArray[np.uint8]) -> NDArray[np.float64]:
        flat = pictures.reshape(len(pictures), -1) / (255 if pictures.dtype == np.uint8 else 1)
        far = ((flat[:, None, :] - means[None]) ** 2).sum(axis=2)
        near = np.exp(-(far - far.min(axis=1, keepdims=True)) / 4)
        shares: NDArray[np.float64] = near / near.sum(axis=1, keepdims=True)
        return shares

    return predict_proba


def scored(recipe: str = RECIPE, marks: str = "") -> Report:
    """A report of that reader, made as everybody's is made."""
    classes = tuple(marks) or DIGITS
    return make_report(
        reader(classes, marks),
        parse_recipe(recipe),
        digits(classes=classes, marks=marks),
        command="gen report belt.py:reader belt-two.toml --into out",
    )


def _planted(made: Any) -> Callable[[Path], None]:
    return lambda folder: void(Report(made, planted.shown(made)).save(folder))


def compared(folder: Path, models: int = 3) -> None:
    """A comparison, with the reports that it holds against each other in a folder beside it."""
    apart = folder / "reports"
    folders = [
        report_folder(
            apart / str(at),
            reads(b2=share) | dict.fromkeys(("g", *DRAWS), reads(box=share)[CELLS[3]]),
            name=name, grids=[GRID], blends=[BLEND], pictures=pictures((*CELLS, "g", *DRAWS)),
        )
        for at, (name, share) in enumerate((("old", 0.9), ("new", 0.6), ("other", 0.3))[:models])
    ]  # fmt: skip
    compare_reports(
        folders, command=f"gen compare {' '.join(map(str, range(models)))} --into out"
    ).save(folder)


def _measured(folder: Path) -> None:
    measure_set(drawn(4), drawn(0)).save(folder)


KINDS: dict[str, Callable[[Path], None]] = {
    "report": lambda folder: void(scored().save(folder)),
    "many classes": lambda folder: void(scored(LETTERS, "0123456789ABCDEFGH").save(folder)),
    "slipped": _planted(planted.slipped()),
    "thorough": _planted(planted.thorough()),
    "thorough without pictures": lambda folder: void(Report(planted.thorough()).save(folder)),
    "no sweeps": _planted(planted.evaluation(base=0.93)),
    "comparison": compared,
    "diagnosis": lambda folder: void(explained().save(folder)),
    "diagnosis without remedy": lambda folder: void(without_remedy("unexplained").save(folder)),
    "measured": _measured,
    "measured alone": lambda folder: void(measure_set(drawn()).save(folder)),
}
"""Every kind of page, and what writes it into a folder."""

REPORTS = (
    "report",
    "many classes",
    "slipped",
    "thorough",
    "thorough without pictures",
    "no sweeps",
)
"""Those of them that show an evaluation."""


def void(_: object) -> None:
    """Nothing."""


def write_all(folder: Path) -> Written:
    """Write every kind of page, each into a folder of its own."""
    for name, write in KINDS.items():
        (folder / name).mkdir(parents=True)
        write(folder / name)
    return Written(folder)
