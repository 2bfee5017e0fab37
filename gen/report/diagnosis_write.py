"""The files of a diagnosis."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from gen.report.diagnosis_mended import MENDED, write_mended
from gen.report.json_text import json_text
from gen.report.texts import write_texts

if TYPE_CHECKING:
    from gen.report.diagnosis_make import DiagnosisReport

PAGE, DOCUMENT = "diagnosis.html", "diagnosis.json"


def write(report: DiagnosisReport, folder: Path | str) -> Mapping[str, Path]:
    """Write diagnosis.html and diagnosis.json, and mended.npz where a remedy changes glyphs.

    Raises
    ------
    OutputError
        If they can't be written.
    """
    texts = {PAGE: report.as_html(), DOCUMENT: json_text(report.as_dict()) + "\n"}
    paths = write_texts(folder, texts, make=True)
    if report.mended is not None and report.mended.images is not None:
        paths[MENDED] = write_mended(report.mended, Path(folder) / MENDED)
    return paths
