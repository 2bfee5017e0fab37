"""Inkdrift: how far a hand-drawn mark may stray before a classifier misreads it."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from gen.core.errors import InkdriftError
from gen.core.version import VERSION

if TYPE_CHECKING:
    from gen.diagnose.measures import measure_glyphs
    from gen.diagnose.sets import check_set
    from gen.evaluate.model import load_model
    from gen.glyphs.fit import Fit
    from gen.glyphs.foreign import foreign_glyphs
    from gen.glyphs.load import load_glyphs
    from gen.glyphs.strokes import write_strokes
    from gen.perturb.recipes import parse_recipe, read_recipe
    from gen.render.opened import open_stress_set
    from gen.render.pictures import nominal_pictures, render_cells
    from gen.render.stress_set import write_stress_set
    from gen.render.verify import verify_stress_set
    from gen.report.compare_make import compare_reports
    from gen.report.diagnosis_make import DiagnosisReport, make_diagnosis
    from gen.report.hold import RequirementMissed, hold_to
    from gen.report.make import make_report
    from gen.report.object import Report

__version__ = VERSION

# Imported when first asked for, so that `import gen` stays light.
_WHERE = {
    "DiagnosisReport": "gen.report.diagnosis_make",
    "Fit": "gen.glyphs.fit",
    "Report": "gen.report.object",
    "RequirementMissed": "gen.report.hold",
    "compare_reports": "gen.report.compare_make",
    "check_set": "gen.diagnose.sets",
    "foreign_glyphs": "gen.glyphs.foreign",
    "hold_to": "gen.report.hold",
    "load_glyphs": "gen.glyphs.load",
    "load_model": "gen.evaluate.model",
    "make_diagnosis": "gen.report.diagnosis_make",
    "make_report": "gen.report.make",
    "measure_glyphs": "gen.diagnose.measures",
    "nominal_pictures": "gen.render.pictures",
    "open_stress_set": "gen.render.opened",
    "parse_recipe": "gen.perturb.recipes",
    "read_recipe": "gen.perturb.recipes",
    "render_cells": "gen.render.pictures",
    "verify_stress_set": "gen.render.verify",
    "write_stress_set": "gen.render.stress_set",
    "write_strokes": "gen.glyphs.strokes",
}

__all__ = [
    "DiagnosisReport",
    "Fit",
    "InkdriftError",
    "Report",
    "RequirementMissed",
    "__version__",
    "check_set",
    "compare_reports",
    "foreign_glyphs",
    "hold_to",
    "load_glyphs",
    "load_model",
    "make_diagnosis",
    "make_report",
    "measure_glyphs",
    "nominal_pictures",
    "open_stress_set",
    "parse_recipe",
    "read_recipe",
    "render_cells",
    "verify_stress_set",
    "write_stress_set",
    "write_strokes",
]


def __getattr__(name: str) -> Any:
    if name in _WHERE:
        return getattr(import_module(_WHERE[name]), name)
    raise AttributeError(f"module 'gen' has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
