"""What a model's confidence is worth: Brier, log loss, calibration, and declining."""

from __future__ import annotations

import numpy as np

from gen.evaluate.results import Calibration, Kept, ReliabilityBin
from gen.evaluate.shares import Shares
from gen.evaluate.sheet import Row

BINS = 15
COVERAGES = (1.0, 0.95, 0.9, 0.8, 0.7, 0.5)
"""Shares of the glyphs that are answered when the least sure are declined."""
LEAST_SHARE = 1e-15
"""What the true class got counts as at least this, so that the log loss stays finite."""


def calibration(row: Row, *, bins: int = BINS, shares: Shares | None = None) -> Calibration | None:
    """Judge the confidences of one cell.

    Parameters
    ----------
    row
        What the model said to N glyphs, N >= 1.
    bins
        M bins of equal width, each (m / M, (m + 1) / M]; a confidence of 0 is in the first.
    shares
        What makes shares of those glyphs; left out, Wilson's for independent glyphs.

    Returns
    -------
    Calibration
        None when the model gives labels only.

    References
    ----------
    G. W. Brier, Mon. Weather Rev. 78 (1950) 1-3, for the score summed over classes; C. Guo,
    G. Pleiss, Y. Sun and K. Q. Weinberger, ICML (2017), equation 3, for the expected
    calibration error; R. El-Yaniv and Y. Wiener, J. Mach. Learn. Res. 11 (2010)
    1605-1641, for accuracy against coverage (from memory).

    Examples
    --------
    Ten answers, five with 0.9 of which four are right, five with 0.6 of which two are:

    >>> sure = np.repeat([0.9, 0.6], 5).astype(np.float32)
    >>> right = np.array([1, 1, 1, 1, 0, 1, 1, 0, 0, 0], bool)
    >>> row = Row(np.zeros(10, np.int16), right, sure, sure, sure, 0.0)
    >>> f"{calibration(row, bins=10).ece:.2f}"
    '0.15'
    """
    if row.confidence is None or row.true_share is None or row.squared is None:
        return None
    sure = row.confidence.astype(np.float64)
    n = len(sure)
    true = np.maximum(row.true_share.astype(np.float64), LEAST_SHARE)
    shares = shares or Shares()
    found = _bins(row, bins, shares)
    gaps = sum(one.n * abs(one.accuracy.value - one.confidence) for one in found)
    return Calibration(
        brier=float(row.squared.mean(dtype=np.float64)),
        log_loss=float(-np.log(true).mean()),
        ece=gaps / n,
        overconfidence=float(sure.mean()) - int(np.count_nonzero(row.right)) / n,
        bins=found,
        kept=_kept(row, shares),
    )


def _bins(row: Row, bins: int, shares: Shares) -> tuple[ReliabilityBin, ...]:
    """Those bins that hold an answer."""
    assert row.confidence is not None, "labels alone have no bins"
    edges = np.arange(bins + 1) / bins
    # Edges as rounded as the confidences are: 0.6 lies on the edge 3 / 5, not past it.
    place = np.searchsorted(edges.astype(row.confidence.dtype), row.confidence, side="left") - 1
    place = np.clip(place, 0, bins - 1)
    total = np.bincount(place, weights=row.confidence, minlength=bins)
    return tuple(
        ReliabilityBin(
            low=m / bins,
            high=(m + 1) / bins,
            n=share.n,
            confidence=float(total[m] / share.n),
            accuracy=share,
        )
        for m, share in enumerate(shares.by(row.right, place, bins))
        if share is not None
    )


def _kept(row: Row, shares: Shares) -> tuple[Kept, ...]:
    """Accuracy of the surest, at each coverage that no tie cuts; of two as near, the larger."""
    assert row.confidence is not None, "labels alone can't be declined"
    order = np.argsort(-row.confidence, kind="stable")
    sure, right = row.confidence[order], row.right[order]
    n = len(sure)
    # Answers may be cut off after these: where the next is less sure, and after all.
    cuts = np.append(np.flatnonzero(sure[1:] < sure[:-1]) + 1, n)[::-1]
    away = np.abs(cuts[:, None] - np.array(COVERAGES) * n)
    chosen = sorted({int(cuts[at]) for at in away.argmin(axis=0)}, reverse=True)
    return tuple(
        Kept(
            coverage=k / n,
            threshold=float(sure[k - 1]),
            accuracy=shares.some(order[:k]).of(right[:k]),
        )
        for k in chosen
    )
