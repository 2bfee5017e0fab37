"""Numbers that come out the same, bit for bit, on every machine.

Library sine, cosine and exponential may differ in the last bit between
processors and versions. What reaches a pixel is therefore computed in
`decimal`, once per level, and rounded to whole multiples of a power of two.
"""

from __future__ import annotations

from decimal import Context, Decimal, localcontext
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

_DIGITS = 40
# 50 digits of pi; OEIS A000796. The test recomputes it with Machin's formula.
_PI = Decimal("3.14159265358979323846264338327950288419716939937510")


@lru_cache(maxsize=4096)
def cos_sin_deg(angle_deg: float) -> tuple[float, float]:
    """Cosine and sine of an angle in degrees, each rounded once from 40 digits.

    Multiples of 90 degrees give exact zeros and ones, so that a quarter turn
    moves pixels without weighing them.

    Parameters
    ----------
    angle_deg
        Any finite angle in degrees.

    Returns
    -------
    tuple of two floats
        (cosine, sine).

    Examples
    --------
    >>> cos_sin_deg(90.0)
    (0.0, 1.0)
    >>> cos_sin_deg(60.0)[0]
    0.5
    """
    with localcontext(Context(prec=_DIGITS)):
        turned = Decimal(angle_deg) % 360
        quarter, rest = divmod(turned, 90)
        cosine, sine = _series(rest * _PI / 180)
        for _ in range(int(quarter) % 4):
            cosine, sine = -sine, cosine
        return float(cosine) + 0.0, float(sine) + 0.0


def tan_deg(angle_deg: float) -> float:
    """Tangent of an angle in degrees, rounded once from 40 digits.

    Examples
    --------
    >>> tan_deg(45.0)
    1.0
    """
    with localcontext(Context(prec=_DIGITS)):
        cosine, sine = _series(Decimal(angle_deg) * _PI / 180)
        return float(sine / cosine)


def _series(x: Decimal) -> tuple[Decimal, Decimal]:
    """Taylor series of cosine and sine; x within two turns of zero."""
    cosine, sine = Decimal(0), Decimal(0)
    term, n = Decimal(1), 0
    tiny = Decimal(10) ** (-_DIGITS - 5)
    while abs(term) > tiny or n < 4:
        if n % 2 == 0:
            cosine += term if n % 4 == 0 else -term
        else:
            sine += term if n % 4 == 1 else -term
        n += 1
        term = term * x / n
    # What the series leaves at exact zeros (tan 0, cos 90) is below its own precision.
    floor = Decimal(10) ** (-_DIGITS + 4)
    return (
        cosine if abs(cosine) > floor else Decimal(0),
        sine if abs(sine) > floor else Decimal(0),
    )


def whole_multiples(weights: NDArray[np.float64], bits: int) -> NDArray[np.float64]:
    """Round weights to whole multiples of 2**-bits and return the multiples.

    Parameters
    ----------
    weights
        ndarray, float64, any shape.
    bits
        Size of a step is 2**-bits.

    Returns
    -------
    ndarray of the same shape, float64, holding whole numbers.

    Examples
    --------
    >>> whole_multiples(np.array([0.25, 0.75]), 16)
    array([16384., 49152.])
    """
    return np.rint(weights * float(1 << bits))
