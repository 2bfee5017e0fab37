"""The recipe that a person starts from: short, commented, and valid as it is."""

from __future__ import annotations

STARTER = """\
# An Inkdrift recipe: what is to be done to the marks, and how far.
# Check it:  gen recipe check FILE
# All keys:  recipes/README.md in the source, or the schema that ships with the package.

title = "My first recipe"
note = "What I want to know, for whoever reads the report."

# Whatever is drawn by lot follows from the seed: same seed, same pictures.
seed = 0

# To change a few things in a recipe that is there, name it, and write only what differs:
#   extends = "first-look"              # or a path, such as "shed/belt-two.toml"

# One table a sweep: one perturbation taken through its levels. The level at
# which nothing changes is put in by itself when it is left out.

[[sweep]]
perturbation = "translation"
along = "x"                             # "x" (right), "y" (down), or an angle in degrees
unit = "px"
levels = {from = -4, to = 4, step = 1}  # both ends included; whole px cost no sharpness
note = "The mount sags: how far aside may the mark lie?"

[[sweep]]
perturbation = "stroke-width"
unit = "ratio"                          # or "px": so much added to the pen's width
levels = [0.5, 0.75, 1, 1.5, 2]

[[sweep]]
perturbation = "rotation"
about = "mark"                          # or "frame": what stays where it is
unit = "deg"                            # positive turns anticlockwise
levels = {from = -30, to = 30, count = 5}

# A fault in the code between file and model: the decoder starts some bytes early.

[[sweep]]
perturbation = "row-slip"
unit = "bytes"
levels = [-2, -1, 0, 1, 2]

# Two perturbations crossed: every level of one with every level of the other.
# (Take the # away to use it; each side has the keys of a sweep.)

# [[grid]]
# down = {perturbation = "rotation", unit = "deg", levels = [-10, 0, 10]}
# across = {perturbation = "blur", unit = "px", levels = [0, 0.5, 1]}

# Several at once, as a camera really has them: drawn anew for each mark.

# [[blend]]
# title = "What the depot's camera does"
# draws = 1                             # pictures of each mark
#
# [[blend.part]]
# perturbation = "translation"
# along = "y"
# unit = "px"
# normal = {mean = 0.5, sd = 1}         # or uniform = {low, high}, triangular = {low, mode, high}
#
# [[blend.part]]
# perturbation = "placement"
# unit = "rule"
# discrete = {values = ["as drawn", "top left"], weights = [9, 1]}

# What a model has to keep: `gen report` ends with 1 when it doesn't.

# [[require]]
# perturbation = "translation"
# along = "x"
# unit = "px"
# within = 2                            # of nominal; or from and to, or levels = [...]
# keeps = 0.9                           # or drop = 0.02: at most 2 points below nominal
# judged_on = "estimate"                # or "lower end", of the 95 % interval

# Lengths may also be in "mm" once it is said how finely the paper is scanned, and in
# parts of a mark's "height" once it is said how many px that is; both above all tables:
#   scan_dpi = 200
#   glyph_height_px = 20
"""
"""The text; `gen recipe new FILE` writes it."""
