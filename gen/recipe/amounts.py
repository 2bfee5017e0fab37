"""One amount: a number that can be held exactly, and the range that it is held to."""

from __future__ import annotations

from decimal import Decimal

from gen.recipe.lines import Path
from gen.recipe.model import Unit
from gen.recipe.problems import Problems
from gen.recipe.spelling import plain, shown


def read_number(value: object) -> Decimal | None:
    """The amount, exactly; None for what isn't a finite number that a float can hold.

    Examples
    --------
    >>> read_number(3), read_number(True), read_number(Decimal("nan"))
    (Decimal('3'), None, None)
    """
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return None
    if isinstance(value, int):
        return Decimal(value) if value.bit_length() <= 1023 else None
    # 1e308 is the last power of ten that a float holds.
    return value if value.is_finite() and value.adjusted() < 308 else None


def outside(number: Decimal, low: float | None, high: float | None) -> bool:
    """Whether a number is below or above limits, where there are such."""
    # Floats are compared through their shortest decimal, as a person would read them.
    return (low is not None and number < Decimal(repr(low))) or (
        high is not None and number > Decimal(repr(high))
    )


def limits_text(unit: Unit) -> str:
    """The range of a unit in words, also where only one end of it is known."""
    kind = "whole numbers" if unit.whole else "a number"
    if unit.low is not None and unit.high is None:
        return f"{kind} of at least {plain(unit.low)} {unit.name}"
    if unit.low is None and unit.high is not None:
        return f"{kind} of at most {plain(unit.high)} {unit.name}"
    return unit.allowed


def judge(number: Decimal, unit: Unit | None, path: Path, problems: Problems) -> bool:
    """Hold an amount to its unit.

    Returns
    -------
    bool
        Whether it was good; if not, the problem has been noted.
    """
    if unit is None:
        return True
    if outside(number, unit.low, unit.high):
        problems.add(
            path,
            "a level is out of range",
            got=f"{shown(number)} {unit.name}",
            allowed=limits_text(unit),
        )
        return False
    if unit.whole and number != number.to_integral_value():
        below = number.to_integral_value("ROUND_FLOOR")
        problems.add(
            path,
            "a level must be a whole number",
            got=f"{shown(number)} {unit.name}",
            allowed=limits_text(unit),
            hint=f"{plain(below)} or {plain(below + 1)}",
        )
        return False
    return True
