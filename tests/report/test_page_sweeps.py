"""The parts of a sweep on the page: handle, panel, strip and classes, without the script too."""

from __future__ import annotations

import re
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from gen.evaluate.results import FailedCell
from gen.report.class_lines import MOST, class_lines
from gen.report.document import as_dict
from gen.report.finding import CONFUSED, INK, Finding
from gen.report.findings import find
from gen.report.page import as_html
from gen.report.reading import reading, start_of, step
from gen.report.run import RunInfo
from tests.report.page_reader import Page, page_data


def render(made: Any, shown: Any = None) -> str:
    return as_html(made, find(made), RunInfo(), shown)


def handles(text: str) -> list[dict[str, str | None]]:
    return [a for _, a in Page(text).tags if a.get("role") == "slider"]


# Where the handle begins


def test_the_handle_begins_at_a_peak_off_nominal(planted: ModuleType) -> None:
    made = planted.slipped()
    assert start_of(made.curves[0], made.floor) == planted.PX.index(4.0)


def test_the_handle_begins_at_the_nearest_level_under_the_floor(planted: ModuleType) -> None:
    curve = planted.along_x(planted.bell(0.5, 5))
    assert start_of(curve, 0.9) == planted.PX.index(-3.0)  # +3 px still keeps it
    rules = dict.fromkeys(planted.RULES, 0.95) | {"top left": 0.2}
    by_rule = planted.curve(
        "placement", "rule", planted.RULES, lambda rule: rules[str(rule)], nominal="as drawn"
    )
    assert start_of(by_rule, 0.9) == planted.RULES.index("top left")


def test_the_handle_begins_at_nominal_where_all_keeps_the_floor_or_nothing_does(
    planted: ModuleType,
) -> None:
    nominal = planted.PX.index(0.0)
    assert start_of(planted.along_x(lambda level: 0.95), 0.9) == nominal
    assert start_of(planted.along_x(lambda level: 0.5), 0.9) == nominal


@pytest.mark.parametrize(("levels", "jump"), [(2, 2), (9, 2), (17, 3), (41, 6)])
def test_a_page_key_crosses_any_sweep_in_a_few_strokes(levels: int, jump: int) -> None:
    assert step(levels) == jump
    assert levels / jump <= 8


# What is said of a level


@pytest.mark.parametrize("name", ["healthy", "slipped", "thorough"])
def test_handles_and_data_say_what_report_json_says(planted: ModuleType, name: str) -> None:
    made = getattr(planted, name)()
    text = render(made, planted.shown(made))
    data = page_data(text)
    stored = as_dict(made, find(made), RunInfo())["curves"]
    assert len(data["sweeps"]) == len(stored)
    for handle, told, curve in zip(handles(text), data["sweeps"], stored, strict=True):
        assert handle["aria-valuemax"] == str(len(curve["points"]) - 1)
        assert handle["aria-valuenow"] == handle["data-level"] == str(told["start"])
        assert handle["aria-valuetext"] == told["levels"][told["start"]]["now"]
        assert len(told["stops"]) == len(curve["points"])
        for level, point in zip(told["levels"], curve["points"], strict=True):
            assert level["share"] == f"{100 * point['accuracy']:.1f} %"
            within = f"{100 * point['low']:.1f} to {100 * point['high']:.1f} %"
            assert (
                level["now"]
                .replace("\u00a0", " ")
                .endswith(f": {level['share']}, interval {within}")
            )
            read = f"{within}, {point['correct']:,} of {point['n']:,} read rightly"
            assert level["lines"][0].replace("\u00a0", " ") == read
            assert any("from nominal" in line for line in level["lines"]) == bool(
                point["difference"]
            )
            wrong = point["n"] - point["correct"]
            assert level["wrong"].startswith(f"{wrong:,} misread" if wrong else "None was misread")


def test_the_panel_stands_in_the_page_at_the_level_where_the_handle_begins(
    planted: ModuleType,
) -> None:
    made = planted.thorough()
    text = render(made, planted.shown(made))
    for number, told in enumerate(page_data(text)["sweeps"], 1):
        begun = text.index(f'<div class="reading" id="sweep-{number}-reading"')
        panel = Page(text[begun : text.index('<div class="below">', begun)])
        level = told["levels"][told["start"]]
        words = " ".join(panel.words)
        for said in (level["where"], level["share"], *level["lines"], level["wrong"]):
            assert said in words
        (confused,) = panel.tables.values()
        rows = [
            [cell if isinstance(cell, str) else cell[0] for cell in row]
            for row in level["confused"]["rows"]
        ]
        assert confused == [level["confused"]["heads"], *rows]
        pictured = [a for tag, a in panel.tags if tag == "img"]
        assert len(pictured) == 1 + len(level["misread"])
        sweep = text[begun : text.index("</article>", begun)]
        assert ('<details class="sure">' in sweep) == (level["sure"] is not None)
        for said in (level["sure"] or {"lines": []})["lines"]:
            assert f"<li>{said}</li>" in sweep


