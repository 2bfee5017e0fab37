"""Fitting marks into a frame by a stated rule, whatever size they were drawn at."""

from __future__ import annotations

import difflib
from dataclasses import dataclass

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.area import brought
from gen.glyphs.base import Pixels, Real
from gen.glyphs.laying_rule import CENTRED, laid_by

RULES = ("as drawn", *CENTRED)
USUAL_BOX = 20 / 28
"""Box for the longer side of a mark, as a share of the frame: 20 of 28 px."""
_LEAST, _MOST = 4, 4096
_MOST_STROKES = 1024


@dataclass(frozen=True)
class Fit:
    """How marks are brought into a frame; aspect is kept, and pixels are reduced by area.

    Attributes
    ----------
    rule
        "as drawn": the whole picture is fitted, so that a mark stays where it was drawn.
        "box centred", "centre of mass": the mark is fitted, and the middle of its box, or
        its centroid, comes to the frame's centre, 13.5 of 28 px. "centre of mass, whole
        px": laid on the pixel grid and moved by whole pixels until the centroid is within
        half a px of index 14 of 28, as the MNIST files are.
    frame
        (H, W), px.
    box_px
        Length that the longer side of what is fitted gets. When neither this nor a margin
        is given it is 20/28 of the frame's shorter side, and all of the frame "as drawn".
    margin_px
        In place of a box: what stays free on every side of the frame, px.
    stroke
        "scaled": strokes become wider and narrower with the mark. "kept": they are as many
        px wide as in the source. A number: this many px in the frame.
    ink_from
        Grey from which on a pixel is ink, 1 to 255. Lighter ones become bare paper, and
        have no say in where the mark is.

    Raises
    ------
    GlyphError
        If there is no such rule, or a number is out of range.

    References
    ----------
    Y. LeCun, C. Cortes, C. J. C. Burges, "The MNIST database of handwritten digits":
    fitted to 20 x 20 px, aspect kept, centred in 28 x 28 px by the centre of mass.

    Examples
    --------
    >>> Fit("centre of mass").side_px, Fit("as drawn", margin_px=2).room_px
    (20.0, (24.0, 24.0))
    """

    rule: str
    frame: tuple[int, int] = (28, 28)
    box_px: float | None = None
    margin_px: float | None = None
    stroke: str | float = "scaled"
    ink_from: int = 1

    def __post_init__(self) -> None:
        if self.rule not in RULES:
            allowed = ", ".join(f'"{rule}"' for rule in RULES)
            raise GlyphError(
                "fit",
                "there is no such rule",
                got=repr(self.rule),
                allowed=allowed,
                hint=_nearest(str(self.rule)) or "the one by which the training set was made",
            )
        if self.box_px is not None and self.margin_px is not None:
            raise GlyphError(
                "fit", "a box and a margin both say how large a mark is", hint="give one of them"
            )
        shorter = min(self.frame)
        for what, value, low, high in (
            ("the height of the frame in px", self.frame[0], _LEAST, _MOST),
            ("the width of the frame in px", self.frame[1], _LEAST, _MOST),
            ("the box in px", self.box_px, 1, max(self.frame)),
            ("the margin in px", self.margin_px, 0, (shorter - 1) / 2),
            ("the width of strokes in px", self._stroke_number(), 0.25, shorter / 2),
            ("the grey that ink begins with", self.ink_from, 1, 255),
        ):
            if value is not None and not (_number(value) and low <= value <= high):
                allowed = f"{low:g} to {high:g}"
                raise GlyphError("fit", f"{what} is out of range", got=value, allowed=allowed)
        if self.stroke != "scaled" and max(self.frame) > _MOST_STROKES:
            raise GlyphError(
                "fit",
                "strokes of a width of their own would take hours in so large a frame",
                got=f"{self.frame[0]} x {self.frame[1]} px",
                allowed=f"up to {_MOST_STROKES:,} px a side",
                hint="strokes scaled with the mark, or a smaller frame",
            )

    def _stroke_number(self) -> float | None:
        if not isinstance(self.stroke, str):
            return self.stroke
        if self.stroke not in ("scaled", "kept"):
            allowed = "scaled, kept, or a width in px"
            raise GlyphError("fit", "strokes can't be so", got=repr(self.stroke), allowed=allowed)
        return None

    @property
    def side_px(self) -> float | None:
        """What the longer side becomes; None where the frame and its margin decide."""
        if self.box_px is not None:
            return float(self.box_px)
        if self.margin_px is not None or self.rule == "as drawn":
            return None
        return USUAL_BOX * min(self.frame)

    @property
    def room_px(self) -> tuple[float, float]:
        """The frame without its margin, (height, width)."""
        margin = 2.0 * (self.margin_px or 0.0)
        return self.frame[0] - margin, self.frame[1] - margin

    def ratio(self, size: Real) -> Real:
        """By how much things of a size, (n, 2), are resized, (n,)."""
        size = np.maximum(size, 1e-9)
        if self.side_px is not None:
            return np.asarray(self.side_px / size.max(axis=1))
        return np.asarray((np.array(self.room_px) / size).min(axis=1))

    def said(self) -> str:
        """The rule in words, for a note."""
        height, width = self.frame
        what = "the whole picture" if self.rule == "as drawn" else "the mark"
        if self.side_px is not None:
            size = f"the longer side of {what} is {self.side_px:.4g} of {height} x {width} px"
        else:
            size = f"{what} fills {height} x {width} px"
            size += f" but for {self.margin_px:g} px a side" if self.margin_px else ""
        strokes = {"scaled": "strokes scaled with it", "kept": "strokes as wide as they were"}
        stroke = strokes.get(str(self.stroke)) or f"strokes {self.stroke} px wide"
        ink = f", ink from grey {self.ink_from} of 255 on" if self.ink_from > 1 else ""
        return f"fitted by the rule {self.rule!r}: {size}, {stroke}{ink}"


