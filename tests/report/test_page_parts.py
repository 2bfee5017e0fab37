"""The parts of the page below the sweeps: true to report.json, and readable without colour."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from gen.evaluate.results import Estimate
from gen.report.document import as_dict
from gen.report.findings import find
from gen.report.page import as_html
from gen.report.reliability import declined, reliability
from gen.report.run import RunInfo
from gen.report.sureness import kind_words
from gen.report.typeset import typeset
from tests.report.page_reader import Page

RUN = RunInfo("gen report m.py:read r.toml", "seed = 1\n")


def shown(evaluation: Any) -> Page:
    return Page(as_html(evaluation, find(evaluation), RUN))


def told(evaluation: Any) -> dict[str, Any]:
    return as_dict(evaluation, find(evaluation), RUN)


def percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def with_interval(share: dict[str, Any]) -> str:
    return f"{percent(share['accuracy'])} ({100 * share['low']:.1f} to {100 * share['high']:.1f} %)"


def test_requirements_stand_in_a_table_with_their_evidence(planted: ModuleType) -> None:
    made = planted.thorough()
    _, *rows = shown(made).tables["Requirements"]
    for row, stored in zip(rows, told(made)["requirements"], strict=True):
        assert row[0] == typeset(stored["says"])
        assert row[1] == ("kept" if stored["kept"] else "missed")
        assert row[3] == with_interval(stored["accuracy"])
        assert row[4] == f"{stored['judged_on']}, {percent(stored['value'])}"


def test_a_requirement_of_which_nothing_could_be_scored_is_shown(planted: ModuleType) -> None:
    nothing = replace(planted.judged(False), level=None, accuracy=None, value=None)
    made = replace(planted.healthy(), requirements=(nothing,))
    assert shown(made).tables["Requirements"][1][2:5] == ["", "nothing scored", "lower end"]


def test_a_map_holds_the_figures_of_its_cells(planted: ModuleType) -> None:
    made = planted.thorough()
    _, heads, *rows = shown(made).tables["Accuracy, %: rotation by blur"]
    (stored,) = told(made)["grids"]
    assert heads == ["rotation, degrees, + is anticlockwise", "0", "0.5", "1", "2"]
    for row, points in zip(rows, stored["points"], strict=True):
        assert row[1:] == [f"{100 * point['accuracy']:.1f}" for point in points]


def test_a_map_can_be_read_without_colour(planted: ModuleType) -> None:
    """What keeps the floor is heavy, and nominal is framed: by class, so that print has it too."""
    page = shown(planted.thorough())
    cells = [str(a["class"]).split() for t, a in page.tags if t == "td" and "data-cell" in a]
    over = [c for c in cells if "over" in c]
    assert len(cells) == 16
    assert len(over) == 12
    assert len([c for c in cells if "unchanged" in c]) == 1
    assert {c[0] for c in over} == {"shade-0"}


@pytest.mark.parametrize("share", [0.0, 0.05, 0.5, 0.999, 1.0])
def test_every_accuracy_has_a_shade_that_the_style_knows(planted: ModuleType, share: float) -> None:
    made = replace(planted.healthy(), grids=(planted.crossed(lambda a, b: share),))
    text = as_html(made, find(made), RUN)
    (shade,) = set(re.findall(r'<td class="(shade-\d)[^"]*" data-cell', text))
    assert f".{shade} {{ background: var(--{shade}); }}" in text


def test_shades_leave_figures_readable_in_light_and_dark(planted: ModuleType) -> None:
    """Contrast of at least 7 to 1, level AAA of WCAG 2.2 (success criterion 1.4.6)."""
    text = as_html(planted.healthy(), find(planted.healthy()), RUN)
    blocks = re.findall(r":root \{([^}]*)\}", text)
    assert len(blocks) == 3  # light, dark, paper
    for block in blocks:
        colours = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{3,6});", block))
        shades = [colour for name, colour in colours.items() if name.startswith("shade-")]
        assert len(shades) == 10
        for shade in shades:
            assert contrast(colours["ink"], shade) >= 7
    assert contrast("#777777", "#ffffff") < 4.5 < contrast("#767676", "#ffffff")


def contrast(one: str, other: str) -> float:
    """As WCAG 2.2 defines contrast ratio and relative luminance."""

    def luminance(colour: str) -> float:
        digits = colour[1:] if len(colour) == 7 else "".join(2 * c for c in colour[1:])
        parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_a_cell_that_failed_says_so(planted: ModuleType) -> None:
    made = planted.thorough()
    (grid,) = made.grids
    holed = replace(grid, points=((grid.points[0][0], None, *grid.points[0][2:]), *grid.points[1:]))
    rows = shown(replace(made, grids=(holed,))).tables["Accuracy, %: rotation by blur"]
    assert rows[2][2] == "failed"


def test_a_forecast_is_shown_with_its_interval_and_the_loss_split(planted: ModuleType) -> None:
    made = planted.thorough()
    page = shown(made)
    (stored,) = told(made)["blends"]
    assert "82.0 %" in page.text
    assert "80.8 to 83.2 %, each glyph drawn 4 times" in page.text
    _, *rows = page.tables["Where the loss of Depot camera comes from"]
    ordered = sorted(stored["parts"], key=lambda part: -part["share"])
    assert [row[0] for row in rows] == [part["title"] for part in ordered]
    assert [row[1] for row in rows] == [percent(part["share"]) for part in ordered]
    bars = [a for t, a in page.tags if t == "rect" and a.get("class") == "part"]
    assert [bar["width"] for bar in bars] == ["70.0%", "20.0%", "10.0%"]


def test_a_part_that_gains_or_has_no_share_has_no_bar(planted: ModuleType) -> None:
    blend = planted.depot_camera()
    parts = (
        replace(blend.parts[0], share=-0.2),
        replace(blend.parts[1], share=1.2),
        replace(blend.parts[2], share=None),
    )
    made = replace(planted.healthy(), blends=(replace(blend, parts=parts),))
    page = shown(made)
    bars = [a["width"] for t, a in page.tags if t == "rect" and a.get("class") == "part"]
    assert sorted(map(str, bars)) == ["0.0%", "0.0%", "100.0%"]


def test_calibration_is_told_at_nominal_and_where_it_is_worst(planted: ModuleType) -> None:
    made = planted.thorough()
    page = shown(made)
    document = told(made)
    _, nominal, *worst = page.tables["Calibration"]
    base = document["baseline"]["calibration"]
    assert nominal == [
        "nominal",
        percent(document["baseline"]["accuracy"]),
        percent(document["baseline"]["accuracy"] + base["overconfidence"]),
        percent(base["ece"]),
        f"{base['brier']:.3f}",
        f"{base['log_loss']:.3f}",
    ]
    first = max(
        (p for p in document["curves"][0]["points"] if p["level"] != 0),
        key=lambda p: p["calibration"]["ece"],
    )
    assert worst[0][0] == typeset("at -8 px along x (left)")
    assert worst[0][3] == percent(first["calibration"]["ece"])
    assert not any("slip" in row[0] for row in worst)  # faults of programs aren't held to it
    _, *kept = page.tables["Declining the least sure, at nominal"]
    assert [row[0] for row in kept] == [percent(k["coverage"]) for k in base["kept"]]
    assert [row[2] for row in kept] == [with_interval(k) for k in base["kept"]]
    _, *bins = page.tables["Reliability at nominal"]
    assert [row[1] for row in bins] == [f"{b['n']:,}" for b in base["bins"]]
    assert typeset("Reliability at -8 px along x (left)") in page.tables


def test_a_line_joins_the_bins_that_hold_answers_enough(planted: ModuleType) -> None:
    made = planted.calibration(0.9, 0.95)
    few, many = made.bins[0], made.bins[1]
    for n, joined in ((9, 1), (10, 2)):
        bins = (replace(few, n=n, accuracy=planted.share(5, n)), many)
        drawn = reliability([("at nominal", replace(made, bins=bins))])
        (line,) = re.findall(r'<polyline class="curve" points="([^"]*)"', drawn)
        assert len(line.split()) == joined
        assert drawn.count('r="4"/>') == 2 + 1  # every bin has a dot, and the key has one


def test_what_declining_leaves_is_drawn_at_its_share_and_accuracy(planted: ModuleType) -> None:
    made = planted.calibration(0.9, 0.95)
    drawn = declined([("at nominal", made)])
    (line,) = re.findall(r'<polyline class="curve" points="([^"]*)"', drawn)
    spots = [tuple(float(end) for end in spot.split(",")) for spot in line.split()]
    assert spots == [
        (pytest.approx(100 * k.coverage), pytest.approx(100 - 100 * k.accuracy.value, abs=0.01))
        for k in made.kept
    ]


def test_of_labels_only_it_is_said_that_nothing_is_known_of_sureness(planted: ModuleType) -> None:
    made = replace(planted.healthy(), answers="labels", foreign=planted.strangers(labels=True))
    page = shown(made)
    assert "labels only" in page.text
    assert "Calibration" not in page.tables
    heads, *rows = page.tables["What it says to what has no class"]
    assert heads[2] == "Named"
    assert all(row[3] == "" for row in rows)


def test_marks_of_no_class_are_listed_with_what_declining_costs(planted: ModuleType) -> None:
    made = planted.thorough()
    page = shown(made)
    _, *rows = page.tables["What it says to what has no class"]
    for row, stored in zip(rows, told(made)["marks_of_no_class"]["kinds"], strict=True):
        assert row[2] == with_interval(stored["named"])
        assert row[3] == percent(stored["confidence"])
    assert (
        "Declining answers under a confidence of 0.87 would turn away 93.0 % of them, and 4.2 % of "
        "real marks; of the real marks left 99.0 % are read rightly."
    ) in page.text


def test_four_of_each_kind_without_a_class_are_shown_beside_its_name(planted: ModuleType) -> None:
    made = planted.thorough()
    text = as_html(made, find(made), RUN, planted.shown(made))
    rows = re.findall(r'<span class="looks">(.*?)</span>', text)
    assert len(rows) == len(made.foreign)
    for row, marks in zip(rows, made.foreign, strict=True):
        alts = [html.unescape(alt) for alt in re.findall(r'alt="([^"]*)"', row)]
        assert alts == [f"{kind_words(marks)}, example {number}" for number in (1, 2, 3, 4)]


def test_what_is_so_on_both_sides_is_said_once(planted: ModuleType) -> None:
    beyond = Estimate(None, None, None, 0.0, 1.0, "bootstrap")
    curve = planted.summed_up(
        planted.along_x(planted.bell(0, 5)), half_low=beyond, half_high=beyond
    )
    page = shown(planted.evaluation(curve))
    assert page.text.count("not within the levels tried") == 1


def test_under_a_chart_stands_what_it_comes_to(planted: ModuleType) -> None:
    page = shown(planted.thorough())
    assert "\u22122.6 px (\u22122.8 to \u22122.4); +2.6 px (+2.4 to +2.8)" in page.text
    assert "\u22125 px (\u22125.2 to \u22124.8); +5 px (+4.8 to past +8)" in page.text
    assert "a quarter by +1 px, half by +5 px, 680 never" in page.text
    assert "\u201c4\u201d as \u201c9\u201d, from +2 px on: 33.0 % of \u201c4\u201d" in page.text
    assert "+10 deg: 0.35 px, which could explain 40.0 % of the drop" in page.text


def test_the_interval_of_a_peak_is_told(planted: ModuleType) -> None:
    made = planted.healthy()
    curves = [planted.summed_up(curve) for curve in made.curves]
    curves[0] = replace(curves[0], peak=replace(curves[0].peak, levels=(-1.0, 2.0)))
    curves[6] = replace(curves[6], peak=replace(curves[6].peak, levels=("as drawn", "box centred")))
    curves[8] = replace(curves[8], peak=replace(curves[8].peak, levels=(0.0, 1.0)))
    text = shown(replace(made, curves=tuple(curves))).text
    assert "from \u22121 px to +2 px" in text
    assert "without or with" in text
    assert "with as drawn and box centred" in text


def test_a_peak_that_can_only_be_one_side_of_a_switch_is_told_once(planted: ModuleType) -> None:
    made = planted.healthy()
    curve = planted.summed_up(made.curves[8])
    sure = replace(curve, peak=replace(curve.peak, levels=(0.0, 0.0)))
    text = shown(planted.evaluation(sure)).text
    assert "The peak lies without " in " ".join(text.split())
    assert "without or" not in text


def test_half_drops_beyond_the_levels_are_told_as_such_and_unknown_ones_are_not(
    planted: ModuleType,
) -> None:
    curve = planted.summed_up(planted.along_x(planted.bell(0, 5)))
    never = replace(planted.estimate(None), undefined=0.0, beyond=1.0)
    unknown = replace(planted.estimate(None), undefined=1.0, beyond=0.0)
    summary = replace(curve.summary, half_low=unknown, half_high=never)
    text = shown(planted.evaluation(replace(curve, summary=summary))).text
    assert "Accuracy halfway from nominal to a guess not within the levels tried" in " ".join(
        text.split()
    )
    blank = replace(summary, half_high=unknown)
    text = shown(planted.evaluation(replace(curve, summary=blank))).text
    assert "Accuracy halfway" not in text


def test_what_was_left_out_is_said_near_the_top(planted: ModuleType) -> None:
    made = replace(planted.healthy(), left_out=tuple(f"thing {k}" for k in range(5)))
    text = shown(made).text
    assert text.index("thing 2; and 2 more, listed below") < text.index("With nothing changed")
    assert text.index("thing 4") > text.index("How this was made")
    assert "Left out" not in shown(planted.healthy()).text


@pytest.mark.parametrize(("first", "says"), [
    (100, "as many glyphs of each class"),
    (400, "the commonest class has 4 times the glyphs of the rarest"),
])  # fmt: skip
def test_a_guess_the_commonest_class_and_imbalance_stand_beside_accuracy(
    planted: ModuleType, first: int, says: str
) -> None:
    made = replace(planted.healthy(), counts=(first, *[100] * 9))
    text = shown(made).text
    assert "a blind guess 10.0 %, always \u201c0\u201d" in text
    assert says in text


@pytest.mark.parametrize(("counts", "says"), [
    ((20, 20, *[0] * 8), "always \u201c0\u201d 50.0 %; 8 of 10 classes have no glyphs"),
    ((30, 10, *[10] * 7, 0), "27.3 %; 1 of 10 classes has no glyphs; "
     "the commonest class has 3 times the glyphs of the rarest that has any"),
])  # fmt: skip
def test_classes_without_glyphs_are_never_said_to_have_as_many_as_others(
    planted: ModuleType, counts: tuple[int, ...], says: str
) -> None:
    text = shown(replace(planted.healthy(), counts=counts)).text
    assert says in text
    assert "as many glyphs of each class" not in text


def test_what_it_took_and_how_it_behaved_stands_under_how_it_was_made(planted: ModuleType) -> None:
    text = shown(planted.thorough()).text
    made = text[text.index("How this was made") :]
    assert "rendering 1.5 s, model 2.0 s" in made
    assert "a batch of 256 was halved: out of memory" in made
    assert "alone for 2" in made
    assert "01-translation-x+9px: ValueError" in made
    quiet = shown(replace(planted.healthy(), seconds=())).text
    assert "Time" not in quiet[quiet.index("How this was made") :]