def test_over_misread_glyphs_it_is_said_whether_they_are_all(planted: ModuleType) -> None:
    made = planted.slipped()
    curve, levels = made.curves[0], made.curves[0].points
    glyphs = planted.shown(made).sweeps[0].misread[0]
    lost = levels[0].accuracy.n - levels[0].accuracy.correct
    assert lost > len(glyphs) > 0
    some = reading(made, curve, 0, glyphs).wrong
    assert some == f"{lost:,} misread here, among them:"
    every = (glyphs * lost)[:lost]
    assert reading(made, curve, 0, every).wrong == f"{lost:,} misread here:"
    assert reading(made, curve, 0, ()).wrong == f"{lost:,} misread here."


def test_of_ink_that_left_the_frame_is_told_where_the_mark_itself_is_cut(
    planted: ModuleType,
) -> None:
    made = planted.slipped()
    curve = made.curves[0]
    for ink_lost, told in ((0.0, False), (0.01, False), (0.012, True)):
        cut = replace(curve.points[0], ink_lost=ink_lost)
        lines = reading(made, replace(curve, points=(cut, *curve.points[1:])), 0, ()).lines
        assert any("of the ink left the frame" in line for line in lines) == told
    assert lines[-1] == "1.2\u00a0% of the ink left the frame"


def test_no_sweep_is_without_its_figures_where_no_script_runs(planted: ModuleType) -> None:
    """The handle is hidden until the script has run, and the tables hold every level."""
    made = planted.thorough()
    text = render(made, planted.shown(made))
    assert ".handle { display: none; }" in text
    assert ".live .handle { display: block;" in text
    tables = Page(text).tables
    for curve in made.curves:
        assert len(tables[f"Figures: {curve.title}"]) == 1 + len(curve.points)


# Strips, classes, gallery


def test_under_a_glyph_stands_what_it_was_misread_as(planted: ModuleType) -> None:
    made = planted.healthy()
    shown = planted.shown(made)
    text = render(made, shown)
    first = text[text.index('id="sweep-1"') : text.index('id="sweep-2"')]
    found = re.findall(r'<g data-level="(\d+)">(?:(?!</g>).)*?class="said"[^>]*>([^<]*)<', first)
    assert len(found) > 4
    for level, said in found:
        spoken = shown.sweeps[0].followed[0].said[int(level)]
        assert said == ("" if spoken.right else f"as {spoken.answered}")


def test_each_class_has_a_line_of_its_own_accuracies(planted: ModuleType) -> None:
    made = planted.thorough()
    page = Page(render(made))
    items = [a for tag, a in page.tags if tag == "li" and "data-class" in a]
    assert len(items) == len(made.curves) * len(made.classes)
    curve = made.curves[0]
    for k, name in enumerate(made.classes):
        assert items[k]["data-class"] == name
        values = [100 * point.per_class[k].accuracy.value for point in curve.points]
        assert items[k]["data-values"] == " ".join(f"{value:.1f}" for value in values)


def test_the_floor_of_a_class_lies_as_high_as_its_line_would_at_that_accuracy(
    planted: ModuleType,
) -> None:
    curve = planted.along_x(lambda level: 0.7)
    markup = class_lines(curve, ident="a", floor=0.7)
    (high, floor) = re.findall(r'<line class="(?:grid|floor)"[^>]*y1="([\d.]+)"', markup)[:2]
    (spots,) = re.findall(r'points="([^"]+)"', markup)[:1]
    down = {float(spot.split(",")[1]) for spot in spots.split(" ")}
    share = curve.points[0].per_class[0].accuracy.value
    assert sorted(down) == [pytest.approx(100 - 100 * share, abs=0.05)]  # told with one digit
    assert float(floor) == pytest.approx(float(high) * 0.3, abs=0.05)


