"""Names that somebody else chose, so set that the words and figures round them keep their order."""

from __future__ import annotations

from unicodedata import bidirectional

ISOLATE, POP = "\u2068", "\u2069"
"""First strong isolate and its end: what is between them orders nothing outside (UAX #9, 2.4)."""
_TURNS = {"R", "AL", "AN"}
_CONTROLS = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}


def isolated(name: str) -> str:
    r"""The name as it stands in a sentence that is read from left to right.

    A name with letters that are read from right to left would otherwise draw the figures
    after it to its other side. What is in a name only to turn others round is left out.

    Examples
    --------
    >>> isolated("plum")
    'plum'
    >>> isolated("\u05d0\u05d1") == "\u2068\u05d0\u05d1\u2069"
    True
    >>> isolated("\u202eplum")
    'plum'
    """
    turns = any(bidirectional(letter) in _TURNS for letter in name)
    return f"{ISOLATE}{upright(name)}{POP}" if turns else upright(name)


def upright(name: str) -> str:
    """The name without what is in it only to turn letters round."""
    return "".join(letter for letter in name if bidirectional(letter) not in _CONTROLS)
