"""The pictures to be explained, the model, and every trial of a remedy on them."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.diagnose.families import ends_of
from gen.diagnose.operations import READING, Chain, Hands
from gen.evaluate.expect import Expectation
from gen.evaluate.model import Model
from gen.glyphs.base import Pixels, Whole

Real = NDArray[np.float64]
_IN_HAND = 24  # picture states that are kept with their maps
_LEAST_SHARE = 0.01  # one picture that is read wrongly and surely must not outweigh the rest
SURE = 1.0
"""Weight of the probability that the true class gets, beside whether it is answered."""


@dataclass(frozen=True)
class Trial:
    """What the model says to the pictures after some steps.

    Attributes
    ----------
    answered
        ndarray of shape (n,), intp: the class answered; -1 where the model failed.
    right
        ndarray of shape (n,), bool.
    share
        ndarray of shape (n,), float64: probability that the true class got; of a model
        that gives labels only the same as `right`.
    """

    answered: Whole
    right: NDArray[np.bool_]
    share: Real

    @property
    def worth(self) -> Real:
        """How well each picture is read: right or not, and how surely; ndarray of shape (n,)."""
        return np.asarray(self.right + SURE * self.share)

    @property
    def likelihood(self) -> Real:
        """Logarithm of `share`, ndarray of shape (n,): best where a model is as sure as it
        should be, and neither surer nor less sure."""
        return np.log(np.maximum(self.share, _LEAST_SHARE))


class Workbench:
    """Tries remedies, each once.

    Parameters
    ----------
    model
        Looked at before with the classes of the labels.
    images
        ndarray of shape (n, H, W), uint8, ink bright.
    labels
        ndarray of shape (n,): true classes, by index.
    """

    def __init__(self, model: Model, images: Pixels, labels: Whole) -> None:
        self.model = model
        self.images = images
        self.labels = labels
        self._trials: dict[Chain, Trial] = {}
        self._hands: OrderedDict[Chain, Hands] = OrderedDict()

    @property
    def asked(self) -> int:
        """How many different remedies have been tried, none among them."""
        return len(self._trials)

    def trial(self, chain: Chain = ()) -> Trial:
        """What the model says after these steps."""
        if chain not in self._trials:
            images = self._hand(chain[:-1]).do(chain[-1]) if chain else self.images
            self._trials[chain] = self._asked(images, chain)
        return self._trials[chain]

    def _asked(self, images: Pixels, chain: Chain) -> Trial:
        try:
            answers = self.model.answer(images, expects=self._expects(chain))
        except ModelError:
            if not chain:
                raise
            # What a model can't answer after a remedy, it doesn't read.
            none = np.full(len(images), -1, np.intp)
            return Trial(none, np.zeros(len(images), np.bool_), np.zeros(len(images)))
        right = np.asarray(answers.labels == self.labels)
        share = right.astype(np.float64)
        if answers.probabilities is not None:
            share = answers.probabilities[np.arange(len(images)), self.labels]
        return Trial(answers.labels, right, share)

    def pictures(self, chain: Chain) -> Pixels:
        """The pictures after these steps."""
        return self._hand(chain).images

    def _hand(self, chain: Chain) -> Hands:
        if chain in self._hands:
            self._hands.move_to_end(chain)
        else:
            images = self._hand(chain[:-1]).do(chain[-1]) if chain else self.images
            self._hands[chain] = Hands(images)
            while len(self._hands) > _IN_HAND:
                self._hands.popitem(last=False)
        return self._hands[chain]

    def _expects(self, chain: Chain) -> Expectation | None:
        """What the model is handed, where a step says so; None for as it is."""
        said = [step.amount for step in chain if step.perturbation == READING]
        if not said:
            return None
        return self.model.expects.scaled(*ends_of(said[-1]))
