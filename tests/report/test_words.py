"""How amounts and places are put, for every perturbation that there is."""

from __future__ import annotations

from types import ModuleType
from typing import Any

import pytest

from gen.evaluate.results import Estimate, Side, Tolerance
from gen.perturb import PERTURBATIONS
from gen.report.axis import lay_out
from gen.report.axis_words import axis_words
from gen.report.names import isolated
from gen.report.places import place
from gen.report.words import amount, end_words, measured, points, range_words, span


def test_what_rounds_to_nought_has_no_minus() -> None:
    assert measured(-0.0004) == "0.0 %"
    assert points(-0.0004) == "+0.0 points"
    assert span(-0.0004, 0.0) == "(+0.0 to +0.0)"


def side(name: str, unit: str, **options: Any) -> Side:
    entry = PERTURBATIONS[name].entry
    known = {option.name: option.default for option in entry.options}
    whole = {**known, **options}
    title = PERTURBATIONS[name].title(whole)
    nominal = 0.0 if unit in {"mm", "height"} else entry.unit(unit).nominal
    return Side(name, unit, nominal, tuple(sorted(whole.items())), title, ())


@pytest.mark.parametrize(
    ("name", "unit", "level", "options", "says"),
    [
        ("stroke-width", "px", 1.0, {}, "with strokes 1 px wider"),
        ("stroke-width", "px", -0.5, {}, "with strokes 0.5 px narrower"),
        ("stroke-width", "mm", 0.2, {}, "with strokes 0.2 mm wider"),
        ("stroke-width", "ratio", 1.41, {}, "with strokes 1.41 times as wide"),
        ("dry-pen", "share", 0.3, {}, "with 30 % of the stroke bare"),
        ("placement", "rule", "box centred", {}, "with placement \u201cbox centred\u201d"),
        ("scale", "ratio", 1.2, {}, "at 1.2 times the scale"),
        ("slant", "deg", 15.0, {}, "at +15 deg of slant (to the right)"),
        ("rotation", "deg", -10.0, {}, "at -10 deg of rotation (clockwise)"),
        ("translation", "px", 3.0, {"along": "y"}, "at +3 px along y (down)"),
        ("translation", "px", 3.0, {"along": 45.0}, "at +3 px towards 45 deg"),
        ("blur", "px", 1.5, {}, "at a blur of 1.5 px"),
        ("motion-blur", "px", 4.0, {}, "at a motion blur of 4 px along x"),
        ("resolution", "ratio", 0.5, {}, "at 0.5 times the resolution"),
        ("contrast", "ratio", 0.4, {}, "at 0.4 times the contrast"),
        ("occlusion", "px", 6.0, {"patch": "ink"}, "with a patch of ink of 6 px over the mark"),
        ("ruled", "grey levels", 60.0, {}, "on paper with lines 60 grey levels dark"),
        ("background", "grey levels", 1.0, {}, "on paper 1 grey level dark"),
        ("shadow", "grey levels", 80.0, {}, "in a shadow of 80 grey levels along x"),
        ("noise", "grey levels", 12.0, {}, "with noise of 12 grey levels"),
        ("noise", "electrons", 400.0, {}, "in light that gives 400 electrons"),
        ("noise", "electrons", 10000.0, {}, "in light that gives 10,000 electrons"),
        ("row-slip", "bytes", 4.0, {}, "at a row slip of +4 bytes"),
        ("axis-swap", "times", 1.0, {}, "with rows read as columns"),
        ("axis-swap", "times", 0.0, {}, "without axis swap"),
        ("mirror", "times", 1.0, {}, "with left and right exchanged"),
        ("mirror", "times", 1.0, {"along": "y"}, "with top and bottom exchanged"),
        ("half-turn", "times", 1.0, {}, "with a half turn"),
        ("ink-polarity", "times", 1.0, {}, "with ink taken for paper"),
        ("quarter-turns", "quarters", 1.0, {}, "with a quarter turn anticlockwise"),
        ("quarter-turns", "quarters", 3.0, {}, "with a quarter turn clockwise"),
        ("value-range", "grey levels", 1.0, {}, "with full ink written as 1"),
        ("bit-depth", "bits", 1.0, {}, "at 1 bit a pixel"),
        ("jpeg", "quality", 30.0, {}, "at JPEG quality 30"),
    ],
)
def test_a_level_is_put_as_a_person_would(
    name: str, unit: str, level: Any, options: dict[str, Any], says: str
) -> None:
    assert place(side(name, unit, **options), level) == says


def test_no_perturbation_that_ships_is_left_to_the_stock_phrase() -> None:
    """ "at 3 bits of bit depth": it can be understood, and nobody says it."""
    for name, each in PERTURBATIONS.items():
        for unit in each.entry.units:
            if unit.names or unit.name == "ratio":
                continue
            level = 1.0 if unit.nominal != 1.0 else 0.5
            swept = side(name, unit.name)
            stock = f"at {amount(swept, level)} of {swept.title}"
            assert place(swept, level).removesuffix(" (anticlockwise)").removesuffix(
                " (to the right)"
            ) != stock or name in {"rotation", "slant"}, name


