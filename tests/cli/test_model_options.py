"""The options that say what a model is given, as they reach it, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click
import numpy as np
import pytest

from gen.cli.model_options import ModelOptions, model_options
from tests.cli.support import Ended, Shed

Called = Callable[..., Ended]
RUN = ("small.toml", "--count", "20", "--into", "out")

SPY = """
import os
import numpy as np

def spy(x):
    if not os.path.exists("spied.npy"):
        np.save("spied.npy", x)
    return np.tile(np.arange(10.0) - 3, (len(x), 1))
"""


@pytest.fixture
def spied(shed: Shed, called: Called) -> Callable[..., Any]:
    """What a model gets first in a run with some options, and what the run says."""
    (shed.folder / "spy.py").write_text(SPY, encoding="utf-8")

    def run(*options: str, spec: str = "spy.py:spy") -> tuple[Any, Ended]:
        (shed.folder / "spied.npy").unlink(missing_ok=True)
        ended = called("report", spec, *RUN, "--overwrite", *options)
        assert ended.code == 0, ended.err
        return np.load(shed.folder / "spied.npy"), ended

    return run


def test_without_options_the_usual_is_handed_over(spied: Callable[..., Any]) -> None:
    array, ended = spied()
    assert (array.shape, array.dtype) == ((20, 28, 28), np.float32)
    assert (array.min(), array.max()) == (0, 1)
    assert "answers   logits, 10 columns\n" in ended.err


def test_a_mean_and_a_deviation_are_of_values_from_0_to_1(spied: Callable[..., Any]) -> None:
    array, _ = spied("--mean", "0.25", "--deviation", "0.5")
    assert (array.min(), array.max()) == (-0.5, 1.5)


def test_every_option_reaches_the_model(spied: Callable[..., Any]) -> None:
    rows, _ = spied("--dtype", "float64")
    options = ("--layout", "NHW1", "--axes", "columns", "--dtype", "float64", "--batch", "7")
    turned, ended = spied(*options, "--answers", "logits", "--takes-ink", "dark")
    assert (turned.shape, turned.dtype) == ((7, 28, 28, 1), np.float64)
    ink = np.rint(255 * rows[:7]).transpose(0, 2, 1)
    np.testing.assert_array_equal(np.rint(255 * turned[..., 0]), 255 - ink)
    assert "at most 7 at once" in ended.err
    assert "answers   logits, 10 columns, as stated\n" in ended.err


def test_options_come_before_the_toml_file_beside_the_model(
    shed: Shed, spied: Callable[..., Any]
) -> None:
    (shed.folder / "spy.toml").write_text("layout = 'flat'\nhigh = 16\nbatch = 5\n")
    array, ended = spied()
    assert (array.shape, array.max()) == ((5, 784), 16)
    assert "(as spy.toml says" in ended.err
    array, ended = spied("--layout", "N1HW", "--values", "0..255")
    assert (array.shape, array.max()) == ((5, 1, 28, 28), 255)
    assert "as spy.toml says, and as given" in ended.err


def test_a_toml_file_is_named_as_the_model(shed: Shed, spied: Callable[..., Any]) -> None:
    (shed.folder / "any.toml").write_text("model = 'spy.py:spy'\nlayout = 'flat'\n")
    array, ended = spied(spec="any.toml")
    assert array.shape == (20, 784)
    assert "model     any.toml (a function)" in ended.err


WRONG = {
    ("--mean", "0.5"): "--mean: this goes with --deviation\n  try       give --deviation too\n",
    ("--deviation", "0.5"): "--deviation: this goes with --mean\n  try       give --mean too\n",
    ("--mean", "0.5", "--deviation", "0.5", "--values", "0..1"): (
        "--mean: mean and deviation beside --values\n  allowed   one of the two\n"
        "  try       leave out --values; the mean and the deviation are of values from 0 to 1\n"
    ),
    ("--mean", "0.5", "--deviation", "0"): (
        "spy.py:spy: deviation can't be this\n  got       0.0\n  allowed   a number above 0\n"
    ),
    ("--seconds", "3"): "spy.py:spy: a time limit is for programs\n  got       3 s\n",
    ("--answers", "labels"): (
        "spy.py:spy: first batch: the answers are of another kind than is stated\n"
        "  got       an array of shape (20, 10)\n  allowed   labels\n"
        "  try       leave out answers, and the kind is found\n"
    ),
}


@pytest.mark.parametrize("options", WRONG, ids=" ".join)
def test_what_is_wrong_with_an_option_is_one_clear_error(
    shed: Shed, called: Called, options: tuple[str, ...]
) -> None:
    (shed.folder / "spy.py").write_text(SPY, encoding="utf-8")
    ended = called("report", "spy.py:spy", *RUN, "--quiet", *options)
    assert (ended.code, ended.out, ended.err) == (2, "", WRONG[options])


def test_a_program_is_asked_within_its_time(shed: Shed, called: Called) -> None:
    ended = called("report", "program:sleep 60", *RUN, "--quiet", "--seconds", "0.3")
    assert ended.code == 2
    assert ended.err.startswith(
        "program:sleep 60: first batch: the program did not answer in time, and was ended\n"
        "  got       20 glyphs, not answered in 0.3 s\n"
    )


def test_any_command_takes_them_as_one_argument() -> None:
    got: list[Any] = []

    @click.command()
    @model_options
    @click.option("--else", "other")
    def command(*, wanted: ModelOptions, other: str | None) -> None:
        """Say what came."""
        got.append((wanted, other))

    command.main(["m.py:f", "--batch", "3", "--else", "x"], standalone_mode=False)
    assert got == [(ModelOptions("m.py:f", batch=3), "x")]
    assert command.help == "Say what came."
