from __future__ import annotations

import string

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.core.errors import GlyphError
from gen.glyphs.classes import natural_key, parse_classes, understood_labels
from gen.glyphs.load import load_glyphs


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("0-9", tuple(string.digits)),
        ("A-Z", tuple(string.ascii_uppercase)),
        ("0-9A-F", tuple("0123456789ABCDEF")),
        ("0-9A-Za-c", tuple(string.digits + string.ascii_uppercase + "abc")),
        ("0123", ("0", "1", "2", "3")),
        ("+x", ("+", "x")),
        ("pear,plum", ("pear", "plum")),
        ("pear, 0-2 ,fig-leaf", ("pear", "0", "1", "2", "fig-leaf")),
        ("+,-,x", ("+", "-", "x")),
    ],
)
def test_class_names_are_read_from_a_short_text(text: str, names: tuple[str, ...]) -> None:
    assert parse_classes(text) == names


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("9-0", '"9-0" is not a range'),
        ("A-z", '"A-z" is not a range'),
        ("a,,b", "a class has no name"),
        ("", "a class has no name"),
        ("pear,plum,pear", "a class name comes twice\n.*'pear'"),
        ("apple", "put commas between names"),
        ("0-9,5", "a class name comes twice\n.*'5'"),
    ],
)
def test_class_names_that_mean_nothing_are_refused(text: str, said: str) -> None:
    with pytest.raises(GlyphError, match=said):
        parse_classes(text)


@given(st.text(max_size=20))
def test_any_text_gives_distinct_names_or_the_house_error(text: str) -> None:
    try:
        names = parse_classes(text)
    except GlyphError:
        return
    assert len(set(names)) == len(names) > 0


@given(st.lists(st.integers(0, 10**30), unique=True))
def test_natural_order_of_numbers_is_their_order(numbers: list[int]) -> None:
    ordered = sorted(map(str, numbers), key=natural_key)
    assert ordered == [str(number) for number in sorted(numbers)]


def test_natural_order_keeps_words_with_numbers_in_line() -> None:
    names = ["row 10", "Row 2", "row 2b", "row", "02", "2", "10", "1"]
    assert sorted(names, key=natural_key) == [
        "1",
        "02",
        "2",
        "10",
        "row",
        "Row 2",
        "row 2b",
        "row 10",
    ]


def test_numbers_without_names_keep_their_own_number_as_index(tags: np.ndarray) -> None:
    glyphs = load_glyphs(tags, labels=[3, 3, 7, 7, 9, 9])
    assert glyphs.classes == tuple(string.digits)
    assert glyphs.labels.tolist() == [3, 3, 7, 7, 9, 9]


def test_names_given_replace_numbers_in_order(tags: np.ndarray) -> None:
    glyphs = load_glyphs(tags, labels=[0, 1, 2, 0, 1, 2], classes="A-D")
    assert glyphs.classes == ("A", "B", "C", "D")
    named = load_glyphs(tags, labels=[0, 1, 2, 0, 1, 2], classes=["pear", "plum", "fig"])
    assert named.classes == ("pear", "plum", "fig")


def test_labels_that_start_at_one_are_not_shifted_in_silence(tags: np.ndarray) -> None:
    with pytest.raises(GlyphError, match="these labels start at 1: put a name for 0 first"):
        load_glyphs(tags, labels=[1, 2, 3, 1, 2, 3], classes="A-C")


def test_named_classes_take_as_many_names_and_no_more(tags: np.ndarray) -> None:
    words = ["pear", "plum"] * 3
    assert load_glyphs(tags, labels=words, classes="PQ").classes == ("P", "Q")
    with pytest.raises(GlyphError, match=r"3 names: P, Q, R\n.*2 names, in place of pear, plum"):
        load_glyphs(tags, labels=words, classes="PQR")


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        ([0, 1, 256], r"the label of picture 2 stands for no class\n.*256\n.*0 to 255"),
        ([0, -1, 2], "the label of picture 1 stands for no class"),
        ([0.0, 0.5, 1.0], "the label of picture 1 stands for no class"),
        ([0.0, np.nan, 1.0], "the label of picture 1 stands for no class"),
        ([[1, 0], [0, 1]], "take the index of the 1 in each row"),
        ([], "no labels in it"),
        ([1j], "neither numbers nor names"),
        ([b"\xff", b"a"], "aren't UTF-8"),
        (["", "a"], "a class has no name"),
        (["\udcff", "a"], "its bytes aren't UTF-8"),
    ],
)
def test_labels_that_stand_for_nothing_are_refused(labels: list[object], said: str) -> None:
    with pytest.raises(GlyphError, match=said):
        understood_labels("tags", np.array(labels), None)


def test_labels_in_a_column_and_as_whole_floats_are_read() -> None:
    indices, names, _ = understood_labels("tags", np.array([[2.0], [0.0]]), None)
    assert indices.tolist() == [2, 0]
    assert names == ("0", "1", "2")
