"""Checks of the marks in a set: placement, size, strokes, and how they were made."""

from __future__ import annotations

import numpy as np

from gen.diagnose.neighbours import nearest_alike, votes
from gen.diagnose.set_finding import Look, SetFinding, one_or_none, told

_OFF_PX, _OFF_AGAINST_PX, _SPREAD_PX = 1.5, 0.9, 4.0
"""Px of a 28 px frame: median from the centre, from another set's, quartile to quartile."""
_SMALL, _LARGE, _RATIO = 0.5, 0.96, 1.15
"""Longer side of the box over the frame's; and over that of another set."""
_SQUARE, _SQUARE_SHARE = 0.05, 0.6
"""How far height over width may be from 1, and the share of marks. Crops that were resized to a
square aren't all square to the px, since faint edges were left out; of other marks few are."""
_THIN, _THICK, _WIDER_PX = 0.06, 0.22, 0.6
"""Stroke width over the mark's longer side; and px of a 28 px frame from another set's."""
_PRINTED, _MORE_ALIKE = 0.97, 0.08
_LEAST_SIDE_PX = 16
"""In smaller frames all marks are alike."""
_BROKEN, _MORE_PIECES, _FEW_GREYS = 0.1, 0.15, 0.05
_STYLE, _STYLE_REST = 0.5, 0.8


