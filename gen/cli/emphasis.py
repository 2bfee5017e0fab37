"""A little emphasis on a terminal: the verdict, and what was required and is missed.

It is off where the words go anywhere else than to a terminal, on a terminal that says it can't
(TERM=dumb), and where NO_COLOR is set to anything: https://no-color.org, an informal standard.
"""

from __future__ import annotations

import os
import re
from typing import IO

import click

_MISSED = re.compile(r"^(required  | {10}|)missed(?=[: ])", re.MULTILINE)


def may_style(stream: IO[str] | None) -> bool:
    """Whether what is written to a stream may hold signs that a terminal acts on."""
    return is_steerable(stream) and not os.environ.get("NO_COLOR")


def is_steerable(stream: IO[str] | None) -> bool:
    """Whether a stream is a terminal that knows more than letters."""
    try:
        if stream is None or not stream.isatty():
            return False
    except ValueError:  # closed
        return False
    known = os.environ.get("TERM") or ("" if os.name != "nt" else "windows")
    return known not in ("", "dumb")


def with_verdict(text: str, stream: IO[str] | None) -> str:
    """A summary whose first line, the verdict, stands out, and each missed requirement too.

    Parameters
    ----------
    text
        The whole summary.
    stream
        Where it goes.

    Examples
    --------
    >>> with_verdict("SAFE\\n\\nrequired  kept: all", None)
    'SAFE\\n\\nrequired  kept: all'
    """
    if not may_style(stream):
        return text
    verdict, rest = text.partition("\n")[::2]
    return click.style(verdict, bold=True) + "\n" + with_missed(rest, stream)


def with_missed(text: str, stream: IO[str] | None) -> str:
    """Lines in which the word "missed" at the beginning stands out."""
    if not may_style(stream):
        return text
    return _MISSED.sub(lambda m: m[1] + click.style("missed", fg="red", bold=True), text)
