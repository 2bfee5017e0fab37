"""Beside a finding stands the picture that proves it, with what was said to it."""

from __future__ import annotations

import re
from dataclasses import replace
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from gen.report import finding as kinds
from gen.report.album import Album
from gen.report.finding import Finding
from gen.report.findings import find
from gen.report.page import as_html
from gen.report.proof import proof
from gen.report.run import RunInfo
from gen.report.shown import Picture, Said, Shown
from gen.report.values import requirement_values
from tests.report.page_reader import Page

NOTHING_TO_SEE = {
    kinds.FAILED, kinds.UNSTEADY, kinds.BATCH, kinds.FEW, kinds.UNTRIED,
}  # fmt: skip


def seen(evaluation: Any, kind: str, shown: Shown) -> list[tuple[str, str]]:
    """Under each picture of the proof: where it is from, and what was read."""
    album = Album()
    (finding,) = [each for each in find(evaluation) if each.kind == kind]
    return captions(proof(finding, evaluation, shown, album))


def captions(markup: str) -> list[tuple[str, str]]:
    pictured = re.sub('<figure class="reliable">.*?</figure>', "", markup)
    assert len(re.findall("<img", pictured)) == len(re.findall("<figure", pictured))
    found = re.findall(
        r"<figcaption>(.*?)(?:<span class=\"(?:wrong|right)\">(.*?)</span>)?"
        r"(?:<small>(.*?)</small>)?</figcaption>",
        pictured,
    )
    return [
        (where.replace("\u00a0", " "), ", ".join(filter(None, (says, sure))).replace("\u00a0", " "))
        for where, says, sure in found
    ]


def test_a_peak_is_proved_by_a_mark_that_only_the_peak_reads(planted: ModuleType) -> None:
    made = planted.slipped()
    shown = planted.shown(made)
    (peak,) = [each for each in find(made) if each.kind == kinds.PEAK]
    image = shown.sweeps[0].followed[0].images[0]
    gained = Picture(
        5, "3", image, Said("3", 0.9, True), np.flipud(image).copy(), Said("5", 0.99, False)
    )
    sweeps = (replace(shown.sweeps[0], gained=(gained,)), *shown.sweeps[1:])
    told = captions(proof(peak, made, replace(shown, sweeps=sweeps), Album()))
    assert told == [("nominal", "read as \u201c5\u201d"), ("+4 px", "read rightly")]
    told = captions(proof(peak, made, shown, Album()))
    assert [where for where, _ in told] == ["nominal", "+4 px"]  # of a glyph that is followed


@pytest.mark.parametrize(("kind", "where"), [
    (kinds.MISSED, ["nominal", "\u22122 px"]),
    (kinds.STRANGERS, ["90.0 % named", "40.0 % named"]),
    (kinds.SURE, ["\u22125 px"]),
    (kinds.TOGETHER, ["nominal", "+20 deg, 1 px"]),
    (kinds.HIDDEN_BLUR, ["nominal", "+10 deg"]),
    (kinds.INK, ["nominal", "\u22128 px"]),
])  # fmt: skip
def test_a_finding_about_a_place_shows_a_mark_at_nominal_and_there(
    planted: ModuleType, kind: str, where: list[str]
) -> None:
    made = planted.thorough()
    assert [place for place, _ in seen(made, kind, planted.shown(made))] == where


def test_a_finding_about_a_class_shows_a_misread_mark_of_it(planted: ModuleType) -> None:
    made = planted.thorough()
    (told,) = [each for each in find(made) if each.kind == kinds.FIRST]
    markup = proof(told, made, planted.shown(made), Album())
    assert "\u201c4\u201d read as" in markup
    alts = [str(a["alt"]) for tag, a in Page(markup).tags if tag == "img"]
    assert all(alt.startswith("\u201c4\u201d") for alt in alts)


