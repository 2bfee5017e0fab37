"""Levels from, to, and by a step or a count: decimal, so that 0.1 three times is 0.3.

Amounts are added and divided with 50 digits and rounded to a float once each,
so that a level is the same float as the one that its decimal digits would read as.
"""

from __future__ import annotations

from decimal import ROUND_FLOOR, Context, Decimal, localcontext

DIGITS = 50
LANDING = Decimal("1e-9")
"""How far from the end, in steps, still counts as landing on it: a third written
with ten digits (0.3333333333) lands on 1 after three steps."""


class StepMissError(Exception):
    """The steps pass the end without landing on it.

    Attributes
    ----------
    below, above
        The values of the steps on either side of the end.
    """

    def __init__(self, below: Decimal, above: Decimal) -> None:
        self.below = below
        self.above = above
        super().__init__(f"{below} or {above}")


def step_count(first: Decimal, last: Decimal, step: Decimal) -> Decimal:
    """How many steps lie between two amounts; not rounded.

    Examples
    --------
    >>> step_count(Decimal(0), Decimal(1), Decimal("0.25"))
    Decimal('4')
    """
    with localcontext(Context(prec=DIGITS)):
        return (last - first) / step


def by_step(first: Decimal, last: Decimal, step: Decimal) -> tuple[float, ...]:
    """Every amount from first to last, both included.

    Parameters
    ----------
    first, last
        Finite, first less than last.
    step
        Greater than zero. The caller keeps the number of steps within its limit.

    Raises
    ------
    StepMissError
        If no step lands on the last amount.

    Examples
    --------
    >>> by_step(Decimal(0), Decimal("0.3"), Decimal("0.1"))
    (0.0, 0.1, 0.2, 0.3)
    """
    with localcontext(Context(prec=DIGITS)):
        steps = (last - first) / step
        whole = steps.to_integral_value()
        if whole < 1 or abs(steps - whole) > LANDING:
            below = steps.to_integral_value(ROUND_FLOOR)
            raise StepMissError(first + below * step, first + (below + 1) * step)
        inner = [first + step * n for n in range(int(whole))]
        return tuple(as_float(value) for value in (*inner, last))


def by_count(first: Decimal, last: Decimal, count: int) -> tuple[float, ...]:
    """So many amounts from first to last, both included, evenly spaced.

    Parameters
    ----------
    first, last
        Finite, first less than last.
    count
        2 or more.

    Examples
    --------
    >>> by_count(Decimal(0), Decimal(1), 4)
    (0.0, 0.3333333333333333, 0.6666666666666666, 1.0)
    """
    with localcontext(Context(prec=DIGITS)):
        inner = [first + (last - first) * n / (count - 1) for n in range(count - 1)]
        return tuple(as_float(value) for value in (*inner, last))


def as_float(value: Decimal) -> float:
    """The nearest float; a negative zero becomes zero.

    Examples
    --------
    >>> as_float(Decimal("-0.0"))
    0.0
    """
    return float(value) + 0.0
