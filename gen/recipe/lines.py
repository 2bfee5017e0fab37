"""On which line of a TOML text each key and each item of a list stands.

`tomllib` gives lines for syntax errors only. This walks over a text that
`tomllib` has already accepted, so it need not judge, only keep count; and what
it found is compared with what `tomllib` found. Where the two differ there are
no lines at all: no line is better than a wrong one.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterator, Mapping

Path = tuple[str | int, ...]
"""The way to a value: ("sweep", 1, "levels", 3) is item 4 of levels of sweep 2."""

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"[ \t]*")
_BETWEEN = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_SCALAR = re.compile(r"[^,\]}#\n]*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"""+'
    r"|'''.*?'''+"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)


def find_lines(text: str, data: Mapping[str, object]) -> dict[Path, int]:
    """The line of every key and item.

    Parameters
    ----------
    text
        TOML with ``\\n`` line ends, accepted by `tomllib`.
    data
        What `tomllib` made of it.

    Returns
    -------
    dict from path to line, counted from 1; empty when the walk and `tomllib`
    don't agree on what is there.

    Examples
    --------
    >>> text = 'title = "a"\\n[[sweep]]\\nlevels = [\\n  1,\\n  2,\\n]\\n'
    >>> lines = find_lines(text, tomllib.loads(text))
    >>> lines["sweep", 0, "levels"], lines["sweep", 0, "levels", 1]
    (3, 5)
    """
    walk = _Walk(text)
    try:
        walk.document()
        agreed = walk.lines.keys() == set(_paths(data))
    except (_LostError, RecursionError, tomllib.TOMLDecodeError):
        return {}
    return walk.lines if agreed else {}


def _paths(value: object, path: Path = ()) -> Iterator[Path]:
    """Every path of a parsed document."""
    inner: Iterator[tuple[str | int, object]] = iter(())
    if isinstance(value, Mapping):
        inner = iter(value.items())
    elif isinstance(value, list):
        inner = iter(enumerate(value))
    for key, below in inner:
        yield (*path, key)
        yield from _paths(below, (*path, key))


class _LostError(Exception):
    """The walk met something that it doesn't know."""


class _Walk:
    """One pass over a text, from its start to its end."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}
        self.starts = [0, *(match.end() for match in re.finditer("\n", text))]

    def document(self) -> None:
        table: Path = ()
        self.skip(_BETWEEN)
        while self.at < len(self.text):
            line = self.line()
            if self.take("[["):
                table = self.header(self.key(), line, listed=True)
                self.expect("]]")
            elif self.take("["):
                table = self.header(self.key(), line, listed=False)
                self.expect("]")
            else:
                self.pair(table)
            self.skip(_BETWEEN)

    def header(self, key: list[str], line: int, *, listed: bool) -> Path:
        path: Path = ()
        for part in key[:-1] if listed else key:
            path = self.inside((*path, part), line)
        if listed:
            path = (*path, key[-1])
            self.lines.setdefault(path, line)
            count = self.counts.get(path, 0)
            self.counts[path] = count + 1
            path = (*path, count)
            self.lines[path] = line
        return path

    def inside(self, path: Path, line: int) -> Path:
        """The table that a header's part leads to: the newest, in a list of tables."""
        self.lines.setdefault(path, line)
        return (*path, self.counts[path] - 1) if path in self.counts else path

    def pair(self, table: Path) -> None:
        line = self.line()
        path = table
        for part in self.key():
            path = (*path, part)
            self.lines.setdefault(path, line)
        self.expect("=")
        self.skip(_BLANK)
        self.value(path)

    def key(self) -> list[str]:
        """A key, in its parts where it is dotted."""
        parts = []
        while True:
            self.skip(_BLANK)
            string = _STRING.match(self.text, self.at)
            found = string or _BARE_KEY.match(self.text, self.at)
            if found is None:
                raise _LostError
            self.at = found.end()
            word = found.group()
            parts.append(str(tomllib.loads(f"k = {word}")["k"]) if string else word)
            self.skip(_BLANK)
            if not self.take("."):
                return parts

    def value(self, path: Path) -> None:
        string = _STRING.match(self.text, self.at)
        if string is not None:
            self.at = string.end()
        elif self.take("["):
            self.items(path)
        elif self.take("{"):
            self.inline_table(path)
        else:
            self.skip(_SCALAR)

    def items(self, path: Path) -> None:
        count = 0
        while True:
            self.skip(_BETWEEN)
            if self.take("]"):
                return
            self.lines[(*path, count)] = self.line()
            self.value((*path, count))
            count += 1
            self.skip(_BETWEEN)
            if not self.take(","):
                self.expect("]")
                return

    def inline_table(self, path: Path) -> None:
        # Line ends and a last comma are allowed here by TOML 1.1 and refused by 1.0;
        # `tomllib` has judged that already.
        while True:
            self.skip(_BETWEEN)
            if self.take("}"):
                return
            self.pair(path)
            self.skip(_BETWEEN)
            if not self.take(","):
                self.expect("}")
                return

    def line(self) -> int:
        return bisect_right(self.starts, self.at)

    def skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self.text, self.at)
        if found is not None:
            self.at = found.end()

    def take(self, mark: str) -> bool:
        if not self.text.startswith(mark, self.at):
            return False
        self.at += len(mark)
        return True

    def expect(self, mark: str) -> None:
        self.skip(_BLANK)
        if not self.take(mark):
            raise _LostError
