"""Batches that a model can take, memory that runs short, and what it prints."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from gen.core.errors import ModelError
from gen.evaluate.model import wrap_model
from gen.glyphs.base import RasterGlyphs

Bars = Callable[..., RasterGlyphs]


def columns(x: Any) -> Any:
    """Ink of each class's own eight columns, summed."""
    return x.reshape(len(x), 9, -1, 8).sum(axis=(1, 3)).argmax(axis=1)


class Short:
    """A model with memory for so many glyphs."""

    def __init__(self, most: int, error: Exception) -> None:
        self.most, self.error = most, error
        self.sizes: list[int] = []

    def __call__(self, x: Any) -> Any:
        self.sizes.append(len(x))
        if len(x) > self.most:
            raise self.error
        return columns(x)


@pytest.mark.parametrize(
    "error",
    [
        MemoryError(),
        # Wordings of PyTorch (CPU, CUDA), C++, OpenCV, onnxruntime and POSIX, from memory.
        RuntimeError("CUDA out of memory. Tried to allocate 2.00 GiB"),
        RuntimeError("DefaultCPUAllocator: can't allocate memory: you tried to allocate 8 bytes"),
        RuntimeError("std::bad_alloc"),
        ValueError("(-4:Insufficient memory) Failed to allocate 64 bytes"),
        RuntimeError("Failed to allocate memory for requested buffer of size 1"),
        OSError(12, "Cannot allocate memory"),
    ],
    ids=lambda error: type(error).__name__ + str(error)[:12],
)
def test_a_batch_that_memory_is_short_for_is_halved_once_for_the_rest_of_the_run(
    bars: Bars, error: Exception
) -> None:
    glyphs = bars(40)
    short = Short(20, error)
    model = wrap_model(short, expects={"layout": "NHW"})
    look = model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert look.correct == 40
    assert short.sizes == [40, 20, 20]
    assert model.notes == [
        "memory was short at 40 glyphs in one batch: it was halved, to at most 20"
    ]
    model.answer(glyphs.images[:30])
    assert short.sizes[3:] == [20, 10]
    assert len(model.notes) == 1


def test_a_batch_is_not_halved_twice(bars: Bars) -> None:
    glyphs = bars(40)
    short = Short(12, MemoryError())
    model = wrap_model(short, name="net", expects={"layout": "NHW"})
    with pytest.raises(ModelError, match=r"net: first batch: the model fails\n.*MemoryError"):
        model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert short.sizes == [40, 20]
    short.most = 20
    model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    short.most = 12
    with pytest.raises(ModelError, match="cell blur: the model fails"):
        model.answer(glyphs.images[:20], cell="blur")


def test_another_failure_halves_nothing(bars: Bars) -> None:
    glyphs = bars(8)
    short = Short(4, RuntimeError("the lamp went out"))
    with pytest.raises(ModelError, match="the lamp went out"):
        wrap_model(short, expects={"layout": "NHW"}).first_look(
            glyphs.images, glyphs.labels, glyphs.classes
        )
    assert short.sizes == [8]


def test_answers_of_parts_are_put_together_in_order(bars: Bars) -> None:
    glyphs = bars(11)
    for reader in (columns, lambda x: [("a", "b", "c")[k] for k in columns(x)]):
        model = wrap_model(reader, expects={"layout": "NHW", "batch": 4})
        model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
        np.testing.assert_array_equal(model.answer(glyphs.images).labels, glyphs.labels)


def test_parts_with_other_columns_are_refused(bars: Bars) -> None:
    glyphs = bars(10)
    model = wrap_model(
        lambda x: np.ones((len(x), len(x))), name="net", expects={"layout": "NHW", "batch": 4}
    )
    words = r"answers differ in shape from batch to batch\n  got       \(2, 2\), \(4, 4\)"
    with pytest.raises(ModelError, match=words):
        model.first_look(glyphs.images, glyphs.labels, glyphs.classes)


