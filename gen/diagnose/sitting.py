"""Where drawings sit on the model's own curves, and what training would have to vary.

A clear difference from the training pictures is put into the unit of the perturbation
that makes it. The training pictures are then rendered at that level and the model is
asked: what it loses there is what this difference alone lets one expect.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from gen.diagnose.differences import SetDifference
from gen.diagnose.measures import Measures
from gen.diagnose.operations import Operation, carry_out
from gen.diagnose.results import Expected, Variation
from gen.evaluate.intervals import proportions
from gen.evaluate.model import Model
from gen.evaluate.results import Proportion
from gen.glyphs.base import Pixels, Whole
from gen.glyphs.subset import spread_over
from gen.perturb import PERTURBATIONS

_MOST = 400
"""Training pictures that are rendered for each difference."""
_WORTH_TRAINING = 0.03


@dataclass(frozen=True)
class _Axis:
    """Which perturbation makes a measure differ, and how its amount follows from two values."""

    perturbation: str
    unit: str
    options: tuple[tuple[str, str], ...] = ()
    how: str = "less"

    def level(self, here: float, there: float) -> float | None:
        """The level that takes one value to the other; None where there is none."""
        if self.how == "less":
            return here - there
        if self.how == "over":
            return here / there if there > 0 and here > 0 else None
        # Blurs add as squares; nothing makes a picture sharper than it was.
        return math.sqrt(here**2 - there**2) if here > there else None


_ABOUT = (("about", "frame"),)
_AXES: dict[str, _Axis] = {
    "centroid_dx_px": _Axis("translation", "px", (("along", "x"),)),
    "centroid_dy_px": _Axis("translation", "px", (("along", "y"),)),
    "height_px": _Axis("scale", "ratio", _ABOUT, "over"),
    "stroke_width_px": _Axis("stroke-width", "px"),
    "slant_deg": _Axis("slant", "deg", _ABOUT),
    "edge_sigma_px": _Axis("blur", "px", (), "squares"),
    "contrast": _Axis("contrast", "ratio", (), "over"),
    "background": _Axis("background", "grey levels"),
}


def expected(
    model: Model,
    found: Sequence[SetDifference],
    images: Pixels,
    labels: Whole,
    seen: Proportion,
) -> tuple[Expected, ...]:
    """What the model loses on its training pictures at the levels where drawings sit.

    Parameters
    ----------
    model
        Looked at before.
    found
        Differences of the drawings from the training pictures.
    images, labels
        Training pictures, (m, H, W) uint8, and their classes, (m,).
    seen
        Accuracy of the drawings as they are.

    Returns
    -------
    tuple of Expected
        One a clear difference that some perturbation makes, the costliest first.
    """
    some = spread_over(len(images), _MOST)
    out = []
    for difference in found:
        axis = _AXES.get(difference.measure.name)
        if axis is None or not difference.clear:
            continue
        level = axis.level(difference.here, difference.there)
        operation = None if level is None else _held(axis, level, images.shape[1:])
        if operation is None:
            continue
        right = model.answer(carry_out(images[some], (operation,))).labels == labels[some]
        (share,) = proportions(int(right.sum()), len(some))
        title = PERTURBATIONS[axis.perturbation].title(dict(axis.options))
        out.append(
            Expected(title, axis.unit, float(operation.amount), share, seen, axis.perturbation)
        )
    return tuple(sorted(out, key=lambda one: one.predicted.value))


def variations(
    told: Sequence[Expected],
    here: Measures,
    there: Measures,
    *,
    nominal: float,
) -> tuple[Variation, ...]:
    """Which variation in training would close most of the gap, in units.

    Parameters
    ----------
    told
        From `expected`.
    here, there
        Measures of the drawings and of the training pictures.
    nominal
        Accuracy on the training pictures as they are.

    Returns
    -------
    tuple of Variation
        Those that cost the model at least 3 points, the costliest first. A range holds
        the middle 90 % of the drawings, and nominal.
    """
    out = []
    for one in told:
        loss = nominal - one.predicted.value
        name = next(
            n
            for n, axis in _AXES.items()
            if axis.perturbation == one.perturbation
            and PERTURBATIONS[axis.perturbation].title(dict(axis.options)) == one.title
        )
        axis = _AXES[name]
        (middle,) = there.quantiles(name, (50,))
        ends = [axis.level(float(end), float(middle)) for end in here.quantiles(name, (5, 95))]
        nothing = PERTURBATIONS[axis.perturbation].entry.unit(axis.unit).nominal
        levels = [float(nothing), one.level, *(end for end in ends if end is not None)]
        if loss >= _WORTH_TRAINING:
            low, high = (float(f"{end:.2g}") for end in (min(levels), max(levels)))
            out.append(Variation(one.title, axis.perturbation, axis.unit, low, high, loss))
    return tuple(out)


def _held(axis: _Axis, level: float, frame: tuple[int, ...]) -> Operation | None:
    """The perturbation at a level, held to its range; None where it changes nothing."""
    perturbation = PERTURBATIONS[axis.perturbation]
    unit = perturbation.entry.unit(axis.unit)
    low, high = perturbation.limits(unit, dict(axis.options), (frame[0], frame[1]))
    amount = round(min(max(level, low), high), 3)
    if amount == unit.nominal:
        return None
    return Operation(axis.perturbation, amount, axis.unit, axis.options)
