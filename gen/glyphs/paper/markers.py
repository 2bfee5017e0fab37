"""The markers of a page in a photograph: which they are, and where their corners lie."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels, Real
from gen.glyphs.paper.layout import CELLS, DICTIONARY, MOST_PAGES, PER_PAGE

LEAST = 4
"""Markers that a page can be read by: they give a perspective, and one another's check."""
_LOOKED_AT_PX = 2400
"""Long side of the reduced picture that is searched first; markers are found in it sooner."""
_ENOUGH = 11
"""Markers after which no slower view is searched: one under a thumb isn't found by any."""
_PAPER_IS_DARK = 60
"""Grey of the lightest twentieth of a photograph, under which it is called dark."""


@dataclass(frozen=True)
class Markers:
    """Markers of one page.

    Attributes
    ----------
    page
        The page they are of, from 1.
    places
        ndarray of shape (n,), intp: which of the twelve each is.
    corners_px
        ndarray of shape (n, 4, 2), float64: (x, y) in the photograph, clockwise from the
        corner that is the upper left one on the sheet.
    """

    page: int
    places: NDArray[np.intp]
    corners_px: Real


def find_markers(where: str, grey: Pixels) -> Markers:
    """Find the markers of the one page that a photograph shows.

    Parameters
    ----------
    where
        The file, for errors.
    grey
        ndarray of shape (H, W), uint8.

    Raises
    ------
    GlyphError
        If fewer than four are found, or those of two pages.
    """
    seen: dict[int, Real] = {}
    for picture, scale in _views(grey):
        found = _detected(picture)
        _hold_to_one_page(where, found)
        for number, corners in found:
            seen.setdefault(number, (corners + 0.5) * scale - 0.5)
        if len(seen) >= _ENOUGH:
            break
    pages = _pages(seen)
    if not pages or max(len(each) for each in pages.values()) < LEAST:
        raise _too_few(where, grey, len(seen))
    good = {page: each for page, each in pages.items() if len(each) >= LEAST}
    if len(good) > 1:
        raise GlyphError(
            where,
            "the photograph shows more than one page",
            got=f"markers of pages {', '.join(map(str, sorted(good)))}",
            hint="one page a photograph",
        )
    ((page, numbers),) = good.items()
    places = np.array([number % PER_PAGE for number in numbers], dtype=np.intp)
    corners = np.array([seen[number] for number in numbers])
    return Markers(page, places, _refined(grey, corners))


def _views(grey: Pixels) -> Iterator[tuple[Pixels, float]]:
    """The picture to look for markers in, easiest first, and px of the photograph in one of it."""
    import cv2

    longest = max(grey.shape)
    if longest > _LOOKED_AT_PX:
        scale = longest / _LOOKED_AT_PX
        size = (round(grey.shape[1] / scale), round(grey.shape[0] / scale))
        small = np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.uint8)
        yield small, scale
        yield _evened(small), scale
    yield grey, 1.0
    if longest <= _LOOKED_AT_PX:
        yield _evened(grey), 1.0


def _evened(grey: Pixels) -> Pixels:
    """With the contrast of each part stretched: for markers in a deep shadow."""
    import cv2

    return np.asarray(cv2.createCLAHE(4.0, (8, 8)).apply(grey), np.uint8)


def _detected(grey: Pixels) -> list[tuple[int, Real]]:
    import cv2

    settings = cv2.aruco.DetectorParameters()
    # A marker is 8.4 mm: of a page that fills half of a picture, 1/70 of its long side.
    settings.minMarkerPerimeterRate = 0.02
    settings.adaptiveThreshWinSizeMax = 43
    kind = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    corners, numbers, _ = cv2.aruco.ArucoDetector(kind, settings).detectMarkers(grey)
    if numbers is None:
        return []
    return [
        (int(number), np.asarray(each, np.float64).reshape(4, 2))
        for number, each in zip(np.ravel(numbers), corners, strict=True)
    ]


def _hold_to_one_page(where: str, found: list[tuple[int, Real]]) -> None:
    """Refuse two sheets side by side, whose markers have the same numbers."""
    first: dict[int, Real] = {}
    apart: set[int] = set()
    for number, corners in found:
        other = first.setdefault(number, corners)
        side = np.linalg.norm(corners[0] - corners[2])
        if np.linalg.norm(corners.mean(axis=0) - other.mean(axis=0)) > side:
            apart.add(number)
    twice = len(apart)
    if twice >= LEAST:
        raise GlyphError(
            where,
            "the photograph shows more than one page",
            got=f"{twice} of {PER_PAGE} markers more than once",
            hint="one page a photograph",
        )


def _pages(seen: dict[int, Real]) -> dict[int, list[int]]:
    pages: dict[int, list[int]] = {}
    for number in sorted(seen):
        if number < MOST_PAGES * PER_PAGE:
            pages.setdefault(number // PER_PAGE + 1, []).append(number)
    return pages


def _refined(grey: Pixels, corners_px: Real) -> Real:
    """The corners where the edges of each marker meet, to a fraction of a pixel.

    The window must hold the corner of the border and nothing of the cells inside it.
    """
    import cv2

    sides = np.linalg.norm(corners_px - np.roll(corners_px, 1, axis=1), axis=-1)
    cells = sides.min(axis=1) / CELLS
    out = corners_px.copy()
    until = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_MAX_ITER, 40, 0.005)
    for index, cell in enumerate(cells):
        half = int(np.clip(np.floor(0.75 * cell), 2, 15))
        points = corners_px[index].astype(np.float32).reshape(-1, 1, 2)
        found = cv2.cornerSubPix(grey, points, (half, half), (-1, -1), until).reshape(4, 2)
        moved = np.linalg.norm(found - corners_px[index], axis=1)
        out[index] = np.where((moved < cell)[:, None], found, corners_px[index])
    return out


def _too_few(where: str, grey: Pixels, found: int) -> GlyphError:
    light = float(np.percentile(grey[::7, ::7], 95))
    got = f"{found} of {PER_PAGE} markers, in {grey.shape[1]:,} x {grey.shape[0]:,} px"
    if light < _PAPER_IS_DARK:
        fact = "the photograph is too dark to find the markers of a sheet in it"
        return GlyphError(
            where, fact, got=f"{got}; its paper has a grey of {light:.0f} of 255", hint="more light"
        )
    if max(grey.shape) < 1000:
        return GlyphError(
            where,
            "the photograph is too small to find the markers of a sheet in it",
            got=got,
            allowed="3 px a mm and more: 900 px along the long side of the page",
            hint="the photograph as the camera took it, not a small copy",
        )
    return GlyphError(
        where,
        "too few markers of a sheet can be seen",
        got=got,
        allowed=f"at least {LEAST} of one page",
        hint="all of the page in the picture, sharp and without glare, nearer or from higher up; "
        "--loose if it is no sheet",
    )
