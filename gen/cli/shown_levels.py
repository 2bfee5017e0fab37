"""Levels that show what a perturbation does: about seven, over a range where a mark changes."""

from __future__ import annotations

from collections.abc import Mapping

from gen.recipe.catalogue import Entry, Level, Unit

MOST = 7
_LENGTHS = (-6, -4, -2, 0, 2, 4, 6)
# For frames of 28 px, where a stroke is about 3 px wide and a mark 20 px high.
_BY_NAME: Mapping[tuple[str, str], tuple[float, ...]] = {
    ("stroke-width", "px"): (-2, -1, -0.5, 0, 1, 2, 4),
    ("blur", "px"): (0, 0.5, 1, 1.5, 2, 3, 4),
    ("motion-blur", "px"): (0, 2, 4, 6, 8, 12, 16),
    ("occlusion", "px"): (0, 2, 4, 6, 8, 12, 16),
    ("row-slip", "bytes"): (-14, -8, -4, 0, 4, 8, 14),
    ("resolution", "ratio"): (0.1, 0.2, 0.3, 0.4, 0.5, 0.75, 1),
    ("contrast", "ratio"): (0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1),
    ("slant", "deg"): (-45, -30, -15, 0, 15, 30, 45),
    ("noise", "electrons"): (3_200_000, 10_000, 1_000, 300, 100, 30, 16),
    ("value-range", "grey levels"): (255, 191, 127, 63, 31, 15, 1),
    ("jpeg", "quality"): (100, 90, 75, 50, 25, 10, 1),
}
_BY_UNIT: Mapping[str, tuple[float, ...]] = {
    "px": _LENGTHS,
    "ratio": (0.5, 0.65, 0.8, 1, 1.25, 1.5, 2),
    "deg": (-90, -45, -15, 0, 15, 45, 90),
    "grey levels": (0, 16, 32, 64, 96, 128, 192),
}


def shown_levels(entry: Entry, unit: Unit) -> tuple[Level, ...]:
    """The levels to show of a perturbation in one of its units, nominal among them.

    Parameters
    ----------
    entry
        What the catalogue says about it.
    unit
        One of its units.

    Returns
    -------
    tuple of levels, in the order in which a sweep has them: where nothing better is known,
    even steps over the whole range.

    Examples
    --------
    >>> from gen.perturb import CATALOGUE
    >>> shown_levels(CATALOGUE["mirror"], CATALOGUE["mirror"].units[0])
    (0.0, 1.0)
    >>> shown_levels(CATALOGUE["slant"], CATALOGUE["slant"].units[0])
    (-45.0, -30.0, -15.0, 0.0, 15.0, 30.0, 45.0)
    """
    if unit.names:
        return _some_names(unit)
    known = _BY_NAME.get((entry.name, unit.name)) or _BY_UNIT.get(unit.name) or _even(unit)
    nominal = float(unit.nominal)
    amounts = {nominal} | {float(amount) for amount in known if _inside(float(amount), unit)}
    return tuple(sorted(amounts))


def _some_names(unit: Unit) -> tuple[Level, ...]:
    """Nominal and others from all over the list: its neighbours are much alike."""
    step = max(1, -(-len(unit.names) // MOST))
    return tuple(name for place, name in enumerate(unit.names) if place % step == 0)


def _even(unit: Unit) -> tuple[float, ...]:
    """Even steps, on either side of nominal."""
    low, high, nominal = unit.low, unit.high, float(unit.nominal)
    if low is None or high is None:
        return _LENGTHS
    half = MOST // 2
    sides = [(low, half), (high, half)] if low < nominal < high else [(low, MOST - 1)]
    if nominal == low:
        sides = [(high, MOST - 1)]
    amounts = [
        nominal + (end - nominal) * part / parts
        for end, parts in sides
        for part in range(parts + 1)
    ]
    return tuple(round(each) if unit.whole else float(f"{each:.3g}") for each in amounts)


def _inside(amount: float, unit: Unit) -> bool:
    return (unit.low is None or amount >= unit.low) and (unit.high is None or amount <= unit.high)
