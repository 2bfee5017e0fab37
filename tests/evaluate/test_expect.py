"""What a model expects, and that ink becomes exactly that."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.core.errors import ModelError
from gen.evaluate.expect import DTYPES, INKS, LAYOUTS, Expectation, prepare


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("dtype", DTYPES)
@pytest.mark.parametrize("ink", INKS)
def test_what_is_handed_over_is_fresh_contiguous_and_as_declared(
    layout: str, dtype: str, ink: str, rng: np.random.Generator
) -> None:
    images = rng.integers(0, 256, (5, 4, 6), dtype=np.uint8)
    before = images.copy()
    got = prepare(images, Expectation(layout=layout, dtype=dtype, ink=ink))
    shapes = {"NHW": (5, 4, 6), "flat": (5, 24), "N1HW": (5, 1, 4, 6), "NHW1": (5, 4, 6, 1)}
    assert got.shape == shapes[layout]
    assert got.dtype == dtype
    assert got.flags.c_contiguous
    assert got.flags.writeable
    got[...] = 0
    np.testing.assert_array_equal(images, before)


def test_a_view_that_is_not_contiguous_is_handed_over_in_order() -> None:
    images = np.arange(24, dtype=np.uint8).reshape(2, 3, 4).transpose(0, 2, 1)
    got = prepare(images, Expectation(layout="flat", dtype="uint8"))
    np.testing.assert_array_equal(got[0], images[0].reshape(-1))
    assert got.flags.c_contiguous


def test_bright_uint8_is_the_ink_itself() -> None:
    images = np.arange(256, dtype=np.uint8).reshape(1, 16, 16)
    expects = Expectation(layout="NHW", dtype="uint8")
    np.testing.assert_array_equal(prepare(images, expects), images)


def test_dark_ink_turns_the_scale_round() -> None:
    images = np.arange(256, dtype=np.uint8).reshape(1, 16, 16)
    expects = Expectation(layout="NHW", dtype="uint8", ink="dark")
    np.testing.assert_array_equal(prepare(images, expects), 255 - images)


def test_nought_to_one_is_ink_divided_by_255_rounded_once() -> None:
    images = np.arange(256, dtype=np.uint8).reshape(1, 16, 16)
    got = prepare(images, Expectation(layout="NHW"))
    np.testing.assert_array_equal(got, images.astype(np.float32) / np.float32(255))


def test_whole_numbers_of_a_short_scale_are_the_nearest() -> None:
    images = np.arange(256, dtype=np.uint8).reshape(1, 16, 16)
    got = prepare(images, Expectation("NHW", "uint8", 0, 16))
    assert np.abs(got - images * (16 / 255)).max() <= 0.5
    assert np.bincount(got.reshape(-1)).tolist() == [8, *[16] * 15, 8]


def test_a_mean_and_deviation_are_reached_with_low_and_high() -> None:
    # The mean 0.1307 and deviation 0.3081 that many MNIST training scripts subtract and divide by.
    mean, deviation = 0.1307, 0.3081
    images = np.arange(256, dtype=np.uint8).reshape(1, 16, 16)
    expects = Expectation("NHW", "float64", -mean / deviation, (1 - mean) / deviation)
    rounding = 1e-14
    np.testing.assert_allclose(
        prepare(images, expects), (images / 255 - mean) / deviation, rtol=0, atol=rounding
    )


@settings(deadline=None)
@given(st.floats(-1e30, 1e30), st.floats(-1e30, 1e30))
def test_what_is_handed_over_is_always_finite(low: float, high: float) -> None:
    if not low < high:
        return
    images = np.array([[[0, 1, 128, 255]]], np.uint8)
    assert np.isfinite(prepare(images, Expectation("NHW", "float32", low, high))).all()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"layuot": "NHW"}, r'unknown key "layuot"[\s\S]*try       "layout"'),
        ({"layout": "NCHW"}, r'layout can\'t be this\n  got       "NCHW"[\s\S]*"N1HW"'),
        ({"dtype": "float16"}, r"dtype can't be this[\s\S]*float32"),
        ({"ink": "black"}, r'ink can\'t be this[\s\S]*"bright", "dark"'),
        ({"low": float("nan")}, r"low can't be this[\s\S]*a finite number"),
        ({"high": float("inf")}, r"high can't be this[\s\S]*a finite number"),
        ({"high": 1e31}, r"at most 1e\+30"),
        ({"low": True}, r"low can't be this[\s\S]*a number"),
        ({"low": "0"}, r"low can't be this[\s\S]*a number"),
        ({"low": 1.0, "high": 0.0}, r'more than low, which is 1[\s\S]*ink = "dark"'),
        ({"dtype": "uint8", "high": 0.5}, r"a whole number from 0 to 255"),
    ],
)
def test_a_wrong_expectation_is_refused(said: dict[str, Any], words: str) -> None:
    with pytest.raises(ModelError, match=words):
        Expectation.from_mapping(said, where="reader.py: EXPECTS")
