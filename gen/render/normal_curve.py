"""The normal distribution function on a lattice.

Library error functions may differ in the last digit between machines, and what is
drawn must not. Here the function is carried from 0 outwards by Taylor series in
`decimal`, of which every digit is fixed.

References
----------
G. Marsaglia, "Evaluating the normal distribution", J. Stat. Software 11 (4), 2004:
the Taylor series of the integral about any point, from a recurrence.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Context, Decimal, localcontext

_DIGITS = 40
_TINY = Decimal(10) ** -(_DIGITS - 4)
_LONGEST = Decimal("0.25")
_FAR = 10  # the share beyond is under 1e-23
# 1 / sqrt(2 pi), OEIS A231863. The test recomputes it.
_DENSITY_AT_0 = Decimal("0.39894228040143267793994605993438186847585863116493")


def normal_shares(start: Decimal, step: Decimal, count: int) -> Iterator[Decimal]:
    """The share of a standard normal distribution below each point of a lattice.

    Parameters
    ----------
    start
        The first point, in standard deviations from the mean.
    step
        From one point to the next, greater than 0.
    count
        How many points.

    Yields
    ------
    Decimal
        Within 1e-22 of the true share: 0 or 1 beyond ten standard deviations, and
        within 1e-30 before that.

    Examples
    --------
    >>> [f"{share:.6f}" for share in normal_shares(Decimal(-1), Decimal(1), 3)]
    ['0.158655', '0.500000', '0.841345']
    """
    at, share, density = Decimal(0), Decimal("0.5"), _DENSITY_AT_0
    for number in range(count):
        with localcontext(Context(prec=_DIGITS)):
            goal = start + step * number
            while abs(goal) <= _FAR and at != goal:
                left = goal - at
                near = abs(left) <= _LONGEST
                on = left if near else _LONGEST.copy_sign(left)
                more, density = _carried(at, density, on)
                share += more
                at = goal if near else at + on
            found = share if at == goal else Decimal(goal > 0)
        yield found


def _carried(at: Decimal, density: Decimal, on: Decimal) -> tuple[Decimal, Decimal]:
    """What the integral gains on a step from a point, and the density there."""
    # The density f has f' = -x f, so its Taylor coefficients about a point a have
    # (n + 1) c[n + 1] = -(a c[n] + c[n - 1]).
    before, now = Decimal(0), density
    power = Decimal(1)
    gained, there = Decimal(0), Decimal(0)
    n = 0
    while abs(now * power) > _TINY or abs(before * power) > _TINY:
        there += now * power
        power *= on
        n += 1
        gained += now * power / n
        before, now = now, -(at * now + before) / n
    return gained, there
