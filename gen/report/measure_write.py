"""The files of a measured set."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from gen.report.measure_document import as_json
from gen.report.measure_set import Drawings
from gen.report.texts import write_texts

PAGE, DOCUMENT = "measure.html", "measure.json"


def write(drawings: Drawings, folder: Path | str) -> Mapping[str, Path]:
    """Write measure.html and measure.json into a folder that exists.

    Raises
    ------
    OutputError
        If the folder isn't there or can't be written to.
    """
    return write_texts(folder, {PAGE: drawings.as_html(), DOCUMENT: as_json(drawings)})