def test_a_perturbation_that_nobody_knows_is_still_told() -> None:
    strange = Side("dust", "specks", 0.0, (), "dust", ())
    assert place(strange, 12.0) == "at 12 specks of dust"


@pytest.mark.parametrize(
    ("name", "unit", "level", "says"),
    [
        ("jpeg", "quality", 30.0, "quality 30"),
        ("bit-depth", "bits", 1.0, "1 bit"),
        ("dry-pen", "share", 0.25, "25 %"),
        ("noise", "electrons", 3200000.0, "3,200,000 electrons"),
        ("noise", "electrons", 1600.0, "1,600 electrons"),
        ("quarter-turns", "quarters", 2.0, "2 quarter turns"),
        ("scale", "ratio", 1.1, "ratio 1.1"),
        ("translation", "px", 3.0, "+3 px"),
    ],
)
def test_an_amount_stands_with_its_unit(name: str, unit: str, level: float, says: str) -> None:
    assert amount(side(name, unit), level) == says


def test_ranges_are_put_in_the_unit(planted: ModuleType) -> None:
    jpeg = planted.curve("jpeg", "quality", [10.0, 50.0, 100.0], lambda q: 0.97, nominal=100.0)
    dry = planted.curve("dry-pen", "share", [0.0, 0.2, 0.4], lambda q: 0.97)
    kept = Tolerance(0.9, 30.0, 100.0, False, True, ())
    assert range_words(jpeg, kept) == "quality 30 to 100"
    assert range_words(dry, Tolerance(0.9, 0.0, 0.157, True, False, ())) == "0 to 16 %"
    assert axis_words(dry) == "percent"
    along_x = planted.along_x(planted.bell(0, 5))
    assert range_words(along_x, Tolerance(0.9, -0.03, 0.04, False, False, ())) == "0 px only"
    assert range_words(along_x, Tolerance(0.9, -0.03, 0.06, False, False, ())) == "0 to +0.1 px"


@pytest.mark.parametrize(
    ("low", "high", "says"),
    [
        (2.38, 2.81, "+2.4 to +2.8"),
        (2.38, None, "+2.4 to past +8"),
        (None, -2.4, "past -8 to -2.4"),
        (2.41, 2.42, "+2.4"),
        (None, None, ""),
    ],
)
def test_an_interval_that_runs_beyond_the_levels_says_past(
    planted: ModuleType, low: float | None, high: float | None, says: str
) -> None:
    curve = planted.along_x(planted.bell(0, 5))
    assert end_words(curve, Estimate(2.6, low, high, 0.0, 0.0, "bootstrap")) == says


def test_light_is_laid_out_by_ratio(planted: ModuleType) -> None:
    """From 16 to 160 electrons is as far as from 160 to 1600."""
    levels = [16.0, 160.0, 1600.0, 16000.0]
    light = planted.curve("noise", "electrons", levels, lambda level: 0.9, nominal=16000.0)
    axis = lay_out(light)
    steps = [b - a for a, b in zip(axis.xs, axis.xs[1:], strict=False)]
    assert steps == pytest.approx([30.0] * 3, abs=0.01)
    assert axis.at(160.0) == pytest.approx(axis.xs[1], abs=0.01)
    even = lay_out(planted.curve("noise", "grey levels", [0.0, 1.0, 9.0], lambda level: 0.9))
    assert even.xs == (5.0, 15.0, 95.0)


@pytest.mark.parametrize("letter", ["\u05d0", "\u0627", "\u0661"])
def test_a_name_with_a_letter_or_figure_of_a_script_from_right_to_left_is_set_apart(
    letter: str,
) -> None:
    """Hebrew alef, Arabic alef, Arabic-Indic one: classes R, AL and AN of UAX #9."""
    assert isolated(f"plum {letter}") == f"\u2068plum {letter}\u2069"


@pytest.mark.parametrize(
    ("levels", "kept", "says"),
    [
        # Where nominal is the first level or the last, nothing is open on that side.
        ([0.0, 1.0, 2.0], Tolerance(0.9, 0.0, 0.0, True, False, (0.0,)), "0 px only"),
        ([-2.0, -1.0, 0.0], Tolerance(0.9, 0.0, 0.0, False, True, (0.0,)), "0 px only"),
        ([0.0, 1.0, 2.0], Tolerance(0.9, 0.0, 2.0, True, True, (0.0, 1.0, 2.0)), "0 to past 2 px"),
        # The last level is so near that it can't be told from nominal, and yet not the end.
        ([-1.0, 0.0, 0.04], Tolerance(0.9, 0.0, 0.04, False, True, (0.0,)), "0 to past 0 px"),
        ([-0.04, 0.0, 1.0], Tolerance(0.9, -0.04, 0.0, True, False, (0.0,)), "past 0 to 0 px"),
        ([-1.0, 0.0, 1.0], Tolerance(0.9, -1.0, 1.0, True, True, (0.0,)), "past -1 to past 1 px"),
    ],
)
def test_an_end_is_open_where_levels_ran_out_and_not_at_nominal(
    planted: ModuleType, levels: list[float], kept: Tolerance, says: str
) -> None:
    made = planted.curve("blur", "px", levels, lambda level: 0.97)
    assert range_words(made, kept).replace("+", "") == says
