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
from gen.report.proof import proof
from gen.report.shown import Picture, Said, Shown
from tests.report.page_reader import Page

NOTHING_TO_SEE = {
    kinds.FAILED, kinds.UNSTEADY, kinds.BATCH, kinds.FEW, kinds.NOTHING, kinds.UNTRIED,
    kinds.KEPT, kinds.HOLDS,
}  # fmt: skip


def seen(evaluation: Any, kind: str, shown: Shown) -> list[tuple[str, str]]:
    """Under each picture of the proof: where it is from, and what was read."""
    album = Album()
    (finding,) = [each for each in find(evaluation) if each.kind == kind]
    return captions(proof(finding, evaluation, shown, album))


def captions(markup: str) -> list[tuple[str, str]]:
    assert len(re.findall("<img", markup)) == len(re.findall("<figure", markup))
    found = re.findall(
        r"<figcaption>(.*?)(?:<span class=\"(?:wrong|right)\">(.*?)</span>)?</figcaption>", markup
    )
    return [(where.replace("\u00a0", " "), says) for where, says in found]


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
    (kinds.SURE, ["nominal", "\u22125 px"]),
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
        assert proof(each, made, bare, Album()) == ""
        if each.kind in NOTHING_TO_SEE:
            assert proof(each, made, planted.shown(made), Album()) == ""


def test_a_requirement_whose_sweep_is_not_known_for_sure_has_no_proof(planted: ModuleType) -> None:
    made = planted.thorough()
    twice = replace(made, curves=(made.curves[0], *made.curves))
    (missed,) = [each for each in find(twice) if each.kind == kinds.MISSED]
    assert proof(missed, twice, planted.shown(twice), Album()) == ""
    unknown = Finding(kinds.MISSED, "", {"missed": [{"says": "dust keeps 90 %", "level": 1.0}]})
    assert proof(unknown, made, planted.shown(made), Album()) == ""
