"""Where glyphs come from: strokes, IDX files, npz archives, folders of pictures."""