def test_of_very_many_classes_the_lowest_are_shown_and_it_is_said(planted: ModuleType) -> None:
    classes = tuple(f"c{k}" for k in range(MOST + 12))
    curve = planted.along_x(planted.bell(0, 5), classes=classes)
    made = planted.evaluation(planted.with_class(curve, "c57", {2.0: 0.0}), classes=classes)
    page = Page(render(made))
    names = [a["data-class"] for tag, a in page.tags if tag == "li" and "data-class" in a]
    assert len(names) == MOST
    assert "c57" in names
    assert f"The {MOST} of {MOST + 12} classes that fall lowest." in page.text


def test_the_gallery_shows_what_the_smallest_change_costs(planted: ModuleType) -> None:
    made = planted.healthy()
    shown = planted.shown(made)
    text = render(made, shown)
    part = text[text.index('id="misread"') : text.index('id="sweeps"')]
    assert "Of two pictures the left is the mark at nominal" in part  # a row may have but one
    rows = re.findall(r"<dt>.*?</dd>", part)
    lost = [sweep for sweep in shown.sweeps if sweep.first_lost]
    assert len(rows) == 1 + len(lost)
    assert rows[0].count("<figure") == len(shown.at_nominal)
    assert rows[1].count("<img") == 2 * len(lost[0].first_lost)
    assert "at \u22127\u00a0px along x (left)" in rows[1]
    first = lost[0].first_lost[0]
    told = f"<b>\u201c{first.true}\u201d</b>"
    assert f'{told} <span class="wrong">read as \u201c{first.said.answered}\u201d</span>' in rows[1]
    assert "62.5\u00a0% sure" in rows[1]


def test_a_model_that_gives_labels_only_is_never_said_to_be_sure(planted: ModuleType) -> None:
    made = replace(planted.healthy(), answers="labels")
    text = render(made, planted.shown(made))
    part = text[text.index('id="misread"') : text.index('id="sweeps"')]
    assert part.count("labels only") == 1
    assert "surest" not in part
    assert "% sure" not in part


def test_the_order_by_sureness_is_told_of_a_model_that_says_how_sure_it_is(
    planted: ModuleType,
) -> None:
    made = planted.healthy()
    text = render(made, planted.shown(made))
    part = text[text.index('id="misread"') : text.index('id="sweeps"')]
    assert "the surest first" in part
    assert "labels only" not in part


# Grids and blends


def test_the_cells_of_a_grid_are_told_as_they_were_scored(planted: ModuleType) -> None:
    made = planted.thorough()
    text = render(made, planted.shown(made))
    ((told, grid),) = zip(page_data(text)["grids"], made.grids, strict=True)
    assert len(told) == len(grid.points)
    for cells, points in zip(told, grid.points, strict=True):
        for (number, glyph, words), point in zip(cells, points, strict=True):
            part = point.accuracy
            assert number is not None
            assert "read rightly" in glyph
            assert f"{100 * part.value:.1f}\u00a0% (" in words
            assert words.endswith(f"{part.correct:,} of {part.n:,}")


def test_a_cell_that_failed_and_a_grid_without_pictures_are_told(planted: ModuleType) -> None:
    made = planted.thorough()
    (grid,) = made.grids
    holed = replace(grid, points=((grid.points[0][0], None, *grid.points[0][2:]), *grid.points[1:]))
    (told,) = page_data(render(replace(made, grids=(holed,))))["grids"]
    assert told[0][1][0] is None
    assert told[0][1][2].endswith("the model failed")
    assert {cell[0] for row in told for cell in row} == {None}


def test_a_blend_shows_glyphs_as_they_may_come(planted: ModuleType) -> None:
    made = planted.thorough()
    shown = planted.shown(made)
    (blend,) = shown.blends
    wrong = replace(blend.drawn[0], said=replace(blend.drawn[0].said, answered="7", right=False))
    text = render(made, replace(shown, blends=(replace(blend, drawn=(wrong, *blend.drawn[1:])),)))
    part = text[text.index('class="drawn"') : text.index("Where the loss of")]
    assert part.count("<img") == len(blend.drawn)
    assert part.count('<span class="wrong">as 7</span>') == 1
    assert part.count('<span class="wrong"></span>') == len(blend.drawn) - 1


def test_the_name_of_chance_keeps_off_a_curve_that_falls_to_it_at_both_ends(
    planted: ModuleType,
) -> None:
    falls = {0.0: 0.8, 2.0: 0.4, 4.0: 0.16, 6.0: 0.12}
    levels = [-6.0, -4.0, -2.0, 0.0, 2.0, 4.0, 6.0]
    made = planted.evaluation(
        planted.curve(
            "translation", "px", levels, lambda level: falls[abs(level)], options=(("along", "x"),)
        )
    )
    (x,) = re.findall(
        r'<text class="chance halo" x="(\d+)%"[^>]*text-anchor="middle"', render(made)
    )
    assert abs(int(x) - 50) < 15


