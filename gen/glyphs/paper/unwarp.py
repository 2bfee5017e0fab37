"""From the flat sheet to the photograph: perspective, then a smooth correction.

The model: a point t of the sheet, in mm, is seen in the photograph at H(t + P(t)). H is the
homography that fits all corners of the markers best; P is a polynomial in x and y, one for
each direction, fitted by least squares to what H leaves. Its degree follows from how much
is known: 0 for four or five markers, 2 for six to nine, 3 from ten; with the frames of the
boxes found as well, up to 5. It stands for the bend of the paper and the distortion of the
lens, which over a page are both smooth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.base import Real
from gen.glyphs.paper.layout import MARKER_MM
from gen.glyphs.paper.markers import LEAST, Markers

WORST_MM = 1.2
"""How far the corners of the markers may lie from where the model has them: more is a page that
is crumpled, or folded, or isn't this sheet."""
LEAST_PX_MM = 3.0
"""Pixels of the photograph to a mm, where it shows the page smallest: the code has modules of
0.4 to 0.5 mm, and a writing area is then 42 px."""

_STRAY_MM = 2.0
"""A marker so far from a common perspective with the others is a mistake of the detector."""


@dataclass(frozen=True)
class Warp:
    """From the sheet to the photograph.

    Attributes
    ----------
    homography
        ndarray of shape (3, 3), float64: from mm on the sheet to px.
    terms
        ndarray of shape (k, 2), float64: coefficients of the correction in x and y, mm.
    degree
        Of the correction.
    size_mm
        Of the paper.
    known_mm, seen_mm
        ndarray of shape (n, 2): corners of markers on the sheet, and where the
        homography alone has them; kept to fit again with more.
    worst_mm
        How far the worst corner is from where the model has it.
    markers
        How many markers it rests on.
    """

    homography: Real
    terms: Real
    degree: int
    size_mm: tuple[float, float]
    known_mm: Real
    seen_mm: Real
    worst_mm: float
    markers: int

    def flat(self, at_mm: Real) -> Real:
        """Points of the sheet as the homography has to see them: (..., 2) to (..., 2)."""
        if self.degree == 0:
            return at_mm
        bent: Real = at_mm + _powers(at_mm, self.size_mm, self.degree) @ self.terms
        return bent

    def to_photo(self, at_mm: Real) -> Real:
        """Points of the sheet in the photograph, px: (..., 2) to (..., 2), x first."""
        return projected(self.homography, self.flat(at_mm))

    def px_mm(self, at_mm: Real) -> Real:
        """Pixels of the photograph in one mm along x and along y: (..., 2) to (..., 2)."""
        ahead = [self.to_photo(at_mm + step) for step in (np.array([0.5, 0]), np.array([0, 0.5]))]
        back = [self.to_photo(at_mm - step) for step in (np.array([0.5, 0]), np.array([0, 0.5]))]
        sides = [np.linalg.norm(a - b, axis=-1) for a, b in zip(ahead, back, strict=True)]
        scale: Real = np.stack(sides, axis=-1)
        return scale

    def with_frames(self, known_mm: Real, found_mm: Real) -> Warp:
        """Fitted again with points that were found on the flattened page.

        Parameters
        ----------
        known_mm
            ndarray of shape (n, 2): where they are on the sheet.
        found_mm
            ndarray of shape (n, 2): where this warp shows them.
        """
        known = np.concatenate([self.known_mm, known_mm])
        seen = np.concatenate([self.seen_mm, self.flat(found_mm)])
        count = len(known_mm)
        degree = max(self.degree, 5 if count >= 60 else 4 if count >= 40 else 3)
        terms = _fitted(known, seen - known, self.size_mm, degree)
        return replace(self, terms=terms, degree=degree)


