"""What each model has throughout a comparison's page: a key, dashes, a mark; and short names."""

from __future__ import annotations

from collections.abc import Sequence

from gen.report.markup import esc

KEYS = "ABCDEFGH"
DASHES = ("", "7 4", "2 3", "10 3 2 3", "14 4", "5 2 1 2 1 2", "1 5", "4 4 10 4")
MARKS = (
    '<circle r="4"/>',
    '<path d="M-4 -4 h8 v8 h-8 Z"/>',
    '<path d="M0 -5 L5 4 L-5 4 Z"/>',
    '<path d="M0 -5.5 L5.5 0 L0 5.5 L-5.5 0 Z"/>',
    '<path d="M0 5 L5 -4 L-5 -4 Z"/>',
    '<path d="M-1.5 -5 h3 v3.5 h3.5 v3 h-3.5 v3.5 h-3 v-3.5 h-3.5 v-3 h3.5 Z"/>',
    '<path d="M-5 -1.8 h10 v3.6 h-10 Z"/>',
    '<path d="M-1.8 -5 h3.6 v10 h-3.6 Z"/>',
)
_LONGEST = 16


def sample(place: int) -> str:
    """A model's line and mark, for a legend."""
    return (
        '<svg class="sample" width="46" height="14" aria-hidden="true">'
        f'<line class="m{place} own" x1="2" x2="44" y1="7" y2="7" '
        f'stroke-dasharray="{DASHES[place]}"/>'
        f'<svg x="23" y="7" width="1" height="1" overflow="visible">'
        f'<g class="m{place} mark">{MARKS[place]}</g></svg></svg>'
    )


def legend(names: Sequence[str]) -> str:
    """Who is who throughout the page."""
    return "".join(
        f'<div><dt><span class="key m{at}">{KEYS[at]} {sample(at)}</span></dt>'
        f"<dd>{esc(name)}</dd></div>"
        for at, name in enumerate(names)
    ).join(('<dl class="who">', "</dl>"))


def shortened(name: str) -> str:
    """A name that fits beside a chart: its file without folders, and of that both ends.

    Examples
    --------
    >>> shortened("reader"), shortened("models/orchard/tags.py:reader")
    ('reader', 'tags.py:reader')
    >>> shortened("small_model.py:reader"), shortened("my_model.py:reader")
    ('small_m…y:reader', 'my_mode…y:reader')
    """
    name = name.rpartition("/")[2]
    if len(name) <= _LONGEST:
        return name
    half = (_LONGEST - 1) // 2
    return f"{name[:half]}\u2026{name[-(_LONGEST - 1 - half) :]}"
