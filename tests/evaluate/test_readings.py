"""Another reading of the same pictures is told of when it scores far better, and only then."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.expect import Expectation
from gen.evaluate.model import wrap_model
from gen.evaluate.multiple import holm
from gen.evaluate.paired import mcnemar_exact
from gen.evaluate.plug import OverdueError
from gen.evaluate.readings import ALPHA, MEAN, far_better, single_readings

CLASSES = ("a", "b", "c", "d")
LABELS = np.arange(64) % 4


@pytest.fixture
def images() -> NDArray[np.uint8]:
    """Bars in one of the four quarters, row-wise, of a square frame."""
    made = np.zeros((64, 12, 12), np.uint8)
    for row, label in enumerate(LABELS):
        made[row, 3 * label : 3 * label + 2, 1:11] = 255
    return made


def taught_on(low: float, high: float, ink: str = "bright", axes: str = "rows") -> Any:
    """A reader that knows marks only as they were handed over in its training."""
    paper, full = (low, high) if ink == "bright" else (high, low)

    def read(x: Any) -> Any:
        if axes == "columns":
            x = x.transpose(0, 2, 1)
        near = np.abs(x - full) < 0.01 * (high - low)
        flat = np.abs(x - paper) < 0.01 * (high - low)
        rows = near.reshape(len(x), 4, -1).sum(axis=2)
        known = (near | flat).all(axis=(1, 2))
        return np.where(known, rows.argmax(axis=1), 0)

    return read


@pytest.mark.parametrize(
    ("taught", "how"),
    [
        ((0, 255), "--values 0..255"),
        ((-1, 1), "--values -1..1"),
        ((-0.1307 / 0.3081, 0.8693 / 0.3081), "--mean 0.1307 --deviation 0.3081"),
        ((0, 1 / 255), "--values 0..0.00392157"),
        ((0, 1, "dark"), "--takes-ink dark"),
        ((0, 1, "bright", "columns"), "--axes columns"),
        ((0, 255, "dark"), "--values 0..255 --takes-ink dark"),
        ((-1, 1, "dark"), "--values -1..1 --takes-ink dark"),
    ],
)
def test_the_reading_that_a_model_was_taught_on_is_found(
    images: NDArray[np.uint8], taught: tuple[Any, ...], how: str
) -> None:
    model = wrap_model(taught_on(*taught), expects={"layout": "NHW"})
    look = model.first_look(images, LABELS, CLASSES)
    best = look.other_readings[0]
    assert (best.how, best.correct) == (how, 64)
    assert look.correct < 32
    line = look.lines[-1]
    assert line.startswith("careful   the same pictures score far better, 64 of 64, when handed")
    assert line.endswith(f"say {how}")
    # What is told is what helps.
    told = wrap_model(taught_on(*taught), expects=best.expects)
    assert told.first_look(images, LABELS, CLASSES).correct == 64


def test_the_options_told_are_those_that_the_command_line_knows(
    images: NDArray[np.uint8],
) -> None:
    from click.testing import CliRunner

    from gen.cli.report import report

    known = CliRunner().invoke(report, ["--help"]).output
    now = Expectation(layout="NHW", dtype="uint8")
    words = [word for each in single_readings(now) for word in each.how.split()]
    options = {word for word in words if word.startswith("--")}
    assert options == {"--dtype", "--values", "--mean", "--deviation", "--takes-ink", "--axes"}
    assert all(option in known for option in options)


def test_a_model_that_reads_most_is_not_asked_again(images: NDArray[np.uint8]) -> None:
    calls: list[int] = []
    read = taught_on(0, 1)

    def counted(x: Any) -> Any:
        calls.append(len(x))
        said = read(x)
        said[:12] = 0  # 9 of them wrongly: 55 of 64 are left, over 80 %
        return said

    look = wrap_model(counted, expects={"layout": "NHW"}).first_look(images, LABELS, CLASSES)
    assert (look.correct, look.other_readings, calls) == (55, (), [64])


def test_a_model_that_knows_nothing_is_told_of_no_other_reading(
    images: NDArray[np.uint8],
) -> None:
    rng = np.random.default_rng(5)
    warned = 0
    for _ in range(40):
        model = wrap_model(lambda x: rng.integers(0, 4, len(x)), expects={"layout": "NHW"})
        warned += bool(model.first_look(images, LABELS, CLASSES).other_readings)
    assert warned == 0


def test_whole_numbers_become_floats_where_a_range_needs_them(images: NDArray[np.uint8]) -> None:
    model = wrap_model(taught_on(0, 1), expects={"layout": "NHW", "dtype": "uint8"})
    best = model.first_look(images, LABELS, CLASSES).other_readings[0]
    assert best.how == "--dtype float32 --values 0..1"
    assert best.expects.dtype == "float32"


def test_the_p_values_are_those_of_the_tests_written_out() -> None:
    right = np.arange(64) < 10
    tried = {each.how: each for each in single_readings(Expectation(layout="NHW"))}
    answers = {how: np.arange(64) < 10 + 9 * at for at, how in enumerate(tried)}

    def ask(expects: Expectation) -> NDArray[np.bool_]:
        return next(answers[how] for how, each in tried.items() if each.expects == expects)

    found = far_better(Expectation(layout="NHW"), right, ask)
    gained = [9 * at for at in range(len(tried))]
    wanted = holm([float(mcnemar_exact(gain, 0)) for gain in gained])
    assert [one.correct for one in found] == sorted((one.correct for one in found), reverse=True)
    for at, how in enumerate(tried):
        listed = [one for one in found if one.how == how]
        assert bool(listed) == (wanted[at] < ALPHA and gained[at] / 64 >= 0.2)
        assert all(one.p_holm == wanted[at] for one in listed)
    # 9 of 9 gained is p = 2**-8, but 6 or fewer tests and a gain of 0.14 keep it out
    assert len(found) == len(tried) - 2


def test_a_reading_that_the_model_refuses_does_not_count() -> None:
    def ask(expects: Expectation) -> NDArray[np.bool_]:
        if expects.top != 255:
            raise ModelError("", "the model fails")
        return np.ones(64, np.bool_)

    found = far_better(Expectation(layout="NHW"), np.zeros(64, np.bool_), ask)
    assert [one.how for one in found] == ["--values 0..255"]
    # One test alone: nothing to correct for. Twice 2**-64, both sides.
    assert found[0].p_holm == pytest.approx(2.0**-63)


def test_a_model_that_takes_too_long_is_not_asked_all_the_rest() -> None:
    calls: list[Expectation] = []

    def ask(expects: Expectation) -> NDArray[np.bool_]:
        calls.append(expects)
        raise OverdueError("", "the program did not answer in time")

    assert far_better(Expectation(layout="NHW"), np.zeros(64, np.bool_), ask) == ()
    assert len(calls) == 1


def test_readings_leave_out_the_one_in_use() -> None:
    now = Expectation(layout="NHW", mean=MEAN, deviation=0.3081)
    hows = [each.how for each in single_readings(now)]
    assert not any("--mean" in how for how in hows)
    assert len(hows) == 6
    assert all(each.expects != now for each in single_readings(now))
