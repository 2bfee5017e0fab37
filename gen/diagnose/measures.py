"""What is measured of every glyph, in one table, and the measuring."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from gen.core.errors import GlyphError
from gen.diagnose.frame import border_like_ink, grey_levels, touching_border
from gen.diagnose.paper import levels
from gen.diagnose.pieces import pieces
from gen.diagnose.shape import box, moments, slant_deg, weights
from gen.diagnose.spectrum import widths_and_sigmas
from gen.glyphs.base import Glyphs, Pixels, Real

QUANTILES = (5, 25, 50, 75, 95)
"""Percentages that tables show."""
_AT_ONCE = 2048
LEAST_SIDE_PX = 4


@dataclass(frozen=True)
class Measure:
    """One amount that a picture shows.

    Attributes
    ----------
    name
        Its key, unit included.
    title, unit, meaning
        As people read them; the unit is empty for plain counts.
    """

    name: str
    title: str
    unit: str
    meaning: str


_TABLE = (
    ("ink_share", "ink", "share", "ink over the paper, as a share of a frame full of ink"),
    ("centroid_dx_px", "centroid, x", "px", "centre of ink right of the frame's centre"),
    ("centroid_dy_px", "centroid, y", "px", "centre of ink below the frame's centre"),
    ("height_px", "height", "px", "of the box round the ink"),
    ("width_px", "width", "px", "of the box round the ink"),
    ("margin_top_px", "margin, top", "px", "bare paper above the box"),
    ("margin_bottom_px", "margin, bottom", "px", "bare paper below the box"),
    ("margin_left_px", "margin, left", "px", "bare paper left of the box"),
    ("margin_right_px", "margin, right", "px", "bare paper right of the box"),
    ("stroke_width_px", "stroke width", "px", "width of the strokes, blur taken off"),
    ("slant_deg", "slant", "deg", "lean of the mark, to the right at the top positive"),
    ("edge_sigma_px", "edge", "px", "blur of the edges, as the sigma of a Gaussian"),
    ("contrast", "contrast", "grey levels", "from paper to full ink, as seen"),
    ("background", "background", "grey levels", "of bare paper at the middle of the frame"),
    ("unevenness", "unevenness", "grey levels", "by which bare paper differs over the frame"),
    ("noise", "noise", "grey levels", "deviation of the noise of bare paper"),
    ("border_like_ink", "border like ink", "share", "of the frame's edge; near 1 when inverted"),
    ("ink_at_border", "ink at border", "share", "of the mark's ink, in the outermost pixels"),
    ("grey_levels", "grey levels", "", "how many different values the picture uses"),
    ("pieces", "pieces", "", "of ink that hang together, corners counted, specks not"),
)
MEASURES: Mapping[str, Measure] = MappingProxyType({row[0]: Measure(*row) for row in _TABLE})
"""Every measure by name, in the order in which they are shown."""


@dataclass(frozen=True)
class Measures(Mapping[str, Real]):
    """Every measure of some glyphs.

    A mapping of name to ndarray of shape (n,), float64, in the order of `MEASURES`; NaN
    where a picture doesn't tell.

    Attributes
    ----------
    values_by_name
        The arrays by name.
    """

    values_by_name: Mapping[str, Real]

    def __getitem__(self, name: str) -> Real:
        return self.values_by_name[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.values_by_name)

    def __len__(self) -> int:
        return len(self.values_by_name)

    @property
    def count(self) -> int:
        """How many glyphs were measured."""
        return len(self.values_by_name["ink_share"])

    def quantiles(self, name: str, percentages: tuple[int, ...] = QUANTILES) -> Real:
        """Quantiles of one measure, NaN if no glyph tells, ndarray of shape (percentages,).

        Examples
        --------
        >>> from gen import write_strokes
        >>> measured = measure_glyphs(write_strokes(count=50))
        >>> low, middle, high = measured.quantiles("height_px", (5, 50, 95))
        >>> bool(17 < low < middle < high < 28)
        True
        """
        told = self[name][np.isfinite(self[name])]
        if not len(told):
            return np.full(len(percentages), np.nan)
        return np.percentile(told, percentages)


def measure(images: Pixels, *, progress: Callable[[int, int], None] | None = None) -> Measures:
    """Measure pictures.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright; sides of at least 4 px.
    progress
        Called with pictures done and pictures in all.

    Returns
    -------
    Measures

    Raises
    ------
    GlyphError
        If the array isn't one of pictures.

    Notes
    -----
    How near each comes to a known truth is in tests/diagnose: on strokes of 2 to 5 px in
    28 x 28 px the means are within 0.02 px for the centroid, 0.15 px for stroke width,
    1 deg for slant and about 0.1 px for blur.

    Examples
    --------
    >>> bar = np.zeros((1, 28, 28), np.uint8)
    >>> bar[0, 4:20, 12:15] = 255
    >>> seen = measure(bar)
    >>> float(seen["height_px"][0]), float(seen["centroid_dy_px"][0])
    (16.0, -2.0)
    """
    if images.ndim != 3 or images.dtype != np.uint8 or min(images.shape[1:]) < LEAST_SIDE_PX:
        raise GlyphError(
            "measure",
            "these are not pictures that can be measured",
            got=f"{images.dtype} of shape {images.shape}",
            allowed=f"uint8 of shape (N, H, W), H and W at least {LEAST_SIDE_PX}",
        )
    blocks = []
    for start in range(0, max(len(images), 1), _AT_ONCE):
        blocks.append(_measured(np.ascontiguousarray(images[start : start + _AT_ONCE])))
        if progress is not None:
            progress(min(start + _AT_ONCE, len(images)), len(images))
    joined = {name: np.concatenate([block[name] for block in blocks]) for name in MEASURES}
    return Measures(MappingProxyType(joined))


def measure_glyphs(glyphs: Glyphs) -> Measures:
    """Measure every glyph of a set: where its ink lies, how wide, slanted, sharp and faint.

    Parameters
    ----------
    glyphs
        Pictures, or strokes, which are drawn first.

    Returns
    -------
    Measures
        A mapping of name to ndarray of shape (n,), float64, NaN where a picture doesn't
        tell; `gen.diagnose.measures.MEASURES` has each one's unit and meaning.

    Raises
    ------
    GlyphError
        If the frame is too small to be measured.

    Examples
    --------
    >>> from gen import write_strokes
    >>> seen = measure_glyphs(write_strokes(classes="17", count=40))
    >>> seen["slant_deg"].shape, MEASURES["slant_deg"].unit
    ((40,), 'deg')
    """
    return measure(pictures_of(glyphs))


def pictures_of(glyphs: Glyphs) -> Pixels:
    """The pictures of a set, drawn if they are strokes: (N, H, W), uint8, ink bright."""
    from gen.glyphs.base import RasterGlyphs
    from gen.render.pictures import nominal_pictures

    return glyphs.images if isinstance(glyphs, RasterGlyphs) else nominal_pictures(glyphs)


def _measured(images: Pixels) -> dict[str, Real]:
    count, height, width = images.shape
    if not count:
        return {name: np.zeros(0) for name in MEASURES}
    seen = levels(images)
    number, marks = pieces(seen.ink)
    weight = weights(seen, marks)
    total, centre, covariance = moments(weight)
    wide, sigma = widths_and_sigmas(seen)
    top, bottom, left, right = box(seen, marks).T
    return {
        "ink_share": np.where(seen.seen, total, 0.0) / (255.0 * height * width),
        "centroid_dx_px": centre[:, 1],
        "centroid_dy_px": centre[:, 0],
        "height_px": bottom - top,
        "width_px": right - left,
        "margin_top_px": top + 0.5,
        "margin_bottom_px": height - 0.5 - bottom,
        "margin_left_px": left + 0.5,
        "margin_right_px": width - 0.5 - right,
        "stroke_width_px": wide,
        "slant_deg": slant_deg(seen, marks, covariance, wide, sigma),
        "edge_sigma_px": sigma,
        "contrast": seen.contrast,
        "background": seen.paper,
        "unevenness": seen.uneven,
        "noise": seen.noise,
        "border_like_ink": border_like_ink(images),
        "ink_at_border": touching_border(seen, marks),
        "grey_levels": grey_levels(images),
        "pieces": number.astype(np.float64),
    }
