"""Rules by which outlines are laid, of pens and of fonts: their names, and how large marks get."""

from __future__ import annotations

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.fit import USUAL_BOX

RULES = ("box centred", "centre of mass", "as drawn")
"""The names that pictures are fitted by, but for those of whole px: outlines have none."""
LEAST_SIDE_PX, MOST_SIDE_PX = 8, 4096
_LEAST_MARK_PX = 1.0


def longer_side_px(
    rule: str, frame: tuple[int, int], side_px: float | None, margin_px: float | None
) -> float:
    """The longer side of a mark, once everything about a rule is known to make sense.

    Parameters
    ----------
    rule
        One of `RULES`.
    frame
        (H, W) in px.
    side_px
        The longer side that is asked for; 20/28 of the frame's shorter side when left out.
    margin_px
        In place of it: what stays free on every side of the frame.

    Raises
    ------
    GlyphError
        If the rule is unknown, a number is out of range, or a side and a margin both
        say how large a mark is.

    Examples
    --------
    >>> longer_side_px("box centred", (28, 60), None, None)
    20.0
    >>> longer_side_px("box centred", (28, 60), None, 4.0)
    20.0
    """
    if rule not in RULES:
        raise GlyphError("fit", "unknown rule", got=repr(rule), allowed=", ".join(RULES))
    for fact, value in (("height", frame[0]), ("width", frame[1])):
        whole = isinstance(value, int | np.integer) and not isinstance(value, bool)
        if not (whole and LEAST_SIDE_PX <= value <= MOST_SIDE_PX):
            raise GlyphError(
                "frame",
                f"the {fact} of the frame in px is out of range",
                got=value,
                allowed=f"a whole number from {LEAST_SIDE_PX} to {MOST_SIDE_PX}",
            )
    short = min(frame)
    side = short * USUAL_BOX if side_px is None else side_px
    if margin_px is not None:
        if side_px is not None:
            raise GlyphError("fit", "a side and a margin both say how large a mark is")
        side = short - 2 * margin_px
    real = isinstance(side, int | float | np.number) and not isinstance(side, bool)
    if not (real and _LEAST_MARK_PX <= side <= short):
        allowed = f"{_LEAST_MARK_PX:g} to {short}"
        raise GlyphError(
            "side_px", "the longer side in px is out of range", got=side, allowed=allowed
        )
    return float(side)


def room_px(frame: tuple[int, int], side_px: float, margin_px: float | None) -> tuple[float, float]:
    """What the box of the ink fits into, (height, width).

    Examples
    --------
    >>> room_px((28, 60), 20.0, None), room_px((28, 60), 20.0, 4.0)
    ((20.0, 20.0), (20.0, 52.0))
    """
    if margin_px is None:
        return side_px, side_px
    return frame[0] - 2 * margin_px, frame[1] - 2 * margin_px
