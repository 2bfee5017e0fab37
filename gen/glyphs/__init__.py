"""Where glyphs come from: strokes, arrays, tables, pictures, paper, pens and fonts."""
