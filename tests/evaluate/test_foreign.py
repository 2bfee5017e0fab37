"""Marks of no class: what is shown, what is counted, and where to decline."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.metrics import roc_curve

from gen.evaluate.foreign import (
    Half,
    ask_foreign,
    best_threshold,
    halves,
    pictures,
    possible_kinds,
)
from gen.evaluate.model import Model, wrap_model
from gen.glyphs.base import Provenance, RasterGlyphs
from gen.glyphs.foreign import KINDS
from tests.evaluate.told_sheets import row


def digits(classes: str | tuple[str, ...] = "01", *, frame: tuple[int, int] = (20, 24)) -> Any:
    """Glyphs of which only frame and class names matter here."""
    names, count = tuple(classes), 2 * len(classes)
    images = np.full((count, *frame), 99, np.uint8)
    return RasterGlyphs(
        frame=frame,
        labels=np.arange(count) % len(names),
        classes=names,
        provenance=Provenance("array", "made up", ""),
        writers=None,
        images=images,
    )


def looked(reader: Callable[[Any], Any], glyphs: RasterGlyphs) -> Model:
    model = wrap_model(reader)
    model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    return model


def by_ink(x: Any) -> Any:
    """Sure of the first class where nothing is drawn; else of the second, the surer the darker."""
    flat = np.asarray(x, float).reshape(len(x), -1)
    ink = flat.mean(axis=1) / max(flat.max(), 1)
    second = np.where(ink == 0, 0.0, 0.5 + ink / 2)
    return np.stack([1 - second, second], axis=1)


@pytest.mark.parametrize(
    ("classes", "frame", "kinds"),
    [
        ("0123456789", (28, 28), tuple(KINDS)),
        ("ABC", (8, 4096), tuple(KINDS)),
        (("0", "1", "plum"), (28, 28), ("blank", "noise", "scribble", "two marks")),
        (("pear", "plum"), (28, 28), ("blank", "noise", "scribble")),
        ("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", (28, 28), tuple(KINDS)[:4]),
        ("01", (7, 28), ()),
        ("01", (28, 4097), ()),
    ],
)
def test_kinds_that_cannot_be_made_are_left_out(
    classes: Any, frame: tuple[int, int], kinds: tuple[str, ...]
) -> None:
    glyphs = replace(digits(classes, frame=(8, 8)), frame=frame)
    assert possible_kinds(glyphs) == kinds


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_is_drawn_in_the_frame_of_the_glyphs(kind: str) -> None:
    glyphs = digits()
    marks = pictures(kind, glyphs, count=6, seed=4)
    assert (marks.shape, marks.dtype) == ((6, 20, 24), np.uint8)
    assert marks.any(axis=(1, 2)).all() == (kind != "blank")
    np.testing.assert_array_equal(marks, pictures(kind, glyphs, count=6, seed=4))
    if kind != "blank":
        assert (marks != pictures(kind, glyphs, count=6, seed=5)).any()


def test_it_is_counted_what_a_model_calls_them_and_how_surely() -> None:
    glyphs = digits()
    model = looked(by_ink, glyphs)
    marks, declining = ask_foreign(model, glyphs, row([0.9] * 30, [1] * 30), seed=1, each=20)
    assert [one.kind for one in marks] == list(KINDS)
    blank, noise = marks[:2]
    assert (blank.named.correct, blank.named.n, blank.confidence) == (20, 20, 1.0)
    assert (blank.commonest, blank.commonest_share) == ("0", 1.0)
    # Noise is half grey on the whole: a confidence of 0.75, under 0.9.
    assert (noise.named.correct, noise.commonest) == (0, "1")
    assert noise.confidence == pytest.approx(0.75, abs=0.01)
    assert declining is not None
    assert marks == ask_foreign(model, glyphs, row([0.9] * 30, [1] * 30), seed=1, each=20)[0]


def test_a_model_that_gives_labels_names_all_of_them() -> None:
    glyphs = digits()
    model = looked(lambda x: np.asarray(x).reshape(len(x), -1).any(axis=1).astype(int), glyphs)
    bare = replace(row([0.9] * 6, [1] * 6), confidence=None, true_share=None, squared=None)
    marks, declining = ask_foreign(model, glyphs, bare, seed=0, each=10)
    assert declining is None
    assert all((one.named.correct, one.confidence) == (10, None) for one in marks)
    assert [one.commonest for one in marks] == ["0", "1", "1", "1", "1"]


def test_a_frame_too_small_for_any_is_not_asked() -> None:
    glyphs = digits(frame=(6, 6))
    model = looked(by_ink, glyphs)
    assert ask_foreign(model, glyphs, row([0.9] * 4, [1] * 4), seed=0) == ((), None)


def test_a_kind_at_which_the_model_fails_is_left_out_and_noted() -> None:
    def strict(x: Any) -> Any:
        if not np.asarray(x).any():
            raise ValueError("nothing to read")
        return by_ink(x)

    glyphs = digits()
    model = looked(strict, glyphs)
    marks, _ = ask_foreign(model, glyphs, row([0.9] * 4, [1] * 4), seed=0)
    assert [one.kind for one in marks] == [kind for kind in KINDS if kind != "blank"]
    (note,) = model.notes
    assert "marks of no class, blank" in note
    assert "nothing to read" in note


def test_the_threshold_is_chosen_on_one_half_and_judged_on_the_other() -> None:
    glyphs = digits()
    # Own marks at 0.95 and 0.97 in turn but for the last 10, which are as unsure as can be.
    own = row([0.95, 0.97] * 45 + [0.5] * 10, [1] * 80 + [0] * 20)
    _, declining = ask_foreign(looked(by_ink, glyphs), glyphs, own, seed=1, each=20)
    assert declining is not None
    # Only blanks are surer than that: 0.95 parts all others, with the surest of them below it.
    surest = max(
        float(by_ink(pictures(kind, glyphs, count=20, seed=1))[::2].max())
        for kind in KINDS
        if kind != "blank"
    )
    assert declining.threshold == pytest.approx((surest + 0.95) / 2, abs=1e-6)
    assert (declining.foreign_declined.correct, declining.foreign_declined.n) == (40, 50)
    assert declining.own_declined.n == 50
    assert declining.own_declined.correct == 5
    assert declining.accuracy is not None
    assert (declining.accuracy.correct, declining.accuracy.n) == (40, 45)
    assert "judged on the others" in declining.rule


def test_a_threshold_that_turns_fewer_than_half_of_them_away_is_not_told() -> None:
    """Of marks of no class so many are less sure than any own mark, in both halves alike."""
    glyphs = digits()
    own = row([0.8] * 40, [1] * 40)
    for unsure, told in ((12, True), (8, False)):
        shares = np.where(np.arange(20) < unsure, 0.6, 1.0)

        def reader(x: Any, shares: Any = shares) -> Any:
            second = np.resize(shares, len(x))
            return np.stack([1 - second, second], axis=1)

        _, declining = ask_foreign(looked(reader, glyphs), glyphs, own, seed=0, each=20)
        assert (declining is not None) == told, unsure


def test_halves_are_alike_and_share_no_mark(rng: np.random.Generator) -> None:
    # Two classes in turn: every second glyph of the set would be one class alone.
    right = np.arange(40) % 2 == 0
    own = row(np.arange(40) / 100 + 0.5, right)
    foreign = [np.arange(5) / 10, 0.5 + np.arange(4) / 10]
    one, other = halves(own, foreign)
    assert (one.right.sum(), other.right.sum()) == (10, 10)
    assert not set(one.own) & set(other.own)
    assert len(one.own) + len(other.own) == 40
    np.testing.assert_allclose(one.foreign, [0, 0.2, 0.4, 0.5, 0.7], atol=1e-7)
    np.testing.assert_allclose(other.foreign, [0.1, 0.3, 0.6, 0.8], atol=1e-7)


confidences = st.lists(st.integers(0, 20).map(lambda k: k / 20), min_size=1, max_size=30)


@settings(deadline=None)
@given(confidences, confidences)
def test_the_threshold_reaches_the_best_sum_of_the_roc_curve(
    own: list[float], foreign: list[float]
) -> None:
    # scikit-learn's roc_curve: own marks as positives; W. J. Youden, Cancer 3 (1950) 32-35.
    truth = [1] * len(own) + [0] * len(foreign)
    passed, kept, _ = roc_curve(truth, own + foreign, drop_intermediate=False)
    known = (kept - passed).max()
    half = Half(np.array(own), np.ones(len(own), bool), np.array(foreign))
    threshold = best_threshold(half)
    reached = np.mean(half.own >= threshold) - np.mean(half.foreign >= threshold)
    assert reached == pytest.approx(known, abs=1e-12)


def test_nothing_is_declined_where_nothing_is_gained() -> None:
    same = np.array([0.5, 0.7])
    assert best_threshold(Half(same, np.ones(2, bool), same)) == 0.0
    assert best_threshold(Half(same, np.ones(2, bool), same + 0.3)) == 0.0


def test_of_thresholds_as_good_the_lowest_is_taken() -> None:
    own, foreign = np.array([0.4, 0.8]), np.array([0.3, 0.6])
    assert best_threshold(Half(own, np.ones(2, bool), foreign)) == pytest.approx(0.35)


def test_own_marks_that_are_all_declined_have_no_accuracy() -> None:
    glyphs = digits()
    # The half that is chosen on is sure, the half that is judged on is not.
    own = row([1.0, 0.1] * 20, [1] * 40)
    _, declining = ask_foreign(
        looked(lambda x: np.full((len(x), 2), 0.5), glyphs), glyphs, own, seed=0, each=4
    )
    assert declining is not None
    assert declining.threshold == 0.75
    assert declining.own_declined.value == 1.0
    assert declining.accuracy is None
