"""The first look settles a model; later batches are held to it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gen.core.errors import ModelError
from gen.evaluate.expect import Expectation
from gen.evaluate.model import load_model, wrap_model
from gen.glyphs.base import RasterGlyphs

Bars = Callable[..., RasterGlyphs]


def columns(x: Any) -> Any:
    """Ink of each class's own eight columns, summed; any layout that keeps columns."""
    ink = x.reshape(len(x), 9, -1, 8).sum(axis=(1, 3))
    return ink.argmax(axis=1)


def takes_only(shape_tail: int) -> Callable[[Any], Any]:
    def net(x: Any) -> Any:
        if x.ndim != shape_tail:
            raise ValueError(f"I take {shape_tail} axes, not {x.ndim}")
        return columns(x)

    return net


@pytest.mark.parametrize(("axes", "layout"), [(3, "NHW"), (2, "flat"), (4, "N1HW")])
def test_the_layout_that_works_is_found_and_said(axes: int, layout: str, bars: Bars) -> None:
    glyphs = bars(12)
    model = wrap_model(takes_only(axes), name="net")
    look = model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert look.expects.layout == layout
    assert look.correct == look.n == 12
    assert "layout found by trying" in str(look)
    assert ("NHW" in look.lines[1].split("trying")[1]) == (layout != "NHW")
    assert ("failed" in look.lines[1]) == (layout != "NHW")
    assert "one glyph at a time" not in str(look)


def test_each_layout_is_tried_once(bars: Bars) -> None:
    glyphs, shapes = bars(12), []

    def net(x: Any) -> Any:
        shapes.append(x.shape)
        raise ValueError("none of these")

    with pytest.raises(ModelError, match="none of these"):
        wrap_model(net).first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert shapes == [(12, 9, 24), (12, 216), (12, 1, 9, 24), (12, 9, 24, 1)]


def test_a_declared_layout_is_the_only_one_tried(bars: Bars) -> None:
    glyphs = bars(12)
    model = wrap_model(takes_only(2), expects=Expectation(layout="N1HW"))
    with pytest.raises(ModelError, match=r"first batch: the model fails\n.*not 4 \(test_model.py:"):
        model.first_look(glyphs.images, glyphs.labels, glyphs.classes)


def test_what_went_wrong_with_each_layout_is_said_where_it_differs(bars: Bars) -> None:
    glyphs = bars(12)
    words = (
        r"can't read any layout that was tried\n"
        r"  got       NHW, float32 \(12, 9, 24\): ValueError: I take 5 axes, not 3 .*\n"
        r"            flat, float32 \(12, 216\): ValueError: I take 5 axes, not 2 .*\n"
        r"            N1HW, float32 \(12, 1, 9, 24\) and NHW1, float32 \(12, 9, 24, 1\): "
        r"ValueError: I take 5 axes, not 4"
    )
    with pytest.raises(ModelError, match=words):
        wrap_model(takes_only(5)).first_look(glyphs.images, glyphs.labels, glyphs.classes)


def test_what_went_wrong_alike_with_all_layouts_is_said_once(bars: Bars) -> None:
    glyphs = bars(12)
    model = wrap_model(lambda x: np.full((len(x), 3), np.nan), name="net")
    with pytest.raises(ModelError, match=r"^net: first batch: the answers hold NaN") as caught:
        model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert str(caught.value).count("NaN") == 1


def test_the_place_in_the_users_own_code_is_named(
    model_file: Callable[..., Path], bars: Bars
) -> None:
    glyphs = bars(6)
    path = model_file("import numpy as np\n\ndef net(x):\n    return np.dot(x, np.zeros((5, 2)))\n")
    with pytest.raises(ModelError, match=r"ValueError: .*\(reader.py:4\)"):
        load_model(f"{path}:net").first_look(glyphs.images, glyphs.labels, glyphs.classes)


