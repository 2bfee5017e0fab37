"""Breaks in drawn strokes: the pen runs dry in places.

The middle line of a glyph, all its strokes one after the other, is parted into slots of
about the length of a gap. Slots go bare in an order drawn for each glyph; of n slots, a
share s leaves n s of them bare, the last of these in part, from its middle. So the bare
length is s of the whole to the bit, and what is bare at one level is bare at all above.

A gap is what is seen: the middle line is bare in it. Ink has round ends there, so the pen
stops half its width before a gap; what lies between two gaps closer than the pen is wide
becomes a dot that just fits.

Places and lengths are + - * / and square root element by element; order, least and
greatest are comparisons.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.core.draws import uniforms
from gen.glyphs.base import Real, Strokes, Whole
from gen.perturb.base import DryPen

_MOST_SLOTS = 256
_NOTHING_PX = 1e-9
AT_ONCE = 64


@dataclass(frozen=True)
class _Track:
    """Where each piece lies along the middle line of its glyph, px.

    Attributes
    ----------
    first, last
        (n, S): where it starts and ends; the same for dots and for repeated pieces.
    stroke_first, stroke_last
        (n, S): where the stroke that it belongs to starts and ends.
    real
        (n, S): whether it isn't the repetition of another.
    """

    first: Real
    last: Real
    stroke_first: Real
    stroke_last: Real
    real: NDArray[np.bool_]

    @property
    def whole(self) -> Real:
        """Length of each glyph's middle line, (n,)."""
        return self.last[:, -1]


def dry_strokes(strokes: Strokes, pen: DryPen, *, seed: int, indices: Whole) -> Strokes:
    """Strokes with a share of their length left bare.

    Parameters
    ----------
    strokes
        Of n glyphs.
    pen
        Share and length of the gaps.
    seed
        The recipe's.
    indices
        ndarray of shape (n,): which glyphs these are.

    Returns
    -------
    Strokes
        Pieces of the same, and dots; a glyph with fewer pieces repeats its first one.

    Examples
    --------
    >>> line = Strokes(np.array([[[[9.0, 0.0], [9.0, 20.0]]]]), np.array([[2.0]]))
    >>> dry = dry_strokes(line, DryPen(0.3, gap_px=4.0), seed=1, indices=np.array([0]))
    >>> ends = np.abs(np.diff(dry.segments, axis=2)).sum(axis=(2, 3)) + dry.width_px
    >>> f"{float(ends.sum()):.6f}"  # of 20 px and the two round ends of 1 px, 6 px are bare
    '16.000000'
    """
    if pen.share <= 0:
        return strokes
    parts = []
    for start in range(0, len(indices), AT_ONCE):
        here = slice(start, start + AT_ONCE)
        some = Strokes(strokes.segments[here], strokes.width_px[here])
        parts.append(_dry_block(some, pen, seed, indices[here]))
    most = max((part.width_px.shape[1] for part in parts), default=0)
    return Strokes(
        np.concatenate([_filled_up(part.segments, most) for part in parts]),
        np.concatenate([_filled_up(part.width_px, most) for part in parts]),
    )


def _filled_up(rows: Real, most: int) -> Real:
    more = np.repeat(rows[:, :1], most - rows.shape[1], axis=1)
    return np.concatenate([rows, more], axis=1)


def _dry_block(strokes: Strokes, pen: DryPen, seed: int, indices: Whole) -> Strokes:
    track = _track(strokes)
    start, end = _bare(track.whole, pen, seed, indices)
    edge = np.zeros((len(indices), 1))
    low = np.minimum(np.concatenate([edge, end], axis=1), track.whole[:, None])
    high = np.concatenate([np.minimum(start, track.whole[:, None]), track.whole[:, None]], axis=1)
    there = high - low > _NOTHING_PX
    # Half a pen short of each gap, but never past the end of a stroke.
    at_low, at_high = _piece_at(track, low, after=True), _piece_at(track, high, after=False)
    half = 0.5 * strokes.width_px
    rows = np.arange(len(indices))[:, None]
    inner_low = np.where(
        low > 0, np.minimum(low + half[rows, at_low], track.stroke_last[rows, at_low]), low
    )
    inner_high = np.where(
        high < track.whole[:, None],
        np.maximum(high - half[rows, at_high], track.stroke_first[rows, at_high]),
        high,
    )
    # No room for the pen: a dot that fits. Just room, as at the end of a stroke: the pen's own.
    dot = there & (inner_low > inner_high - _NOTHING_PX)
    tight = inner_low > inner_high + _NOTHING_PX
    middle = np.where(tight, 0.5 * (low + high), inner_low)
    wide = np.where(tight, high - low, 2.0 * half[rows, at_low])
    return _packed(strokes, track, (inner_low, inner_high, there & ~dot), (middle, wide, dot))