def test_of_a_pair_nothing_is_shown_but_that_pair(planted: ModuleType) -> None:
    """The planted pictures have "4" read as "5", and the pair is "4" as "9"."""
    made = planted.thorough()
    shown = planted.shown(made)
    assert seen(made, kinds.CONFUSED, shown) == []
    fitting = tuple(
        replace(each, true="4", said=Said("9", 0.5, False)) for each in shown.sweeps[0].misread[2]
    )
    one = shown.sweeps[0]
    misread = (*one.misread[:2], fitting, *one.misread[3:])
    sweeps = (replace(one, misread=misread), *shown.sweeps[1:])
    told = seen(made, kinds.CONFUSED, replace(shown, sweeps=sweeps))
    assert told == [("nominal", ""), ("\u22126 px", "read as \u201c9\u201d")]


def test_where_nothing_is_misread_at_a_level_a_glyph_that_is_followed_is_shown(
    planted: ModuleType,
) -> None:
    """The planted pictures have nothing misread at the last level."""
    made = planted.slipped()
    shown = planted.shown(made)
    last = made.curves[0].points[-1].level
    found = Finding(kinds.NARROW, "", {"steps": [{"curve": 0, "level": last}]})
    spoken = shown.sweeps[0].followed[0].said
    assert [said.right for said in (spoken[8], spoken[-1])] == [True, True]
    told = captions(proof(found, made, shown, Album()))
    assert told == [("nominal", "read rightly"), (f"+{last:g} px", "read rightly")]


def test_a_weak_class_shows_marks_of_it_that_are_misread_at_nominal(planted: ModuleType) -> None:
    made = planted.slipped()
    shown = planted.shown(made)
    found = Finding(kinds.CLASS, "", {"classes": [{"class": "4"}, {"class": "6"}]})
    told = captions(proof(found, made, shown, Album()))
    assert [where for where, _ in told] == ["\u201c4\u201d", "\u201c6\u201d"]


def test_a_forecast_shows_one_that_is_misread_as_it_may_come_if_any_is(
    planted: ModuleType,
) -> None:
    made = planted.thorough()
    shown = planted.shown(made)
    (blend,) = shown.blends
    found = Finding(kinds.FORECAST, "", {"blends": [{"blend": 0}]})
    assert proof(found, made, shown, Album()) == ""
    wrong = replace(blend.drawn[3], said=Said("7", 0.6, False))
    drawn = (*blend.drawn[:3], wrong, *blend.drawn[4:])
    some = replace(shown, blends=(replace(blend, drawn=drawn),))
    told = captions(proof(found, made, some, Album()))
    assert told == [("nominal", ""), ("as it may come", "read as \u201c7\u201d")]


def test_of_marks_of_no_class_no_kind_is_shown_that_is_never_named(planted: ModuleType) -> None:
    made = planted.thorough()
    none = [replace(marks, named=planted.share(0, marks.named.n)) for marks in made.foreign[1:]]
    few = replace(made, foreign=(made.foreign[0], *none))
    found = Finding(kinds.STRANGERS, "", {})
    told = captions(proof(found, few, planted.shown(few), Album()))
    assert [where for where, _ in told] == [f"{100 * made.foreign[0].named.value:.1f} % named"]


def test_surely_misread_marks_are_shown_with_how_sure_the_model_was(planted: ModuleType) -> None:
    made = planted.thorough()
    told = seen(made, kinds.SURE, planted.shown(made))
    assert told[-1] == ("\u22125 px", "read as \u201c4\u201d, 62.5 % sure")


def test_of_surely_misread_marks_the_surest_is_shown(planted: ModuleType) -> None:
    made = planted.slipped()
    shown = planted.shown(made)
    level = made.curves[0].points[2].level
    wrong = [
        replace(picture, said=Said("7", sure, False))
        for picture, sure in zip(shown.sweeps[0].misread[2], (0.91, 0.99, 0.95), strict=False)
    ]
    misread = (*shown.sweeps[0].misread[:2], tuple(wrong), *shown.sweeps[0].misread[3:])
    sweeps = (replace(shown.sweeps[0], misread=misread), *shown.sweeps[1:])
    found = Finding(kinds.SURE, "", {"begins": [{"curve": 0, "level": level}]})
    told = captions(proof(found, made, replace(shown, sweeps=sweeps), Album()))
    assert told[-1][1] == "read as \u201c7\u201d, 99.0 % sure"


