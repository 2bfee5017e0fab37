"""Whole evaluations of models whose truth was planted."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest

from gen.core.errors import GlyphError, InkdriftError, LevelError, ModelError
from gen.evaluate.intervals import CLOPPER_PEARSON
from gen.evaluate.model import wrap_model
from gen.evaluate.results import Evaluation, Proportion
from gen.evaluate.score import evaluate
from gen.glyphs.base import RasterGlyphs
from gen.recipe.model import Recipe, Sweep

Bars = Callable[..., RasterGlyphs]
Shifts = Callable[..., Recipe]


def reads_moved_by(px: int) -> Callable[[Any], Any]:
    """A model that was taught on bars `px` to the right, and looks at two columns a class."""

    def net(x: Any) -> Any:
        stands = np.stack([x[:, :, 8 * k + 3 + px : 8 * k + 5 + px] for k in range(3)], axis=1)
        ink = stands.sum(axis=(2, 3))
        return np.where(ink.max(axis=1) > 7.0, ink.argmax(axis=1), 0)

    return net


def plain(evaluation: Evaluation) -> Evaluation:
    return replace(evaluation, seconds=())


def test_a_model_taught_three_pixels_to_the_right_peaks_there(bars: Bars, shifts: Shifts) -> None:
    found = evaluate(reads_moved_by(3), shifts(-3, -2, -1, 1, 2, 3, 4), bars(300))
    peak = found.curves[0].peak
    assert peak.level == 3.0
    assert peak.accuracy == 1.0
    assert peak.off_nominal
    assert peak.gain is not None
    assert peak.gain.low > 0
    assert found.baseline.accuracy.value == pytest.approx(1 / 3)
    assert found.curves[0].tolerance.low is None


def test_a_model_taught_rightly_peaks_at_nominal(bars: Bars, shifts: Shifts) -> None:
    found = evaluate(reads_moved_by(0), shifts(-3, -2, -1, 1, 2, 3, 4), bars(300))
    curve = found.curves[0]
    assert (curve.peak.level, curve.peak.gain, curve.peak.off_nominal) == (0.0, None, False)
    assert found.baseline.accuracy.value == 1.0
    drop = curve.points[-1].difference
    assert drop is not None
    assert drop.high < 0
    assert drop.p_holm < 0.05
    assert curve.tolerance.low is not None
    assert -1 < curve.tolerance.low < 0 < curve.tolerance.high < 1  # type: ignore[operator]


def test_a_guess_is_the_commonest_class_where_classes_are_not_alike(
    bars: Bars, shifts: Shifts
) -> None:
    glyphs = bars(120)
    few = glyphs.take(np.concatenate([np.flatnonzero(glyphs.labels == 0), np.arange(1, 11, 3)]))
    found = evaluate(reads_moved_by(0), shifts(1), few, extras=False).curves[0]
    assert found.points[1].accuracy.value == pytest.approx(40 / 44), "all are called class 0"
    assert found.summary is not None
    assert found.summary.half_high is not None
    # Half way from 44 of 44 to the 40 of 44 that no look is needed for.
    assert found.summary.half_high.value == pytest.approx(0.5)


def test_a_model_that_guesses_has_no_peak_off_nominal(bars: Bars, shifts: Shifts) -> None:
    rng = np.random.default_rng(5)
    found = evaluate(lambda x: rng.integers(0, 3, len(x)), shifts(-2, -1, 1, 2), bars(600))
    accuracy = found.baseline.accuracy
    assert accuracy.low < 1 / 3 < accuracy.high
    assert not found.curves[0].peak.off_nominal


def test_holms_correction_runs_over_all_sweeps_as_often_as_levels_are_listed(
    bars: Bars, shifts: Shifts
) -> None:
    once = evaluate(reads_moved_by(0), shifts(1), bars(9)).curves[0].points[1].difference
    twice = evaluate(reads_moved_by(0), shifts(1, sweeps=2), bars(9)).curves[1].points[1].difference
    assert once is not None
    assert twice is not None
    assert 0 < once.p_value < 0.5
    assert once.p_holm == once.p_value
    assert twice.p_holm == 2 * once.p_value


@pytest.mark.parametrize("block", [1, 7, 100, 1000])
def test_the_block_size_changes_nothing(block: int, bars: Bars, shifts: Shifts) -> None:
    glyphs, recipe = bars(100, blanks=(0, 13, 14)), shifts(-1, 2)
    whole = evaluate(reads_moved_by(0), recipe, glyphs)
    assert plain(evaluate(reads_moved_by(0), recipe, glyphs, block=block)) == plain(whole)


def test_every_level_is_scored_on_the_same_pictures_as_rolled_by_numpy(
    bars: Bars, shifts: Shifts
) -> None:
    glyphs, net = bars(60), reads_moved_by(1)
    found = evaluate(net, shifts(1, 2), glyphs)
    for point, px in zip(found.curves[0].points, (0, 1, 2), strict=True):
        rolled = np.roll(glyphs.images, px, axis=2)  # the bars stand clear of the edges
        right = net(rolled.astype(np.float32) / 255) == glyphs.labels
        assert point.level == px
        assert point.accuracy.correct == right.sum()


def test_glyphs_without_ink_are_left_out_and_named(bars: Bars, shifts: Shifts) -> None:
    found = evaluate(reads_moved_by(0), shifts(1), bars(30, blanks=(4, 17)), block=8)
    assert found.left_out == ("2 glyphs have no ink at nominal and can't be scored: 4, 17",)
    assert found.baseline.accuracy.n == 28
    assert sum(found.counts) == 28
    assert all(point.accuracy.n == 28 for point in found.curves[0].points)


def test_many_glyphs_without_ink_are_counted(bars: Bars, shifts: Shifts) -> None:
    found = evaluate(reads_moved_by(0), shifts(1), bars(30, blanks=tuple(range(12))), block=4)
    assert "12 glyphs" in found.left_out[0]
    assert found.left_out[0].endswith("8, 9 and 2 more")


def test_glyphs_without_any_ink_are_refused(bars: Bars, shifts: Shifts) -> None:
    with pytest.raises(GlyphError, match="no glyph with ink"):
        evaluate(reads_moved_by(0), shifts(1), bars(3, blanks=(0, 1, 2)))


def test_ink_lost_is_the_mean_over_the_glyphs(bars: Bars, shifts: Shifts) -> None:
    found = evaluate(reads_moved_by(0), shifts(4, 20), bars(30))
    nominal, four, twenty = found.curves[0].points
    assert nominal.ink_lost == 0.0
    # The third class ends 3 px from the edge: moved by 4 it loses one column of two.
    assert four.ink_lost == pytest.approx(0.5 / 3)
    # Moved by 20 the first class has its left column on the last one of the frame, no more.
    assert twenty.ink_lost == pytest.approx((0.5 + 1 + 1) / 3)


def test_the_baseline_confusion_has_true_classes_down_and_answers_across(
    bars: Bars, shifts: Shifts
) -> None:
    found = evaluate(lambda x: [1] * len(x), shifts(1), bars(9))
    assert found.confusion == ((0, 3, 0), (0, 3, 0), (0, 3, 0))
    assert [one.accuracy.value for one in found.baseline.per_class] == [0, 1, 0]


def fails_where_the_first_column_is_bare(error: BaseException) -> Callable[[Any], Any]:
    """A model that takes bars as they are, and moved by more than one px fails."""

    def net(x: Any) -> Any:
        if len(x) > 3 and not x[:, :, 3:5].any():
            raise error
        return reads_moved_by(0)(x)

    return net


def test_a_model_that_fails_in_one_cell_loses_that_cell_alone(bars: Bars, shifts: Shifts) -> None:
    net = fails_where_the_first_column_is_bare(RuntimeError("the lamp went out"))
    found = evaluate(wrap_model(net, name="net"), shifts(1, 2, 3), bars(9), extras=False)
    assert [point.level for point in found.curves[0].points] == [0.0, 1.0]
    assert [failed.cell[-4:] for failed in found.failed] == ["+2px", "+3px"]
    assert found.failed[0].why.startswith("the model fails: RuntimeError: the lamp went out")


def test_a_model_that_no_longer_answers_at_nominal_ends_the_run(bars: Bars, shifts: Shifts) -> None:
    calls = []

    def net(x: Any) -> Any:
        calls.append(len(x))
        if len(calls) > 3:  # a first look, nominal, one level, and then never again
            raise RuntimeError("the lamp went out")
        return reads_moved_by(0)(x)

    words = (
        r"net: cell nominal, asked again after 01-translation-along-x\+2px failed: the model "
        r"fails\n.*RuntimeError: the lamp went out \("
    )
    with pytest.raises(ModelError, match=words):
        evaluate(wrap_model(net, name="net"), shifts(1, 2), bars(9), extras=False)


def test_a_model_that_fails_once_at_nominal_ends_the_run(bars: Bars, shifts: Shifts) -> None:
    calls = []

    def net(x: Any) -> Any:
        calls.append(len(x))
        if len(calls) == 2:  # after the first look
            raise RuntimeError("the lamp flickered")
        return reads_moved_by(0)(x)

    with pytest.raises(ModelError, match="the lamp flickered"):
        evaluate(wrap_model(net, name="net"), shifts(1, 2), bars(9), extras=False)


def test_answers_that_change_kind_in_a_cell_are_its_failure(bars: Bars, shifts: Shifts) -> None:
    def net(x: Any) -> Any:
        return np.eye(3)[reads_moved_by(0)(x)] * (1.0 if x[:, :, 3].any() else 2.0)

    found = evaluate(net, shifts(1), bars(9), extras=False)
    assert found.failed[0].why.startswith("the answers are of another kind")


def test_the_first_look_spreads_over_a_sorted_set(bars: Bars, shifts: Shifts) -> None:
    glyphs = bars(3000)
    glyphs = glyphs.take(np.argsort(glyphs.labels, kind="stable"))
    model = wrap_model(reads_moved_by(0))
    evaluate(model, shifts(1), glyphs)
    assert model.look is not None
    assert model.look.n == 64
    assert model.look.correct == 64
    always = wrap_model(lambda x: [0] * len(x))
    evaluate(always, shifts(1), glyphs)
    assert always.look is not None
    assert always.look.correct < 30  # a look at the first 64 alone would find them all right


def test_progress_counts_up_to_all_steps(bars: Bars, shifts: Shifts) -> None:
    seen: list[tuple[int, int]] = []
    evaluate(reads_moved_by(0), shifts(1, 2), bars(30), block=8, progress=lambda *n: seen.append(n))
    assert seen == [(k, 12) for k in range(1, 13)]


def test_named_levels_and_further_sweeps_are_scored_too(bars: Bars) -> None:
    sweeps = (
        Sweep("blur", "px", (0.0, 0.5, 9.0)),
        Sweep("translation", "px", (0.0, 1.0), (("along", "x"),)),
    )
    found = evaluate(reads_moved_by(0), Recipe("two", "", 1, sweeps), bars(30))
    assert [curve.perturbation for curve in found.curves] == ["blur", "translation"]
    blur = found.curves[0]
    assert blur.tolerance.low == 0.0
    assert not blur.tolerance.open_low  # there is no blur below none
    assert {name for name, _ in found.seconds} == {"rendering", "model", "statistics"}


def test_a_level_that_the_frame_can_not_hold_is_refused(bars: Bars, shifts: Shifts) -> None:
    with pytest.raises(LevelError, match="out of range"):
        evaluate(reads_moved_by(0), shifts(1000), bars(3))


@pytest.mark.parametrize("floor", [0.0, 1.1, float("nan"), True])
def test_a_floor_that_is_no_accuracy_is_refused(floor: float, bars: Bars, shifts: Shifts) -> None:
    with pytest.raises(InkdriftError, match="floor: this is no accuracy"):
        evaluate(reads_moved_by(0), shifts(1), bars(3), floor=floor)


@pytest.mark.parametrize("block", [0, -1, True, 2.0])
def test_a_block_that_is_no_number_of_glyphs_is_refused(
    block: Any, bars: Bars, shifts: Shifts
) -> None:
    with pytest.raises(InkdriftError, match="block: this is no number of glyphs"):
        evaluate(reads_moved_by(0), shifts(1), bars(3), block=block)


def shares_in(value: object) -> Iterator[Proportion]:
    """Every share with an interval, wherever it stands."""
    if isinstance(value, Proportion):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from shares_in(one)
    elif is_dataclass(value):
        for field in fields(value):
            yield from shares_in(getattr(value, field.name))


def test_an_interval_that_is_asked_for_is_that_of_every_share(bars: Bars, shifts: Shifts) -> None:
    def net(x: Any) -> Any:
        ink = x.reshape(len(x), 9, 3, 8).sum(axis=(1, 3)) + 0.1
        return ink / ink.sum(axis=1, keepdims=True)

    found = evaluate(net, shifts(-2, 2), bars(60), interval="clopper-pearson", draws=10)
    assert found.declining is not None
    assert found.foreign
    assert found.baseline.calibration is not None
    assert {share.method for share in shares_in(found)} == {CLOPPER_PEARSON}
