"""Brier, log loss, calibration and declining, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from gen.evaluate.confidence import calibration
from gen.evaluate.results import Calibration
from gen.evaluate.shares import Shares
from gen.evaluate.sheet import Row
from tests.evaluate.told_sheets import row

SINGLE = 3e-7  # confidences are held in single precision, 24 bits


def judged(confidence: object, right: object, *, bins: int = 15) -> Calibration:
    found = calibration(row(confidence, right), bins=bins)
    assert found is not None
    return found


def test_labels_alone_have_no_calibration() -> None:
    bare = Row(np.zeros(3, np.int16), np.ones(3, bool), None, None, None, 0.0)
    assert calibration(bare) is None


def test_bins_say_what_they_hold_and_empty_ones_are_left_out() -> None:
    found = judged([0.9] * 5 + [0.6] * 5, [1, 1, 1, 1, 0, 1, 1, 0, 0, 0], bins=10)
    assert [(one.low, one.high, one.n, one.accuracy.correct) for one in found.bins] == [
        (0.5, 0.6, 5, 2),
        (0.8, 0.9, 5, 4),
    ]
    assert [one.confidence for one in found.bins] == pytest.approx([0.6, 0.9], abs=SINGLE)
    assert found.overconfidence == pytest.approx(0.75 - 0.6, abs=SINGLE)
    assert found.bins[0].accuracy.method == "Wilson score"


def test_a_bin_counts_by_the_answers_that_it_holds() -> None:
    found = judged([0.9] * 18 + [0.6] * 2, [1] * 18 + [0] * 2, bins=10)
    # Gaps of 0.1 and 0.6, of 18 and 2 answers.
    assert found.ece == pytest.approx((18 * 0.1 + 2 * 0.6) / 20, abs=SINGLE)


@pytest.mark.parametrize("bins", [1, 2, 3, 5, 7, 10, 15, 20])
def test_an_upper_edge_belongs_to_its_bin(bins: int) -> None:
    # m / M as somebody's model gives it: in double precision, then held in single.
    edges = [m / bins for m in range(bins + 1)]
    found = judged(edges, [1] * (bins + 1), bins=bins)
    assert [one.n for one in found.bins] == [2] + [1] * (bins - 1)  # 0 is in the first
    assert [one.high for one in found.bins] == edges[1:]


def test_coverages_are_those_asked_for_when_no_answers_tie() -> None:
    sure = np.linspace(0.5, 0.99, 100)
    found = judged(sure, sure > 0.6)
    assert [one.coverage for one in found.kept] == [1.0, 0.95, 0.9, 0.8, 0.7, 0.5]
    assert [one.accuracy.n for one in found.kept] == [100, 95, 90, 80, 70, 50]
    wrong = int((sure <= 0.6).sum())
    assert [one.accuracy.correct for one in found.kept] == [100 - wrong] + [
        min(kept, 100 - wrong) for kept in (95, 90, 80, 70, 50)
    ]
    assert found.kept[1].threshold == pytest.approx(sure[5], abs=SINGLE)


def test_ties_are_never_cut() -> None:
    # 60 answers with 1.0, 40 with 0.5: either all or the first 60 can be kept.
    found = judged([1.0] * 60 + [0.5] * 40, [1] * 50 + [0] * 50)
    assert [(one.coverage, one.threshold) for one in found.kept] == [(1.0, 0.5), (0.6, 1.0)]
    assert found.kept[1].accuracy.correct == 50
    assert [one.coverage for one in judged([0.7] * 9, [1] * 9).kept] == [1.0]


def test_of_two_coverages_as_near_the_larger_is_taken() -> None:
    found = judged([0.9] * 4 + [0.8] * 2 + [0.7] * 4, [1] * 10)
    # 0.5 lies half way from 0.4 to 0.6; 0.8 half way from 0.6 to 1.
    assert [one.coverage for one in found.kept] == [1.0, 0.6]


def test_the_order_of_glyphs_changes_nothing(rng: np.random.Generator) -> None:
    sure = rng.integers(10, 20, 300) / 20
    right = rng.random(300) < sure
    mixed = rng.permutation(300)
    found, other = judged(sure, right), judged(sure[mixed], right[mixed])
    assert found.kept == other.kept
    assert found.ece == pytest.approx(other.ece, abs=1e-12)


def test_a_true_class_without_any_share_costs_a_finite_loss() -> None:
    bare = replace(row([1.0, 1.0], [1, 0]), true_share=np.array([1, 0], np.float32))
    found = calibration(bare)
    assert found is not None
    assert found.log_loss == pytest.approx(-np.log(1e-15) / 2)


def test_clopper_and_pearson_on_request() -> None:
    found = calibration(row([0.9] * 20, [0] * 20), shares=Shares("clopper-pearson"))
    assert found is not None
    share = found.kept[0].accuracy
    assert (share.method, round(share.high, 4)) == ("Clopper-Pearson", 0.1684)
    assert found.bins[0].accuracy == share