def test_what_is_under_the_floor_at_nominal_shows_what_is_misread_there(
    planted: ModuleType,
) -> None:
    made = planted.slipped()
    told = seen(made, kinds.UNDER, planted.shown(made))
    assert told == [
        ("\u201c2\u201d", "read as \u201c3\u201d"), ("\u201c3\u201d", "read as \u201c4\u201d")
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["healthy", "slipped", "fragile", "thorough", "few", "guessing"])
def test_without_pictures_no_finding_has_a_proof_and_some_never_have(
    planted: ModuleType, name: str
) -> None:
    made = getattr(planted, name)()
    for each in find(made):
        bare = replace(Shown(), strangers=())
        drawn = proof(each, made, bare, Album())
        assert captions(drawn) == []
        assert ("<svg" in drawn) == (each.kind == kinds.SURE)
        if each.kind in NOTHING_TO_SEE:
            assert proof(each, made, planted.shown(made), Album()) == ""


def test_a_requirement_is_proved_by_the_level_that_does_worst(planted: ModuleType) -> None:
    made = planted.thorough()
    shown = planted.shown(made)
    part = requirement_values(made.requirements[0])

    def told(**changes: object) -> list[tuple[str, str]]:
        found = Finding(kinds.MISSED, "", {"missed": [{**part, **changes}]})
        return captions(proof(found, made, shown, Album()))

    assert part["curve"] == 0
    assert [where for where, _ in told()] == ["nominal", "\u22122 px"]
    # Of two sweeps with one title it is the one that was judged.
    assert [where for where, _ in told(curve=1, level=3.0)] == ["nominal", "+3 px"]
    # What is required of nominal itself shows what is misread there.
    assert [says for _, says in told(curve=None, level="nominal")] == [
        "read as \u201c1\u201d", "read as \u201c2\u201d"
    ]  # fmt: skip
    assert told(curve=None, level=None) == []
    wrong = replace(shown.blends[0].drawn[0], said=Said("7", 0.6, False))
    shown = replace(shown, blends=(replace(shown.blends[0], drawn=(wrong,)),))
    assert told(curve=None, blend=0, level=None) == [
        ("nominal", ""), ("as it may come", "read as \u201c7\u201d")
    ]  # fmt: skip
    without = Finding(kinds.MISSED, "", {"missed": [part]})
    assert captions(proof(without, made, replace(shown, sweeps=()), Album())) == []


def test_a_requirement_that_is_kept_shows_a_mark_that_is_read_at_its_worst_level(
    planted: ModuleType,
) -> None:
    made = planted.thorough()
    shown = planted.shown(made)
    part = {**requirement_values(made.requirements[1]), "level": 3.0}
    found = Finding(kinds.KEPT, "", {"kept": [part]})
    assert captions(proof(found, made, everywhere(shown, False), Album())) == []
    assert captions(proof(found, made, everywhere(shown, True), Album())) == [
        ("at 0 px along x", "read rightly"), ("at +3 px along x (right)", "read rightly")
    ]  # fmt: skip


# Where nothing is wrong


def everywhere(shown: Shown, right: bool) -> Shown:
    """The same where every glyph that is followed is read rightly everywhere, or nowhere."""

    def told(sweep: Any) -> Any:
        followed = tuple(
            replace(one, said=tuple(replace(said, right=right) for said in one.said))
            for one in sweep.followed
        )
        return replace(sweep, followed=followed)

    return replace(shown, sweeps=tuple(told(sweep) for sweep in shown.sweeps))


def test_that_nothing_is_wrong_is_shown_by_a_mark_at_both_ends_of_what_is_kept(
    planted: ModuleType,
) -> None:
    made = planted.healthy()
    kept = made.curves[0].tolerance.levels
    assert (min(kept), max(kept)) == (-2.0, 2.0)
    assert seen(made, kinds.NOTHING, everywhere(planted.shown(made), True)) == [
        ("at \u22122 px along x (left)", "read rightly"),
        ("at +2 px along x (right)", "read rightly"),
    ]


def test_a_mark_that_is_misread_at_an_end_is_no_proof_that_nothing_is_wrong(
    planted: ModuleType,
) -> None:
    made = planted.healthy()
    assert seen(made, kinds.NOTHING, everywhere(planted.shown(made), False)) == []


