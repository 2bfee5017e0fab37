"""Pens that were followed: InkML and SVG, as strokes whose width can still be chosen.

`read_pens` takes a file or a folder; `pen_kind` and `holds_pens` tell by content
whether there is something for it.
"""

from gen.glyphs.pens.glyphs import PenGlyphs
from gen.glyphs.pens.read import read_pens
from gen.glyphs.pens.sniff import (
    HEAD_BYTES,
    holds_pens,
    looks_like_inkml,
    looks_like_svg,
    pen_kind,
)

__all__ = [
    "HEAD_BYTES",
    "PenGlyphs",
    "holds_pens",
    "looks_like_inkml",
    "looks_like_svg",
    "pen_kind",
    "read_pens",
]
