"""From a recipe and a glyph set to pixels: plan, exact operators, coverage, stress set."""
