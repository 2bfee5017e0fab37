"""Grids in a comparison: who is better in which cell, each accuracy, a mark in each cell."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np

from gen.report.compare_make import Comparison, compare_reports
from gen.report.compare_maps import TINTS
from gen.report.pictures import data_uri
from tests.report.compare_support import CELLS, GRID, pictures, report_folder
from tests.report.page_reader import Page

N = 300
NAMES = ("old", "new", "other")
INSIDE = ("nominal", CELLS[2], CELLS[1], "g")


def right(**lost: int) -> dict[str, np.ndarray]:
    """In each cell all glyphs but the first so many, by the last letters of the cell's name."""
    short = {"nominal": "nominal", "b1": CELLS[1], "b2": CELLS[2], "box": CELLS[3], "top": CELLS[4]}
    short["g"] = "g"
    return {cell: np.arange(N) >= lost.get(key, 0) for key, cell in short.items()}


def compared(tmp_path: Path, *told: dict[str, Any], failed: tuple[str, ...] = ()) -> Comparison:
    return compare_reports(
        [
            report_folder(
                tmp_path / name, each, name=name, grids=[GRID], pictures=pictures((*CELLS, "g")),
                failed=failed if name == "new" else (),
            )
            for name, each in zip(NAMES, told, strict=False)
        ]
    )  # fmt: skip


def cells(made: Comparison, caption: str) -> list[tuple[str, str]]:
    """Classes and words of the cells of a map, row by row."""
    found = re.search(rf"<caption>{re.escape(caption)}.*?</caption>(.*?)</table>", made.as_html())
    assert found is not None
    tds = re.findall(r"<td(?: class=\"([^\"]*)\")?>(?:<img[^>]*>)?([^<]*)</td>", found[1])
    return [(str(kinds), str(words)) for kinds, words in tds if kinds or words]


def test_the_map_of_each_model_has_the_accuracies_of_the_document(tmp_path: Path) -> None:
    made = compared(tmp_path, right(b1=30), right(b2=150, g=285))
    held = {cell["cell"]: cell for cell in made.as_dict()["cells"]}
    for at, key in enumerate("AB"):
        told = cells(made, f"Accuracy of {key}, %: blur by blur")
        assert [float(words) for _, words in told] == [
            100 * held[name]["accuracies"][at]["accuracy"] for name in INSIDE
        ]
    assert [kinds.split()[0] for kinds, _ in cells(made, "Accuracy of B, %: blur by blur")] == [
        "shade-0", "shade-5", "shade-0", "shade-9",
    ]  # fmt: skip


def test_of_two_models_a_map_says_who_is_ahead_and_where_a_test_says_so(tmp_path: Path) -> None:
    # One model reads 40 glyphs more in one cell, the other 100 and 3 more in two others.
    made = compared(tmp_path, right(b1=100, g=3), right(b2=40))
    assert cells(made, "A minus B, points: blur by blur") == [
        ("unchanged", "+0.0"),
        ("lead-m0 tint-2 over", "+13.3"),
        ("lead-m1 tint-3 over", "\u221233.3"),
        ("", "\u22121.0"),
    ]
    assert made.compared.grids[0].better == ((0, 1, 1, 1),)


def test_tints_grow_with_the_difference_and_a_difference_by_chance_is_not_heavy(
    tmp_path: Path,
) -> None:
    made = compared(tmp_path, right(), right(b1=6, b2=31, g=160))
    told = [kinds for kinds, _ in cells(made, "A minus B, points: blur by blur")]
    assert told == ["unchanged", "lead-m0 tint-2 over", "lead-m0 tint-1", "lead-m0 tint-4 over"]
    assert list(TINTS) == sorted(TINTS)


def test_of_more_models_a_map_says_which_leads(tmp_path: Path) -> None:
    made = compared(tmp_path, right(b2=100), right(b1=100, b2=50, g=60), right(b1=100, b2=100))
    assert cells(made, "Who leads: blur by blur") == [
        ("unchanged", "nobody"),
        ("over lead-m1 tint-2", "B"),
        ("over lead-m0 tint-2", "A"),
        ("", "nobody"),
    ]


def test_a_cell_that_one_model_failed_at_is_named_so(tmp_path: Path) -> None:
    made = compared(tmp_path, right(), right(), failed=("g",))
    # Its own report has no such grid whole; the other one's has.
    assert cells(made, "Accuracy of B, %: blur by blur")[-1] == ("failed", "failed")
    assert cells(made, "A minus B, points: blur by blur")[-1] == ("failed", "failed")


def test_in_each_cell_stands_one_mark_with_what_every_model_reads(tmp_path: Path) -> None:
    page = compared(tmp_path, right(), right(g=100)).as_html()
    grid = re.search(r'<article class="grid".*?</article>', page)
    assert grid is not None
    kept = pictures((*CELLS, "g"))
    shots = re.findall(r'<img alt="([^"]*)" data-picture="\d+" src="([^"]*)"', grid[0])
    assert [uri for _, uri in shots] == [data_uri(kept[name, 0]) for name in INSIDE]
    assert [words for words, _ in shots] == ["“pear”: A reads “pear”, B reads “pear”"] * 3 + [
        "“pear”: A reads “pear”, B reads “plum”"
    ]


def test_behind_the_maps_are_tables(tmp_path: Path) -> None:
    page = Page(compared(tmp_path, right(), right(g=100)).as_html())
    heads, *rows = page.tables["Figures: blur by blur"]
    assert heads[0] == "Levels"
    told = [row[0].replace("\u00a0", " ") for row in rows]
    assert told == ["0 px, 0 px", "0 px, 2 px", "1 px, 0 px", "1 px, 2 px"]
    assert rows[-1][1].startswith("100.0 % (")


def test_with_many_models_each_pair_of_a_cell_has_a_line(tmp_path: Path) -> None:
    folders = [
        report_folder(tmp_path / str(at), right(b2=20 * at), name=f"m{at}") for at in range(4)
    ]
    page = Page(compare_reports(folders).as_html())
    heads, *rows = page.tables["Each pair: blur"]
    assert heads == ["Level", "Pair", "Difference", "p, Holm"]
    assert len(rows) == 3 * 6
    assert rows[-1][:2] == ["2\u00a0px", "C minus D"]
    assert rows[-1][2].startswith("+6.7 points (")
    assert len(page.tables["Figures: blur"][0]) == 1 + 4
