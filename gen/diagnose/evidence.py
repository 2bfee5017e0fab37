"""What the pictures themselves say for or against a remedy.

A remedy that works is not yet the cause: a rule that centres every mark also mends a
shift. Of remedies that work equally well the one is believed that treats a fault which
can be seen in the pictures, and after which they look most like the training pictures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cached_property

import numpy as np

from gen.diagnose.families import Family
from gen.diagnose.fits import Fit
from gen.diagnose.lines import RULED, ruled_share
from gen.diagnose.measures import Measures, measure
from gen.diagnose.operations import NOT_IN_PICTURES, READING, Chain
from gen.diagnose.workbench import Workbench
from gen.diagnose.wrap import row_wrap, sheared_rows
from gen.glyphs.base import Pixels

GREY_PAPER = 20.0
"""Grey levels of bare paper from which on paper removal has something to remove."""
FAINT = 150.0
"""Contrast in grey levels under which ink counts as faint."""
NOISY = 8.0
"""Deviation of bare paper in grey levels from which on specks are worth taking out."""
SPECKLED = 2.0
"""Specks in the middle picture from which on there are some: clean strokes have none."""
_HALF_INK, _SPECK_PX = 127, 2
_FILLS_PX = 1.4
_SOFT_PX = 0.6
"""Blur of the edges from which on pictures may be blurred: what was scanned and reduced with
care has less, and so have thin pens."""
_MENDED, _USUALLY_SURE = 0.9, 0.85
_INVERTED = 0.5
_MOST_AT_ODDS = 3.0

_ONLY_WHERE_SEEN = frozenset({"row length", "row shear", "line removal", "motion sharpening"})
_COMPARED = (
    "ink_share",
    "centroid_dx_px",
    "centroid_dy_px",
    "height_px",
    "width_px",
    "stroke_width_px",
    "slant_deg",
    "edge_sigma_px",
    "contrast",
    "background",
    "noise",
)
# Below these, in each measure's unit, a difference is none that a person would see.
_FINEST = {
    "ink_share": 0.01,
    "centroid_dx_px": 0.3,
    "centroid_dy_px": 0.3,
    "height_px": 0.7,
    "width_px": 0.7,
    "stroke_width_px": 0.2,
    "slant_deg": 3.0,
    "edge_sigma_px": 0.1,
    "contrast": 12.0,
    "background": 6.0,
    "noise": 3.0,
}


class Evidence:
    """Says how plausible a remedy is, beside how well it works.

    Parameters
    ----------
    bench
        The pictures as they are.
    trained_on
        ndarray of shape (m, H, W), uint8: pictures that the model was trained on; None
        when they aren't known.
    """

    def __init__(self, bench: Workbench, trained_on: Pixels | None) -> None:
        self._bench = bench
        self._trained_on = trained_on
        self._odds: dict[Chain, float] = {}

    @cached_property
    def seen(self) -> Measures:
        """The pictures as they are, measured."""
        return measure(self._bench.images)

    @cached_property
    def training(self) -> Measures | None:
        """The training pictures, measured."""
        return None if self._trained_on is None else measure(self._trained_on)

    @cached_property
    def specks(self) -> float:
        """Pieces of ink of one or two px, corners counted: the median over the pictures."""
        import cv2

        inked = (self._bench.images > _HALF_INK).astype(np.uint8)
        counts = []
        for picture in inked:
            _, _, stats, _ = cv2.connectedComponentsWithStats(picture, connectivity=8)
            counts.append(int((stats[1:, cv2.CC_STAT_AREA] <= _SPECK_PX).sum()))
        return float(np.median(counts))

    @cached_property
    def rows_wrap(self) -> bool:
        """Whether the pictures themselves show rows that wrap, as a decoder's slip leaves them."""
        return row_wrap(self._bench.images).early_bytes != 0

    @cached_property
    def ruled(self) -> bool:
        """Whether lines run right across the pictures."""
        return ruled_share(self._bench.images, self.seen) > RULED

    @cached_property
    def sheared(self) -> bool:
        """Whether rows lie further on than those above, by whole px."""
        return sheared_rows(self._bench.images)[0] != 0

    def strain(self, fit: Fit) -> float:
        """How much a remedy asks one to believe: its rank, more or less what can be seen.

        Parameters
        ----------
        fit
            The remedy.
        """
        strain = fit.rank + sum(map(self._of_family, fit.names)) + self.at_odds(fit.whole)
        # Values in another range are wrong for every picture, and mending them mends all.
        return strain + 1.0 if READING in fit.names and fit.accuracy < _MENDED else strain

    def standing(self, fit: Fit) -> float:
        """How well a remedy reads, 0 to 2.

        Larger values make any model surer, right or wrong: of those only what is read
        rightly counts, and as surely as on the whole.
        """
        if READING not in fit.names:
            return float(fit.worth.mean())
        return (1 + _USUALLY_SURE) * fit.accuracy

    def may_follow(self, family: Family) -> bool:
        """Whether a family is worth trying after another: not where its fault can't be seen.

        A second step makes many things a little better; stretched contrast helps thin
        strokes, and other values help a model that is unsure.
        """
        return family.name != READING and self._of_family(family.name) < 1.0

    def narrowed(self, found: Iterable[Family]) -> tuple[Family, ...]:
        """Those families whose fault these pictures don't rule out by themselves.

        What needn't be tried needn't be corrected for either.
        """
        kept = [
            family
            for family in found
            if family.name not in _ONLY_WHERE_SEEN or self._of_family(family.name) < 1.0
        ]
        return tuple(
            replace(family, further=())
            if family.name == "row slip" and not self.rows_wrap
            else family
            for family in kept
        )

    def shows(self, fit: Fit) -> bool:
        """Whether a remedy of one family treats a fault that can be seen in the pictures."""
        if len(fit.families) != 1:
            return False
        (name,) = fit.names
        return self._of_family(name) < 0 or (
            name == "stroke width" and self._thin and float(fit.whole[0].amount) > 0
        )

    def at_odds(self, chain: Chain) -> float:
        """How far the pictures still are from the training pictures after some steps.

        The mean over the measures of the distance of medians, in deviations of the
        training pictures; 0 when those aren't known.
        """
        if self.training is None:
            return 0.0
        chain = tuple(step for step in chain if step.perturbation not in NOT_IN_PICTURES)
        if chain not in self._odds:
            here = measure(self._bench.pictures(chain))
            apart = [_apart(name, here, self.training) for name in _COMPARED]
            self._odds[chain] = float(np.mean(apart))
        return self._odds[chain]

    def _of_family(self, name: str) -> float:
        """Less than 0 where a fault of this kind can be seen, more where it should be and isn't."""
        told: dict[str, Callable[[], float]] = {
            READING: lambda: 1.0,  # no picture shows it
            "paper removal": lambda: -1.0 if self._middle("background") > GREY_PAPER else 2.0,
            "contrast stretch": lambda: -1.0 if self._faint else 1.0,
            "line removal": lambda: -1.5 if self.ruled else 2.0,
            "row length": lambda: 0.0 if self.sheared else 2.0,
            "row shear": lambda: 0.0 if self.sheared else 2.0,
            "sharpening": lambda: 0.0 if self._soft else 1.0,
            "motion sharpening": lambda: 0.0 if self._soft else 1.0,
            "despeckling": lambda: -1.5 if self._specked else 2.0,
            "ink polarity": lambda: -0.5 if self._middle("border_like_ink") > _INVERTED else 1.0,
        }
        return told[name]() if name in told else 0.0

    @property
    def _soft(self) -> bool:
        # So soft that no edge tells how soft is soft as well.
        (sigma,) = self.seen.quantiles("edge_sigma_px", (50,))
        return not sigma <= _SOFT_PX

    @property
    def _thin(self) -> bool:
        return self._middle("stroke_width_px") < _FILLS_PX

    @property
    def _faint(self) -> bool:
        # A stroke that is thinner than its pixels looks faint, and is thin.
        bare = self._middle("background") <= GREY_PAPER
        return self._middle("contrast") < FAINT and not self._thin and bare

    @property
    def _specked(self) -> bool:
        # A line is taken for specks where a mark crosses it.
        noisy = self._middle("noise") > NOISY or self.specks >= SPECKLED
        return noisy and not self.ruled

    def _middle(self, name: str) -> float:
        (middle,) = self.seen.quantiles(name, (50,))
        return float(np.nan_to_num(middle))


def _apart(name: str, here: Measures, there: Measures) -> float:
    """Distance of medians in deviations, held to what a person would see, and at most 3."""
    low, middle, high = there.quantiles(name, (16, 50, 84))
    (seen,) = here.quantiles(name, (50,))
    if not np.isfinite(middle) or not np.isfinite(seen):
        return _MOST_AT_ODDS if np.isfinite(middle) else 0.0
    spread = max((high - low) / 2, _FINEST[name])
    return float(min(abs(seen - middle) / spread, _MOST_AT_ODDS))
