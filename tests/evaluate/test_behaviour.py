"""Models that answer one glyph in several ways, or that run out of memory."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from gen.core.errors import ModelError
from gen.evaluate.behaviour import ALONE, behaviour
from gen.evaluate.model import Model, wrap_model
from gen.evaluate.score import evaluate, score
from gen.glyphs.base import RasterGlyphs
from gen.recipe.model import Recipe

Bars = Callable[..., RasterGlyphs]
Shifts = Callable[..., Recipe]


def stands(x: Any) -> Any:
    return np.stack([x[:, :, 8 * k + 3 : 8 * k + 5].sum(axis=(1, 2)) for k in range(3)], axis=1)


def shares(x: Any) -> Any:
    ink = np.exp(stands(x) - stands(x).max(axis=1, keepdims=True))
    return ink / ink.sum(axis=1, keepdims=True)


def looked(net: Any, glyphs: RasterGlyphs, **expects: Any) -> Model:
    model = wrap_model(net, name="net", expects=expects or None)
    model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    return model


def test_a_model_that_answers_alike_changes_nowhere(bars: Bars) -> None:
    glyphs = bars(30)
    found = behaviour(looked(shares, glyphs), glyphs.images)
    assert (found.n, found.again, found.alone, found.elsewhere) == (30, 0, 0, 0)
    assert found.largest is not None
    assert found.largest < 1e-6


def test_chance_in_the_answers_shows_when_the_same_batch_is_asked_again(bars: Bars) -> None:
    rng, glyphs = np.random.default_rng(3), bars(30)

    def drops_out(x: Any) -> Any:
        return shares(x * rng.integers(0, 2, x.shape))

    assert behaviour(looked(drops_out, glyphs), glyphs.images).again > 10


def test_statistics_of_the_batch_show_when_a_glyph_is_alone(bars: Bars) -> None:
    glyphs = bars(30)

    def by_batch(x: Any) -> Any:
        ink = stands(x)
        return (ink - ink.mean(axis=0)).argmax(axis=1)

    found = behaviour(looked(by_batch, glyphs), glyphs.images)
    assert (found.again, found.elsewhere) == (0, 0)
    assert found.alone == ALONE - ALONE // 3 - 1  # alone everything is class 0, a third of them


def test_answers_that_hang_on_the_place_in_the_batch_show(bars: Bars) -> None:
    def off_by_one(x: Any) -> Any:
        answers = stands(x).argmax(axis=1)
        answers[0] = 0  # as when a buffer is reused
        return answers

    glyphs = bars(31)
    found = behaviour(looked(off_by_one, glyphs), glyphs.images)
    assert found.again == 0
    assert found.elsewhere + found.alone > 0
    assert found.largest is None


def test_a_model_that_can_not_be_asked_about_one_glyph_is_noted(bars: Bars) -> None:
    def needs_two(x: Any) -> Any:
        if len(x) < 2:
            raise ValueError("expected more than 1 value per channel")
        return stands(x).argmax(axis=1)

    glyphs = bars(30)
    found = behaviour(looked(needs_two, glyphs), glyphs.images)
    (note,) = found.notes
    assert note.startswith("it can't be asked about one glyph alone: the model fails: ValueError")


def test_an_evaluation_carries_how_the_model_behaved(bars: Bars, shifts: Shifts) -> None:
    found = evaluate(shares, shifts(1), bars(30))
    assert found.behaviour is not None
    assert found.behaviour.n == 30
    assert evaluate(shares, shifts(1), bars(30), extras=False).behaviour is None


def test_a_batch_is_halved_once_where_memory_is_short(bars: Bars) -> None:
    sizes: list[int] = []

    def large(x: Any) -> Any:
        sizes.append(len(x))
        if len(x) > 20:
            raise MemoryError
        return stands(x).argmax(axis=1)

    glyphs = bars(40)
    model = looked(large, glyphs.take(np.arange(10)))
    sizes.clear()
    first = model.answer(glyphs.images)
    second = model.answer(glyphs.images)
    assert sizes == [40, 20, 20, 20, 20]
    np.testing.assert_array_equal(first.labels, glyphs.labels)
    np.testing.assert_array_equal(second.labels, glyphs.labels)
    assert model.notes == [
        "memory was short at 40 glyphs in one batch: it was halved, to at most 20"
    ]


@pytest.mark.parametrize("extras", [True, False])
def test_a_halved_batch_is_said_whatever_else_is_asked(
    bars: Bars, shifts: Shifts, extras: bool
) -> None:
    def large(x: Any) -> Any:
        if len(x) > 64:
            raise MemoryError
        return stands(x).argmax(axis=1)

    scored = score(large, shifts(1), bars(100), block=100, draws=10, extras=extras)
    behaved = scored.evaluation.behaviour
    notes = scored.notes if behaved is None else behaved.notes
    assert [note for note in notes if "it was halved, to at most 50" in note]


@pytest.mark.parametrize(
    "error", [RuntimeError("CUDA out of memory. Tried to allocate"), MemoryError()]
)
def test_a_batch_that_is_too_large_even_when_halved_is_an_error(
    bars: Bars, error: Exception
) -> None:
    def huge(x: Any) -> Any:
        if len(x) > 5:
            raise error
        return stands(x).argmax(axis=1)

    glyphs = bars(40)
    model = looked(huge, glyphs.take(np.arange(5)))
    with pytest.raises(ModelError, match="the model fails"):
        model.answer(glyphs.images)
    assert model.notes == []


def test_another_error_is_not_taken_for_want_of_memory(bars: Bars) -> None:
    calls: list[int] = []

    def broken(x: Any) -> Any:
        calls.append(len(x))
        if len(calls) > 1:
            raise RuntimeError("the lamp went out")
        return stands(x).argmax(axis=1)

    glyphs = bars(40)
    model = looked(broken, glyphs)
    with pytest.raises(ModelError, match="the lamp went out"):
        model.answer(glyphs.images)
    assert len(calls) == 2
