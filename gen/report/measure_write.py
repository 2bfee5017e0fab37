"""The files of a measured set."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from gen.core.errors import OutputError
from gen.report.measure_document import as_json
from gen.report.measure_set import Drawings

PAGE, DOCUMENT = "measure.html", "measure.json"


def write(drawings: Drawings, folder: Path | str) -> Mapping[str, Path]:
    """Write measure.html and measure.json into a folder that exists.

    Raises
    ------
    OutputError
        If the folder isn't there or can't be written to.
    """
    into = Path(folder)
    if not into.is_dir():
        raise OutputError(str(into), "there is no such folder", hint="make it first")
    paths = {}
    for name, text in ((PAGE, drawings.as_html()), (DOCUMENT, as_json(drawings))):
        paths[name] = into / name
        try:
            paths[name].write_bytes(text.encode("utf-8", "replace"))
        except OSError as error:
            raise OutputError(str(paths[name]), "can't be written", got=error.strerror) from error
    return paths
