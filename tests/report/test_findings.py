"""Findings: each planted fault is told, and its sound counterpart is not."""

from __future__ import annotations

import re
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from gen.perturb import PERTURBATIONS
from gen.report.figures import figures
from gen.report.finding import (
    ALSO,
    BATCH,
    CHANCE,
    CLASS,
    CONFUSED,
    FAILED,
    FEW,
    FIRST,
    FORECAST,
    HIDDEN_BLUR,
    HOLDS,
    INK,
    KEPT,
    KINDS,
    MISSED,
    NARROW,
    NOTHING,
    PEAK,
    SLIGHT,
    STRANGERS,
    SURE,
    TOGETHER,
    UNDER,
    UNSTEADY,
    Finding,
)
from gen.report.findings import find, verdict


def of(kind: str, evaluation: Any) -> list[Finding]:
    return [finding for finding in find(evaluation) if finding.kind == kind]


def kinds(evaluation: Any) -> list[str]:
    return [finding.kind for finding in find(evaluation)]


# Peaks


@pytest.mark.parametrize(
    ("k", "px", "bytes_", "when"),
    [
        (4, "+4 px along x (right)", "+4 bytes", "early"),
        (3, "+3 px along x (right)", "+3 bytes", "early"),
        (-2, "-2 px along x (left)", "-2 bytes", "late"),
    ],
)
def test_a_slip_is_told_once_and_names_both_explanations(
    planted: ModuleType, k: int, px: str, bytes_: str, when: str
) -> None:
    (told,) = of(PEAK, planted.slipped(k))
    assert px in told.says
    assert f"row slip of {bytes_}" in told.says
    assert when in told.says
    assert told.evidence["perturbation"] == "translation"
    assert told.evidence["level"] == k
    assert [same["perturbation"] for same in told.evidence["same_as"]] == ["row-slip"]
    assert told.evidence["same_as"][0]["level"] == k


def test_the_slip_leads_and_what_it_drags_along_is_one_further_sentence(
    planted: ModuleType,
) -> None:
    made = planted.slipped()
    found = find(made)
    assert found[0].kind == PEAK
    (also,) = of(ALSO, made)
    assert {peak["perturbation"] for peak in also.evidence["peaks"]} == {
        "rotation",
        "scale",
        "placement",
    }
    assert also.says.startswith("Also, ")
    assert "first, then look again" in also.says


