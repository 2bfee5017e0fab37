"""From a file to a TOML text, and from that to plain values with all their digits."""

from __future__ import annotations

import os
import re
import tomllib
from decimal import Decimal, InvalidOperation
from pathlib import Path

from gen.core.errors import RecipeError
from gen.core.plain_text import printable

LARGEST_FILE = 1 << 20
"""Bytes. A recipe is written by a person; what is larger is another file."""

_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_BARE_WORDS = re.compile(r"([\w.-]+)\s*=\s*([A-Za-z][\w -]*?)\s*(?:#.*)?")
_SHOWN = 80


def read_text(path: str | os.PathLike[str]) -> str:
    """The text of a recipe file.

    Raises
    ------
    RecipeError
        If there is no such file, or it isn't UTF-8 text of at most 1 MiB.
    """
    name = os.fspath(path)
    try:
        with Path(path).open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except FileNotFoundError as cause:
        raise RecipeError(name, "there is no such file", hint="gen recipe list") from cause
    except IsADirectoryError as cause:
        raise RecipeError(name, "this is a folder, not a recipe", allowed="a TOML file") from cause
    except (OSError, ValueError) as cause:
        reason = cause.strerror if isinstance(cause, OSError) else str(cause)
        raise RecipeError(name, "the file can't be opened", got=reason) from cause
    if len(data) > LARGEST_FILE:
        raise RecipeError(
            name,
            "the file is too large for a recipe",
            got=f"more than {LARGEST_FILE} bytes",
            allowed="at most 1 MiB",
        )
    return _decoded(data, name)


def _decoded(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as cause:
        line = data.count(b"\n", 0, cause.start) + 1
        wide = data.startswith((b"\xff\xfe", b"\xfe\xff"))
        raise RecipeError(
            name if wide else f"{name}:{line}",
            "the file isn't UTF-8 text",
            got="UTF-16" if wide else f"byte 0x{data[cause.start]:02x} at offset {cause.start}",
            hint="save it as UTF-8",
        ) from cause


def _with_quotes(written: str) -> str | None:
    """A line whose words lack their quotes, with them; None for any other line."""
    bare = _BARE_WORDS.fullmatch(written)
    return f'{bare[1]} = "{bare[2]}"' if bare and bare[2] not in ("true", "false") else None


def _exact(written: str) -> Decimal:
    """A TOML float with all its digits."""
    try:
        return Decimal(written)
    except InvalidOperation:  # an exponent of twenty digits
        return Decimal("inf")


def parse_toml(text: str, file: str) -> dict[str, object]:
    """What a TOML text says; its numbers with a point as `Decimal`.

    Parameters
    ----------
    text
        With ``\\n`` line ends and without a byte order mark.
    file
        What errors call it.

    Raises
    ------
    RecipeError
        If it isn't TOML: the line, the column and what stands there.
    """
    try:
        return tomllib.loads(text, parse_float=_exact)
    except tomllib.TOMLDecodeError as cause:
        message = str(cause)
        place = _PLACE.search(message)
        fact = message[: place.start()] if place else message
        fact = f"this isn't TOML: {fact[:1].lower()}{fact[1:]}"
        if place is None or place[1] is None:
            raise RecipeError(file, f"{fact}, at the end of the file") from cause
        line = int(place[1])
        written = text.split("\n")[line - 1].strip()
        raise RecipeError(
            f"{file}:{line}",
            f"{fact}, at column {place[2]}",
            got=printable(written[:_SHOWN]) or None,
            hint=_with_quotes(written),
        ) from cause
    except RecursionError as cause:
        raise RecipeError(file, "lists or tables are nested too deeply") from cause
    except ValueError as cause:  # a whole number of thousands of digits
        raise RecipeError(file, "a number or a date can't be read", got=str(cause)) from cause
