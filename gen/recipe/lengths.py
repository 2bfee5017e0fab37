"""Lengths on paper: millimetres under a scanner, or parts of a mark's height, in px.

They may stand wherever a length in px may. How many px a millimetre has follows
from the scanning resolution, and how many a height has is stated too, once for the
whole recipe: were each mark measured by itself, a tall 7 and a flat dash would be
moved by different amounts at one level, and were it the median of a set, a glyph
would look otherwise in a smaller set.

References
----------
The inch is 25.4 mm: International yard and pound agreement, 1959.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal, localcontext

from gen.recipe.catalogue import Entry, Level, Unit

PX, MM, HEIGHT = "px", "mm", "height"
NEEDS = {MM: "scan_dpi", HEIGHT: "glyph_height_px"}
"""The key at the top of a recipe that a unit of length needs."""

MM_PER_INCH = Decimal("25.4")
_DIGITS = 50
_LIMIT_DIGITS = 12


@dataclass(frozen=True)
class Ruler:
    """What turns a length on paper into px.

    Attributes
    ----------
    scan_dpi
        Scanning resolution, px to the inch, of the pictures that the model gets.
    glyph_height_px
        Height of a usual mark in them, px.
    """

    scan_dpi: float | None = None
    glyph_height_px: float | None = None

    def known(self, unit: str) -> bool:
        """Whether a length in that unit can be told in px."""
        return unit == PX or (unit in NEEDS and getattr(self, NEEDS[unit]) is not None)

    def in_px(self, amount: float, unit: str) -> float:
        """A length in px, rounded once.

        Parameters
        ----------
        amount
            The length, read as the decimal number that it is written as.
        unit
            "px", "mm" or "height"; `known` says whether it can be told.

        Examples
        --------
        >>> Ruler(scan_dpi=300.0).in_px(0.5, "mm")
        5.905511811023622
        >>> Ruler(glyph_height_px=20.0).in_px(0.1, "height")
        2.0
        """
        if unit == PX:
            return amount
        with localcontext(Context(prec=_DIGITS)):
            up, down = self._ratio(unit)
            return float(Decimal(repr(amount)) * up / down) + 0.0

    def px_per(self, unit: str) -> float:
        """How many px one of that unit has."""
        return self.in_px(1.0, unit)

    def limits_in(
        self, unit: str, low: float | None, high: float | None
    ) -> tuple[float | None, float | None]:
        """Limits in px as limits in another unit, rounded inwards."""
        if unit == PX:
            return low, high
        up, down = self._ratio(unit)
        ends = []
        for end, rounding in ((low, ROUND_CEILING), (high, ROUND_FLOOR)):
            with localcontext(Context(prec=_LIMIT_DIGITS, rounding=rounding)):
                ends.append(None if end is None else float(Decimal(repr(end)) * down / up) + 0.0)
        return ends[0], ends[1]

    def unit(self, px: Unit, name: str) -> Unit:
        """A unit in px as a unit on paper, with the limits that it then has."""
        low, high = self.limits_in(name, px.low, px.high)
        return px if name == PX else Unit(name, px.nominal, low, high)

    def said(self, units: Iterable[str]) -> dict[str, float]:
        """The keys that some units need, with their values."""
        keys = sorted({NEEDS[unit] for unit in units if unit in NEEDS})
        return {key: float(getattr(self, key)) for key in keys}

    def _ratio(self, unit: str) -> tuple[Decimal, Decimal]:
        value = getattr(self, NEEDS[unit])
        return Decimal(repr(value)), MM_PER_INCH if unit == MM else Decimal(1)


def length_unit(entry: Entry) -> Unit | None:
    """The unit in px that stands for a length on paper; None when there is none."""
    for unit in entry.units:
        if unit.name == PX and unit.nominal == 0.0 and not unit.whole and not unit.names:
            return unit
    return None


def unit_names(entry: Entry) -> tuple[str, ...]:
    """Every unit that a perturbation may be stated in, lengths on paper among them."""
    paper = () if length_unit(entry) is None else tuple(NEEDS)
    return (*(unit.name for unit in entry.units), *paper)


def find_unit(entry: Entry, name: str, ruler: Ruler) -> Unit:
    """The unit of that name; KeyError when there is none or the ruler doesn't know it."""
    px = length_unit(entry)
    if px is None or name not in NEEDS:
        return entry.unit(name)
    if not ruler.known(name):
        raise KeyError(name)
    return ruler.unit(px, name)


def as_px(level: Level, unit: str, ruler: Ruler) -> tuple[Level, str]:
    """A level and its unit as the perturbation itself has them: lengths in px."""
    if unit not in NEEDS or isinstance(level, str):
        return level, unit
    return ruler.in_px(level, unit), PX