def _number(value: object) -> bool:
    return isinstance(value, int | float | np.number) and not isinstance(value, bool)


@dataclass(frozen=True)
class Fitted:
    """Pictures in their frame, and what became of each.

    Attributes
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright.
    ratio
        ndarray of shape (n,): by how much each was resized.
    lost
        ndarray of shape (n,): share of the ink that came to lie outside the frame.
    filled
        ndarray of shape (n,), bool: whether the mark reaches all four edges of its
        picture, as it does where the paper isn't bare.
    """

    images: Pixels
    ratio: Real
    lost: Real
    filled: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


def fit_pictures(images: Pixels, fit: Fit) -> Fitted:
    """Bring pictures of one size into a frame by a rule.

    Parameters
    ----------
    images
        ndarray of shape (n, h, w), uint8, ink bright; not changed.
    fit
        The rule.

    Returns
    -------
    Fitted

    Examples
    --------
    >>> page = np.zeros((1, 200, 300), np.uint8)
    >>> page[0, 20:120, 40:80] = 255
    >>> made = fit_pictures(page, Fit("box centred"))
    >>> inked = np.argwhere(made.images[0])
    >>> inked.min(axis=0).tolist(), inked.max(axis=0).tolist()
    ([4, 10], [23, 17])
    >>> float(made.ratio[0])
    0.2
    """
    if fit.ink_from > 1:
        images = np.where(images < fit.ink_from, np.uint8(0), images)
    box, centroid = marks_of(images)
    size = np.array(images.shape[1:], dtype=float)
    filled = (box == [-0.5, -0.5, size[0] - 0.5, size[1] - 0.5]).all(axis=1)
    if fit.rule == "as drawn":
        drawn = np.array([-0.5, -0.5, size[0] - 0.5, size[1] - 0.5])
        whole = np.broadcast_to(drawn, (len(images), 4))
        ratio = fit.ratio(whole[:, 2:] - whole[:, :2])
        shift = laid_by("box centred", ratio, whole, centroid, fit.frame, fitted=True)
    else:
        ratio = fit.ratio(box[:, 2:] - box[:, :2])
        # A picture without ink has no box: it stays bare, whatever it is resized by.
        ratio = np.where((box[:, 2:] > box[:, :2]).all(axis=1), ratio, 1.0)
        shift = laid_by(fit.rule, ratio, box, centroid, fit.frame, fitted=True)
    if fit.stroke == "scaled":
        made = brought(images, ratio, shift, fit.frame)
    else:
        from gen.glyphs.fit_strokes import fitted_strokes

        made, ratio, lost = fitted_strokes(images, fit, ratio, shift)
        return Fitted(made, ratio, lost, filled)
    return Fitted(made, ratio, lost_share(images, made, ratio, shift, box), filled)


def marks_of(images: Pixels) -> tuple[Real, Real]:
    """Box and centroid of the ink of each picture.

    Returns
    -------
    tuple
        ndarray of shape (n, 4), outer edges top, left, bottom, right, and ndarray of
        shape (n, 2), (y, x), px; of one without ink the middle of the picture.
    """
    count = len(images)
    box, centroid = np.empty((count, 4)), np.empty((count, 2))
    for side in (0, 1):
        length = images.shape[1 + side]
        lines = images.sum(axis=2 - side, dtype=np.int64)
        ink = lines.sum(axis=1)
        bare, middle = ink == 0, (length - 1) / 2
        inked = lines > 0
        box[:, side] = np.where(bare, middle, inked.argmax(axis=1) - 0.5)
        last = length - 0.5 - inked[:, ::-1].argmax(axis=1)
        box[:, side + 2] = np.where(bare, middle, last)
        first = (lines * np.arange(length)).sum(axis=1) / np.where(bare, 1, ink)
        centroid[:, side] = np.where(bare, middle, first)
    return box, centroid


def lost_share(images: Pixels, made: Pixels, ratio: Real, shift: Real, box: Real) -> Real:
    """The share of ink that is outside the frame, of marks whose box reaches there."""
    frame = np.array(made.shape[1:])
    low = ratio[:, None] * box[:, :2] + shift
    high = ratio[:, None] * box[:, 2:] + shift
    out = ((low < -0.5 - 1e-9) | (high > frame - 0.5 + 1e-9)).any(axis=1)
    lost = np.zeros(len(made))
    if out.any():
        had = images[out].sum(axis=(1, 2), dtype=np.int64) * ratio[out] ** 2
        kept = made[out].sum(axis=(1, 2), dtype=np.int64)
        lost[out] = np.clip(1.0 - kept / np.maximum(had, 1e-9), 0.0, 1.0)
    return lost


def _nearest(asked: str) -> str | None:
    """The rules with most words that are near to those asked for: "center" is in two."""
    words = asked.casefold().split()
    near = {
        rule: sum(bool(difflib.get_close_matches(word, rule.split(), n=1)) for word in words)
        for rule in RULES
        if "," not in rule  # a finer form of the one before it
    }
    most = max(near.values())
    return " or ".join(f'"{rule}"' for rule in near if near[rule] == most) if most else None