def _track(strokes: Strokes) -> _Track:
    segments = strokes.segments
    step = segments[:, :, 1] - segments[:, :, 0]
    repeated = np.zeros(strokes.width_px.shape, bool)
    repeated[:, 1:] = (segments[:, 1:] == segments[:, :-1]).all(axis=(2, 3))
    length = np.sqrt(step[..., 0] * step[..., 0] + step[..., 1] * step[..., 1])
    last = np.cumsum(np.where(repeated, 0.0, length), axis=1)
    first = np.concatenate([np.zeros((len(last), 1)), last[:, :-1]], axis=1)
    lifted = np.ones(strokes.width_px.shape, bool)
    lifted[:, 1:] = (segments[:, 1:, 0] != segments[:, :-1, 1]).any(axis=2) & ~repeated[:, 1:]
    stroke_first = np.maximum.accumulate(np.where(lifted, first, -1.0), axis=1)
    ends = np.concatenate([lifted[:, 1:], np.ones((len(last), 1), bool)], axis=1)
    backwards = np.where(ends, last, np.inf)[:, ::-1]
    stroke_last = np.minimum.accumulate(backwards, axis=1)[:, ::-1]
    return _Track(first, last, stroke_first, stroke_last, ~repeated)


def _bare(whole: Real, pen: DryPen, seed: int, indices: Whole) -> tuple[Real, Real]:
    """Where gaps start and end along each middle line, (n, slots), in order; unused ones last."""
    slots = np.clip(np.rint(whole / pen.gap_px), 1, _MOST_SLOTS)
    most = int(slots.max())
    drawn = uniforms(seed, "dry-pen", indices, count=most)
    number = np.arange(most)
    drawn = np.where(number < slots[:, None], drawn, 2.0)
    rank = np.argsort(np.argsort(drawn, axis=1, kind="stable"), axis=1, kind="stable")
    bare = np.clip(pen.share * slots[:, None] - rank, 0.0, 1.0)
    bare = np.where(number < slots[:, None], bare, 0.0)
    side = (whole / slots)[:, None]
    start = np.where(bare > 0, (number + 0.5 - 0.5 * bare) * side, np.inf)
    end = np.where(bare > 0, (number + 0.5 + 0.5 * bare) * side, np.inf)
    return np.sort(start, axis=1), np.sort(end, axis=1)


def _piece_at(track: _Track, place: Real, *, after: bool) -> Whole:
    """The piece that lies after (or before) each place on the middle line, (n, places)."""
    ends = track.last[:, None, :] if after else track.first[:, None, :]
    seen = np.minimum(place, track.whole[:, None])[:, :, None]
    if after:
        found = (ends <= seen + _NOTHING_PX).sum(axis=2)
    else:
        found = (ends < seen - _NOTHING_PX).sum(axis=2) - 1
    return np.asarray(np.clip(found, 0, track.last.shape[1] - 1), dtype=np.intp)


def _packed(
    strokes: Strokes,
    track: _Track,
    runs: tuple[Real, Real, NDArray[np.bool_]],
    dots: tuple[Real, Real, NDArray[np.bool_]],
) -> Strokes:
    """What of each piece lies in each inked run, and the dots, packed to the left."""
    low, high, inked = (each[:, :, None] for each in runs)
    first, last = track.first[:, None], track.last[:, None]
    begin, stop = np.maximum(first, low), np.minimum(last, high)
    still = track.real[:, None] & (first == last)
    seen = inked & ((stop - begin > _NOTHING_PX) | (still & (low <= first) & (first <= high)))
    middle, wide, dot = dots
    piece = _piece_at(track, middle, after=True)
    count, pieces = strokes.width_px.shape
    keep = np.concatenate([seen.reshape(count, -1), dot], axis=1)
    most = max(1, int(keep.sum(axis=1).max()))
    order = np.argsort(~keep, axis=1, kind="stable")[:, :most]
    rows = np.arange(count)[:, None]
    lines = seen.shape[1] * pieces
    of_line = np.minimum(order, lines - 1)
    of_dot = np.clip(order - lines, 0, dot.shape[1] - 1)
    is_dot = order >= lines
    which = np.where(is_dot, piece[rows, of_dot], of_line % pieces)
    start = np.where(is_dot, middle[rows, of_dot], begin.reshape(count, -1)[rows, of_line])
    end = np.where(is_dot, middle[rows, of_dot], stop.reshape(count, -1)[rows, of_line])
    pen = np.where(is_dot, wide[rows, of_dot], strokes.width_px[rows, which])
    # A glyph that is bare altogether keeps one piece that a pen of no width drew.
    pen = np.where(keep[rows, order], pen, 0.0)
    ends = _points(strokes, track, which, np.stack([start, end], axis=2))
    fill = ~keep[rows, order]
    ends = np.where(fill[:, :, None, None], ends[:, :1], ends)
    return Strokes(ends, np.where(fill, pen[:, :1], pen))


def _points(strokes: Strokes, track: _Track, which: Whole, place: Real) -> Real:
    """Points (n, k, 2, 2) at places (n, k, 2) along the middle line, on given pieces."""
    rows = np.arange(len(which))[:, None]
    first, last = track.first[rows, which], track.last[rows, which]
    length = np.where(last > first, last - first, 1.0)[:, :, None]
    share = np.clip((place - first[:, :, None]) / length, 0.0, 1.0)[..., None]
    one, other = (strokes.segments[rows, which, end][:, :, None] for end in (0, 1))
    return np.asarray(one + share * (other - one), dtype=np.float64)