def placement(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Marks that sit aside, or anywhere."""
    del known
    found = []
    dx, dy = look.median("centroid_dx_px"), look.median("centroid_dy_px")
    facts = {"dx_px": dx, "dy_px": dy}
    aside = _OFF_PX * look.scale
    if against is not None:
        dx -= against.median("centroid_dx_px")
        dy -= against.median("centroid_dy_px")
        facts |= {"dx_from_other_px": dx, "dy_from_other_px": dy}
        aside = _OFF_AGAINST_PX * look.scale
    whose = "the frame's centre" if against is None else "the other set's"
    if max(abs(dx), abs(dy)) > aside:
        says = (
            f"marks sit away from {whose}: {_way(dx, dy)}, by the median of their centres of ink; "
            "a crop or a rule for centring does this, and so does a reader a few bytes off"
        )
        found.append(told("placement", says, facts, found=True))
    spread = [np.ptp(look.measures.quantiles(f"centroid_d{a}_px", (25, 75))) for a in "xy"]
    loose = _SPREAD_PX * look.scale
    if max(spread) > loose and (against is None or max(spread) > 1.5 * _spread(against)):
        says = (
            f"marks sit anywhere: the middle half of them spreads over {max(spread):.1f} px; "
            "most training sets have theirs centred"
        )
        found.append(told("placement", says, {"spread_px": max(spread)}, found=True))
    out = f"marks sit within {aside:.1f} px of {whose}: {dx:+.2f} px along x, {dy:+.2f} along y"
    return one_or_none("placement", found, out, facts)


def _spread(look: Look) -> float:
    return float(max(np.ptp(look.measures.quantiles(f"centroid_d{a}_px", (25, 75))) for a in "xy"))


def _way(dx: float, dy: float) -> str:
    parts = [
        f"{abs(amount):.1f} px {words[amount > 0]}"
        for amount, words in ((dx, ("to the left", "to the right")), (dy, ("higher", "lower")))
        if abs(amount) >= 0.3
    ]
    return " and ".join(parts)


def scale_and_box(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Marks that are small or fill the frame, or were stretched to a square."""
    del known
    kind, found = "scale and box", []
    high, wide = look.measures["height_px"], look.measures["width_px"]
    longer = float(np.nanmedian(np.maximum(high, wide))) if np.isfinite(high).any() else np.nan
    share = longer / min(look.images.shape[1:])
    square = _square(look)
    facts = {"longer_side_px": longer, "share_of_frame": share, "square_boxes": square}
    if square > _SQUARE_SHARE and (against is None or _square(against) < square / 2):
        says = (
            f"{100 * square:.0f} % of marks fill a square box: their aspect was lost, so that a "
            "narrow mark became a wide one"
        )
        found.append(told(kind, says, facts, found=True))
    if against is None:
        if share < _SMALL or share > _LARGE:
            word = "small" if share < _SMALL else "large"
            says = (
                f"marks are {word}: {longer:.1f} px along their longer side, "
                f"{100 * share:.0f} % of the frame"
            )
            found.append(told(kind, says, facts, found=True))
    else:
        other = float(
            np.nanmedian(np.maximum(against.measures["height_px"], against.measures["width_px"]))
        )
        ratio = share / (other / min(against.images.shape[1:]))
        facts["ratio_to_other"] = ratio
        if max(ratio, 1 / ratio) > _RATIO:
            says = (
                f"marks are {ratio:.2f} times as large as the other set's, in their frames: "
                f"{longer:.1f} px along the longer side, where those have {other:.1f} px"
            )
            found.append(told(kind, says, facts, found=True))
    out = (
        f"marks are {longer:.1f} px along their longer side, {100 * share:.0f} % of the frame, "
        f"and {100 * square:.0f} % of their boxes are square"
    )
    return one_or_none(kind, found, out, facts)


def _square(look: Look) -> float:
    high, wide = look.measures["height_px"], look.measures["width_px"]
    some = np.isfinite(high) & np.isfinite(wide)
    if not some.any():
        return 0.0
    return float((np.abs(high / wide - 1)[some] < _SQUARE).mean())


def stroke_width(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Pens that are thin or thick for the marks they drew."""
    del known
    kind, found = "stroke width", []
    width = look.median("stroke_width_px")
    longer = np.fmax(look.measures["height_px"], look.measures["width_px"])
    size = float(np.nanmedian(longer)) if np.isfinite(longer).any() else float("nan")
    facts = {"stroke_width_px": width, "of_longer_side": width / size}
    if not np.isfinite(width):
        says = "stroke width can't be told: the marks are too blurred, or there are none"
        return (told(kind, says),)
    if against is None:
        if not _THIN <= width / size <= _THICK:
            word = "thin" if width / size < _THIN else "thick"
            says = f"the pen is {word}: strokes are {width:.1f} px wide in marks of {size:.1f} px"
            found.append(told(kind, says, facts, found=True))
    else:
        other = against.median("stroke_width_px")
        more = width / look.scale - other / against.scale
        facts["other_px"] = other
        if abs(more) > _WIDER_PX:
            word = "wider" if more > 0 else "narrower"
            says = (
                f"strokes are {abs(more * look.scale):.1f} px {word} than the other set's: "
                f"{width:.1f} px, where those have {other:.1f} px"
            )
            found.append(told(kind, says, facts, found=True))
    out = f"strokes are {width:.1f} px wide in marks of {size:.1f} px" + (
        "" if against is None else ", like the other set's"
    )
    return one_or_none(kind, found, out, facts)


def print_or_hand(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Marks as like one another as printed ones are."""
    del known
    kind = "print against hand"
    alike = nearest_alike(look.shapes, look.labels[look.few])
    if not np.isfinite(alike) or min(look.images.shape[1:]) < _LEAST_SIDE_PX:
        says = "can't be told: the frame is too small, or classes have fewer than three glyphs each"
        return (told(kind, says),)
    if against is not None:
        other = nearest_alike(against.shapes, against.labels[against.few])
        gap = alike - other
        if np.isfinite(gap) and abs(gap) > _MORE_ALIKE and max(alike, other) > _PRINTED:
            word = ("these are printed and those", "those are printed and these")[gap < 0]
            says = f"{word} written by hand, by how alike the marks of a class are"
            return (told(kind, says, {"alikeness": alike, "other": other}, found=True),)
    elif alike > _PRINTED:
        says = "marks of a class are nearly the same, as print is and no hand's are"
        return (told(kind, says, {"alikeness": alike}, found=True),)
    out = "marks of a class differ from one another as " + (
        "a hand's do" if against is None else "much as the other set's do"
    )
    return (told(kind, out, {"alikeness": alike}),)


def aliasing(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Strokes broken by shrinking without averaging."""
    del known
    kind = "aliasing"
    broken = float((look.measures["pieces"] > 1).mean())
    greys = _soft(look)
    facts = {"in_several_pieces": broken, "soft_pixels": greys}
    if against is not None:
        usual = float((against.measures["pieces"] > 1).mean())
        facts["other_in_several_pieces"] = usual
        found = broken > usual + _MORE_PIECES
    else:
        found = broken > _BROKEN and greys < _FEW_GREYS
    if found:
        says = (
            f"{100 * broken:.0f} % of marks are in several pieces"
            + (" and edges are hard" if greys < _FEW_GREYS else "")
            + ": strokes break when pictures are shrunk without averaging"
        )
        return (told(kind, says, facts, found=True),)
    out = (
        f"strokes hold together: {100 * broken:.0f} % of marks are in several pieces, and "
        f"{100 * greys:.0f} % of inked pixels are soft"
    )
    return (told(kind, out, facts),)


def _soft(look: Look) -> float:
    """Share of inked pixels that are neither paper nor full."""
    values = np.bincount(look.sample.ravel(), minlength=256)
    inked = values[16:].sum()
    return float(values[16:240].sum() / max(int(inked), 1))


def writers_style(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Single classes that are written in another way than in the other set."""
    del known
    kind = "writer's style"
    if against is None:
        says = "can't be told from one set: hold it against the training set (--against)"
        return (told(kind, says),)
    if look.classes != against.classes:
        return (told(kind, "can't be told: the two sets have other classes"),)
    labels = look.labels[look.few]
    said = votes(look.shapes, against.shapes, against.labels[against.few], len(look.classes))
    counts = np.bincount(labels, minlength=len(look.classes))
    right = np.bincount(labels[said == labels], minlength=len(look.classes))
    share = np.where(counts >= 3, right / np.maximum(counts, 1), np.nan)
    rest = float(np.nanmedian(share)) if np.isfinite(share).any() else float("nan")
    odd = [i for i in range(len(share)) if share[i] < _STYLE] if rest > _STYLE_REST else []
    if odd:
        names = ", ".join(f'"{look.classes[i]}"' for i in odd)
        says = (
            f"{names} {'is' if len(odd) == 1 else 'are'} written in another way than in the other "
            f"set: {100 * float(np.mean(share[odd])):.0f} % look like theirs, where other classes "
            f"have {100 * rest:.0f} %"
        )
        return (
            told(kind, says, {"classes": names, "share": float(np.mean(share[odd]))}, found=True),
        )
    says = f"no class stands out: {100 * rest:.0f} % of a class's marks look like the other set's"
    return (told(kind, says, {"share": rest}),)
