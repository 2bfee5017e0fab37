"""Answers of every kind come out as labels with the confidence that was meant."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.special import softmax

from gen.core.errors import ModelError
from gen.evaluate.answers import Answers, read, settle
from gen.evaluate.arrays import to_array

TENS = tuple("0123456789")
LETTERS = ("A", "B", "C")


def understood(raw: object, n: int, classes: tuple[str, ...], own: object = None) -> Answers:
    array = to_array(raw, n)
    return read(array, settle(array, classes, own))


class Tensor:
    """Has the methods that a tensor has, and refuses to be an array before they were called."""

    def __init__(self, values: Any, steps: int = 0) -> None:
        self.values, self.steps = values, steps

    def detach(self) -> Tensor:
        return Tensor(self.values, 1)

    def cpu(self) -> Tensor:
        assert self.steps == 1, "detach first"
        return Tensor(self.values, 2)

    def numpy(self) -> Any:
        assert self.steps == 2, "cpu first"
        return np.array(self.values)

    def __array__(self, *_: object, **__: object) -> Any:
        raise RuntimeError("call detach first")


@pytest.mark.parametrize(
    ("raw", "own"),
    [
        ([2, 0, 1], None),
        (np.array([2.0, 0.0, 1.0]), None),
        (np.array([[2], [0], [1]]), None),
        (np.array([2, 0, 1], dtype=np.float16), None),
        (["C", "A", "B"], None),
        (np.array([b"C", b"A", b"B"]), None),
        (np.array(["C", "A", "B"], dtype=object), None),
        (np.array([2, 0, 1], dtype=object), None),
        (np.array([2.0, 0, np.float32(1)], dtype=object), None),
        (Tensor([2, 0, 1]), None),
        ([Tensor(2), Tensor(0), Tensor(1)], None),
        (["C", "A", "B"], np.array(["A", "B", "C"])),
        ([2, 0, 1], [0, 1, 2]),
    ],
)
def test_labels_of_any_sort_are_places_in_the_class_names(raw: object, own: object) -> None:
    got = understood(raw, 3, LETTERS, own)
    assert got.labels.tolist() == [2, 0, 1]
    assert got.labels.dtype == np.intp
    assert got.confidence is None
    assert got.probabilities is None


def test_numbers_are_names_when_the_models_own_classes_are_the_names_as_numbers() -> None:
    assert understood([7, 3], 2, ("3", "7"), np.array([3, 7])).labels.tolist() == [1, 0]


def test_numbers_are_names_when_the_classes_count_from_one() -> None:
    classes = tuple(str(k) for k in range(1, 27))
    assert understood([1, 26], 2, classes).labels.tolist() == [0, 25]


def test_numbers_are_places_when_one_is_no_name() -> None:
    classes = tuple(str(k) for k in range(1, 27))
    assert understood([0, 25], 2, classes).labels.tolist() == [0, 25]


def test_probabilities_are_taken_as_they_are(rng: np.random.Generator) -> None:
    shares = rng.dirichlet(np.ones(3), 20)
    got = understood(shares, 20, LETTERS)
    np.testing.assert_array_equal(got.labels, shares.argmax(axis=1))
    np.testing.assert_array_equal(got.confidence, shares.max(axis=1))
    np.testing.assert_array_equal(got.probabilities, shares)


def test_logits_get_their_confidence_by_softmax(rng: np.random.Generator) -> None:
    scores = rng.normal(0, 300, (20, 3))  # far enough that a plain exponential overflows
    got = understood(scores, 20, LETTERS)
    known = softmax(scores, axis=1)  # scipy's
    rounding = 1e-12
    np.testing.assert_allclose(got.probabilities, known, rtol=0, atol=rounding)
    np.testing.assert_allclose(got.confidence, known.max(axis=1), rtol=0, atol=rounding)
    np.testing.assert_array_equal(got.labels, scores.argmax(axis=1))


def test_minus_infinity_is_a_score_of_no_chance() -> None:
    scores = np.log([[2.0, 1.0, 1.0], [1.0, 1.0, 2.0]])
    scores[0, 2] = -np.inf
    got = understood(scores, 2, LETTERS)
    known = [[2 / 3, 1 / 3, 0.0], [0.25, 0.25, 0.5]]
    np.testing.assert_allclose(got.probabilities, known, rtol=0, atol=1e-12)
    scores[0] = -np.inf
    with pytest.raises(ModelError, match="NaN or infinity\n  got       in 1 of 2 glyphs"):
        understood(scores, 2, LETTERS)


def test_half_precision_probabilities_are_still_probabilities(rng: np.random.Generator) -> None:
    shares = rng.dirichlet(np.ones(36), 200).astype(np.float16)
    classes = tuple(f"c{k}" for k in range(36))
    array = to_array(shares, 200)
    assert settle(array, classes, None).kind == "probabilities"


def test_columns_follow_the_models_own_classes() -> None:
    shares = np.array([[0.7, 0.2, 0.1]])
    got = understood(shares, 1, LETTERS, np.array(["C", "A", "B"]))
    assert got.labels.tolist() == [2]
    assert got.probabilities is not None
    np.testing.assert_array_equal(got.probabilities, [[0.2, 0.1, 0.7]])


def test_a_model_that_never_heard_of_a_class_is_read_all_the_same() -> None:
    got = understood(np.array([[0.4, 0.6]]), 1, LETTERS, ["A", "C"])
    assert got.labels.tolist() == [2]
    assert got.probabilities is not None
    np.testing.assert_array_equal(got.probabilities, [[0.4, 0.0, 0.6]])


def test_trailing_axes_of_one_are_dropped() -> None:
    assert understood(np.eye(3).reshape(3, 3, 1, 1), 3, LETTERS).labels.tolist() == [0, 1, 2]


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (None, "returned nothing"),
        ({"logits": 1}, "returned a dict"),
        ([[1, 2], [3]], "don't make one array"),
        (np.array([1, "A", None], dtype=object), "a mixture of objects\n.*NoneType, int, str"),
        (np.zeros(3, complex), "aren't numbers or names"),
        (1, "wrong number of answers\n  got       a single one"),
        ([0, 1], r"wrong number of answers\n  got       2, shape \(2,\)\n  allowed   3"),
        (np.zeros((10, 3)), r"wrong number of answers[\s\S]*transpose"),
        ((np.zeros((3, 5)), np.zeros((3, 5))), r"wrong number of answers[\s\S]*one of them alone"),
        ([0, -np.inf, 1], "NaN or infinity\n  got       in 1 of 3 glyphs, first in glyph 1"),
        ([0, np.nan, 1], "NaN or infinity\n  got       in 1 of 3 glyphs, first in glyph 1"),
        (np.full((3, 10), np.inf), "NaN or infinity\n  got       in 3 of 3 glyphs"),
        ([0.25, 0.5, 1], "one fraction a glyph[^0]*0.25"),
        (np.full(3, 2.0**53, np.float32), "one fraction a glyph"),
        ([b"\x80", b"0", b"1"], "the answer to 1 of 3 glyphs"),
        (np.zeros((3, 0)), "wrong number of columns"),
        (np.zeros((3, 9)), "wrong number of columns\n  got       9\n  allowed   10"),
        (np.zeros((3, 9)), r"try .*these glyphs\? it knows 9 classes, and they have 10"),
        (np.zeros((3, 18)), r"try       18 class names in the order of the columns \(--classes"),
        (np.zeros((3, 2, 2)), r"a shape that can't be read\n  got       \(3, 2, 2\)"),
        (["0", "Q", "Q"], '"Q", the answer to 2 of 3 glyphs'),
        ([0, 1, 10], r'"10", the answer to 1 of 3[\s\S]*counted from 1\?'),
        ([0, 1, -1], '"-1", the answer to 1 of 3 glyphs'),
    ],
)
def test_what_is_no_answer_is_refused(raw: object, words: str) -> None:
    with pytest.raises(ModelError, match=words):
        understood(raw, 3, TENS)


def test_a_class_of_the_models_own_that_no_label_has_is_named() -> None:
    with pytest.raises(ModelError, match='"Z", one of its own classes_\n  allowed   A, B, C'):
        understood([0, 1], 2, LETTERS, ["A", "Z"])


@pytest.mark.parametrize("own", [3, "A", [["A"], ["B", "C"]], {"A": 0}, len])
def test_classes_of_its_own_that_are_no_list_are_refused(own: object) -> None:
    with pytest.raises(ModelError, match="own classes_ can't be read"):
        understood([0, 1], 2, LETTERS, own)


def test_logits_from_end_to_end_of_the_float_range_give_sure_answers() -> None:
    got = understood(np.array([[-1.7e308, 1.7e308, 0.0]]), 1, LETTERS)
    assert got.confidence is not None
    assert got.confidence.tolist() == [1.0]


@pytest.mark.parametrize(
    ("first", "later", "words"),
    [
        (np.eye(3), [0, 1, 2], "another kind than in the first batch"),
        ([0, 1, 2], np.eye(3), "another kind than in the first batch"),
        (np.eye(3), np.eye(3) * 2, "don't sum to 1"),
        (np.eye(3) * 2, np.zeros((3, 4)), r"\(3, 4\)\n  allowed   logits, 3 columns"),
        ([0, 1, 2], ["A", "B", "C"], '"A", the answer to 1 of 3 glyphs'),
    ],
)
def test_later_batches_are_held_to_the_first(first: object, later: object, words: str) -> None:
    array = to_array(first, 3)
    key = settle(array, LETTERS, None)
    with pytest.raises(ModelError, match=words):
        read(to_array(later, 3), key)