def test_the_cause_comes_from_the_perturbation_itself(
    planted: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    slip = PERTURBATIONS["row-slip"]
    monkeypatch.setattr(type(slip), "cause", lambda self, level, **rest: f"told by it, {level:g}")
    (told,) = of(PEAK, planted.slipped())
    assert told.says.endswith(": told by it, 4.")
    assert told.evidence["cause"] == "told by it, 4"


def test_a_slip_the_other_way_is_not_the_same_as_the_translation(planted: ModuleType) -> None:
    levels = [float(k) for k in range(-8, 9)]
    made = planted.evaluation(
        planted.along_x(planted.bell(4, 4)),
        planted.curve("row-slip", "bytes", levels, planted.bell(-4, 4, top=0.8)),
    )
    (told,) = of(PEAK, made)
    assert told.evidence["same_as"] == []
    assert "row slip" not in told.says
    assert [p["perturbation"] for p in of(ALSO, made)[0].evidence["peaks"]] == ["row-slip"]


def test_half_a_turn_by_two_names_is_told_once(planted: ModuleType) -> None:
    turned = {-180.0: 0.96, -90.0: 0.2, 0.0: 0.4, 90.0: 0.2}
    made = planted.evaluation(
        planted.curve(
            "rotation", "deg", list(turned), lambda a: turned[a], options=(("about", "frame"),)
        ),
        planted.curve("half-turn", "times", [0.0, 1.0], lambda level: 0.96 if level else 0.4),
    )
    (told,) = of(PEAK, made)
    assert "and equally with a half turn" in told.says
    assert of(ALSO, made) == []


@pytest.mark.parametrize(
    ("angle", "quarters", "same"),
    [(90.0, 1.0, True), (-90.0, 3.0, True), (180.0, 2.0, True), (90.0, 3.0, False)],
)
def test_quarter_turns_are_rotations_by_another_name(
    planted: ModuleType, angle: float, quarters: float, same: bool
) -> None:
    """Both count anticlockwise, so that three quarters are 90 degrees clockwise."""
    made = planted.evaluation(
        planted.curve(
            "rotation", "deg", [-90.0, 0.0, 90.0, 180.0],
            lambda a: {angle: 0.96, 0.0: 0.4}.get(a, 0.2), options=(("about", "frame"),),
        ),
        planted.curve(
            "quarter-turns", "quarters", [0.0, 1.0, 2.0, 3.0],
            lambda q: {quarters: 0.96, 0.0: 0.4}.get(q, 0.2),
        ),
    )  # fmt: skip
    (told,) = of(PEAK, made)
    assert (len(told.evidence["same_as"]) == 1) is same
    assert ("and equally with" in told.says) is same


def test_a_turn_about_the_mark_is_not_a_turn_of_the_picture(planted: ModuleType) -> None:
    made = planted.evaluation(
        planted.curve(
            "rotation", "deg", [0.0, 180.0], lambda a: 0.96 if a else 0.4,
            options=(("about", "mark"),),
        ),
        planted.curve("half-turn", "times", [0.0, 1.0], lambda level: 0.96 if level else 0.4),
    )  # fmt: skip
    assert of(PEAK, made)[0].evidence["same_as"] == []


def test_of_peaks_as_high_as_each_other_the_simplest_leads(planted: ModuleType) -> None:
    rules = {"as drawn": 0.42, "right": 0.962}
    made = planted.evaluation(
        planted.curve("placement", "rule", list(rules), rules.get, nominal="as drawn"),
        planted.along_x(lambda level: planted.bell(4, 4)(level) if level else 0.42),
        base=0.42,
    )
    (told,) = of(PEAK, made)
    assert told.evidence["perturbation"] == "translation"


def test_a_rule_that_is_clearly_higher_leads(planted: ModuleType) -> None:
    rules = {"as drawn": 0.42, "box centred": 0.97}
    made = planted.evaluation(
        planted.along_x(lambda level: 0.6 if level == 2 else 0.42),
        planted.curve("placement", "rule", list(rules), rules.get, nominal="as drawn"),
    )
    (told,) = of(PEAK, made)
    assert "with placement \u201cbox centred\u201d" in told.says


def test_a_fault_of_scale_alone_is_told_with_its_own_cause(planted: ModuleType) -> None:
    made = planted.evaluation(
        planted.curve("scale", "ratio", [0.8, 1.0, 1.2], planted.bell(1.2, 0.25), nominal=1.0)
    )
    (told,) = of(PEAK, made)
    assert "peaks at 1.2 times the scale, not at nominal" in told.says
    assert PERTURBATIONS["scale"].cause(1.2, unit="ratio", options={}) in told.says


def test_a_peak_that_the_test_does_not_support_is_not_told(planted: ModuleType) -> None:
    curve = planted.along_x(planted.bell(4, 4))
    doubtful = replace(curve, peak=replace(curve.peak, off_nominal=False))
    assert of(PEAK, planted.evaluation(doubtful)) == []


@pytest.mark.parametrize(
    ("levels", "about", "range_"),
    [
        ((4, 4), "peaks at +4 px", ""),
        ((3, 5), "peaks at about +4 px", "; chance leaves the peak anywhere from +3 px to +5 px"),
    ],
)
def test_a_peak_that_chance_could_have_moved_is_told_as_about_there(
    planted: ModuleType, levels: tuple[float, ...], about: str, range_: str
) -> None:
    curve = planted.along_x(planted.bell(4, 4))
    made = planted.evaluation(replace(curve, peak=replace(curve.peak, levels=levels)))
    (told,) = of(PEAK, made)
    assert about in told.says
    assert figures(told, made).endswith(f"corrected for all levels tried){range_}")


@pytest.mark.parametrize(("gain", "kind"), [(0.015, SLIGHT), (0.035, PEAK)])
def test_a_gain_of_little_more_than_a_point_is_a_fact_and_no_fault(
    planted: ModuleType, gain: float, kind: str
) -> None:
    curve = planted.curve(
        "blur", "px", [0.0, 0.5, 1.0], lambda level: 0.95 + (gain if level == 0.5 else 0.0)
    )
    curve = replace(curve, peak=replace(curve.peak, off_nominal=True))
    made = planted.evaluation(curve)
    assert [k for k in kinds(made) if k in {PEAK, SLIGHT}] == [kind]


@pytest.mark.parametrize(("gain", "kind"), [(0.04, SLIGHT), (0.2, PEAK)])
def test_a_rule_that_helps_any_model_a_little_is_no_fault(
    planted: ModuleType, gain: float, kind: str
) -> None:
    rules = {"as drawn": 0.75, "box centred": 0.75 + gain}
    made = planted.evaluation(
        planted.curve("placement", "rule", list(rules), rules.get, nominal="as drawn")
    )
    assert [k for k in kinds(made) if k in {PEAK, SLIGHT}] == [kind]


@pytest.mark.parametrize(
    ("along", "level", "words"),
    [
        ("x", 3.0, "+3 px along x (right)"),
        ("x", -3.0, "-3 px along x (left)"),
        ("y", 2.0, "+2 px along y (down)"),
        ("y", -2.0, "-2 px along y (up)"),
    ],
)
def test_a_sign_is_told_as_a_direction(
    planted: ModuleType, along: str, level: float, words: str
) -> None:
    made = planted.evaluation(
        planted.curve(
            "translation", "px", planted.PX, planted.bell(level, 3), options=(("along", along),)
        )
    )
    assert words in of(PEAK, made)[0].says


@pytest.mark.parametrize(("level", "way"), [(20.0, "anticlockwise"), (-20.0, "clockwise")])
def test_a_positive_turn_is_anticlockwise(planted: ModuleType, level: float, way: str) -> None:
    angles = [float(a) for a in range(-40, 41, 10)]
    made = planted.evaluation(planted.curve("rotation", "deg", angles, planted.bell(level, 20)))
    assert f"{level:+g} deg of rotation ({way})" in of(PEAK, made)[0].says


# The baseline


def test_a_model_that_guesses_is_called_that_and_nothing_milder(planted: ModuleType) -> None:
    made = planted.evaluation(planted.along_x(lambda level: 0.105))
    assert "can't be told from a blind guess" in of(CHANCE, made)[0].says
    assert UNDER not in kinds(made)


def test_a_poor_model_is_not_called_a_guess(planted: ModuleType) -> None:
    made = planted.evaluation(planted.along_x(lambda level: 0.5))
    assert CHANCE not in kinds(made)
    assert "under the floor of 90 %" in of(UNDER, made)[0].says


def test_the_share_of_the_commonest_class_counts_as_chance(planted: ModuleType) -> None:
    made = planted.evaluation(planted.along_x(lambda level: 0.6))
    uneven = replace(made, counts=(600, *[44] * 8, 48))
    assert "always answers \u201c0\u201d" in of(CHANCE, uneven)[0].says
    assert CHANCE not in kinds(made)


def test_a_model_that_says_one_thing_only_is_found_out(planted: ModuleType) -> None:
    made = planted.evaluation(planted.along_x(lambda level: 0.1))
    stuck = replace(made, confusion=((0, 0, 0, 100, 0, 0, 0, 0, 0, 0),) * 10)
    assert "answers \u201c3\u201d nearly always" in of(CHANCE, stuck)[0].says
    assert "nearly always" not in of(CHANCE, made)[0].says


def test_fewer_right_than_by_guessing_points_at_the_names_of_classes(
    planted: ModuleType,
) -> None:
    made = planted.evaluation(planted.along_x(lambda level: 0.02))
    assert "worse than a blind guess" in of(CHANCE, made)[0].says


def test_under_the_floor_by_chance_is_told_as_such(planted: ModuleType) -> None:
    close = planted.evaluation(planted.along_x(lambda level: 0.89))
    far = planted.evaluation(planted.along_x(lambda level: 0.8))
    assert "no more than chance could explain" in of(UNDER, close)[0].says
    assert "no more than chance" not in of(UNDER, far)[0].says
    # The verdict says of each what the finding says.
    assert verdict(find(close)) == "Too close to the floor to tell"
    assert verdict(find(far)) == "Not safe to rely on"
    assert UNDER not in kinds(planted.healthy())


# Numbers of glyphs


@pytest.mark.parametrize(("n", "told"), [(29, True), (30, False)])
def test_under_thirty_glyphs_are_too_few(planted: ModuleType, n: int, told: bool) -> None:
    classes = ("row", "letter")
    made = planted.evaluation(
        planted.along_x(lambda level: 1.0, n=n, classes=classes), n=n, classes=classes
    )
    assert any("were scored" in f.says for f in of(FEW, made)) is told


@pytest.mark.parametrize(("count", "told"), [(4, True), (5, False)])
def test_under_five_glyphs_of_a_class_are_too_few(
    planted: ModuleType, count: int, told: bool
) -> None:
    made = planted.evaluation(planted.along_x(planted.bell(0, 5)))
    rare = replace(made, counts=(*made.counts[:-1], count))
    found = of(FEW, rare)
    assert bool(found) is told
    if told:
        assert "\u201c9\u201d" in found[0].says


# Room to move


def test_a_model_that_fails_at_the_first_step_each_side_is_fragile(planted: ModuleType) -> None:
    (told,) = of(NARROW, planted.evaluation(planted.along_x(planted.bell(0, 0.9))))
    assert "at -1 px along x (left) and at +1 px along x (right)" in told.says
    assert told.curve == 0


def test_good_news_that_leads_says_whether_other_news_follows(planted: ModuleType) -> None:
    (alone,) = of(NOTHING, planted.healthy())
    first, *_ = find(planted.evaluation(planted.along_x(planted.bell(0, 0.9))))
    assert first.kind == NOTHING
    assert first.says.endswith("; but see the findings below.")
    assert "below" not in alone.says


def test_the_figures_of_too_little_room_say_of_which_step_they_are(planted: ModuleType) -> None:
    bell = planted.bell(0, 0.9)
    sides = [-2.0, -1.0, 0.0, 1.0, 2.0]
    made = planted.evaluation(
        planted.along_x(bell),
        planted.curve("rotation", "deg", sides, bell, options=(("about", "frame"),)),
        planted.curve("slant", "deg", sides, bell),
    )
    (told,) = of(NARROW, made)
    under = figures(told, made)
    assert under.startswith("at -1 px along x (left): ")
    assert "at +1 deg of rotation (anticlockwise): " in under
    assert under.endswith("; and 2 more")


@pytest.mark.parametrize("case", ["wide", "one side holds", "fault of a program", "under anyway"])
def test_room_on_either_side_is_not_fragile(planted: ModuleType, case: str) -> None:
    made = {
        "wide": planted.healthy,
        "one side holds": lambda: planted.evaluation(
            planted.along_x(lambda level: 0.95 if level in {0.0, 1.0} else 0.3)
        ),
        "fault of a program": lambda: planted.evaluation(
            planted.curve("row-slip", "bytes", [-1.0, 0.0, 1.0], planted.bell(0, 0.5))
        ),
        "under anyway": lambda: planted.evaluation(planted.along_x(planted.bell(0, 0.9, top=0.8))),
    }[case]()
    assert NARROW not in kinds(made)


def test_a_model_that_never_falls_is_said_to_hold(planted: ModuleType) -> None:
    made = planted.evaluation(
        planted.along_x(lambda level: 0.97),
        planted.curve("axis-swap", "times", [0.0, 1.0], lambda level: 0.2 if level else 0.97),
    )
    (told,) = of(HOLDS, made)
    assert "every level tried of translation along x." in told.says
    assert HOLDS not in kinds(planted.healthy())


def test_ink_that_left_the_frame_is_reported_with_its_levels(planted: ModuleType) -> None:
    (told,) = of(INK, planted.healthy())
    assert [level["level"] for level in told.evidence["levels"]] == [-8, -7, 7, 8]
    assert told.curves == (0,)


def test_ink_within_one_percent_is_not_worth_a_word(planted: ModuleType) -> None:
    made = planted.evaluation(planted.along_x(planted.bell(0, 5), lost=lambda level: 0.01))
    assert INK not in kinds(made)


# Classes and confidence


@pytest.mark.parametrize(("accuracy", "told"), [(0.4, True), (0.85, False)])
def test_a_class_much_worse_than_the_rest_is_named_with_what_it_is_taken_for(
    planted: ModuleType, accuracy: float, told: bool
) -> None:
    made = planted.evaluation(planted.along_x(planted.bell(0, 5)))
    base = planted.point("nominal", 0.93, class_accuracy={"4": accuracy})
    row = (0, 0, 0, 0, round(100 * accuracy), 2, 0, 0, 0, 98 - round(100 * accuracy))
    confusion = (*made.confusion[:4], row, *made.confusion[5:])
    found = of(CLASS, replace(made, baseline=base, confusion=confusion))
    assert bool(found) is told
    if told:
        assert found[0].says == (
            "\u201c4\u201d is read much worse than the other classes, mostly as \u201c9\u201d."
        )


def test_classes_are_not_blamed_for_a_slip(planted: ModuleType) -> None:
    made = planted.slipped()
    base = replace(
        made.baseline, per_class=planted.point("x", 0.5, class_accuracy={"4": 0}).per_class
    )
    assert CLASS not in kinds(replace(made, baseline=base))


@pytest.mark.parametrize(
    ("confidence", "accuracy", "told"),
    [(0.95, 0.95, True), (0.85, 0.95, False), (0.95, 0.991, False), (None, 0.95, False)],
)
def test_wrong_answers_given_surely_are_reported(
    planted: ModuleType, confidence: float | None, accuracy: float, told: bool
) -> None:
    made = planted.evaluation(planted.along_x(lambda level: accuracy))
    base = planted.point("nominal", accuracy, wrong_confidence=confidence)
    found = of(SURE, replace(made, baseline=base))
    assert bool(found) is told
    if told:
        assert found[0].says.startswith("The wrong answers at nominal")


def test_sureness_away_from_nominal_counts_for_marks_but_not_for_faults_of_programs(
    planted: ModuleType,
) -> None:
    moved = planted.evaluation(planted.along_x(planted.bell(0, 5), wrong_confidence=0.96))
    assert "translation along x" in of(SURE, moved)[0].says
    swapped = planted.curve(
        "axis-swap", "times", [0.0, 1.0], lambda v: 0.2 if v else 0.97, wrong_confidence=0.96
    )
    assert SURE not in kinds(planted.evaluation(swapped))


def confident(planted: ModuleType, curve: Any, confidence: float) -> Any:
    return planted.evaluation(planted.sure_of(curve, lambda p: confidence))


def test_confidence_that_stays_while_accuracy_falls_is_told_with_where_it_begins(
    planted: ModuleType,
) -> None:
    levels = {-2.0: 0.3, -1.0: 0.5, 0.0: 0.95, 1.0: 0.9, 2.0: 0.6}
    curve = planted.curve(
        "translation", "px", list(levels), lambda k: levels[k], options=(("along", "x"),)
    )
    (told,) = of(SURE, confident(planted, curve, 0.92))
    assert told.says == (
        "As marks stray the model stays sure while its accuracy falls: this begins "
        "at -1 px along x (left) and at +2 px along x (right)."
    )
    assert [level["level"] for level in told.evidence["levels"]] == [-2, -1, 2]
    assert told.evidence["levels"][0]["overconfidence"] == pytest.approx(0.62)
    assert SURE not in kinds(confident(planted, curve, 0.7))  # in doubt, as it should be


@pytest.mark.parametrize(("confidence", "told"), [(0.99, True), (0.93, False)])
def test_a_model_surer_than_right_at_nominal_is_told(
    planted: ModuleType, confidence: float, told: bool
) -> None:
    made = planted.evaluation(planted.along_x(lambda level: 0.91))
    base = replace(made.baseline, calibration=planted.calibration(0.91, confidence))
    found = of(SURE, replace(made, baseline=base))
    assert bool(found) is told
    if told:
        assert found[0].says.startswith("At nominal the model is surer than it is right")


def test_a_class_that_breaks_while_the_others_hold_is_named_with_its_level(
    planted: ModuleType,
) -> None:
    from gen.evaluate.results import FirstClass

    sound = planted.along_x(planted.bell(0, 6))

    def broken(accuracy: dict[float, float]) -> Any:
        first = FirstClass("4", min(accuracy), planted.share(80, 100))
        curve = planted.with_class(sound, "4", accuracy)
        return planted.evaluation(planted.summed_up(curve, first_class=first))

    # It is a little under the floor at first, and then far below the others.
    (told,) = of(FIRST, broken({1.0: 0.85, 2.0: 0.61, 3.0: 0.3}))
    assert told.says == (
        "One class breaks well before the others, which still keep to the floor there: "
        "\u201c4\u201d at +2 px along x (right)."
    )
    assert told.evidence["sweeps"][0]["correct"] == 61
    assert told.evidence["sweeps"][0]["others"] > 0.9
    assert told.curves == (0,)
    # With the others, or hardly before them, it is no news.
    assert FIRST not in kinds(broken({8.0: 0.01}))
    assert FIRST not in kinds(broken({2.0: 0.85}))


def test_the_pair_most_confused_is_told_once_for_all_sweeps_and_is_no_fault(
    planted: ModuleType,
) -> None:
    from gen.evaluate.results import Confused

    pair = Confused("4", "9", 4.0, planted.share(33, 100))
    along_x = planted.summed_up(planted.along_x(planted.bell(0, 5)), confused=pair)
    blur = planted.curve("blur", "px", [0.0, 1.0, 2.0], planted.bell(0, 2.4))
    blurred = planted.summed_up(blur, confused=replace(pair, level=2.0))
    made = planted.evaluation(along_x, blurred)
    (told,) = of(CONFUSED, made)
    assert told.says == (
        "As marks stray, what is confused most is \u201c4\u201d read as \u201c9\u201d, first "
        "at +4 px along x (right) and at a blur of 2 px."
    )
    assert verdict(find(made)) == "Nothing found against relying on it"
    rare = replace(pair, share=planted.share(2, 100))
    assert CONFUSED not in kinds(
        planted.evaluation(replace(along_x, summary=replace(along_x.summary, confused=rare)))
    )


# What was required, and whether the figures can be trusted


def test_a_missed_requirement_comes_first_and_decides(planted: ModuleType) -> None:
    made = replace(planted.healthy(), requirements=(planted.judged(False), planted.judged(True)))
    found = find(made)
    assert found[0].kind == MISSED
    assert found[0].says.startswith("A requirement is missed: ")
    assert "translation along x from -2 to 2 px keeps 95 %" in found[0].says
    assert found[0].evidence["missed"][0]["judged_on"] == "lower end"
    assert verdict(found) == "Misses what was required"
    assert KEPT not in kinds(made)


def test_requirements_that_are_kept_are_said_to_be(planted: ModuleType) -> None:
    made = replace(planted.healthy(), requirements=(planted.judged(True),))
    (told,) = of(KEPT, made)
    assert told.says.startswith("The requirement is kept: ")
    for kept in (True, False):
        two = replace(made, requirements=(planted.judged(kept),) * 2)
        three = replace(made, requirements=(planted.judged(kept),) * 3)
        outcome = "kept" if kept else "missed"
        (of_two,) = of(KEPT if kept else MISSED, two)
        (of_three,) = of(KEPT if kept else MISSED, three)
        assert of_two.says.startswith(f"Both requirements are {outcome}: ")
        assert of_three.says.startswith(f"All 3 requirements are {outcome}: ")
    assert verdict(find(made)) == "Nothing found against relying on it"


def test_a_missed_requirement_comes_before_a_peak(planted: ModuleType) -> None:
    made = replace(planted.slipped(), requirements=(planted.judged(False),))
    assert kinds(made)[:2] == [MISSED, PEAK]
    assert verdict(find(made)) == "Not safe to rely on"


def test_cells_that_failed_are_named_with_the_reason(planted: ModuleType) -> None:
    from gen.evaluate.results import FailedCell

    cells = tuple(FailedCell(f"cell {k}", "ValueError: too dark") for k in range(6))
    (told,) = of(FAILED, replace(planted.healthy(), failed=cells))
    assert "6 cells" in told.says
    assert "and 2 more: ValueError: too dark;" in told.says
    assert len(told.evidence["cells"]) == 6
    made = replace(planted.healthy(), failed=cells)
    assert verdict(find(made)) == "Fails on some of what it was shown"


def test_a_long_reason_is_cut_in_the_sentence_and_whole_in_the_evidence(
    planted: ModuleType,
) -> None:
    from gen.evaluate.results import FailedCell

    long = "ValueError: " + "too dark " * 90
    cells = (FailedCell("a", long), FailedCell("b", "KeyError: 7"))
    (told,) = of(FAILED, replace(planted.healthy(), failed=cells))
    assert len(told.says) < 300
    assert "too dark \u2026 (and 1 other reason); they are" in told.says
    assert told.evidence["cells"][0]["why"] == long


@pytest.mark.parametrize(
    ("again", "alone", "elsewhere", "kind"),
    [(3, 3, 3, UNSTEADY), (0, 2, 0, BATCH), (0, 0, 1, BATCH), (0, 0, 0, None)],
)
def test_answers_that_change_when_asked_otherwise_are_told(
    planted: ModuleType, again: int, alone: int, elsewhere: int, kind: str | None
) -> None:
    from gen.evaluate.results import Behaviour

    made = replace(planted.healthy(), behaviour=Behaviour(64, again, alone, elsewhere, 0.2))
    assert [k for k in kinds(made) if k in {UNSTEADY, BATCH}] == ([kind] if kind else [])
    if kind:
        assert verdict(find(made)) == "Rely on it with care"


# Marks of no class


def test_marks_of_no_class_that_are_surely_named_are_listed(planted: ModuleType) -> None:
    made = replace(planted.healthy(), foreign=planted.strangers(), declining=planted.declining())
    (told,) = of(STRANGERS, made)
    assert "blank paper, scribbles" not in told.says
    assert "blank paper, noise, two marks at once and characters that it doesn't know" in told.says
    assert "should decline" in told.says
    assert told.says.startswith("The model is sure of a class for ")
    assert figures(told, made).startswith("named with a confidence of 90 % or more: blank paper ")
    assert told.evidence["declining"]["threshold"] == 0.87


def test_a_model_in_doubt_about_strangers_is_not_blamed(planted: ModuleType) -> None:
    made = replace(planted.healthy(), foreign=planted.strangers((0.0, 0.02, 0.03, 0.01, 0.05)))
    assert STRANGERS not in kinds(made)


def test_a_model_that_gives_labels_only_is_said_to_be_unable_to_decline(
    planted: ModuleType,
) -> None:
    made = replace(planted.healthy(), answers="labels", foreign=planted.strangers(labels=True))
    (told,) = of(STRANGERS, made)
    assert "can't decline" in told.says
    assert STRANGERS not in kinds(replace(made, foreign=()))


# Several changes at once


@pytest.mark.parametrize(("accuracy", "told"), [(0.82, True), (0.93, False)])
def test_a_forecast_under_the_floor_names_what_costs_most(
    planted: ModuleType, accuracy: float, told: bool
) -> None:
    found = of(FORECAST, replace(planted.healthy(), blends=(planted.depot_camera(accuracy),)))
    assert bool(found) is told
    if told:
        assert "\u201cDepot camera\u201d (blur costs most)" in found[0].says
        assert "no more than chance" not in found[0].says


def test_a_forecast_a_little_under_the_floor_may_be_chance(planted: ModuleType) -> None:
    made = replace(planted.healthy(), blends=(planted.depot_camera(0.895),))
    assert "no more than chance" in of(FORECAST, made)[0].says


def test_changes_that_cost_more_together_than_added_up_are_told(planted: ModuleType) -> None:
    made = replace(planted.healthy(), grids=(planted.thorough().grids[0],))
    (told,) = of(TOGETHER, made)
    assert "rotation and blur" in told.says
    (found,) = told.evidence["grids"]
    assert found["more"] == pytest.approx(0.25, abs=0.002)
    assert 0.05 < found["more_low"] < found["more"]


@pytest.mark.parametrize("case", ["adds up", "less than added up", "no nominal row", "failed"])
def test_changes_that_only_add_up_are_no_finding(planted: ModuleType, case: str) -> None:
    added = planted.crossed(lambda a, b: 0.97 - a / 100 - b / 10)
    brittle = planted.thorough().grids[0]
    grid = {
        "adds up": added,
        "less than added up": planted.crossed(lambda a, b: max(0.97 - a / 40 - b / 3, 0.4)),
        "no nominal row": replace(
            brittle, down=replace(brittle.down, levels=brittle.down.levels[1:]),
            points=brittle.points[1:],
        ),
        "failed": replace(brittle, points=((None,) * 4, *brittle.points[1:])),
    }[case]  # fmt: skip
    assert TOGETHER not in kinds(replace(planted.healthy(), grids=(grid,)))


def test_blur_of_resampling_is_a_fact_with_its_levels(planted: ModuleType) -> None:
    made = planted.thorough()
    (told,) = of(HIDDEN_BLUR, made)
    assert "of rotation resampling blurs" in told.says
    assert [level["level"] for level in told.evidence["levels"]] == [10, -10]
    assert told.curves == (2,)
    assert figures(told, made).startswith("2 levels; most at ")
    one = replace(told, evidence={"levels": told.evidence["levels"][:1]})
    assert figures(one, made).startswith("1 level; most at ")


def test_too_few_glyphs_are_told_with_how_much_is_open(planted: ModuleType) -> None:
    (told,) = of(FEW, planted.few())
    assert told.evidence["width"] == pytest.approx(told.evidence["high"] - told.evidence["low"])
    assert figures(told, planted.few()) == (
        "95.8 % (79.8 to 99.3 %): the true accuracy may be 16 points lower or 3 points higher"
    )


# All together


def test_there_is_at_most_one_finding_of_a_kind(planted: ModuleType) -> None:
    made = planted.thorough()
    fragile = planted.evaluation(*[planted.along_x(planted.bell(0, 0.9))] * 3)
    for each in (made, fragile, planted.slipped()):
        assert len(kinds(each)) == len(set(kinds(each)))
    assert len(of(NARROW, fragile)[0].curves) == 3


def test_every_kind_of_fault_is_told_in_its_order(planted: ModuleType) -> None:
    assert kinds(planted.thorough()) == [
        MISSED, FAILED, BATCH, FORECAST, SURE, STRANGERS, FIRST, TOGETHER, CONFUSED, HIDDEN_BLUR,
        INK,
    ]  # fmt: skip


def test_every_finding_but_plain_facts_has_its_figures(planted: ModuleType) -> None:
    made = planted.thorough()
    for finding in find(made):
        assert bool(figures(finding, made)) is (finding.kind != FAILED)


def test_a_sound_model_has_nothing_wrong(planted: ModuleType) -> None:
    assert kinds(planted.healthy()) == [NOTHING, INK]


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("healthy", "Nothing found against relying on it"),
        ("slipped", "Not safe to rely on"),
        ("fragile", "Rely on it with care"),
        ("few", "Too few glyphs to tell"),
    ],
)
def test_the_verdict_follows_from_the_findings(planted: ModuleType, name: str, says: str) -> None:
    assert verdict(find(getattr(planted, name)())) == says


@pytest.mark.parametrize("name", ["healthy", "slipped", "fragile", "few", "guessing", "thorough"])
def test_sentences_hold_no_measured_figures(planted: ModuleType, name: str) -> None:
    made = getattr(planted, name)()
    for finding in find(made):
        assert finding.kind in KINDS
        assert finding.says.endswith(".")
        assert set(re.findall(r"[\d.]+ %", finding.says)) <= {"90 %", "1 %", "95 %"}


@pytest.mark.parametrize("name", ["healthy", "slipped", "fragile", "guessing"])
def test_sentences_do_not_change_with_a_few_glyphs_read_otherwise(
    planted: ModuleType, name: str
) -> None:
    made = getattr(planted, name)()

    def jitter(curve: Any, by: int) -> Any:
        points = tuple(
            replace(
                p, accuracy=planted.share(min(p.accuracy.n, p.accuracy.correct + by), p.accuracy.n)
            )
            for p in curve.points
        )
        return replace(curve, points=points)

    for by in (-2, 2):
        other = replace(made, curves=tuple(jitter(curve, by) for curve in made.curves))
        assert [f.says for f in find(other)] == [f.says for f in find(made)]
