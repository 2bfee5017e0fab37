"""Text as a page has it: no break between figure and unit, and a minus sign before numbers."""

from __future__ import annotations

import re

from gen.report.words import kept_together

# Not in dates, in names that somebody quoted, or in what is typed as LOW..HIGH.
_MINUS = re.compile(r"(?<![^\s(,;])-(?=\d)(?![\d.]*\.\.)")


def typeset(text: str) -> str:
    """Our own words and figures for a page; what is to be copied isn't handed here.

    Examples
    --------
    >>> typeset("-4.2 points (-6 to -2)") == "\u22124.2 points (\u22126 to \u22122)"
    True
    >>> typeset("2026-01-31"), typeset("--values -1..1"), typeset("\u201c-1\u201d")
    ('2026-01-31', '--values -1..1', '“-1”')
    """
    return kept_together(_MINUS.sub("\u2212", text))
