"""The class that breaks first and the pair that is confused most."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest

from gen.evaluate.confused import first_class, most_confused
from gen.evaluate.multiple import holm
from gen.recipe.model import Level
from tests.evaluate.told_sheets import told

LEVELS: list[Level] = [-2.0, -1.0, 0.0, 1.0, 2.0]
SIZE = 40


def classes_of_forty(
    misread: dict[tuple[float, int, int], int],
) -> tuple[np.ndarray, np.ndarray]:
    """Labels of 3 classes; at (level, class, answer) so many of the class's glyphs are misread."""
    labels = np.repeat(np.arange(3), SIZE)
    answered = np.tile(labels, (5, 1))
    for (level, true, answer), count in misread.items():
        at = LEVELS.index(level)
        free = np.flatnonzero((labels == true) & (answered[at] == true))
        answered[at, free[:count]] = answer
    return answered, labels


def found(misread: dict[tuple[float, int, int], int], *, floor: float = 0.8) -> tuple:
    answered, labels = classes_of_forty(misread)
    curve, sheet = told(LEVELS, answered, labels, classes=3)
    return (
        first_class(curve.points, nominal=0.0, floor=floor),
        most_confused(curve.points, sheet, nominal=0.0),
    )


def test_the_class_that_falls_nearest_to_nominal_breaks_first() -> None:
    first, _ = found({(2.0, 0, 1): 40, (-1.0, 1, 0): 15, (1.0, 2, 0): 15})
    assert (first.name, first.level) == ("b", -1.0)  # as bad, as near: the first that is met
    first, _ = found({(2.0, 0, 1): 40, (-1.0, 1, 0): 15, (1.0, 2, 0): 16})
    assert (first.name, first.level, first.accuracy.correct) == ("c", 1.0, 24)


def test_a_class_is_under_the_floor_only_where_its_interval_ends_below() -> None:
    # Of 40, scipy's binomtest has Wilson's upper ends 0.7992 for 27 and 0.8193 for 28.
    assert found({(1.0, 0, 1): 12})[0] is None
    first, _ = found({(1.0, 0, 1): 13})
    assert round(first.accuracy.high, 4) == 0.7992


def test_a_class_that_nominal_does_not_hold_cannot_break() -> None:
    first, _ = found({(0.0, 0, 1): 9, (1.0, 0, 1): 40, (2.0, 1, 0): 40})
    assert (first.name, first.level) == ("b", 2.0)


def test_fewer_than_five_glyphs_never_break() -> None:
    labels = np.repeat([0, 1], [4, 50])
    answered = np.stack([labels, 1 - labels])
    curve, _ = told([0.0, 1.0], answered, labels, classes=2)
    first = first_class(curve.points, nominal=0.0, floor=0.9)
    assert first is not None
    assert first.name == "b"


def test_the_pair_with_most_misreadings_beyond_nominal_is_given_where_it_begins() -> None:
    _, pair = found(
        {
            (-2.0, 0, 1): 30,
            (-1.0, 0, 1): 3,  # too few to tell
            (1.0, 0, 1): 20,
            (2.0, 0, 1): 25,
            (-1.0, 1, 2): 20,  # nearer or as near, but fewer in all
            (0.0, 2, 1): 7,  # there at nominal too
            (1.0, 2, 1): 7,
        }
    )
    assert (pair.true, pair.answered, pair.level) == ("a", "b", 1.0)
    assert (pair.share.correct, pair.share.n) == (20, SIZE)


def test_what_nominal_confuses_as_much_is_not_the_sweeps_doing() -> None:
    everywhere = {(level, 0, 1): 20 for level in LEVELS}
    assert found(everywhere)[1] is None
    assert found({})[1] is None


def test_the_share_counts_what_nominal_confuses_too() -> None:
    _, pair = found({(0.0, 0, 1): 5, (2.0, 0, 1): 30})
    assert (pair.level, pair.share.correct) == (2.0, 30)


def test_as_near_on_both_sides_the_worse_is_given() -> None:
    _, pair = found({(-1.0, 0, 1): 20, (1.0, 0, 1): 22})
    assert (pair.level, pair.share.correct) == (1.0, 22)


def test_a_pair_is_corrected_over_all_levels_and_pairs() -> None:
    # Nine of one kind have p = 2 / 2**9 = 0.0039; 4 levels and 3 pairs make 12 tests of it.
    nine = {(1.0, 0, 1): 9}
    assert found(nine)[1] is not None
    more = {**nine, (2.0, 1, 0): 1, (2.0, 1, 2): 1, (2.0, 2, 1): 1}
    family = [2 / 2**9] + [1.0] * 15
    assert holm(family)[0] > 0.05
    assert found(more)[1] is None
    more[1.0, 0, 1] = 10
    assert found(more)[1] is not None