def test_the_words_of_an_exception_are_cut_where_they_hold_whole_arrays(bars: Bars) -> None:
    glyphs = bars(6)

    def net(x: Any) -> Any:
        raise ValueError(f"I can't take {'0.1234 ' * 500}")

    with pytest.raises(ModelError, match=r"ValueError: I can't take .*\.\.\. \(") as caught:
        wrap_model(net, expects={"layout": "NHW"}).first_look(
            glyphs.images, glyphs.labels, glyphs.classes
        )
    assert len(str(caught.value)) < 600


def test_a_model_that_ends_the_program_is_an_error_of_the_model(bars: Bars) -> None:
    glyphs = bars(6)

    def net(x: Any) -> Any:
        raise SystemExit(4)

    with pytest.raises(ModelError, match="SystemExit: 4"):
        wrap_model(net).first_look(glyphs.images, glyphs.labels, glyphs.classes)


def test_a_model_whose_attributes_can_not_be_had_is_asked_all_the_same(bars: Bars) -> None:
    class Wrapped:
        def __call__(self, x: Any) -> Any:
            return np.zeros(len(x), int)

        def __getattr__(self, name: str) -> Any:
            raise RuntimeError(f"the wrapped thing has no {name}")

    glyphs = bars(6)
    model = wrap_model(Wrapped())
    model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert model.name == "Wrapped"


def test_an_exception_that_can_not_say_what_it_is_is_named(bars: Bars) -> None:
    class MuteError(Exception):
        def __str__(self) -> str:
            raise ValueError("no words")

    def net(x: Any) -> Any:
        raise MuteError

    glyphs = bars(6)
    with pytest.raises(ModelError, match=r"got       MuteError \(test_model.py:\d+\)"):
        wrap_model(net).first_look(glyphs.images, glyphs.labels, glyphs.classes)


def test_an_interrupt_is_let_through(bars: Bars) -> None:
    glyphs = bars(6)

    def net(x: Any) -> Any:
        raise KeyboardInterrupt("by hand")

    with pytest.raises(KeyboardInterrupt, match="by hand"):
        wrap_model(net).first_look(glyphs.images, glyphs.labels, glyphs.classes)


def test_a_model_that_writes_into_its_input_hurts_nobody(bars: Bars) -> None:
    glyphs = bars(12)

    def net(x: Any) -> Any:
        answers = columns(x)
        x[...] = 7
        return answers

    model = wrap_model(net, expects=Expectation("NHW", "uint8"))
    before = glyphs.images.copy()
    for _ in range(2):
        assert model.first_look(glyphs.images, glyphs.labels, glyphs.classes).correct == 12
    np.testing.assert_array_equal(glyphs.images, before)
    assert model.capture(glyphs.images).max() == 200


def test_capture_is_byte_for_byte_what_the_model_got(bars: Bars) -> None:
    glyphs = bars(12)
    got: list[Any] = []

    def net(x: Any) -> Any:
        got.append(x.copy())
        return columns(x)

    model = wrap_model(net, expects=Expectation("flat", "float64", -1.0, 1.0, "dark"))
    model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    model.answer(glyphs.images[:5])
    captured = model.capture(glyphs.images[:5])
    assert captured.dtype == got[-1].dtype
    assert captured.tobytes() == got[-1].tobytes()


def test_before_a_first_look_there_are_no_answers_and_nothing_to_capture(bars: Bars) -> None:
    model = wrap_model(columns)
    with pytest.raises(ModelError, match="no first batch"):
        model.answer(bars(2).images)
    with pytest.raises(ModelError, match="layout isn't known yet"):
        model.capture(bars(2).images)


def test_a_later_fault_names_the_cell(bars: Bars) -> None:
    glyphs = bars(12)
    model = wrap_model(lambda x: columns(x)[: len(x) if len(x) > 6 else 1], name="net")
    model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    with pytest.raises(ModelError, match=r"^net: cell blur\+2px: .*wrong number of answers"):
        model.answer(glyphs.images[:5], cell="blur+2px")


def test_an_answer_that_is_always_the_same_is_remarked_on(bars: Bars) -> None:
    glyphs = bars(30)
    look = wrap_model(lambda x: [1] * len(x)).first_look(
        glyphs.images, glyphs.labels, glyphs.classes
    )
    assert 'careful   it answers "b" to everything' in str(look)