def fit_warp(where: str, markers: Markers, corners_mm: Real, size_mm: tuple[float, float]) -> Warp:
    """Fit the model to the markers of one page.

    Parameters
    ----------
    where
        The file, for errors.
    markers
        What was found.
    corners_mm
        ndarray of shape (12, 4, 2): where they are on the sheet.
    size_mm
        Of the paper.

    Raises
    ------
    GlyphError
        If the markers don't lie as on such a sheet, surround too little of it, or the
        photograph shows it too small.
    """
    known, seen = corners_mm[markers.places], markers.corners_px
    keep = _agreeing(known, seen)
    if keep.sum() < LEAST:
        raise GlyphError(
            where,
            "the markers don't lie as on this sheet",
            got=f"{keep.sum()} of {len(keep)} that agree with one another",
            allowed=f"at least {LEAST}",
            hint="flatten the page; is it the sheet that --sheet names?",
        )
    known, seen = known[keep], seen[keep]
    _check_spread(where, known, size_mm)
    homography = _homography(known.reshape(-1, 2), seen.reshape(-1, 2))
    inverse: Real = np.asarray(np.linalg.inv(homography), np.float64)
    at = known.reshape(-1, 2)
    flat = projected(inverse, seen.reshape(-1, 2))
    count = len(known)
    degree = 3 if count >= 10 else 2 if count >= 6 else 0
    terms = _fitted(at, flat - at, size_mm, degree)
    made = Warp(homography, terms, degree, size_mm, at, flat, 0.0, count)
    worst = float(np.linalg.norm(made.flat(at) - flat, axis=1).max())
    if worst > WORST_MM:
        raise GlyphError(
            where,
            "the page is bent more than can be undone",
            got=f"a marker is {worst:.1f} mm from where a smooth bend has it",
            allowed=f"up to {WORST_MM} mm",
            hint="lay the page flat",
        )
    grid = np.stack(np.meshgrid(*(np.linspace(0.1, 0.9, 5) * side for side in size_mm)), -1)
    least = float(made.px_mm(grid).min())
    if not least >= LEAST_PX_MM:
        raise GlyphError(
            where,
            "the photograph shows the page too small or too much from the side",
            got=f"{least:.1f} px a mm where it is smallest",
            allowed=f"at least {LEAST_PX_MM:g} px a mm",
            hint="nearer, from higher up, or with more megapixels",
        )
    return replace(made, worst_mm=worst)


def projected(homography: Real, points: Real) -> Real:
    """Points through a homography: (..., 2) to (..., 2)."""
    x, y = points[..., 0], points[..., 1]
    h = homography
    under = h[2, 0] * x + h[2, 1] * y + h[2, 2]
    out: Real = np.stack(
        [
            (h[0, 0] * x + h[0, 1] * y + h[0, 2]) / under,
            (h[1, 0] * x + h[1, 1] * y + h[1, 2]) / under,
        ],
        axis=-1,
    )
    return out


def _agreeing(known: Real, seen: Real) -> NDArray[np.bool_]:
    """Which markers lie in one perspective, a bend of the page allowed for."""
    import cv2

    wide = np.linalg.norm(seen - np.roll(seen, 1, axis=1), axis=-1).mean() / MARKER_MM
    bend_px = 4 * _STRAY_MM * wide
    homography, _ = cv2.findHomography(
        known.reshape(-1, 2), seen.reshape(-1, 2), cv2.RANSAC, bend_px, maxIters=2000
    )
    if homography is None:
        return np.zeros(len(known), bool)
    off = np.linalg.norm(projected(np.asarray(homography, np.float64), known) - seen, axis=-1).max(
        axis=1
    )
    return np.asarray(off <= 2 * bend_px)


def _check_spread(where: str, known: Real, size_mm: tuple[float, float]) -> None:
    """Refuse markers that lie on one side only: the rest of the page would be a guess."""
    middle = known.mean(axis=1)
    spans = np.ptp(middle, axis=0) / np.array(size_mm)
    if spans.min() < 0.5:
        raise GlyphError(
            where,
            "the markers that can be seen are all on one side of the page",
            got=f"{len(known)} markers over {spans[0]:.0%} of its width and {spans[1]:.0%} "
            "of its height",
            allowed="half of the page either way",
            hint="all of the page in the picture",
        )


def _homography(known: Real, seen: Real) -> Real:
    import cv2

    found, _ = cv2.findHomography(known, seen, 0)
    homography: Real = np.asarray(found, np.float64)
    return homography


def _powers(at_mm: Real, size_mm: tuple[float, float], degree: int) -> Real:
    """Products of powers of x and y up to a degree, of a page that is 2 across: (..., k)."""
    x = at_mm[..., 0] * (2 / size_mm[0]) - 1
    y = at_mm[..., 1] * (2 / size_mm[1]) - 1
    xs, ys = [np.ones_like(x)], [np.ones_like(y)]
    for _ in range(degree):
        xs.append(xs[-1] * x)
        ys.append(ys[-1] * y)
    return np.stack(
        [xs[i] * ys[j] for i in range(degree + 1) for j in range(degree + 1 - i)], axis=-1
    )


def _fitted(known: Real, off: Real, size_mm: tuple[float, float], degree: int) -> Real:
    """Least squares, held a little towards no correction where nothing is known.

    The hold is that of one more corner which says 0 for each term: where markers lie it
    changes nothing that could be seen, and where there are none it stops high powers from
    running away.
    """
    if degree == 0:
        return np.zeros((1, 2))
    powers = _powers(known, size_mm, degree)
    hold = 0.03 * np.eye(powers.shape[1])
    hold[0, 0] = 0.0
    full = np.concatenate([powers, hold])
    wanted = np.concatenate([off, np.zeros((len(hold), 2))])
    terms: Real = np.linalg.lstsq(full, wanted, rcond=None)[0]
    return terms
