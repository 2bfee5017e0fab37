"""Marks of which charts are made: at percentages across, and at px up and down."""

from __future__ import annotations

from gen.evaluate.results import Proportion
from gen.report.album import Album
from gen.report.glyph_words import Seen
from gen.report.markup import esc


def whisker(part: Proportion, y: int, kind: str) -> str:
    """An interval with its ends, and the share in it."""
    low, high, value = 100 * part.low, 100 * part.high, 100 * part.value
    caps = "".join(
        f'<line class="whisker" x1="{x:.2f}%" x2="{x:.2f}%" y1="{y - 5}" y2="{y + 5}"/>'
        for x in (low, high)
    )
    radius = 6 if "big" in kind else 4.5
    return (
        f'<line class="whisker" x1="{low:.2f}%" x2="{high:.2f}%" y1="{y}" y2="{y}"/>{caps}'
        f'<circle class="{kind}" cx="{value:.2f}%" cy="{y}" r="{radius}"/>'
    )


def upright(share: float, kind: str, label: str, *, top: int, foot: int) -> str:
    """A line at a share, named on top."""
    x = 100 * share
    anchor = "start" if x < 25 else "end" if x > 75 else "middle"
    return (
        f'<line class="{kind}" x1="{x:.2f}%" x2="{x:.2f}%" y1="{top}" y2="{foot}"/>'
        f'<text class="{kind}" x="{x:.2f}%" y="{top - 5}" text-anchor="{anchor}">'
        f"{esc(label)}</text>"
    )


def tick(share: float, kind: str, y: int) -> str:
    """A short stroke at a share."""
    x = 100 * share
    return f'<line class="{kind}" x1="{x:.2f}%" x2="{x:.2f}%" y1="{y - 8}" y2="{y + 8}"/>'


def glyph(seen: Seen, x: float, y: float, side: float, album: Album) -> str:
    """A glyph of so many px, with the frame that marks where a handle is."""
    number, uri = album.printed(seen.image)
    place = f'x="{x:g}" y="{y:g}" width="{side:g}" height="{side:g}"'
    return f'<image data-picture="{number}" href="{uri}" {place}/><rect class="frame" {place}/>'


def placed(x: float, y: float, inner: str, kind: str = "") -> str:
    """Something of a size in px at a place in percent."""
    named = f' class="{kind}"' if kind else ""
    return f'<svg{named} x="{x:g}%" y="{y:g}" width="1" height="1" overflow="visible">{inner}</svg>'
