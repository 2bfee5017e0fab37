"""Stroke width and sharpness, from how the power of a picture falls off with frequency.

Strokes of width w and full ink A, blurred by s, have at frequency k (rad per px, the mean
over all directions) the power

    P(k) = C h(w, k) exp(-s^2 k^2),     C = 2 A I / w,

where I is the ink, and h is near (sin(k w / 2) / (k / 2))^2 / k: what long strips give,
each only across itself. Bends, ends and crossings change h a little, so it is measured: on
written strokes drawn at known widths in the same frame. Over a grid of w and s the fit to
log P is weighed with what the ink's own level says of A, and the answer is the mean.

What is near the mark or on the paper matters little: other strokes are part of the
picture, a straight edge counts from end to end, and noise is a floor that is known.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from gen.diagnose.paper import Levels, Single, levels
from gen.glyphs.base import Pixels, Real

_LARGEST_PX = 64
"""Larger frames are reduced by whole factors first."""
_FREQUENCIES = np.concatenate([np.arange(0.3, 0.65, 0.1), np.arange(0.7, 2.45, 0.1)])
"""Edges of the rings of frequency, rad per px."""
_ROOM_PX = 10
_WRITTEN = 108
_WIDTHS, _SIGMAS = 44, 45
_THINNEST_PX, _WIDEST_PX = 0.8, 11.0
_USUAL_PX, _USUAL_SPREAD = 3.0, 0.6
"""Strokes in 28 px are about this wide, give or take this much in log: it only weighs
where blur hides the width."""
_SIGMA_LOW, _SIGMA_HIGH = -0.5, 3.6
"""Signed: a picture may be a little crisper than squares of one px are, and the mean over
what can't be told from sharp is then sharp."""
_MISFIT = 0.3
"""Deviation of log power about h, ring by ring, from glyph to glyph."""
_LOW_MISFIT, _LOW_FREQUENCY = 0.3, 0.5
"""More of it at low frequency, where power depends on where strokes lie."""
_KERNEL = 0.5 / 24
"""s^2 k^4 of log power by which blurs differ that are all called Gaussian, halved."""
_ROUNDING = 0.3
"""Grey levels^2 that rounding to 8 bits, once or twice, adds to a pixel."""
_FLOOR_MISFIT = 4.0
_FULL, _FULL_MISFIT, _SEEN_MISFIT = 255.0, 0.2, 0.15
"""Full ink is taken to be near what a picture can hold, and near what this one shows of it:
in log. A thin stroke blurred until no pixel is full is as well a wider, fainter one."""
_UNSURE_WIDTH_PX, _UNSURE_SIGMA_PX = 0.6, 0.4
"""Deviation of an answer from which it isn't given."""
_FLAT_MISFIT = 0.035
"""Deviation of the flatness of ink from glyph to glyph, where it is sharp; more with blur, in
which strokes run together."""
_FAINT_ODDS = -2.5
"""Log of the odds that full ink isn't near what a picture can hold."""
_AT_ONCE = 1024


