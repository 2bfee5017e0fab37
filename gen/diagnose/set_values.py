"""Checks of grey levels: range, polarity, paper, packing, depth, and what broke them."""

from __future__ import annotations

import numpy as np

from gen.diagnose.lines import RULED, ruled_share
from gen.diagnose.set_finding import Look, SetFinding, one_or_none, told
from gen.diagnose.wrap import sheared_rows
from gen.glyphs.base import Pixels, Real

_INVERTED = 0.5
_MIXED = 0.05
_FAINT = 128.0
_GREY, _UNEVEN, _NOISY = 12.0, 12.0, 6.0
_STEADY = 1.0
"""Deviation of the paper's level from glyph to glyph under which it was made, not seen."""
_FULL_ROWS = 0.8
_PERIODIC, _GROUPED = 0.8, 0.1
_FEW_LEVELS = 16
_SOFT = 0.02
_FLIPS = 0.01
_DARK, _BRIGHT = 48, 208


def value_range(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Values in another range, or normalised piece by piece."""
    del against, known
    kind, found = "range, normalisation", []
    contrast, paper = look.median("contrast"), look.median("background")
    facts = {"contrast": contrast, "background": paper, "largest": int(look.sample.max())}
    notes = [note for note in look.provenance.notes if "understood as" in note]
    if contrast < _FAINT:
        says = (
            f"ink rises only {contrast:.0f} grey levels of 255 over its paper: values divided "
            "once more than was meant, or faint drawings"
        )
        found.append(told(kind, says, facts, found=True))
    told_paper = look.measures["background"][np.isfinite(look.measures["contrast"])]
    even = look.median("unevenness") < _UNEVEN
    if len(told_paper) > 2 and even and paper > _GREY / 2 and np.std(told_paper) < _STEADY:
        says = (
            f"bare paper is {paper:.0f} grey levels in every picture: values were shifted, as by "
            "a mean that was taken off or by inverting twice in two ranges"
        )
        found.append(told(kind, says, facts, found=True))
    rows, columns = _full_lines(look.sample, 2), _full_lines(look.sample, 1)
    if max(rows, columns) > _FULL_ROWS and _soft_share(look) > _SOFT:
        which = "row" if rows >= columns else "column"
        says = (
            f"every {which} reaches its picture's greatest value, the outermost too: each was "
            "normalised by itself, which changes the rank of grey levels"
        )
        found.append(told(kind, says, {"full_rows": rows, "full_columns": columns}, found=True))
    out = f"ink rises {contrast:.0f} grey levels over paper of {paper:.0f}" + (
        f"; {'; '.join(notes)}" if notes else ""
    )
    facts |= {"full_rows": rows, "full_columns": columns}
    return one_or_none(kind, found, out, facts)


def _full_lines(images: Pixels, axis: int) -> float:
    """Share of the outermost inked rows (axis 2), or columns, that are as bright as any."""
    most = images.max(axis=axis).astype(np.int16)
    top = most.max(axis=1)
    full = []
    for line in (most, most[:, ::-1]):
        inked = line > 0.1 * np.maximum(top, 1)[:, None]
        first = line[np.arange(len(line)), inked.argmax(axis=1)]
        # A mark that the frame cuts off ends wherever it may.
        whole = ~inked[:, 0]
        full.append((first >= top - 3)[(top > 32) & inked.any(axis=1) & whole])
    joined = np.concatenate(full)
    return float(joined.mean()) if len(joined) else 0.0


def background(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Grey or uneven paper, specks, ruled lines."""
    del against, known
    kind, found = "background, shadow", []
    grey, uneven = look.median("background"), look.median("unevenness")
    noise = look.median("noise")
    ruled = ruled_share(look.sample, look.measures)
    facts = {"background": grey, "unevenness": uneven, "noise": noise, "ruled": ruled}
    if ruled > RULED:
        says = f"{100 * ruled:.0f} % of pictures have a line right across: ruled paper"
        found.append(told(kind, says, facts, found=True))
    for amount, limit, says in (
        (grey, _GREY, f"paper is grey: {grey:.0f} grey levels by the median"),
        (uneven, _UNEVEN, f"paper is uneven: {uneven:.0f} grey levels over the frame, a shadow"),
        (noise, _NOISY, f"paper is noisy: a deviation of {noise:.0f} grey levels, or specks"),
    ):
        if amount > limit:
            found.append(told(kind, says, facts, found=True))
    out = (
        f"paper is bare: {grey:.0f} grey levels, uneven by {uneven:.0f}, noise {noise:.1f}, no "
        "ruled lines"
    )
    return one_or_none(kind, found, out, facts)


def polarity(images: Pixels, like_ink: Real) -> SetFinding:
    """Ink and paper exchanged, in all pictures or in some."""
    said = like_ink[np.isfinite(like_ink)]
    kind = "polarity"
    if not len(said):
        return told(kind, "can't be told: the pictures are too even", {"pictures": len(images)})
    share = float((said > _INVERTED).mean())
    if share > 1 - _MIXED:
        says = "ink and paper are exchanged: the frame's edge is as bright as ink is"
        return told(kind, says, {"inverted": share}, found=True)
    if share > _MIXED:
        says = (
            f"ink is dark in {100 * share:.0f} % of pictures and bright in the others: they come "
            "from two sources"
        )
        return told(kind, says, {"inverted": share}, found=True)
    says = f"ink is bright on dark paper in {100 * (1 - share):.0f} % of pictures"
    return told(kind, says, {"inverted": share})


def packing(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Channels read as pixels, row ends read as pixels, packed integers."""
    del against, known
    kind, found = "pixel packing", []
    shear, ratio = sheared_rows(look.sample)
    if shear:
        says = (
            f"each row lies {abs(shear)} px further {'right' if shear > 0 else 'left'} than the "
            "one above: rows are stored longer or shorter than they are read, as by padding to 4 "
            "bytes"
        )
        found.append(told(kind, says, {"shear_px": shear, "roughness": ratio}, found=True))
    values = look.sample.astype(np.int16)
    apart = [
        float(np.abs(values[:, :, lag:] - values[:, :, :-lag]).mean())
        for lag in range(1, min(5, values.shape[2]))
    ]
    lag = int(np.argmin(apart)) + 1
    if lag > 1 and apart[lag - 1] < _PERIODIC * apart[0]:
        says = (
            f"pixels are like those {lag} px on, and unlike the next: {lag} colour channels were "
            "read as pixels"
        )
        found.append(told(kind, says, {"period_px": lag}, found=True))
    used = np.flatnonzero(np.bincount(look.sample.ravel(), minlength=256))
    same = _same_in_groups(look.sample)
    if same and _same_in_groups(np.ascontiguousarray(look.sample.swapaxes(1, 2))) == same:
        says = (
            f"pixels come in squares of {same} x {same} that are the same: pictures were enlarged "
            f"{same} times by repeating pixels, and hold no more than the small ones did"
        )
        found.append(told(kind, says, {"period_px": same}, found=True))
    elif same:
        says = (
            f"pixels come in groups of {same} that are the same: {same} channels of one grey were "
            "read as pixels"
        )
        found.append(told(kind, says, {"period_px": same}, found=True))
    step = int(np.gcd.reduce(used)) if used.any() else 1
    if step > 1 and len(used) > _FEW_LEVELS:
        says = f"all grey levels are multiples of {step}: fewer bits than a byte were packed"
        found.append(told(kind, says, {"step": step}, found=True))
    out = "rows lie straight under one another, neighbouring pixels are alike, no grey level is "
    facts = {"shear_px": shear, "roughness": ratio, "period_px": lag}
    return one_or_none(kind, found, out + "left out by rule", facts)


def _same_in_groups(images: Pixels) -> int:
    """Of how many equal values each pixel is made, by the long row; 0 where it is one."""
    flat = images.reshape(len(images), -1).astype(np.int16)
    differ = np.abs(np.diff(flat, axis=1)).mean(axis=0)
    for size in (4, 3, 2):
        inside = np.array([differ[phase::size].mean() for phase in range(size)])
        if np.sort(inside)[-2] < _GROUPED * inside.max():
            return size
    return 0


def depth(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Few grey levels, or many at the end of the scale."""
    del known
    kind = "bit depth, colour mode"
    levels = int((np.bincount(look.sample.ravel(), minlength=256) > 0).sum())
    soft = _soft_share(look)
    facts = {"levels": levels, "soft_pixels": soft}
    if against is not None and _soft_share(against) <= 2 * soft and levels > 1:
        says = f"the pictures use {levels} grey levels, about as the other set does"
        return (told(kind, says, facts),)
    if 1 < levels <= _FEW_LEVELS or soft < _SOFT:
        says = (
            f"{'two' if levels == 2 else f'{levels:,}'} grey levels, {100 * soft:.1f} % of inked "
            "pixels between paper and full ink: a threshold, a format with fewer bits, or values "
            "clipped at the top"
        )
        return (told(kind, says, facts, found=True),)
    says = f"{levels} grey levels; {100 * soft:.0f} % of inked pixels lie between paper and full"
    return (told(kind, says, facts),)


def _soft_share(look: Look) -> float:
    values = np.bincount(look.sample.ravel(), minlength=256)
    used = np.flatnonzero(values)
    if len(used) < 2:
        return 1.0
    low, high = int(used[0]), int(used[-1])
    room = max((high - low) // 16, 1)
    soft = values[low + room : high - room + 1].sum()
    return float(soft / max(int(values[low + room :].sum()), 1))


def byte_wrap(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Values that went past one end of a byte and came in at the other."""
    del against, known
    kind = "8-bit wrap"
    if _soft_share(look) < _SOFT:
        says = "can't be told: with two grey levels a lone pixel may be a hard edge"
        return (told("8-bit wrap", says),)
    values = look.sample
    middle = values[:, 1:-1, 1:-1]
    around = np.stack(
        [values[:, :-2, 1:-1], values[:, 2:, 1:-1], values[:, 1:-1, :-2], values[:, 1:-1, 2:]]
    )
    # A lone pixel at the other end of the scale from at least three of its four neighbours.
    holes = (middle <= _DARK) & ((around >= _BRIGHT).sum(axis=0) >= 3)
    specks = (middle >= _BRIGHT) & ((around <= _DARK).sum(axis=0) >= 3)
    inked = max(int((values >= _BRIGHT).sum()), 1)
    share = float((holes.sum() + specks.sum()) / inked)
    if share > _FLIPS * 10 or holes.sum() / inked > _FLIPS:
        says = (
            "single pixels lie at the other end of the scale from those round them, "
            f"{100 * share:.0f} for every 100 of ink: values wrapped at 0 or 255 (or grains of "
            "salt and pepper)"
        )
        return (told(kind, says, {"flips": share}, found=True),)
    says = f"no values wrapped: {100 * share:.1f} lone pixels at the other end for 100 of ink"
    return (told(kind, says, {"flips": share}),)
