"""The files of a diagnosis."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from gen.core.errors import OutputError
from gen.report.diagnosis_mended import MENDED, write_mended
from gen.report.json_text import json_text

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
    into = Path(folder)
    texts = {PAGE: report.as_html(), DOCUMENT: json_text(report.as_dict()) + "\n"}
    try:
        into.mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            # A name that came from a broken file may hold half a character.
            (into / name).write_bytes(text.encode("utf-8", "replace"))
    except OSError as error:
        raise OutputError(str(into), "can't be written", got=error.strerror) from error
    paths = {name: into / name for name in texts}
    if report.mended is not None and report.mended.images is not None:
        paths[MENDED] = write_mended(report.mended, into / MENDED)
    return paths
