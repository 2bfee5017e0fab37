"""compare.html: true to compare.json, quiet towards the network, told apart without colour."""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest

from gen.report.compare_keys import KEYS, sample
from gen.report.compare_make import Comparison, compare_reports
from tests.report.compare_support import CELLS, GRID, reads, report_folder
from tests.report.page_reader import Page, assert_only_its_own_style

HOSTILE = '<script>alert("x")</script> & <b>"tags"</b>.py:\'reader\''


def three(tmp_path: Path, names: tuple[str, str, str] = ("old", "new", "other")) -> Comparison:
    folders = [
        report_folder(
            tmp_path / str(at), reads(b2=share) | {"g": reads(box=share)[CELLS[3]]},
            name=name, grids=[GRID],
        )
        for at, (name, share) in enumerate(zip(names, (0.9, 0.6, 0.3), strict=True))
    ]  # fmt: skip
    return compare_reports(folders, command="gen compare 0 1 2 --into out")


def percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def test_the_figures_on_the_page_are_those_of_the_document(tmp_path: Path) -> None:
    made = three(tmp_path)
    page, stored = Page(made.as_html()), made.as_dict()
    cells = {cell["cell"]: cell for cell in stored["cells"]}
    for sweep in stored["sweeps"]:
        _, *rows = page.tables[f"Figures: {sweep['title']}"]
        assert len(rows) == len(sweep["levels"])
        for row, name in zip(rows, sweep["cells"], strict=True):
            cell = cells[name]
            for told, part in zip(row[1:4], cell["accuracies"], strict=True):
                assert told.startswith(f"{percent(part['accuracy'])} (")
            for at, difference in enumerate(cell["differences"]):
                assert row[4 + 2 * at].startswith(f"{100 * difference['value']:+.1f} points (")
                p = difference["p_holm"]
                assert row[5 + 2 * at] == ("< 0.001" if p < 0.001 else f"{p:.3f}")
    _, nominal, *rows = page.tables["Everything compared"]
    assert nominal[0] == "nothing changed"
    assert [row[0] for row in rows] == [sweep["title"] for sweep in stored["sweeps"]]
    for row, sweep in zip(rows, stored["sweeps"], strict=True):
        better = {
            pair[key]
            for pair in sweep["pairs"]
            for key in ("first", "second")
            if set(pair[f"{key}_better"]) - {sweep["nominal"]}
        }
        some = " and ".join(sorted(better))
        assert row[1] == (sweep["leads"] or (f"{some} in places" if better else "nobody"))
        assert [float(words.rstrip("\u00a0%")) for words in row[3:]] == [
            pytest.approx(100 * mean, abs=0.05) for mean in sweep["means"]
        ]
    assert len(page.tables["Figures: blur by blur"]) == 1 + 4


def test_the_verdict_and_the_findings_stand_first_and_in_order(tmp_path: Path) -> None:
    made = three(tmp_path)
    text = Page(made.as_html()).text
    places = [text.index(said.says) for said in made.findings]
    assert places == sorted(places)
    assert text.index(made.verdict) < places[0]
    assert places[-1] < text.index("The models")
    # Of more than two models, before each pair is told, everything at a glance.
    assert places[0] < text.index("At a glance") < text.index("Each pair") < places[1]


def test_of_two_models_all_that_is_said_stands_before_the_glance(tmp_path: Path) -> None:
    folders = [
        report_folder(tmp_path / name, reads(b2=share), name=name)
        for name, share in (("old", 0.9), ("new", 0.5))
    ]
    made = compare_reports(folders)
    text = Page(made.as_html()).text.replace("\u00a0", " ")
    assert all(text.index(said.says) < text.index("At a glance") for said in made.findings)
    assert "Each pair" not in text


def test_nothing_is_fetched_and_nothing_runs(tmp_path: Path) -> None:
    page = Page(three(tmp_path, (HOSTILE, "javascript:alert(1)", "</style>")).as_html())
    assert {"script", "link", "iframe", "object", "embed", "form", "b>"} & {
        tag for tag, _ in page.tags
    } == set()
    for _, attributes in page.tags:
        assert not any(name.startswith("on") or name == "style" for name in attributes)
        for name in ("src", "href"):
            if attributes.get(name) is not None:
                assert str(attributes[name]).startswith("#")


def test_names_with_markup_stay_text(tmp_path: Path) -> None:
    made = three(tmp_path, (HOSTILE, "new", "other"))
    page = made.as_html()
    assert "<script" not in page
    assert HOSTILE in Page(page).text
    assert made.names[0] == HOSTILE
    assert "\x1b" not in three(tmp_path / "again", ("a\x1b[2Jb\nc", "new", "other")).as_text()


