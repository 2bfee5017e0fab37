"""Built-in strokes: digits and capital letters as people write them.

`write_strokes` makes any number of labelled glyphs in any frame. A *hand* is a way
of writing that people share, a *writer* has a hand and strays from it, and each
glyph strays from its writer.

To add a way of writing a character, or a character: write its path in `digits` or
`letters` (the top of `digits` says how a path is read), a name for it beside it, and
name it in the `likes` of the hands that use it; other hands use it rarely. A path has
at most 20 points and 4 strokes.

To add a hand: add one `Hand` in `hands`, with a name nobody else uses. Writers take
the hands in turn, so a new one changes who has which.

Either changes the glyphs: raise `SHAPES_VERSION` in `source`, look at a page of two
hundred, and put the new digest in tests/glyphs/strokes/test_exactness.py.
"""

from gen.glyphs.strokes.hands import HANDS, Hand
from gen.glyphs.strokes.shape import CLASSES
from gen.glyphs.strokes.source import SHAPES_VERSION, WrittenGlyphs, write_strokes

__all__ = ["CLASSES", "HANDS", "SHAPES_VERSION", "Hand", "WrittenGlyphs", "write_strokes"]
