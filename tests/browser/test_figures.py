"""What stands on the screen is what stands in the document beside the page."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.browser.opened import Opened
from tests.browser.pages import REPORTS, Written
from tests.browser.reading import assert_counts, assert_share, assert_shares, figures

pytestmark = pytest.mark.browser

PageOf = Callable[..., Path]
WITHIN_PX = 1.0  # drawings are laid out in whole px and hundredths of a percent


def unfolded(opened: Opened, written: Written, kind: str) -> dict[str, Any]:
    """The page, open in every part, and what it has to say."""
    opened.open(written.page(kind))
    opened.unfold()
    return written.document(kind)


@pytest.mark.parametrize("kind", REPORTS)
def test_the_verdict_and_the_findings_can_be_read_in_order(
    opened: Opened, written: Written, kind: str
) -> None:
    told = unfolded(opened, written, kind)
    assert opened.one("h1").text == told["verdict"]
    text = " ".join(opened.text().split())  # a reason stands on a line of its own
    places = [text.find(finding["says"]) for finding in told["findings"]]
    assert -1 not in places
    assert places == sorted(places)


@pytest.mark.parametrize("kind", REPORTS)
def test_accuracy_with_nothing_changed_is_that_of_the_report(
    opened: Opened, written: Written, kind: str
) -> None:
    told = unfolded(opened, written, kind)["baseline"]
    words = opened.one("#baseline .base p").text
    share, low, high, correct, n = figures(words)
    assert_shares(f"{share} {low} {high}", told["accuracy"], told["low"], told["high"])
    assert_counts(f"{correct} {n}", told["correct"], told["n"])


@pytest.mark.parametrize("kind", REPORTS)
def test_every_level_of_every_sweep_has_the_figures_of_the_report(
    opened: Opened, written: Written, kind: str
) -> None:
    told = unfolded(opened, written, kind)
    tables = opened.tables()
    for curve in told["curves"]:
        _, *rows = tables[f"Figures: {curve['title']}"]
        assert len(rows) == len(curve["points"])
        for row, point in zip(rows, curve["points"], strict=True):
            if isinstance(point["level"], str):
                assert row[0] == point["level"]
            elif curve["unit"] == "times":
                assert row[0] == ("with" if point["level"] else "without")
            else:
                scale = 100 if curve["unit"] == "share" else 1
                assert figures(row[0]) == [pytest.approx(scale * point["level"])]
            assert_share(row[1:5], point)
            if point["difference"] is None:
                assert row[5] == "nominal"
            else:
                assert_shares(row[5], point["difference"]["value"])


@pytest.mark.parametrize("kind", REPORTS)
def test_every_cell_of_every_grid_has_the_accuracy_of_the_report(
    opened: Opened, written: Written, kind: str
) -> None:
    told = unfolded(opened, written, kind)
    tables = opened.tables()
    for grid in told["grids"]:
        _, _, *rows = tables[f"Accuracy, %: {grid['title']}"]
        for row, points in zip(rows, grid["points"], strict=True):
            for cell, point in zip(row[1:], points, strict=True):
                assert_shares(cell, point["accuracy"])


@pytest.mark.parametrize("kind", REPORTS)
def test_requirements_and_forecasts_have_the_figures_of_the_report(
    opened: Opened, written: Written, kind: str
) -> None:
    told = unfolded(opened, written, kind)
    if told["requirements"]:
        _, *rows = opened.tables()["Requirements"]
        for row, part in zip(rows, told["requirements"], strict=True):
            assert row[:2] == [part["says"], "kept" if part["kept"] else "missed"]
            scored = part["accuracy"]
            assert_shares(row[3], scored["accuracy"], scored["low"], scored["high"])
    for number, blend in enumerate(told["blends"], 1):
        said = opened.one(f"#blend-{number} .base p").text.split(",")[0]
        scored = blend["accuracy"]
        assert_shares(said, scored["accuracy"], scored["low"], scored["high"])


def test_a_comparison_has_the_figures_of_its_document(opened: Opened, written: Written) -> None:
    told = unfolded(opened, written, "comparison")
    tables = opened.tables()
    cells = {cell["cell"]: cell["accuracies"] for cell in told["cells"]}
    for sweep in told["sweeps"]:
        _, *rows = tables[f"Figures: {sweep['title']}"]
        for row, name in zip(rows, sweep["cells"], strict=True):
            for said, part in zip(row[1 : 1 + len(told["models"])], cells[name], strict=True):
                assert_shares(said, part["accuracy"], part["low"], part["high"])


def test_a_diagnosis_has_the_figures_of_its_document(opened: Opened, written: Written) -> None:
    told = unfolded(opened, written, "diagnosis")
    _, _, *rows = opened.tables()["Remedies"]
    assert rows
    for row, part in zip(rows, told["remedies"], strict=True):
        assert_counts(row[1], part["correct"], part["n"])
        assert_shares(row[2], part["accuracy"], part["low"], part["high"])
        assert_shares(row[3], part["gain"])


# Drawings: a dot is where its figure says, and a glyph stands under its dot


@pytest.mark.parametrize("kind", ["report", "slipped", "thorough"])
def test_every_dot_of_a_curve_lies_at_its_accuracy(
    opened: Opened, written: Written, kind: str
) -> None:
    told = unfolded(opened, written, kind)
    for number, curve in enumerate(told["curves"], 1):
        accuracies = [point["accuracy"] for point in curve["points"]]
        assert dots_astray(opened.script(_DRAWN, f"sweep-{number}"), accuracies) == []


def dots_astray(drawn: dict[str, Any], accuracies: list[float]) -> list[int]:
    """Levels whose dot isn't where its accuracy belongs."""
    if drawn["kind"] == "rows":
        first, last = drawn["left"], drawn["right"]
        places = [x for x, _ in drawn["dots"]]
    else:
        first, last = drawn["none"], drawn["whole"]
        places = [y for _, y in drawn["dots"]]
    wanted = [first + accuracy * (last - first) for accuracy in accuracies]
    return [
        level
        for level, (place, there) in enumerate(zip(places, wanted, strict=True))
        if abs(place - there) > WITHIN_PX
    ]


