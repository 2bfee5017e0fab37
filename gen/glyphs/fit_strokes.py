"""Fitting that gives strokes a width of their own, whatever the mark is resized by."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.area import brought
from gen.glyphs.base import Pixels, Real
from gen.glyphs.fit import Fit, lost_share, marks_of
from gen.glyphs.laying_rule import laid_by
from gen.glyphs.width import STEP_PX, change_width, widened

Mask = NDArray[np.bool_]

FINER, MOST_FINE_SIDE_PX = 4, 1024
"""Widths are changed in a frame of this many times the pixels a side, then reduced by area; in
large frames of fewer times, where a pixel is a small part of any pen."""
LARGER = 3
"""As many frames a side hold any mark with its old pen: a line is at least half a pen long."""
_ROUND = 1.12
_TOGETHER, _MOST_FINE = 64, 1 << 22
_ROWS = 1024


def fitted_strokes(images: Pixels, fit: Fit, ratio: Real, shift: Real) -> tuple[Pixels, Real, Real]:
    """Pictures in their frame with strokes that are kept, or of a stated width.

    The box is that of the mark with its new strokes: what is resized is the line in the
    middle of the pen. Widths are right to 0.1 px where the pen is 2.5 px wide or more at the
    source and isn't enlarged; of thinner or enlarged ones 0.25 px were seen, since a line of
    a px or two has no full ink from which its width could be told; and of marks hardly longer
    than their pen is wide, up to 0.3 px. A dot becomes a dot of the pen.

    Parameters
    ----------
    images
        ndarray of shape (n, h, w), uint8, ink bright.
    fit
        The rule.
    ratio, shift
        ndarrays of shape (n,) and (n, 2): what the rule comes to when strokes are scaled.

    Returns
    -------
    tuple
        ndarray of shape (n, H, W), uint8; the ratio of the middle line, (n,); and the share
        of ink that came to lie outside, (n,).
    """
    made = np.empty((len(images), *fit.frame), np.uint8)
    resized, lost = np.empty(len(images)), np.empty(len(images))
    fine = fit.frame[0] * fit.frame[1] * finer_than(fit.frame) ** 2
    together = max(1, min(_TOGETHER, _MOST_FINE // fine))
    for start in range(0, len(images), together):
        part = slice(start, start + together)
        made[part], resized[part], lost[part] = _some(images[part], fit, ratio[part], shift[part])
    return made, resized, lost


def finer_than(frame: tuple[int, int]) -> int:
    """How many times the pixels of a frame the finer one has a side.

    Examples
    --------
    >>> finer_than((28, 28)), finer_than((256, 300)), finer_than((28, 4096))
    (4, 3, 1)
    """
    return max(1, min(FINER, MOST_FINE_SIDE_PX // max(frame)))


def _some(images: Pixels, fit: Fit, ratio: Real, shift: Real) -> tuple[Pixels, Real, Real]:
    finer = finer_than(fit.frame)
    fine = (fit.frame[0] * finer, fit.frame[1] * finer)
    drawn = fit.rule == "as drawn"
    box, centroid = marks_of(images)
    large = _laid_fine(images, ratio, shift, fine, box, times=finer, drawn=drawn)
    dot, across = dots_of(images, centroid)
    width = np.where(dot, across, pen_width_px(large) / (finer * ratio))
    wanted = width if fit.stroke == "kept" else np.full(len(images), float(fit.stroke))
    # A dot is all pen, and has no line that could be fitted: it is resized to the pen.
    as_pen = wanted / np.maximum(width, 1e-9)
    if drawn:
        resized = np.where(dot, as_pen, ratio)
        shift = shift + (ratio - resized)[:, None] * centroid
        ratio = resized
    else:
        longer = (box[:, 2:] - box[:, :2]).max(axis=1)
        line = np.maximum(longer - width, 0.25)
        room = np.maximum(ratio * longer - wanted, 1.0)
        ratio = np.where(longer > 0, np.where(dot, np.minimum(as_pen, ratio), room / line), ratio)
    steps = np.rint(finer * (wanted - ratio * width) / STEP_PX).astype(int)
    steps[dot] = 0
    made, lost = np.empty((len(images), *fit.frame), np.uint8), np.empty(len(images))
    # With the pen that it had, a mark may be larger than the frame until it is thinned.
    larger = (ratio * (box[:, 2:] - box[:, :2]).max(axis=1) > min(fit.frame)) & (not drawn)
    changes = steps != 0
    for some, times in ((changes & ~larger, 1), (changes & larger, LARGER)):
        if some.any():
            room = (times * fine[0], times * fine[1])
            large = _laid_fine(
                images[some], ratio[some], shift[some], room, box[some], times=finer, drawn=drawn
            )
            changed = widened(large, steps[some])
            if times > 1:
                # Of a short fat mark the width is seen badly, of the thin one that it became well.
                off = finer * wanted[some] - pen_width_px(changed)
                changed = widened(large, steps[some] + np.rint(off / STEP_PX).astype(int))
            made[some], lost[some] = _reduced(changed, fit, finer, drawn=drawn)
    as_wide = np.flatnonzero(~changes)
    if len(as_wide):
        # Nothing about their strokes changes, so that they are resized as squares, in one go.
        old, ratios, place = images[as_wide], ratio[as_wide], shift[as_wide]
        box, centroid = box[as_wide], centroid[as_wide]
        if not drawn:
            place = laid_by(fit.rule, ratios, box, centroid, fit.frame, fitted=True)
        made[as_wide] = brought(old, ratios, place, fit.frame)
        lost[as_wide] = lost_share(old, made[as_wide], ratios, place, box)
    return made, ratio, lost


def _reduced(large: Pixels, fit: Fit, finer: int, *, drawn: bool) -> tuple[Pixels, Real]:
    """From the finer frame into the frame by the rule, and the share of ink lost by that."""
    count = len(large)
    whole = np.full(count, 1.0 / finer)
    box, centroid = marks_of(large)
    if drawn:
        back = np.full((count, 2), (1.0 / finer - 1.0) / 2)
    else:
        back = laid_by(fit.rule, whole, box, centroid, fit.frame, fitted=True)
    made = brought(large, whole, back, fit.frame)
    return made, lost_share(large, made, whole, back, box)


def _laid_fine(
    images: Pixels,
    ratio: Real,
    shift: Real,
    fine: tuple[int, int],
    box: Real,
    *,
    times: int,
    drawn: bool,
) -> Pixels:
    """In the finer frame: where it was drawn, or in the middle until the rule is applied."""
    finer = times * ratio
    if drawn:
        # A frame of 4 times the pixels has its first centre 3/8 of an old px further out.
        place = times * shift + (times - 1) / 2
    else:
        place = laid_by("box centred", finer, box, box[:, :2], fine, fitted=True)
    large = np.empty((len(images), *fine), np.uint8)
    # Of an enlarged slanting stroke the edge must not be the zigzag of its pixels' sides,
    # which is up to 1.41 times as long.
    for linear in (False, True):
        some = np.flatnonzero((finer > 1) == linear)
        large[some] = brought(images[some], finer[some], place[some], fine, linear=linear)
    return large


def dots_of(images: Pixels, centroid: Real) -> tuple[Mask, Real]:
    """Which marks are dots, and how wide each is, as a disc of as much ink.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.
    centroid
        ndarray of shape (n, 2), (y, x), px.

    Returns
    -------
    tuple
        ndarray of shape (n,), bool; and ndarray of shape (n,), float64, px.

    Examples
    --------
    A disc has the least spread that its area allows; a line that is as long as its pen is
    wide has a quarter more.

    >>> y, x = np.indices((2, 30, 30))[1:]
    >>> away = np.hypot(y - 15, np.maximum(abs(x - 15) - np.array([0, 4])[:, None, None], 0))
    >>> marks = (255 * np.clip(4.5 - away, 0, 1)).astype(np.uint8)
    >>> dots_of(marks, np.full((2, 2), 15.0))[0].tolist()
    [True, False]
    """
    full = np.maximum(images.max(axis=(1, 2)).astype(float), 1.0)
    spread, ink = np.zeros(len(images)), np.zeros(len(images))
    for side in (0, 1):
        lines = images.sum(axis=2 - side, dtype=np.int64)
        ink = lines.sum(axis=1).astype(float)
        away = np.arange(lines.shape[1]) - centroid[:, side, None]
        # A pixel is a square, whose own spread of 1/12 isn't that of the mark.
        spread += (lines * away * away).sum(axis=1) / np.maximum(ink, 1.0) - 1 / 12
    area = ink / full
    dot = (area > 0) & (2 * np.pi * spread < _ROUND * area)
    return dot, np.sqrt(area * (4 / np.pi))


def pen_width_px(images: Pixels) -> Real:
    """Width of the round pen of each mark, the ends and crossings of its lines allowed for.

    A pen of width w along lines of length L covers L w + k pi w^2 / 4 and has the outline
    2 L + k pi w, where k is the count of pieces less that of holes. Area, outline (by how
    the area grows) and k are seen, and w solves the two.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.

    Returns
    -------
    ndarray of shape (n,), float64, px; 0 for a glyph without ink.

    References
    ----------
    J. Steiner (1840), for areas; S. B. Gray, "Local properties of binary images in two
    dimensions", IEEE Trans. Computers C-20 (1971) 551-561, for pieces less holes.

    Examples
    --------
    >>> y, x = np.indices((40, 60))
    >>> away = np.hypot(y - 20, np.maximum(abs(x - 30) - 15, 0))
    >>> bar = np.clip(4.0 - away + 0.5, 0, 1)[None]
    >>> f"{pen_width_px((255 * bar).astype(np.uint8))[0]:.1f}"  # of 8 px
    '7.9'
    """
    full = np.maximum(images.max(axis=(1, 2)).astype(float), 1.0)
    area = images.sum(axis=(1, 2), dtype=np.int64) / full
    grown = change_width(images, 1.0).sum(axis=(1, 2), dtype=np.int64) / full
    pieces = _pieces_less_holes(images, full / 2)
    half = np.maximum(grown - area - pieces * np.pi / 4, 1e-9)
    root = np.sqrt(np.maximum(half**2 - pieces * np.pi * area, 0.0))
    curved = (half - root) / np.where(pieces == 0, 1.0, pieces * np.pi / 2)
    return np.asarray(np.where(pieces == 0, area / half, curved))


def _pieces_less_holes(images: Pixels, least: Real) -> Real:
    """Pieces that touch by side or corner, less holes, counted over 2 x 2 px."""
    total = np.zeros(len(images))
    height = images.shape[1]
    for top in range(0, height, _ROWS):
        # With the row above, or the border; the last strip with the border below.
        inked = images[:, max(top - 1, 0) : top + _ROWS] >= least[:, None, None]
        ends = (int(top == 0), int(top + _ROWS >= height))
        room = np.pad(inked, ((0, 0), ends, (1, 1))).astype(np.int8)
        a, b, c, d = room[:, :-1, :-1], room[:, :-1, 1:], room[:, 1:, :-1], room[:, 1:, 1:]
        held = a + b + c + d
        crossed = (held == 2) & (a == d)
        total += (held == 1).sum(axis=(1, 2)) - (held == 3).sum(axis=(1, 2))
        total -= 2 * crossed.sum(axis=(1, 2))
    return total / 4.0