def test_the_name_of_the_floor_goes_under_its_line_where_the_curve_lies_right_above_it(
    planted: ModuleType,
) -> None:
    def drawn(accuracy: float) -> tuple[float, float]:
        made = planted.evaluation(planted.along_x(lambda level: accuracy))
        chart = render(made).partition('class="chart line')[2]
        text = chart.partition("</figure>")[0]
        (line,) = re.findall(r'<line class="floor" x1="0%" x2="100%" y1="([\d.]+)"', text)
        (name,) = re.findall(r'<text class="floor halo" x="\d+%" y="([\d.]+)"', text)
        return float(line), float(name)

    for accuracy, under in ((0.945, True), (0.855, False), (0.5, False)):
        line, name = drawn(accuracy)
        assert (name > line) == under


def test_a_level_under_names_has_a_full_dot_where_it_keeps_the_floor_and_else_a_ring(
    planted: ModuleType,
) -> None:
    shares = dict.fromkeys(planted.RULES, 0.95) | {"top left": 0.2}
    made = planted.evaluation(
        planted.curve(
            "placement", "rule", planted.RULES, lambda rule: shares[str(rule)], nominal="as drawn"
        )
    )
    chart = render(made).partition('class="chart rows')[2].partition("</figure>")[0]
    dots = re.findall(r'<circle class="(dot[^"]*)"', chart)
    assert dots == ["dot hollow" if rule == "top left" else "dot" for rule in planted.RULES]


def test_a_finding_and_its_sweeps_name_each_other_unless_they_are_many(
    planted: ModuleType,
) -> None:
    made = planted.slipped()
    many = replace(made, curves=made.curves[:1] * 5)
    for sweeps, linked in ((4, 4), (5, 0)):
        told = {"levels": [{"curve": i, "level": 1.0} for i in range(sweeps)]}
        says = f"Something of {sweeps} sweeps."
        text = as_html(many, (Finding("something", says, told),), RunInfo())
        assert text.count(says) == 1
        assert text.count('<a href="#finding-1">something</a>') == linked
        (finding,) = re.findall(r'<li id="finding-1">.*?</li>', text)
        assert re.findall(r'href="#(sweep-\d)"', finding) == [
            f"sweep-{i + 1}" for i in range(linked)
        ]


def test_a_note_under_a_sweep_is_quiet_where_all_that_it_names_is(planted: ModuleType) -> None:
    made = planted.slipped()
    told = {"levels": [{"curve": 0, "level": 1.0}]}
    quiet, loud = Finding(CONFUSED, "A.", {"sweeps": []}, 0), Finding("loud", "B.", told)
    for findings, kind in (((quiet,), "note fact"), ((quiet, loud), "note")):
        text = as_html(made, findings, RunInfo())
        links = " and ".join(
            f'<a href="#finding-{n}">{each.kind}</a>' for n, each in enumerate(findings, 1)
        )
        assert f'<p class="{kind}">Among the findings: {links}.</p>' in text


def test_of_cut_marks_a_sweep_says_the_levels_and_not_the_finding_once_more(
    planted: ModuleType,
) -> None:
    made = planted.slipped()
    (told,) = [finding for finding in find(made) if finding.kind == INK]
    text = as_html(made, (told,), RunInfo())
    assert len(told.curves) == 1
    assert "Among the findings" not in text
    assert text.count("<dt>Mark cut by the frame</dt>") == 1


# Levels that are missing


def test_a_sweep_says_which_of_its_levels_the_model_could_not_answer(planted: ModuleType) -> None:
    made = planted.slipped()
    numbered = tuple(
        replace(
            curve,
            points=tuple(
                replace(p, cell="nominal" if p.level == curve.nominal else f"{n:02d}-at{p.level}")
                for p in curve.points
            ),
        )
        for n, curve in enumerate(made.curves, 1)
    )
    failed = (FailedCell("02-at+99", "ValueError: no"), FailedCell("blend-02-draw-1", "no"))
    text = render(replace(made, curves=numbered, failed=failed))
    term = "Missing, since the model failed</dt><dd>02-at+99</dd>"
    articles = text.split('<article class="sweep"')[1:]
    assert [term in article for article in articles] == [n == 1 for n in range(len(made.curves))]
    assert text.count("Missing, since") == 1
