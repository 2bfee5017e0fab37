"""Lines of text that fit a terminal and can't steer it."""

from __future__ import annotations

import textwrap

from gen.report.names import ISOLATE, POP
from gen.report.words import kept_together


def one_line(text: str) -> str:
    r"""Text without what would move the cursor: names come from files.

    Examples
    --------
    >>> one_line("plum\r\x1b[2J")
    'plum  [2J'
    >>> one_line("\u2068\u05d0\u2069 read as 7") == "\u05d0 read as 7"
    True
    """
    # What keeps names apart on a page means nothing to most terminals.
    shown = (c for c in text if c not in (ISOLATE, POP))
    return "".join(c if c.isprintable() else " " for c in shown)


def wrapped(text: str, width: int, first: str = "", then: str = "") -> list[str]:
    """Text broken into lines, never between a figure and its unit.

    Parameters
    ----------
    text
        A sentence or more.
    width
        Columns.
    first, then
        What stands before the first line, and before the others.

    Examples
    --------
    >>> wrapped("accuracy falls at +3 px", 18, "* ", "  ")
    ['* accuracy falls', '  at +3 px']
    """
    lines = textwrap.wrap(
        kept_together(one_line(text)),
        width,
        initial_indent=first,
        subsequent_indent=then,
        break_on_hyphens=False,
    )
    # A space that may not be broken at is shown as a plain one.
    return [line.replace("\u00a0", " ") for line in lines] or [first]
