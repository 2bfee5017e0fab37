"""What confidence is worth at one level: drawn to scale, with every bin in figures."""

from __future__ import annotations

import re
from dataclasses import replace
from types import ModuleType

import pytest

from gen.evaluate.results import Calibration, ReliabilityBin
from gen.report.sure_here import LEFT, SIDE, TALLEST, TOP, sure_here


@pytest.fixture
def two_bins(planted: ModuleType) -> Calibration:
    """Of 100 answers 20 with 50 to 60 %, of which 5 are right, and 80 over 90 %, of which 60."""
    made: Calibration = planted.calibration(0.65, 0.86)
    bins = (
        ReliabilityBin(0.5, 0.6, 20, 0.55, planted.share(5, 20)),
        ReliabilityBin(0.9, 1.0, 80, 0.95, planted.share(60, 80)),
    )
    return replace(made, bins=bins, overconfidence=0.22, ece=0.22)


def test_a_bin_is_drawn_where_it_lies(planted: ModuleType, two_bins: Calibration) -> None:
    here = sure_here(replace(planted.point(1.0, 0.65), calibration=two_bins), "here")
    assert here is not None
    places = re.findall(r"M([\d.]+) ([\d.]+)h0", here.drawn["spots"])
    spots = [((float(x) - LEFT) / SIDE, 1 - (float(y) - TOP) / SIDE) for x, y in places]
    for (x, y), each in zip(spots, two_bins.bins, strict=True):
        assert x == pytest.approx(each.confidence, abs=0.001)
        assert y == pytest.approx(each.accuracy.value, abs=0.001)
    ends = re.findall(r"M[\d.]+ ([\d.]+)V([\d.]+)", here.drawn["ends"])
    for (high, low), each in zip(ends, two_bins.bins, strict=True):
        assert 1 - (float(high) - TOP) / SIDE == pytest.approx(each.accuracy.high, abs=0.001)
        assert 1 - (float(low) - TOP) / SIDE == pytest.approx(each.accuracy.low, abs=0.001)


def test_a_bar_is_as_high_as_its_bin_has_answers(
    planted: ModuleType, two_bins: Calibration
) -> None:
    here = sure_here(replace(planted.point(1.0, 0.65), calibration=two_bins), "here")
    assert here is not None
    bars = re.findall(r"M([\d.]+) \d+v-([\d.]+)", here.drawn["bars"])
    assert [float(high) for _, high in bars] == [TALLEST / 4, TALLEST]
    for (x, _), each in zip(bars, two_bins.bins, strict=True):
        assert (float(x) - LEFT) / SIDE == pytest.approx((each.low + each.high) / 2, abs=0.001)
    assert here.wide == pytest.approx(SIDE / 10 - 1, abs=0.051)
    assert f'class="bars" stroke-width="{here.wide}"' in here.drawing()


def test_every_bin_stands_in_the_table_with_its_answers_and_its_interval(
    planted: ModuleType, two_bins: Calibration
) -> None:
    here = sure_here(replace(planted.point(1.0, 0.65), calibration=two_bins), "here")
    assert here is not None
    rows = [tuple(text for text, _ in row) for row in here.table.rows]
    # Wilson's intervals of 5 of 20 and 60 of 80, as planted.share has them.
    assert rows == [
        ("50 to 60", "20", "25.0", "11.2 to 46.9"),
        ("90 to 100", "80", "75.0", "64.5 to 83.2"),
    ]
    assert here.lines[0] == "87.0\u00a0% sure on the whole, 65.0\u00a0% read rightly"
    assert here.lines[1] == "calibration error 22.0\u00a0%, over 10 bins of equal width"
    assert here.lines[2] == "of the 50.0\u00a0% that it is surest of, 67.6\u00a0% read rightly"


def test_where_the_least_sure_are_not_told_apart_nothing_is_said_of_the_surest(
    planted: ModuleType, two_bins: Calibration
) -> None:
    alike = replace(two_bins, kept=two_bins.kept[:1])
    here = sure_here(replace(planted.point(1.0, 0.65), calibration=alike), "here")
    assert here is not None
    assert len(here.lines) == 2


def test_labels_alone_have_no_drawing(planted: ModuleType) -> None:
    assert sure_here(planted.point(1.0, 0.65), "here") is None