def test_the_policy_allows_the_one_style_sheet_and_nothing_else(tmp_path: Path) -> None:
    text = three(tmp_path).as_html()
    assert_only_its_own_style(text, pictures=True)


def test_every_chart_has_words_a_table_and_ids_of_its_own(tmp_path: Path) -> None:
    made = three(tmp_path)
    page = Page(made.as_html())
    ids = Counter(str(a["id"]) for _, a in page.tags if "id" in a)
    assert max(ids.values()) == 1
    charts = [a for t, a in page.tags if t == "svg" and a.get("role") == "img"]
    assert len(charts) == len(made.compared.sweeps)
    for _, attributes in page.tags:
        assert set(str(attributes.get("aria-labelledby") or "").split()) <= set(ids)
        if str(attributes.get("href") or "").startswith("#"):
            assert str(attributes["href"])[1:] in ids
    assert {f"sweep-{n}-table" for n in (1, 2)} <= set(ids)


def test_models_are_told_apart_by_dashes_and_by_marks_not_by_colour_alone(tmp_path: Path) -> None:
    samples = [sample(at) for at in range(len(KEYS))]
    for pattern in (r'stroke-dasharray="([^"]*)"', r"<g [^>]*>(.*?)</g>"):
        found = [re.findall(pattern, each) for each in samples]
        assert all(len(each) == 1 for each in found)
        assert len({each[0] for each in found}) == len(KEYS)
    chart = re.search(r'<svg class="chart line several".*?</figure>', three(tmp_path).as_html())
    assert chart is not None
    assert len(re.findall(r'<polygon class="m\d between"', chart[0])) == 3
    assert re.findall(r'<text class="m(\d) named"[^>]*>(\w)<tspan[^>]*>(\w+)', chart[0]) == [
        ("0", "A", "old"), ("1", "B", "new"), ("2", "C", "other"),
    ]  # fmt: skip


def label_places(page: str) -> list[float]:
    chart = re.search(r'<svg class="chart line several".*?</figure>', page)
    assert chart is not None
    return [
        float(y) for y in re.findall(r'class="m\d named" x="100%" dx="2" y="([\d.]+)"', chart[0])
    ]


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_names_beside_curves_that_end_alike_are_moved_apart(share: float, tmp_path: Path) -> None:
    folders = [report_folder(tmp_path / str(at), reads(b2=share)) for at in range(8)]
    places = label_places(compare_reports(folders).as_html())
    assert len(places) == 8
    assert min(b - a for a, b in pairwise(places)) >= 16.9
    assert 20 < places[0] < places[-1] < 262


@pytest.mark.parametrize("width", [20, 40, 80])
def test_the_summary_fits_the_terminal(width: int, tmp_path: Path) -> None:
    made = three(tmp_path)
    lines = made.as_text(width=width).splitlines()
    assert max(map(len, lines)) <= max(width, 40)
    assert lines[0] == made.verdict
    assert str(made) == made.as_text()
    assert any(line.startswith("blur") for line in lines)


def test_a_notebook_shows_the_page_in_a_frame_of_its_own(tmp_path: Path) -> None:
    shown = three(tmp_path, (HOSTILE, "new", "other"))._repr_html_()
    assert shown.startswith('<iframe title="Inkdrift comparison" sandbox=""')
    assert "<script" not in shown


def test_of_many_models_the_first_pairs_are_told_and_the_others_folded_away(tmp_path: Path) -> None:
    folders = [
        report_folder(tmp_path / str(at), reads(b2=0.9 - 0.1 * at), name=f"m{at}")
        for at in range(5)
    ]
    made = compare_reports(folders)
    pairs = [said.says for said in made.findings if said.kind == "pair"]
    assert len(pairs) == 10
    page = Page(made.as_html()).text
    folded = page.index("4 more pairs")
    assert [page.index(says) < folded for says in pairs] == [True] * 6 + [False] * 4
    assert "   4 more pairs are in compare.html\n" in made.as_text()
    assert made.as_text(width=1000).count("reads better than") == 6
    assert [said["says"] for said in made.as_dict()["findings"] if said["kind"] == "pair"] == pairs


def test_a_grid_in_which_two_read_alike_says_so(tmp_path: Path) -> None:
    right = reads() | {"g": reads()[CELLS[3]]}
    folders = [
        report_folder(tmp_path / name, right, name=name, grids=[GRID]) for name in ("old", "new")
    ]
    text = " ".join(Page(compare_reports(folders).as_html()).text.split())
    assert (
        "A and B: no difference that holds after correction for all 6 tests, in any of 4 cells"
        in text
    )
    assert "worse in 0" not in text
