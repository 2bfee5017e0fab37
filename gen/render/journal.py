"""What a run that may be ended at any moment has done so far, a line a cell."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

NAME = "journal.jsonl"
_WORDS = {
    "version": "it was another version of this program",
    "format": "it was another format",
    "recipe": "it was another recipe",
    "glyphs": "it was other glyphs",
}


class Journal:
    """Lines of JSON: what the run is of, then each cell that is whole, then the move.

    Only the process that holds the staging folder writes it. A line that was being
    written when the process was killed is cut off again.

    Parameters
    ----------
    path
        The file. When it is there and is of the same work, it is gone on with.
    pins
        What the work is: version, format, digests of recipe and glyphs.

    Attributes
    ----------
    cells
        The manifest's entry of each cell that is whole, by name.
    moving
        The manifest and the stale files, once all is done and the move has begun.
    other
        Why an older journal could not be gone on with; None when there was none,
        or it was of this work.
    """

    def __init__(self, path: Path, pins: Mapping[str, Any]) -> None:
        self.path = path
        self.cells: dict[str, dict[str, Any]] = {}
        self.moving: dict[str, Any] | None = None
        self.other: str | None = None
        lines, good = _good_lines(path)
        if lines and lines[0].get("pins") == dict(pins):
            for line in lines[1:]:
                if "cell" in line:
                    self.cells[line["cell"]["name"]] = line["cell"]
                elif "moving" in line:
                    self.moving = line["moving"]
            with path.open("r+b") as stream:
                stream.truncate(good)
            return
        if lines:
            self.other = _differs(lines[0].get("pins"), pins)
        path.write_text(_line({"pins": dict(pins)}), encoding="utf-8", newline="\n")

    def add(self, cell: dict[str, Any]) -> None:
        """Note that the files of a cell are whole."""
        self._append({"cell": cell})
        self.cells[cell["name"]] = cell

    def begin_move(self, manifest: dict[str, Any], stale: list[str]) -> None:
        """Note that everything is whole, and what an earlier set leaves behind."""
        self.moving = {"manifest": manifest, "stale": stale}
        self._append({"moving": self.moving})

    def _append(self, said: dict[str, Any]) -> None:
        with self.path.open("a", encoding="utf-8", newline="\n") as stream:
            stream.write(_line(said))


def half_moved(place: Path) -> bool:
    """Whether the run that worked in a staging folder was ended while it moved things out."""
    lines, _ = _good_lines(place / NAME)
    return any("moving" in line for line in lines)


def _line(said: dict[str, Any]) -> str:
    return json.dumps(said) + "\n"


def _good_lines(path: Path) -> tuple[list[dict[str, Any]], int]:
    """The lines that are whole, and how many bytes they are."""
    try:
        raw = path.read_bytes()
    except OSError:
        return [], 0
    lines: list[dict[str, Any]] = []
    good = 0
    for line in raw.splitlines(keepends=True):
        try:
            said = json.loads(line)
        except ValueError:
            break
        if not line.endswith(b"\n") or not isinstance(said, dict):
            break
        lines.append(said)
        good += len(line)
    return lines, good


def _differs(before: object, now: Mapping[str, Any]) -> str:
    if isinstance(before, dict):
        for key, words in _WORDS.items():
            if before.get(key) != now.get(key):
                return words
    return "it was of something else"