def test_a_pair_is_corrected_for_the_sweeps_of_a_report() -> None:
    # Nine of one kind at one of four levels: 4 * 2 / 2**9 is 0.0156, and thrice that 0.047.
    answered, labels = classes_of_forty({(1.0, 0, 1): 9})
    curve, sheet = told(LEVELS, answered, labels, classes=3)
    for sweeps, there in ((3, True), (4, False)):
        pair = most_confused(curve.points, sheet, nominal=0.0, sweeps=sweeps)
        assert (pair is not None) is there


def test_counts_are_those_of_a_loop_over_glyphs(rng: np.random.Generator) -> None:
    labels = rng.integers(0, 4, 600)
    answered = np.where(rng.random((5, 600)) < 0.8, labels, rng.integers(0, 4, (5, 600)))
    answered[4, labels == 2] = np.where(rng.random((labels == 2).sum()) < 0.5, 3, 2)
    answered[3, labels == 2] = np.where(rng.random((labels == 2).sum()) < 0.4, 3, 2)
    curve, sheet = told(LEVELS, answered, labels, classes=4)
    pair = most_confused(curve.points, sheet, nominal=0.0)
    assert pair is not None
    tests: dict[tuple[int, int, int], tuple[int, int]] = {}
    for true in range(4):
        for wrong in set(range(4)) - {true}:
            for at in (0, 1, 3, 4):
                now = (answered[at] == wrong) & (labels == true)
                then = (answered[2] == wrong) & (labels == true)
                tests[true, wrong, at] = int((now & ~then).sum()), int((then & ~now).sum())
    # scipy.stats.binomtest as the outside test
    p_values = [binomtest(b, b + c).pvalue if b + c else 1.0 for b, c in tests.values()]
    clear = {
        key
        for key, p in zip(tests, holm(p_values), strict=True)
        if p < 0.05 and tests[key][0] > tests[key][1]
    }
    excess = {
        (true, wrong): sum(
            tests[true, wrong, at][0] - tests[true, wrong, at][1] for at in (0, 1, 3, 4)
        )
        for true, wrong, _ in clear
    }
    true, wrong = max(excess, key=lambda key: excess[key])
    assert (pair.true, pair.answered) == ("abcd"[true], "abcd"[wrong]) == ("c", "d")
    nearest = min((at for t, w, at in clear if (t, w) == (true, wrong)), key=lambda at: abs(at - 2))
    assert pair.level == LEVELS[nearest] == 1.0
    assert pair.share.correct == ((answered[nearest] == wrong) & (labels == true)).sum()


def test_names_are_all_as_far_from_nominal() -> None:
    labels = np.repeat([0, 1], 30)
    answered = np.stack([labels, labels, labels])
    answered[1, :12], answered[2, :20] = 1, 1
    names: list[Level] = ["as drawn", "corner", "centre"]
    curve, sheet = told(names, answered, labels, nominal="as drawn", classes=2)
    pair = most_confused(curve.points, sheet, nominal="as drawn")
    assert pair is not None
    assert (pair.level, pair.share.correct) == ("centre", 20)
    first = first_class(curve.points, nominal="as drawn", floor=0.9)
    assert first is not None
    assert (first.name, first.level) == ("a", "centre")


@pytest.mark.slow
def test_a_model_that_errs_by_chance_is_seldom_told_of_a_pair(
    rng: np.random.Generator, monkeypatch: pytest.MonkeyPatch
) -> None:
    called = careless = 0
    reports = 200
    labels = np.repeat(np.arange(10), 50)
    for _ in range(reports):
        errs = rng.random((5, 500)) < 0.3
        answered = np.where(errs, (labels + rng.integers(1, 3, (5, 500))) % 10, labels)
        curve, sheet = told(LEVELS, answered, labels)
        called += most_confused(curve.points, sheet, nominal=0.0) is not None
        with monkeypatch.context() as uncorrected:
            uncorrected.setattr("gen.evaluate.confused.holm", lambda p: p)
            careless += most_confused(curve.points, sheet, nominal=0.0) is not None
    print(f"pairs called by chance: {called} of {reports}; {careless} without correction")
    assert called <= 0.05 * reports
    assert careless > 0.05 * reports, "without correction it is too many: this test can fail"
