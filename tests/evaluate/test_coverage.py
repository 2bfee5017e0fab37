"""How often the bootstrap's intervals hold the truth, on curves whose truth is known.

Each simulation draws glyphs from a law with known accuracies, makes the intervals as an
evaluation does, and counts how many hold the true figure. A share of 1,000 simulations has
a standard error of 0.7 points near 95 %.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import expit, ndtr

from gen.evaluate.bootstrap import Resampled
from gen.evaluate.percentiles import TAIL
from gen.evaluate.summary import area, crossings, half_line

pytestmark = pytest.mark.slow

SIMULATIONS = 1000
AMOUNTS = np.arange(0.0, 7.0)
FLOOR, GUESS = 0.9, 0.1
FIGURES = ("area", "tolerance", "half-drop")
# Four standard errors of 1,000 simulations at 95 %.
CHANCE = 4 * np.sqrt(0.95 * 0.05 / SIMULATIONS)
# A level at which a flat curve crosses a floor that is near is skew, and the fewer the writers
# the more: what percentiles, however expanded, leave uncovered of it.
SKEW = {40: 0.03, 12: 0.06, 5: 0.2}


def figures(shares: np.ndarray) -> dict[str, np.ndarray]:
    """Area, end of the tolerance and half-drop level for each row of accuracies."""
    half = half_line(shares[:, 0], GUESS)
    found = (
        area(AMOUNTS, shares),
        crossings(AMOUNTS, shares, FLOOR),
        crossings(AMOUNTS, shares, half),
    )
    return dict(zip(FIGURES, found, strict=True))


def covered(draws: Resampled, right: np.ndarray, truth: dict[str, np.ndarray]) -> np.ndarray:
    """Which of the intervals hold the truth."""
    drawn, seen = figures(draws.accuracy(right)), figures(right.mean(axis=1)[None])
    holds = []
    for name in FIGURES:
        found = draws.estimate(drawn[name], float(seen[name][0]))
        low = -np.inf if found.low is None else found.low
        high = np.inf if found.high is None else found.high
        holds.append(low <= truth[name][0] <= high)
    return np.array(holds)


class Plain(Resampled):
    """The same draws without expanded tails."""

    tail = TAIL


def told(what: str, shares: np.ndarray) -> None:
    named = ", ".join(f"{name} {share:.3f}" for name, share in zip(FIGURES, shares, strict=True))
    print(f"{what}: {named}")


def test_intervals_hold_the_truth_as_often_as_they_say_when_glyphs_are_independent() -> None:
    # A glyph is read up to a level of its own, logistic about 3.5 px, but for slips of 2 %.
    glyphs = 400
    truth = figures(0.98 * expit((3.5 - AMOUNTS) / 0.6)[None])
    draws = Resampled.of(glyphs)
    rng = np.random.default_rng(11)
    held = np.zeros(len(FIGURES))
    for _ in range(SIMULATIONS):
        breaks = rng.logistic(3.5, 0.6, glyphs)
        right = (breaks > AMOUNTS[:, None]) & (rng.random((len(AMOUNTS), glyphs)) < 0.98)
        held += covered(draws, right, truth)
    told("glyphs drawn, glyphs independent", held / SIMULATIONS)
    assert (abs(held / SIMULATIONS - 0.95) < CHANCE).all()


@pytest.mark.parametrize("writers", [5, 12, 40])
def test_with_strong_writers_only_drawing_writers_holds_the_truth(writers: int) -> None:
    # Each wrote 20 glyphs; a glyph breaks at 3.5 px plus what its writer and it bring, each a
    # normal deviate of 0.8 px: half the variance is the writers'.
    each = 20
    wrote = np.repeat(np.arange(writers), each)
    truth = figures(0.99 * ndtr((3.5 - AMOUNTS) / np.hypot(0.8, 0.8))[None])
    by_glyph = Resampled.of(writers * each)
    by_writer = Resampled.of(writers * each, writers=wrote)
    not_expanded = Plain(**vars(by_writer))
    rng = np.random.default_rng(12)
    held = np.zeros((3, len(FIGURES)))
    for _ in range(SIMULATIONS):
        breaks = 3.5 + rng.normal(0, 0.8, writers)[wrote] + rng.normal(0, 0.8, len(wrote))
        right = (breaks > AMOUNTS[:, None]) & (rng.random((len(AMOUNTS), len(wrote))) < 0.99)
        held[0] += covered(by_glyph, right, truth)
        held[1] += covered(by_writer, right, truth)
        held[2] += covered(not_expanded, right, truth)
    glyphs, people, plain = held / SIMULATIONS
    told("glyphs drawn, strong writers", glyphs)
    told(f"{writers} strong writers drawn", people)
    told("the same without expanded tails", plain)
    area_and_half = people[[FIGURES.index("area"), FIGURES.index("half-drop")]]
    assert (area_and_half > 0.95 - CHANCE).all()
    assert people[FIGURES.index("tolerance")] > 0.95 - CHANCE - SKEW[writers]
    assert (people < 0.95 + CHANCE).all()
    assert (glyphs < 0.75).all(), "writers matter here: this test can fail"
    assert (plain < people).all()
