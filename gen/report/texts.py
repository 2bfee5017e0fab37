"""The texts that a report, a comparison or a diagnosis consists of, as files of a folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from gen.core.errors import OutputError
from gen.core.files import cannot_write


def write_texts(
    folder: Path | str, texts: Mapping[str, str], *, make: bool = False
) -> dict[str, Path]:
    """Write some texts under their names.

    Parameters
    ----------
    folder
        Where they go.
    texts
        By file name.
    make
        Whether the folder is made if it isn't there.

    Returns
    -------
    dict of file name to path.

    Raises
    ------
    OutputError
        If the folder isn't there and isn't to be made, or can't be written to.
    """
    into = Path(folder)
    if not make and not into.is_dir():
        raise OutputError(str(into), "there is no such folder", hint="make it first")
    paths = {name: into / name for name in texts}
    at = into
    try:
        into.mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            at = paths[name]
            # Bytes, so that line ends are the same on every system. A name that
            # came from a broken file may hold half a character.
            at.write_bytes(text.encode("utf-8", "replace"))
    except OSError as error:
        raise cannot_write(at, error) from error
    return paths
