"""What a check of a set says, and all that the checks look at."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from gen.diagnose.features import Features, features
from gen.diagnose.measures import Measures, measure
from gen.diagnose.set_pictures import SetPictures, set_pictures
from gen.glyphs.base import Pixels, Provenance, Whole

Fact: TypeAlias = "float | int | str | bool | None"
_MOST = 2000
"""Glyphs that are measured for a check, spread evenly over the set."""
_MOST_COMPARED = 1000
"""Glyphs whose shapes are compared, one with the other."""


@dataclass(frozen=True)
class SetFinding:
    """One kind of fault, found or ruled out.

    Attributes
    ----------
    kind
        Which kind, in a word or two.
    says
        One sentence: what is wrong, or what shows that it isn't, or why it can't be told.
    evidence
        The figures behind it, by name.
    found
        Whether it is there.
    """

    kind: str
    says: str
    evidence: Mapping[str, Fact] = field(default_factory=dict)
    found: bool = False


@dataclass(frozen=True)
class Look:
    """A set as the checks see it; each part is worked out when it is first wanted.

    Attributes
    ----------
    images
        ndarray of shape (N, H, W), uint8, ink bright.
    labels, classes, provenance
        As the set has them.
    """

    images: Pixels
    labels: Whole
    classes: tuple[str, ...]
    provenance: Provenance

    @property
    def scale(self) -> float:
        """The frame's shorter side over 28 px, by which limits in px are multiplied."""
        return float(min(self.images.shape[1:])) / 28

    @cached_property
    def some(self) -> Whole:
        """Indices of the glyphs that are measured."""
        count = len(self.images)
        return np.linspace(0, count - 1, min(count, _MOST)).astype(np.intp)

    @cached_property
    def few(self) -> Whole:
        """Indices of the glyphs whose shapes are compared: drawn, so that order has no say."""
        count = len(self.images)
        drawn = np.random.default_rng(7).permutation(count)[:_MOST_COMPARED]
        return np.sort(drawn).astype(np.intp)

    @cached_property
    def sample(self) -> Pixels:
        """The pictures that are measured."""
        return np.ascontiguousarray(self.images[self.some])

    @cached_property
    def measures(self) -> Measures:
        """Of `sample`."""
        return measure(self.sample)

    @cached_property
    def shapes(self) -> Features:
        """Shapes of `few`, ndarray of shape (n, side, side)."""
        return features(np.ascontiguousarray(self.images[self.few]))

    @cached_property
    def pictures(self) -> SetPictures:
        """Mean pictures, of `sample`."""
        return set_pictures(self.sample, self.labels[self.some], len(self.classes))

    def median(self, name: str) -> float:
        """Median of one measure; NaN if no glyph tells."""
        return float(self.measures.quantiles(name, (50,))[0])


Check: TypeAlias = "Callable[[Look, Look | None, Look | None], tuple[SetFinding, ...]]"
"""Takes the set, the set it is held against, and one that shows how its classes are written:
the same, or built-in handwriting where that knows the classes."""


def told(
    kind: str, says: str, evidence: Mapping[str, Fact] | None = None, *, found: bool = False
) -> SetFinding:
    """A finding whose figures are rounded to four digits behind the point."""
    plain = {
        name: round(float(value), 4) if isinstance(value, float | np.floating) else value
        for name, value in (evidence or {}).items()
    }
    return SetFinding(kind, says, MappingProxyType(plain), bool(found))


def one_or_none(
    kind: str,
    found: list[SetFinding],
    ruled_out: str,
    evidence: Mapping[str, Fact] | None = None,
) -> tuple[SetFinding, ...]:
    """What was found, or the one sentence that rules the kind out."""
    return tuple(found) or (told(kind, ruled_out, evidence),)