def test_a_mark_that_is_read_at_one_end_only_gives_way_to_one_that_is_read_at_both(
    planted: ModuleType,
) -> None:
    made = planted.healthy()
    shown = everywhere(planted.shown(made), True)
    one = shown.sweeps[0].followed[0]
    low = planted.PX.index(-2.0)
    said = tuple(replace(each, right=i != low) for i, each in enumerate(one.said))
    followed = (replace(one, said=said), *shown.sweeps[0].followed[1:])
    sweeps = (replace(shown.sweeps[0], followed=followed), *shown.sweeps[1:])
    (nothing,) = [each for each in find(made) if each.kind == kinds.NOTHING]
    markup = proof(nothing, made, replace(shown, sweeps=sweeps), Album())
    alts = re.findall(r'alt="([^"]*)"', markup)
    assert alts == ["\u201c9\u201d read rightly"] * 2  # the second that is followed
    assert "at \u22122\u00a0px along x" in markup


def test_the_reason_why_nothing_is_wrong_stands_under_its_headline(planted: ModuleType) -> None:
    made = planted.healthy()
    text = as_html(made, find(made), RunInfo())
    assert (
        '<p class="says">At nominal nothing wrong was found: <span class="why">accuracy keeps to '
        "the floor of 90\u00a0%, and no sweep peaks clearly anywhere else.</span></p>"
    ) in text


def test_the_first_sweep_that_keeps_the_floor_on_both_sides_goes_before_one_with_one_side(
    planted: ModuleType,
) -> None:
    made = planted.healthy()
    blur, across = made.curves[4], made.curves[0]
    swapped = replace(made, curves=(made.curves[7], blur, across))  # a fault of a file in front
    told = seen(swapped, kinds.NOTHING, everywhere(planted.shown(swapped), True))
    assert [where for where, _ in told] == [
        "at \u22122 px along x (left)", "at +2 px along x (right)"
    ]  # fmt: skip
    alone = replace(made, curves=(blur,))
    assert seen(alone, kinds.NOTHING, everywhere(planted.shown(alone), True)) == [
        ("at a blur of 1 px", "read rightly")
    ]


def test_what_holds_everywhere_shows_a_mark_at_the_level_that_does_worst(
    planted: ModuleType,
) -> None:
    made = planted.evaluation(
        planted.along_x(lambda level: 0.97),
        planted.curve("blur", "px", [0.0, 1.0, 2.0], lambda level: 0.97 - 0.01 * float(level)),
    )
    assert seen(made, kinds.HOLDS, everywhere(planted.shown(made), True)) == [
        ("at a blur of 0 px", "read rightly"), ("at a blur of 2 px", "read rightly")
    ]  # fmt: skip


# How sure it is


def test_that_a_model_is_surer_than_right_is_drawn_where_it_begins(planted: ModuleType) -> None:
    made = planted.thorough()
    (finding,) = [each for each in find(made) if each.kind == kinds.SURE]
    begins = finding.evidence["begins"][0]
    point = next(p for p in made.curves[0].points if p.level == begins["level"])
    markup = proof(finding, made, planted.shown(made), Album())
    (label,) = re.findall(r'role="img" aria-label="([^"]*)"', markup)
    for each in point.calibration.bins:
        told = (
            f"{100 * each.accuracy.value:.1f} % right of {each.n} at {100 * each.confidence:.1f} %"
        )
        assert told in label.replace("\u00a0", " ")
    assert '<a href="#confidence">' in markup
    # What is beside the sentence in a picture stands further down in figures.
    text = as_html(made, find(made), RunInfo(), planted.shown(made))
    assert "Reliability at \u22125\u00a0px along x (left)" in Page(text).tables


def test_a_model_that_gives_labels_only_has_no_drawing_of_confidence(planted: ModuleType) -> None:
    made = planted.thorough()
    found = Finding(kinds.SURE, "", {"begins": [{"curve": None}]})
    none = replace(made, baseline=replace(made.baseline, calibration=None))
    assert "<svg" in proof(found, made, Shown(), Album())
    assert proof(found, none, Shown(), Album()) == ""
