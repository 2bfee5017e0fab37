"""Paper: a sheet to write on, and the way back from a photograph of it to a set of glyphs.

`layout` says where everything on a sheet is, in mm; `drawing` draws it, `pdf` and `raster`
put it into files. `photo`, `markers`, `unwarp`, `light` and `boxes` are the steps back,
`page` takes them in order, `collected` makes a set of many pages. `loose` cuts marks
from a page that is no sheet.
"""
