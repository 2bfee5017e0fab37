"""The code of a page, read from a photograph once its markers are known."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels, Real
from gen.glyphs.paper.code import read_code
from gen.glyphs.paper.layout import CODE_MM, Plan
from gen.glyphs.paper.markers import Markers
from gen.glyphs.paper.modules import code_by_modules
from gen.glyphs.paper.unwarp import Warp, fit_warp

_AIR_MM = 3.0
_PX_MM = (14.0, 9.0)


def read_sheet(
    where: str, grey: Pixels, markers: Markers, *, told: str | None = None
) -> tuple[Plan, Warp, bool]:
    """Which sheet a page is of, and where it lies in the photograph.

    Parameters
    ----------
    where
        The file, for errors.
    grey
        ndarray of shape (H, W), uint8.
    markers
        Those of the page.
    told
        The line of the sheet as somebody typed it; needed where the code can't be read,
        and held to it where it can.

    Returns
    -------
    tuple
        The sheet, where it lies, and whether its code says so or only the line does.

    Raises
    ------
    GlyphError
        If the code can't be read and no line is told, if it is of another version or
        sheet, or if the page lies in a way that can't be undone.
    """
    given = None if told is None else read_code("--sheet", told)[0]
    # Which paper it is only the code tells. The markers divide either in the same way, so that
    # one fits the other nearly, and the code is looked for as it lies on each.
    first = given or Plan(("0",), 1)
    warp = fit_warp(where, markers, first.markers_mm, first.size_mm)
    text = _code(grey, warp, first) or code_by_modules(grey, warp, first)
    if text is None and given is None:
        other = Plan(("0",), 1, "Letter")
        stretched = fit_warp(where, markers, other.markers_mm, other.size_mm)
        text = code_by_modules(grey, stretched, other)
    if text is None and given is None:
        raise GlyphError(
            where,
            "the page is found, but neither of its two codes can be read",
            got=f"{warp.markers} markers, {warp.px_mm(_middle(first)).min():.1f} px a mm",
            hint='a sharper photograph, or --sheet "LINE" with the line at the foot of the page, '
            "which begins with inkdrift-sheet/",
        )
    if text is None:
        assert given is not None
        plan = given
    else:
        plan, page = read_code(where, text)
        if given is not None and given != plan:
            raise GlyphError(
                where, "the page is of another sheet than --sheet says", got=text, allowed=told
            )
        if page != markers.page:
            raise GlyphError(
                where,
                "the code and the markers are of two different pages",
                got=f"page {page} by its code, page {markers.page} by its markers",
                hint="one page a photograph",
            )
    if markers.page > plan.pages:
        raise GlyphError(
            where,
            "the sheet has no such page",
            got=f"page {markers.page} by its markers",
            allowed=f"1 to {plan.pages}",
        )
    if plan.paper != first.paper:
        warp = fit_warp(where, markers, plan.markers_mm, plan.size_mm)
    return plan, warp, text is not None


def _middle(plan: Plan) -> Real:
    return np.array(plan.size_mm) / 2


def _code(grey: Pixels, warp: Warp, plan: Plan) -> str | None:
    """The text of either code, if one can be read."""
    import cv2

    detector = cv2.QRCodeDetector()
    for px_mm in _PX_MM:
        for corner in plan.codes_mm:
            for picture in _cuts(grey, warp, np.array(corner), px_mm):
                try:
                    text = detector.detectAndDecode(picture)[0]
                    if not text:
                        near, far = _AIR_MM * px_mm, (_AIR_MM + CODE_MM) * px_mm - 1
                        points = [[near, near], [far, near], [far, far], [near, far]]
                        square = np.array([points], np.float32)
                        text = detector.decode(picture, square)[0]
                except (cv2.error, UnicodeDecodeError):
                    continue  # what isn't a code makes the decoder fail in many ways
                if text:
                    return str(text)
    return None


def _cuts(grey: Pixels, warp: Warp, corner_mm: Real, px_mm: float) -> Iterator[Pixels]:
    """One code cut out with some paper round it: as it is, and as black and white."""
    import cv2

    side = round((CODE_MM + 2 * _AIR_MM) * px_mm)
    at = (np.arange(side) + 0.5) / px_mm - _AIR_MM
    grid = np.stack(np.meshgrid(at + corner_mm[0], at + corner_mm[1]), axis=-1)
    seen = warp.to_photo(grid).astype(np.float32)
    cut = cv2.remap(grey, seen[..., 0], seen[..., 1], cv2.INTER_LINEAR)
    yield np.asarray(cut, np.uint8)
    smooth = cv2.GaussianBlur(cut, (0, 0), 0.12 * px_mm)
    hard = cv2.threshold(smooth, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)[1]
    yield np.asarray(hard, np.uint8)
