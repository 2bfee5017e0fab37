"""Figures as they stand on a screen, held to those of a document."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

HALF_A_DIGIT = 0.05 + 1e-6  # a share stands in percent with one digit after the point
_FIGURE = re.compile(r"[-+]?\d[\d,]*(?:\.\d+)?")


def figures(text: str) -> list[float]:
    """The numbers in some words, in order: "62.5 % (53.6 to 70.6 %)" has three."""
    plain = text.replace("\u2212", "-")
    return [float(found.replace(",", "")) for found in _FIGURE.findall(plain)]


def assert_shares(text: str, *shares: float) -> None:
    """The words say these shares, in percent and in this order, and no other number."""
    said = figures(text)
    assert len(said) == len(shares), f"{text!r} has {len(said)} figures, not {len(shares)}"
    for figure, share in zip(said, shares, strict=True):
        assert abs(figure - 100 * share) <= HALF_A_DIGIT, f"{text!r} doesn't say {100 * share}"


def assert_counts(text: str, *counts: int) -> None:
    """The words say these whole numbers, in this order, and no other number."""
    assert figures(text) == [float(count) for count in counts], text


def assert_share(cells: Sequence[str], part: Mapping[str, Any]) -> None:
    """Four cells give a share: of how many, how many, the share, and its interval."""
    glyphs, right, share, interval = cells
    assert_counts(glyphs, part["n"])
    assert_counts(right, part["correct"])
    assert_shares(share, part["accuracy"])
    assert_shares(interval, part["low"], part["high"])