def test_a_good_model_is_not_remarked_on(bars: Bars) -> None:
    glyphs = bars(30)
    look = wrap_model(columns).first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert "careful" not in str(look)


def test_a_class_that_the_model_never_heard_of_is_remarked_on(bars: Bars) -> None:
    glyphs = bars(30)

    class Reader:
        classes_ = ("a", "b")

        def predict(self, x: Any) -> Any:
            return np.array(["a", "b"])[np.minimum(columns(x), 1)]

    look = wrap_model(Reader()).first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert "careful   it has never heard of c" in str(look)


def test_probabilities_are_preferred_to_labels_and_labels_to_calling(bars: Bars) -> None:
    glyphs = bars(6)

    class Reader:
        def __call__(self, x: Any) -> Any:
            return columns(x)

    class Predicts(Reader):
        def predict(self, x: Any) -> Any:
            return [("a", "b", "c")[k] for k in columns(x)]

    class Weighs(Predicts):
        def predict_proba(self, x: Any) -> Any:
            return np.eye(3)[columns(x)]

    for reader, role in ((Reader(), "called"), (Predicts(), "predict"), (Weighs(), "proba")):
        look = wrap_model(reader).first_look(glyphs.images, glyphs.labels, glyphs.classes)
        assert role in look.lines[0]
        assert look.correct == 6


def test_an_estimator_that_was_never_fitted_is_said_to_be_so(bars: Bars) -> None:
    from sklearn.linear_model import LogisticRegression
    from sklearn.model_selection import GridSearchCV

    glyphs = bars(6)
    for unfitted in (LogisticRegression(), GridSearchCV(LogisticRegression(), {})):
        with pytest.raises(ModelError, match=r"the model fails\n.*NotFittedError"):
            wrap_model(unfitted).first_look(glyphs.images, glyphs.labels, glyphs.classes)


# scikit-learn's bundled digits (UCI Optical Recognition of Handwritten Digits, 8 x 8, 0 to 16).
@pytest.mark.parametrize("by_name", [False, True])
def test_a_scikit_learn_estimator_is_handed_flat_rows_and_read_by_its_own_classes(
    by_name: bool,
) -> None:
    from sklearn.datasets import load_digits
    from sklearn.linear_model import LogisticRegression

    digits = load_digits()
    names = np.array(["nil", "one", "two", "tri", "for", "fiv", "six", "sev", "eit", "nin"])
    target = names[digits.target] if by_name else digits.target
    classes = tuple(names) if by_name else tuple("0123456789")
    fitted = LogisticRegression(max_iter=300).fit(digits.data[:1000], target[:1000])
    images = np.rint(digits.images * 255 / 16).astype(np.uint8)[1000:]
    model = wrap_model(fitted, expects=Expectation(dtype="float64", high=16.0))
    look = model.first_look(images, digits.target[1000:], classes)
    known = fitted.score(digits.data[1000:], target[1000:])
    assert look.expects.layout == "flat"
    assert look.answers == "probabilities"
    # Grey levels pass through 8 bits on the way, which may turn a glyph or two in 797.
    assert abs(look.correct / look.n - known) <= 2 / 797
    with pytest.raises(
        ModelError,
        match=r"another size\n  got       9 x 8 px, 72[\s\S]*64 values[\s\S]*--frame 8x8",
    ):
        model.first_look(np.zeros((2, 9, 8), np.uint8), np.zeros(2, np.intp), classes)


@pytest.mark.parametrize(
    ("features", "hint"), [(81, "--frame 9x9;"), (80, "--frame HxW;"), (1, "--frame 1x1;")]
)
def test_of_values_that_fill_no_square_no_frame_is_guessed(features: int, hint: str) -> None:
    class Counts:
        n_features_in_ = features

        def predict(self, rows: Any) -> Any:
            return np.zeros(len(rows), np.intp)

    images, labels = np.zeros((2, 8, 7), np.uint8), np.zeros(2, np.intp)
    with pytest.raises(ModelError, match=f"{features} values a glyph\n  try       {hint}"):
        wrap_model(Counts()).first_look(images, labels, ("0", "1"))
