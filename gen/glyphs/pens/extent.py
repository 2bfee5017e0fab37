"""Where the ink of a round pen is, from the line that the pen went along."""

from __future__ import annotations

import math

import numpy as np

from gen.glyphs.base import Real


def box_of(
    lines: list[Real], widths: list[float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Low corner and extent of the ink, (y, x) each."""
    low = [
        min(float(line[:, k].min()) - 0.5 * pen for line, pen in zip(lines, widths, strict=True))
        for k in (0, 1)
    ]
    high = [
        max(float(line[:, k].max()) + 0.5 * pen for line, pen in zip(lines, widths, strict=True))
        for k in (0, 1)
    ]
    return (low[0], low[1]), (high[0] - low[0], high[1] - low[1])


def centre_of(lines: list[Real], widths: list[float]) -> tuple[float, float]:
    """The first moment of the ink, (y, x); a half disc at each end of a stroke."""
    weights: list[float] = []
    places: list[list[float]] = [[], []]
    for line, pen in zip(lines, widths, strict=True):
        step = line[1:] - line[:-1]
        length = np.sqrt(step[:, 0] * step[:, 0] + step[:, 1] * step[:, 1])
        half_disc = math.pi * pen * pen / 8
        here = np.concatenate([length * pen, [half_disc, half_disc]])
        weights += here.tolist()
        ends = line[[0, -1]]
        if len(line) > 1:
            # The centre of a half disc of radius r is 4 r / (3 pi) beyond its flat side.
            beyond = np.stack([-step[0], step[-1]]) * (2 * pen / (3 * math.pi))
            ends = ends + beyond / np.where(length[[0, -1]] > 0, length[[0, -1]], 1.0)[:, None]
        for k in (0, 1):
            middle = 0.5 * (line[1:, k] + line[:-1, k])
            places[k] += (np.concatenate([middle, ends[:, k]]) * here).tolist()
    # fsum rounds once, so that the order and the machine don't matter.
    whole = math.fsum(weights)
    return math.fsum(places[0]) / whole, math.fsum(places[1]) / whole
