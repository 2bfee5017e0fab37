"""Many tests at once: what a p-value is worth when that many were tried."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Real = NDArray[np.float64]


def holm(p_values: ArrayLike) -> Real:
    """Holm's step-down correction, as adjusted p-values.

    Calling those under alpha true makes any false call at all no more likely
    than alpha, however the tests hang together.

    Parameters
    ----------
    p_values
        ndarray of shape (m,), each between 0 and 1.

    Returns
    -------
    ndarray of shape (m,), float64, in the order they were given.

    Raises
    ------
    ValueError
        If a value isn't between 0 and 1, or the array has more than one axis.

    References
    ----------
    S. Holm, Scand. J. Stat. 6 (1979) 65-70.

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03, 0.005]).round(4).tolist()
    [0.03, 0.06, 0.06, 0.02]
    """
    p = np.asarray(p_values, dtype=np.float64)
    if p.ndim != 1:
        raise ValueError(f"p-values must have one axis, got shape {p.shape}")
    if not np.all((p >= 0) & (p <= 1)):
        raise ValueError("p-values must be between 0 and 1")
    order = np.argsort(p, kind="stable")
    stepped = p[order] * np.arange(len(p), 0, -1)
    adjusted = np.empty_like(p)
    # A larger p may not come out smaller than one before it: the running maximum.
    adjusted[order] = np.minimum(np.maximum.accumulate(stepped), 1.0)
    return adjusted