def widths_and_sigmas(seen: Levels) -> tuple[Real, Real]:
    """Stroke width and blur of each picture.

    Parameters
    ----------
    seen
        Of n pictures.

    Returns
    -------
    tuple of ndarray of shape (n,), float64
        width_px and sigma_px; NaN where they can't be told.
    """
    count, height, width = seen.rise.shape
    factor = -(-max(height, width) // _LARGEST_PX)
    rise = seen.rise if factor == 1 else _reduced(seen.rise, factor)
    known = _known(rise.shape[1], rise.shape[2])
    out = np.full((2, count), np.nan)
    for start in range(0, count, _AT_ONCE):
        part = slice(start, start + _AT_ONCE)
        power, ink = _power(rise[part], known.rings, known.side)
        pixels = rise.shape[1] * rise.shape[2]
        noise = np.nan_to_num(seen.noise[part]) / factor
        contrast = np.nan_to_num(seen.contrast[part], nan=1.0)
        flat = _flatness(rise[part], contrast, noise)
        floor = (noise**2 + _ROUNDING) * pixels
        most = np.maximum(_FULL - seen.paper[part], contrast)
        wide, sigma = _weighed(known, power, ink, floor, (most, contrast, flat))
        told = seen.seen[part] & (ink > 0)
        out[0, part] = np.where(told, wide * factor, np.nan)
        out[1, part] = np.where(told, sigma * factor, np.nan)
    return out[0], out[1]


@dataclass(frozen=True)
class _Known:
    """What strokes of every width and sigma look like in one frame, laid out g = w * s."""

    rings: Single
    side: int
    frequency: Real
    width_px: Real
    sigma_px: Real
    blur_px2: Real
    log_power: NDArray[np.float64]
    log_peak: Real
    flatness: Real
    share: Real


@lru_cache(maxsize=8)
def _known(height: int, width: int) -> _Known:
    """Draw written strokes at each width and look at their power; blur is arithmetic."""
    from scipy.fft import next_fast_len
    from scipy.special import j0, ndtr

    from gen.glyphs.base import Strokes
    from gen.glyphs.strokes import CLASSES, write_strokes
    from gen.render.coverage import draw

    frame = (max(height, 8), max(width, 8))
    larger = max(1.0, min(frame) / 28)
    side = next_fast_len(max(height, width) + 2 * _ROOM_PX)
    rings, frequency = _rings(side)
    widths = np.geomspace(_THINNEST_PX, _WIDEST_PX * larger, _WIDTHS)
    signed = np.linspace(_SIGMA_LOW, _SIGMA_HIGH * larger, _SIGMAS)
    written = write_strokes(classes=CLASSES, count=_WRITTEN, frame=frame, seed=77)
    strokes = written.strokes(np.arange(_WRITTEN))
    sharp = np.empty((_WIDTHS, len(frequency)))
    flat = np.empty(_WIDTHS)
    for place, wide in enumerate(widths):
        drawn = draw(Strokes(strokes.segments, np.full_like(strokes.width_px, wide)), frame)
        power, ink = _power(drawn[:, :height, :width].astype(np.float32), rings, side)
        told = np.log(np.maximum(power, 1.0)) - np.log(2 * _FULL * np.maximum(ink, 1.0))[:, None]
        sharp[place] = told.mean(axis=0) + np.log(wide)
        flat[place] = np.median(_flatness_drawn(drawn))
    blur_px2 = signed * np.abs(signed)
    # Programs blur by sampled Gaussians, which fall off as k^2, or by their discrete
    # analogue, 4 (1 - J0(k)) over all directions; the difference is split, as it is small.
    fall = 0.25 * frequency**2 + 0.75 * 4 * (1 - j0(frequency))
    log_power = sharp[:, None, :] - blur_px2[None, :, None] * fall
    wide, sigma = (
        each.ravel() for each in np.meshgrid(widths, np.maximum(signed, 0), indexing="ij")
    )
    soft = np.sqrt(sigma**2 + 1 / 12)
    aside = 0.1 * np.sqrt(wide**2 + 5.5 * sigma**2)  # where a high quantile of ink is met
    log_peak = np.log(ndtr((aside + wide / 2) / soft) - ndtr((aside - wide / 2) / soft))
    share = np.log(np.tile(np.abs(signed) + 0.1, _WIDTHS))  # even in sigma^2, near enough
    share -= 0.5 * (np.log(wide / (_USUAL_PX * larger)) / _USUAL_SPREAD) ** 2
    return _Known(
        rings,
        side,
        frequency,
        wide,
        sigma,
        np.tile(blur_px2, _WIDTHS),
        log_power.reshape(-1, len(frequency)),
        log_peak,
        _flatness_known(wide, soft, log_peak, flat),
        share,
    )


def _flatness_drawn(drawn: Pixels) -> Real:
    """Flatness of sharp strokes on bare paper, with the ink's level as it is seen elsewhere."""
    seen = levels(drawn)
    return _flatness(seen.rise, np.nan_to_num(seen.contrast, nan=1.0), np.zeros(len(drawn)))


def _flatness_known(wide: Real, soft: Real, log_peak: Real, drawn: Real) -> Real:
    """Flatness of a straight stroke at each place of the grid, put right for bends.

    Where a stroke is sharp its ratio to what was drawn is known; that is kept under blur.
    """
    from scipy.special import ndtr

    reach = 0.5 * wide + 4 * soft
    at = np.linspace(-1, 1, 121)[None, :] * reach[:, None]
    half, spread = wide[:, None] / 2, soft[:, None]
    section = ndtr((at + half) / spread) - ndtr((at - half) / spread)
    straight = (section**2).sum(axis=1) / section.sum(axis=1) / np.exp(log_peak)
    straight = straight.reshape(_WIDTHS, _SIGMAS)
    sharp = int(np.argmin(soft.reshape(_WIDTHS, _SIGMAS)[0]))
    return np.asarray((straight * (drawn / straight[:, sharp])[:, None]).ravel())


def _weighed(
    known: _Known, power: Real, ink: Real, floor: Real, full_ink: tuple[Real, Real, Real]
) -> tuple[Real, Real]:
    """Mean width and sigma over the grid, each place weighed by how well it fits."""
    most, contrast, flat = full_ink
    clear = power > 1.5 * floor[:, None]
    logged = np.log(np.maximum(power - floor[:, None], 1e-6))
    spread = _MISFIT**2 + (_LOW_MISFIT * _LOW_FREQUENCY / known.frequency) ** 2
    spread = spread + (_FLOOR_MISFIT * floor[:, None] / np.maximum(power, 1e-6)) ** 2
    full = np.log(2 * np.maximum(ink, 1.0))[:, None] - np.log(known.width_px)
    places = (
        (np.log(contrast)[:, None] + full - known.log_peak, 1 / _SEEN_MISFIT**2),
        (np.log(most)[:, None] + full, 1 / _FULL_MISFIT**2),
    )
    uneven = ((flat[:, None] - known.flatness) / (_FLAT_MISFIT * (1 + known.sigma_px))) ** 2
    blur_px2 = np.zeros(len(power))
    for _ in range(2):  # once more when it is known how much the kind of blur matters
        kernel = _KERNEL * blur_px2[:, None] * known.frequency**4
        weight = clear / (spread + kernel**2)
        chance = _chances(known, weight, logged, places, uneven)
        blur_px2 = np.maximum(chance @ known.blur_px2, 0)
    wide, sigma = chance @ known.width_px, chance @ known.sigma_px
    unsure = [
        np.sqrt(np.maximum(chance @ each**2 - mean**2, 0))
        for each, mean in ((known.width_px, wide), (known.sigma_px, sigma))
    ]
    usable = clear.sum(axis=1) >= 4
    return (
        np.where(usable & (unsure[0] <= _UNSURE_WIDTH_PX), wide, np.nan),
        np.where(usable & (unsure[1] <= _UNSURE_SIGMA_PX), np.sqrt(blur_px2), np.nan),
    )


def _chances(
    known: _Known,
    weight: Real,
    logged: Real,
    places: tuple[tuple[Real, float], ...],
    uneven: Real,
) -> Real:
    """How likely each width and sigma is, (n, g): squares of misfits, log C settled best.

    `places` say where log C should be and how surely: by the ink seen, and by full ink. The
    second may not hold, as in faint drawings; with it and without it count both.
    """
    shape = known.log_power
    total = weight.sum(axis=1)[:, None]
    first = (weight * logged).sum(axis=1)[:, None] - weight @ shape.T
    second = (
        (weight * logged**2).sum(axis=1)[:, None]
        - 2 * (weight * logged) @ shape.T
        + weight @ (shape * shape).T
    )
    second += uneven
    chance = None
    for (at, stiff), odds in zip(places, (_FAINT_ODDS, 0.0), strict=True):
        total = total + stiff
        first = first + stiff * at
        second = second + stiff * at**2
        likely = odds + known.share - 0.5 * (second - first**2 / total)
        if chance is None:  # fainter than a picture can hold, and never fuller
            over = np.maximum(first / total - places[1][0], 0)
            likely -= 0.5 * (over / _FULL_MISFIT) ** 2
        chance = likely if chance is None else np.logaddexp(chance, likely)
    assert chance is not None
    chance -= chance.max(axis=1, keepdims=True)
    np.exp(chance, out=chance)
    chance /= chance.sum(axis=1, keepdims=True)
    return np.asarray(chance)


def _flatness(rise: Single, contrast: Real, noise: Real) -> Real:
    """Mean of ink, weighed by itself, over the ink's own level: 1 where all is full ink."""
    ink = rise.sum(axis=(1, 2), dtype=np.float64)
    square = np.einsum("nyx,nyx->n", rise, rise).astype(np.float64)
    square -= noise**2 * rise.shape[1] * rise.shape[2]
    return np.asarray(square / np.maximum(contrast * ink, 1.0))


def _rings(side: int) -> tuple[Single, Real]:
    """A matrix that takes the mean power of each ring of frequencies, and their middles."""
    down, right = 2 * np.pi * np.fft.fftfreq(side), 2 * np.pi * np.fft.rfftfreq(side)
    size = np.sqrt(down[:, None] ** 2 + right[None, :] ** 2).ravel()
    column = np.arange(len(right))
    once = (column == 0) | ((side % 2 == 0) & (column == side // 2))
    twice = np.tile(np.where(once, 1.0, 2.0), side)  # a half plane stands for the whole
    ring = np.digitize(size, _FREQUENCIES) - 1
    matrix = np.zeros((len(size), len(_FREQUENCIES) - 1))
    inside = np.flatnonzero((ring >= 0) & (ring < matrix.shape[1]))
    matrix[inside, ring[inside]] = twice[inside]
    held = matrix.sum(axis=0)
    some = held > 0
    matrix, held = matrix[:, some], held[some]
    return (matrix / held).astype(np.float32), (matrix * size[:, None]).sum(axis=0) / held


def _power(rise: Single, rings: Single, side: int) -> tuple[Real, Real]:
    """Mean power of each ring, (n, q), and ink, (n,), of pictures continued past their edge."""
    from scipy.fft import rfft2

    on = _continued(_continued(rise).swapaxes(1, 2)).swapaxes(1, 2)
    wave = rfft2(on, s=(side, side))
    power = (wave.real**2 + wave.imag**2).reshape(len(rise), -1) @ rings
    return power.astype(np.float64), on.sum(axis=(1, 2), dtype=np.float64)


def _continued(rise: Single) -> Single:
    """Rows that go on past their ends and fade, as the soft edge of a mark would.

    A mark cut off by the frame would else look sharp there.
    """
    far = np.arange(1, _ROOM_PX + 1, dtype=np.float32)
    ends = []
    for edge, before in ((rise[..., 0], rise[..., 1]), (rise[..., -1], rise[..., -2])):
        last = np.maximum(edge, 0)
        ratio = np.clip(last / np.maximum(before, np.float32(1e-3)), 0, 0.95)
        ends.append(
            last[..., None] * ratio[..., None] ** far * np.float32(0.9) ** (far * (far + 1) / 2)
        )
    return np.concatenate([ends[0][..., ::-1], rise, ends[1]], axis=-1)


def _reduced(rise: Single, factor: int) -> Single:
    """Means over blocks of factor x factor px; what doesn't fill a block is bare paper."""
    count, height, width = rise.shape
    rows, columns = -(-height // factor), -(-width // factor)
    room = np.zeros((count, rows * factor, columns * factor), np.float32)
    room[:, :height, :width] = rise
    means = room.reshape(count, rows, factor, columns, factor).mean(axis=(2, 4))
    return np.asarray(means, dtype=np.float32)
