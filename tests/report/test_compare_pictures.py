"""Marks in a comparison: aligned with the levels, with what each model read, and as proof."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from gen.report.compare_make import Comparison, compare_reports
from gen.report.compare_pairs import nearest_first
from gen.report.compare_pictures import Pictured, better_in
from gen.report.pictures import data_uri
from tests.report.compare_support import CELLS, CLASSES, pictures, report_folder
from tests.report.page_reader import Page

N = 300
BLUR = ("nominal", CELLS[1], CELLS[2])


def right(**from_glyph: int) -> dict[str, NDArray[np.bool_]]:
    """In each cell the glyphs from some number on are read rightly; all where nothing is said."""
    short = dict(zip(("nominal", "b1", "b2", "box", "top"), CELLS, strict=True))
    return {cell: np.arange(N) >= from_glyph.get(key, 0) for key, cell in short.items()}


def compared(tmp_path: Path, *told: dict[str, NDArray[np.bool_]]) -> Comparison:
    folders = [
        report_folder(tmp_path / name, each, name=name, pictures=pictures(CELLS))
        for name, each in zip(("old", "new", "other"), told, strict=False)
    ]
    return compare_reports(folders, command="gen compare old new --into out")


def two(tmp_path: Path) -> Comparison:
    """The second loses glyphs 0 to 99 at a blur of 2 px, and the first 12 to 23 there."""
    first = right()
    first[CELLS[2]][12:24] = False
    return compared(tmp_path, first, right(b2=100))


def test_marks_that_part_two_models_are_read_by_the_one_and_not_by_the_other(
    tmp_path: Path,
) -> None:
    made = two(tmp_path)
    pictured = Pictured(made.models)
    found = pictured.parted(CELLS[2], 0, 1)
    assert sorted(mark.glyph for mark in found) == list(range(12))
    assert [mark.true for mark in found[:3]] == list(CLASSES), "a mark of each class comes first"
    for mark in found:
        assert mark.true == CLASSES[mark.glyph % 3]
        assert mark.answers == (mark.true, CLASSES[(mark.glyph + 1) % 3])
        np.testing.assert_array_equal(mark.image, pictures(CELLS)[CELLS[2], mark.glyph])
    assert pictured.parted(CELLS[2], 1, 0) == []
    assert pictured.parted(CELLS[1], 0, 1) == []


def test_the_mark_under_an_axis_shows_what_was_found(tmp_path: Path) -> None:
    made = two(tmp_path)
    strip = Pictured(made.models).through(made.compared, made.compared.sweeps[0].of.cells)
    assert [mark.cell for mark in strip] == list(BLUR)
    assert {mark.glyph for mark in strip} == {0}, "the first that the better one alone reads"
    assert [(mark.right(0), mark.right(1)) for mark in strip] == [
        (True, True), (True, True), (True, False),
    ]  # fmt: skip


def test_glyphs_without_a_picture_at_every_level_are_not_shown_under_an_axis(
    tmp_path: Path,
) -> None:
    kept = {place: image for place, image in pictures(CELLS).items() if place != (CELLS[1], 0)}
    folders = [
        report_folder(tmp_path / name, told, name=name, pictures=kept)
        for name, told in (("old", right()), ("new", right(b2=100)))
    ]
    made = compare_reports(folders)
    strip = Pictured(made.models).through(made.compared, made.compared.sweeps[0].of.cells)
    assert {mark.glyph for mark in strip} == {1}


def test_glyphs_that_are_not_compared_are_not_shown(tmp_path: Path) -> None:
    folders = [
        report_folder(
            tmp_path / name, right(b2=share), name=name, left_out=out, pictures=pictures(CELLS)
        )
        for name, share, out in (("old", 0, ()), ("new", 100, range(5)))
    ]
    marks = Pictured(compare_reports(folders).models).marks
    assert {glyph for held in marks.values() for glyph in held} == set(range(5, 24))


def test_where_one_model_failed_its_answer_is_missing(tmp_path: Path) -> None:
    folders = [
        report_folder(tmp_path / "old", right(), name="old", pictures=pictures(CELLS)),
        report_folder(tmp_path / "new", right(), name="new", failed=[CELLS[2]]),
    ]
    made = compare_reports(folders)
    mark = Pictured(made.models).marks[CELLS[2]][0]
    assert (mark.answers, mark.short(1)) == (("pear", None), "\u2013")
    assert Pictured(made.models).parted(CELLS[2], 0, 1) == []


def test_places_come_nearest_to_nominal_first_and_are_only_where_one_is_better(
    tmp_path: Path,
) -> None:
    made = compared(tmp_path, right(), right(b1=100, b2=100))
    assert [level for level, _ in nearest_first(made.compared.sweeps[0])] == [1.0, 2.0]
    assert better_in(made.compared, 0, 1) == {CELLS[1], CELLS[2]}
    assert better_in(made.compared, 1, 0) == set()


# On the page


def test_under_each_axis_stands_one_mark_at_its_levels_and_what_each_model_read(
    tmp_path: Path,
) -> None:
    made = two(tmp_path)
    page = made.as_html()
    chart = re.search(r'<svg class="chart line pictured several".*?</figure>', page)
    assert chart is not None
    uris = re.findall(r'<image data-picture="\d+" href="([^"]+)"', chart[0])
    assert uris == [data_uri(pictures(CELLS)[cell, 0]) for cell in BLUR]
    read = re.findall(r'<text class="read( said)?"[^>]*>([^<]*)</text>', chart[0])
    assert read == [("", "pear")] * 5 + [(" said", "plum")]
    ticks = re.findall(r'<text class="tick(?: wide)?" x="([\d.]+)%" y="2', chart[0])
    glyphs = re.findall(r'<svg class="glyph(?: wide)?" x="([\d.]+)%"', chart[0])
    assert glyphs == ticks[-3:], "aligned with the levels"
    heads, *rows = Page(page).tables["What “pear” is read as: blur"]
    assert heads == ["Level", "A", "B"]
    assert [row[1:] for row in rows] == [["pear", "pear"]] * 2 + [["pear", "plum"]]


def test_levels_that_are_names_have_the_mark_beside_them(tmp_path: Path) -> None:
    made = compared(tmp_path, right(), right(top=100))
    chart = re.search(r'<svg class="chart rows pictured several".*?</figure>', made.as_html())
    assert chart is not None
    uris = re.findall(r'<image data-picture="\d+" href="([^"]+)"', chart[0])
    assert uris == [data_uri(pictures(CELLS)[cell, 0]) for cell in ("nominal", CELLS[3], CELLS[4])]
    assert re.findall(r'<tspan class="said"[^>]*>([^<]*)', chart[0]) == ["B: plum"]


def test_a_finding_is_proved_by_marks_that_only_the_better_one_reads(tmp_path: Path) -> None:
    made = compared(tmp_path, right(), right(b1=100, b2=100, top=100))
    page = made.as_html()
    first = re.search(r"<ol class=\"findings\"><li class=\"lead-m0\">(.*?)</li>", page)
    assert first is not None
    assert "old reads better than new in blur from 1 px to 2 px; in placement at top" in first[
        1
    ].replace("\u00a0", " ")
    shots = re.findall(r'<img alt="([^"]+)" data-picture="\d+" src="([^"]+)"', first[1])
    at_blur, at_top = (pictures(CELLS)[cell, 0] for cell in (CELLS[1], CELLS[4]))
    assert shots == [
        ("“pear”, blur at 1\u00a0px: A reads it, B reads “plum”", data_uri(at_blur)),
        ("“pear”, placement at top: A reads it, B reads “plum”", data_uri(at_top)),
    ]
    shown = Page(f"<html>{first[1]}</html>").text
    assert "blur at 1 px A  “pear” B  “plum”" in shown


@pytest.mark.parametrize("better", ["old", "new"])
def test_beside_a_sweep_stand_marks_on_which_the_two_part(tmp_path: Path, better: str) -> None:
    told = (right(), right(b1=100)) if better == "old" else (right(b1=100), right())
    page = compared(tmp_path, *told).as_html()
    article = re.search(r'<article class="sweep" id="sweep-1".*?</article>', page)
    assert article is not None
    parted = re.findall(
        r'<span class="right"><b class="m\d">(\w)</b>[^<]*</span>'
        r'<span class="wrong"><b class="m\d">(\w)</b>',
        article[0],
    )
    assert parted == [("A", "B") if better == "old" else ("B", "A")] * 2
    other = re.search(r'<article class="sweep" id="sweep-2".*?</article>', page)
    assert other is not None
    assert "Where they part" not in other[0]


def test_each_picture_is_the_projects_own_png_within_the_page(tmp_path: Path) -> None:
    for tag, attributes in Page(two(tmp_path).as_html()).tags:
        if tag in {"img", "image"}:
            uri = str(attributes["src" if tag == "img" else "href"])
            assert uri.startswith("data:image/png;base64,iVBOR")


def test_reports_that_keep_no_pictures_are_compared_all_the_same(tmp_path: Path) -> None:
    folders = [
        report_folder(tmp_path / name, told, name=name)
        for name, told in (("old", right()), ("new", right(b2=100)))
    ]
    page = compare_reports(folders).as_html()
    assert not {"img", "image"} & {tag for tag, _ in Page(page).tags}
    assert "one mark" not in page