@pytest.mark.parametrize("ends", [SystemExit(0), MemoryError(), ValueError("no")])
def test_whatever_ends_a_call_is_an_error_of_the_model_with_its_cell(
    bars: Bars, ends: BaseException
) -> None:
    glyphs = bars(6)
    broken = False

    def net(x: Any) -> Any:
        if broken:
            raise ends
        return columns(x)

    model = wrap_model(net, name="net")
    model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    broken = True
    with pytest.raises(ModelError, match=r"^net: cell blur\+1px: the model fails") as caught:
        model.answer(glyphs.images[:1], cell="blur+1px")
    assert caught.value.__cause__ is ends


def test_what_a_model_prints_goes_to_standard_error(
    bars: Bars, capsys: pytest.CaptureFixture[str]
) -> None:
    class Network:
        """Prints its progress for every batch unless it is told not to, as Keras does."""

        def predict(self, x: Any, batch_size: int | None = None, verbose: Any = "auto") -> Any:
            if verbose != 0:
                print("1/1 ━━━━━━━ 0s 12ms/step")
            print("a word of its own")
            return np.eye(3)[columns(x)]

    glyphs = bars(6)
    wrap_model(Network()).first_look(glyphs.images, glyphs.labels, glyphs.classes)
    out, err = capsys.readouterr()
    assert out == ""
    assert "a word of its own" in err
    assert "ms/step" not in err


def test_declared_answers_are_held_to(bars: Bars) -> None:
    glyphs = bars(9)

    def shares(x: Any) -> Any:
        return np.eye(3)[columns(x)] * 0.7 + 0.1

    found = wrap_model(shares).first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert "answers   probabilities, 3 columns" in found.lines
    logits = wrap_model(shares, expects={"answers": "logits"})
    look = logits.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert "answers   logits, 3 columns, as stated" in look.lines
    confidence = logits.answer(glyphs.images).confidence
    # softmax of 0.8, 0.1, 0.1: e^0.7 / (e^0.7 + 2)
    np.testing.assert_allclose(confidence, np.exp(0.7) / (np.exp(0.7) + 2), rtol=1e-12)
    for kind, reader in (
        ("labels", shares),
        ("probabilities", columns),
        ("probabilities", lambda x: shares(x) * 2),
        ("logits", columns),
    ):
        model = wrap_model(reader, expects={"answers": kind, "layout": "NHW"})
        with pytest.raises(ModelError, match=rf"another kind than is stated\n[\s\S]*{kind}"):
            model.first_look(glyphs.images, glyphs.labels, glyphs.classes)


@pytest.mark.parametrize("kind", ["numbers", "names", "columns"])
def test_stated_classes_give_the_order_of_numbers_and_columns(bars: Bars, kind: str) -> None:
    glyphs = bars(9)
    stated = ("c", "a", "b")
    place = np.array([stated.index(name) for name in glyphs.classes])

    def read(x: Any) -> Any:
        if kind == "names":
            return np.array(glyphs.classes)[columns(x)]
        said = place[columns(x)]
        return said if kind == "numbers" else np.eye(3)[said]

    model = wrap_model(read, expects={"classes": stated})
    look = model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert look.correct == 9
    assert ("by name" if kind == "names" else "in the order that is stated") in look.lines[3]
    np.testing.assert_array_equal(model.answer(glyphs.images).labels, glyphs.labels)


def test_stated_classes_that_no_label_has_are_refused(bars: Bars) -> None:
    glyphs = bars(9)
    model = wrap_model(columns, expects={"classes": ["a", "b", "q"]})
    with pytest.raises(ModelError, match=r'no label has\n  got       "q", one of the classes that'):
        model.first_look(glyphs.images, glyphs.labels, glyphs.classes)


def test_a_class_of_the_model_that_is_left_out_here_is_not_taken_for_counting_from_1(
    bars: Bars,
) -> None:
    glyphs = bars(9)

    class Reader:
        classes_ = np.array(["0", "1", "2", "3"])

        def predict_proba(self, x: Any) -> Any:
            return np.full((len(x), 4), 0.25)

    with pytest.raises(ModelError, match=r'got       "3", one of its own[\s\S]*name all 4 classes'):
        wrap_model(Reader()).first_look(glyphs.images, glyphs.labels, ("0", "1", "2"))
