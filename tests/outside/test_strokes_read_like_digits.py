"""Built-in strokes against digits that people wrote, both ways round.

A network that has only seen MNIST reads the strokes, and one that has only seen
strokes reads MNIST. MNIST: Y. LeCun, C. Cortes, C. J. C. Burges, "The MNIST
database of handwritten digits": 28 x 28 px, the longer side of each mark fitted to
20 px and its centre of mass moved to the middle. Networks: scikit-learn.
"""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest
from sklearn.exceptions import ConvergenceWarning
from sklearn.neural_network import MLPClassifier

from gen.glyphs.strokes import HANDS, write_strokes
from gen.recipe.model import Recipe, Sweep
from gen.render.engine import Renderer
from gen.render.plan import make_plan

pytestmark = [pytest.mark.open_data, pytest.mark.slow]

# What is asked for. Reached when this was written: 0.976 and 0.88 (two starts, 0.005 apart).
STROKES_READ_BY_MNIST = 0.95
MNIST_READ_BY_STROKES = 0.80
# No hand may be one that only its maker can read. Reached: the worst 0.95, of 1,000 glyphs.
WORST_HAND_READ_BY_MNIST = 0.90
# The network itself, on MNIST's own test images: others publish 0.95 to 0.98 for its size.
MNIST_READ_BY_MNIST = 0.95

LAID = {"box_px": 20.0, "margin_px": 0.0}


def placed_as_mnist(count: int, *, seed: int, writers: int) -> tuple[np.ndarray, Any]:
    """Strokes laid by MNIST's rule, ndarray of shape (count, 784) in 0..1, and the glyphs."""
    glyphs = write_strokes(count=count, seed=seed, writers=writers)
    rule = Sweep(
        "placement", "rule", ("centre of mass, whole px",), options=tuple(sorted(LAID.items()))
    )
    plan = make_plan(Recipe("placed", "", 0, (rule,)), glyphs.frame)
    renderer = Renderer(plan, glyphs)
    (cell,) = [cell for cell in plan.cells if cell.steps]
    images = renderer.block(np.arange(count)).render(cell).images
    return images.reshape(count, -1) / 255, glyphs


def trained(inputs: np.ndarray, labels: np.ndarray) -> MLPClassifier:
    network = MLPClassifier(
        (100, 100), random_state=0, max_iter=15, batch_size=200, learning_rate_init=2e-3
    )
    with warnings.catch_warnings():
        # Fifteen rounds are enough here, and fewer than the library likes.
        warnings.simplefilter("ignore", ConvergenceWarning)
        return network.fit(inputs, labels)


@pytest.fixture(scope="module")
def mnist_reader(open_digits: Any) -> MLPClassifier:
    train = open_digits.train
    return trained(train.images[:20000].reshape(20000, -1) / 255, train.labels[:20000])


def test_the_reader_of_mnist_reads_mnist(mnist_reader: MLPClassifier, open_digits: Any) -> None:
    test = open_digits.test
    score = mnist_reader.score(test.images.reshape(len(test), -1) / 255, test.labels)
    assert score >= MNIST_READ_BY_MNIST


def test_a_network_that_knows_only_mnist_reads_the_strokes(mnist_reader: MLPClassifier) -> None:
    inputs, glyphs = placed_as_mnist(12000, seed=5, writers=240)
    right = mnist_reader.predict(inputs) == glyphs.labels
    by_hand = [right[glyphs.writers % len(HANDS) == hand].mean() for hand in range(len(HANDS))]
    print(f"read: {right.mean():.4f}; by hand: {np.round(by_hand, 3)}")
    assert right.mean() >= STROKES_READ_BY_MNIST
    assert min(by_hand) >= WORST_HAND_READ_BY_MNIST


def test_a_network_that_knows_only_strokes_reads_mnist(open_digits: Any) -> None:
    inputs, glyphs = placed_as_mnist(20000, seed=5, writers=2000)
    test = open_digits.test
    reader = trained(inputs, glyphs.labels)
    score = reader.score(test.images.reshape(len(test), -1) / 255, test.labels)
    print(f"read: {score:.4f}")
    assert score >= MNIST_READ_BY_STROKES


def test_mirrored_strokes_are_not_read(mnist_reader: MLPClassifier) -> None:
    """The measure can fail: the same strokes mirrored are not digits any more."""
    inputs, glyphs = placed_as_mnist(2000, seed=5, writers=240)
    mirrored = inputs.reshape(-1, 28, 28)[:, :, ::-1].reshape(2000, -1)
    assert mnist_reader.score(mirrored, glyphs.labels) < 0.7
