"""Text that came from somebody else, as it may be shown on a terminal."""

from __future__ import annotations


def printable(text: str) -> str:
    r"""Text with its unprintable characters as escapes, so that it can't steer a terminal.

    Examples
    --------
    >>> print(printable("a\x1b[2J"))
    a\u001b[2J
    """
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)