@pytest.mark.parametrize("width_px", [1280, 375])
@pytest.mark.parametrize("kind", ["report", "slipped"])
def test_a_glyph_stands_under_the_dot_of_its_level(
    opened: Opened, written: Written, kind: str, width_px: int
) -> None:
    opened.open(written.page(kind), width_px=width_px)
    told = written.document(kind)
    seen = 0
    for number, _ in enumerate(told["curves"], 1):
        drawn = opened.script(_DRAWN, f"sweep-{number}")
        if drawn["kind"] == "line":
            for dot_px, glyph_px in drawn["under"]:
                assert abs(dot_px - glyph_px) <= WITHIN_PX
                seen += 1
    assert seen > 4


# What the checks above have to see


@pytest.mark.parametrize(
    ("text", "share"), [("62.6 %", 0.625), ("62 %", 0.625), ("62.5 % 1", 0.625), ("", 0.5)]
)
def test_a_wrong_share_is_seen(text: str, share: float) -> None:
    with pytest.raises(AssertionError, match=r"doesn't say|has \d figures"):
        assert_shares(text, share)


def test_a_share_is_right_when_it_is_rounded() -> None:
    assert_shares("62.5 % (53.6 to 70.6 %)", 0.625, 0.53577, 0.706476)
    assert_shares("\u22124.2 points", -0.0416667)
    assert_counts("1,234 of 2,000", 1234, 2000)


def test_a_figure_that_was_changed_on_the_page_is_seen(
    opened: Opened, written: Written, tmp_path: Path
) -> None:
    told = written.document("report")
    point = told["curves"][0]["points"][1]
    right, wrong = f"{100 * point['accuracy']:.1f}", f"{100 * point['accuracy'] + 0.1:.1f}"
    source = written.page("report").read_text("utf-8")
    before, table, after = source.partition('<table id="sweep-1-table">')
    other = tmp_path / "changed.html"
    other.write_text(before + table + after.replace(right, wrong, 1), encoding="utf-8")
    opened.open(other)
    opened.unfold()
    _, _, row, *_ = opened.tables()[f"Figures: {told['curves'][0]['title']}"]
    with pytest.raises(AssertionError, match="doesn't say"):
        assert_share(row[1:5], point)


def test_a_dot_that_was_moved_is_seen(opened: Opened, written: Written) -> None:
    told = unfolded(opened, written, "report")
    accuracies = [point["accuracy"] for point in told["curves"][0]["points"]]
    opened.script(
        "const dot = document.querySelector('#sweep-1 g[data-level=\"2\"] .dot');"
        "dot.setAttribute('cy', Number(dot.getAttribute('cy')) + 2)"
    )
    assert dots_astray(opened.script(_DRAWN, "sweep-1"), accuracies) == [2]


# Where things are on the screen, middles in px: dots by level, and pictures with their dots.
_DRAWN = """
const chart = document.querySelector('#' + arguments[0] + ' svg.chart');
const middle = e => {
  const b = e.getBoundingClientRect();
  return [b.left + b.width / 2, b.top + b.height / 2];
};
const levels = [...chart.querySelectorAll('g[data-level]')];
const dots = levels.map(g => middle(g.querySelector('.dot')));
const under = levels
  .map((g, i) => [dots[i][0], g.querySelector('.glyph image')])
  .filter(([, image]) => image && image.checkVisibility())
  .map(([x, image]) => [x, middle(image)[0]]);
const box = chart.getBoundingClientRect();
const rows = chart.classList.contains('rows');
const lines = [...chart.querySelectorAll('line.grid')].map(l => middle(l)[1]);
return {
  kind: rows ? 'rows' : 'line', dots, under,
  left: box.left, right: box.right, none: Math.max(...lines), whole: Math.min(...lines),
};
"""
