"""Fonts as a source of glyphs: characters set from any TrueType or OpenType file."""

from gen.glyphs.fonts.tables import Font, looks_like_font, read_font
from gen.glyphs.fonts.write import write_font

__all__ = ["Font", "looks_like_font", "read_font", "write_font"]
