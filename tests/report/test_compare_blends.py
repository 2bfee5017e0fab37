"""Blends in a comparison: read from reports, said, shown, and stored."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from numpy.typing import NDArray

from gen import make_report, parse_recipe, write_strokes
from gen.core.errors import InkdriftError
from gen.report.compare_document import schema
from gen.report.compare_make import Comparison, compare_reports
from gen.report.pictures import data_uri
from tests.report.compare_support import BLEND, CELLS, DRAWS, pictures, report_folder
from tests.report.page_reader import Page

N = 300


def right(first: int = 0, second: int = 0, box: int = 0) -> dict[str, NDArray[np.bool_]]:
    """All glyphs are read but the first so many, in the two draws and in one other cell."""
    lost = dict(zip(DRAWS, (first, second), strict=True)) | {CELLS[3]: box}
    return {cell: np.arange(N) >= lost.get(cell, 0) for cell in (*CELLS, *DRAWS)}


def two(tmp_path: Path, *told: dict[str, Any], blend: Any = BLEND, **more: Any) -> Comparison:
    folders = [
        report_folder(
            tmp_path / name, each, name=name, blends=[blend],
            pictures=pictures((*CELLS, *DRAWS)), **(more if name == "new" else {}),
        )
        for name, each in zip(("old", "new", "other"), told, strict=False)
    ]  # fmt: skip
    return compare_reports(folders)


def test_a_blend_is_told_among_the_findings(tmp_path: Path) -> None:
    found = two(tmp_path, right(), right(first=60, second=60))
    assert [said.says for said in found.findings] == [
        "old reads better than new in the blend “What belt two does”.",
        "In blur and placement: no difference that holds after correction for all 6 tests.",
    ]
    assert found.findings[0].measured.endswith(
        "p < 0.001 corrected, the blend “What belt two does”"
    )
    assert found.verdict == "old is better in places, new nowhere"
    alike = two(tmp_path / "again", right(box=90), right())
    assert alike.findings[1].says.startswith(
        "In blur and the blend “What belt two does”: no difference"
    )
    same = two(tmp_path / "same", right(), right())
    assert same.findings[0].says.endswith("at nominal or in any sweep or blend.")


def test_of_three_models_one_may_lead_in_a_blend_alone(tmp_path: Path) -> None:
    found = two(tmp_path, right(first=60, box=90), right(box=60), right(first=60))
    assert found.findings[0].says == (
        "other leads in placement; new leads in the blend “What belt two does”."
    )
    assert found.verdict == "None of the 3 models reads best"


def test_a_blend_counts_among_what_one_of_three_models_leads_in(tmp_path: Path) -> None:
    worse, new = right(first=60, box=60), right()
    new[CELLS[2]] = np.arange(N) >= 60
    found = two(tmp_path, worse, new, worse)
    assert found.verdict == "new leads in 2 of 3 sweeps and blends"
    assert found.findings[0].says.startswith("new leads in placement and the blend “What belt")


def test_a_blend_is_one_more_test_for_each_pair(tmp_path: Path) -> None:
    found = two(tmp_path, right(), right(), right())
    assert found.compared.tests == 3 * (len(CELLS) + 1)
    assert "of a blend on its first draw; 18 in all" in found.methods["Tests"]


def test_the_document_has_the_blend_and_is_valid(tmp_path: Path) -> None:
    found = two(tmp_path, right(first=30), right(first=60, second=120)).as_dict()
    jsonschema.Draft202012Validator(schema()).validate(found)
    (blend,) = found["blends"]
    assert (blend["title"], blend["cells"], blend["leads"]) == (BLEND["title"], list(DRAWS), "A")
    shares = [(part["correct"], part["n"]) for part in blend["accuracies"]]
    assert shares == [(270 + 300, 600), (240 + 180, 600)]
    (pair,) = blend["pairs"]
    assert (pair["first"], pair["second"], pair["draws"]) == ("A", "B", 2)
    assert pair["mean_difference"]["value"] == pytest.approx((30 + 120) / 600)
    (cell,) = [cell for cell in found["cells"] if cell["cell"] == DRAWS[0]]
    assert cell["differences"][0]["value"] == 0.1
    assert DRAWS[1] not in [cell["cell"] for cell in found["cells"]]


def test_the_page_shows_what_to_expect_of_each_model_and_who_is_better(tmp_path: Path) -> None:
    made = two(tmp_path, right(first=30), right(first=60, second=120))
    html = made.as_html()
    page = Page(html)
    article = re.search(r'<article class="blend sweep".*?</article>', html)
    assert article is not None
    words = " ".join(Page(f"<html>{article[0]}</html>").text.split())
    assert "each mark drawn 2 times" in words
    assert "A and B: old is better. On the first draw A minus B is +10.0 points" in words
    assert "Over all 2 draws A minus B is +25.0 points" in words
    (stored,) = made.as_dict()["blends"]
    for row, part in zip(page.tables["All draws: What belt two does"][1:], stored["accuracies"], strict=True):  # fmt: skip  # noqa: E501
        assert row[1].startswith(f"{100 * part['accuracy']:.1f} % (")
    assert page.tables["Figures: What belt two does"][1][0] == "first"
    glance = page.tables["Everything compared"][-1]
    assert glance[0] == "What belt two does"
    assert glance[1] == "A"
    assert glance[-1].startswith("+25.0 (")


def test_marks_on_which_the_two_part_stand_beside_a_blend(tmp_path: Path) -> None:
    html = two(tmp_path, right(), right(first=60)).as_html()
    article = re.search(r'<article class="blend sweep".*?</article>', html)
    assert article is not None
    shots = re.findall(r'<img alt="([^"]*)" data-picture="\d+" src="([^"]*)"', article[0])
    kept = pictures((*CELLS, *DRAWS))
    assert [uri for _, uri in shots] == [data_uri(kept[DRAWS[0], glyph]) for glyph in range(4)]
    assert shots[0][0] == "“pear”: A reads it, B reads “plum”"


def test_the_terminal_has_a_line_for_a_blend(tmp_path: Path) -> None:
    text = two(tmp_path, right(), right(first=60, second=60)).as_text(width=100)
    (line,) = [line for line in text.splitlines() if line.startswith("What belt two does")]
    assert line.split()[4:8] == ["A", "100.0", "%", "80.0"]


def test_a_blend_drawn_once_has_the_paired_interval_alone(tmp_path: Path) -> None:
    once = {"title": "Belt", "cells": [DRAWS[0]]}
    made = two(tmp_path, right(), right(first=60), blend=once)
    text = " ".join(Page(made.as_html()).text.split())
    assert "each mark drawn once" in text
    assert "Over all" not in text
    assert made.as_dict()["blends"][0]["pairs"][0]["mean_difference"] is None


def test_draws_that_one_model_failed_at_are_left_out_for_it(tmp_path: Path) -> None:
    made = two(tmp_path, right(), right(first=60), blend=BLEND, failed=DRAWS[1:])
    (blend,) = made.compared.blends
    assert blend.of.cells == DRAWS
    assert blend.pairs[0].draws == 1
    assert [part.n for part in blend.accuracies if part] == [600, 300]


def test_reports_that_name_no_cells_of_a_blend_are_compared_without_it(tmp_path: Path) -> None:
    made = two(tmp_path, right(), right(), blend={"title": "Belt"})
    assert made.compared.blends == ()
    assert "blend" not in made.methods["Tests"]


@pytest.mark.parametrize("cells", [[1], "blend-01-draw-1x", [None], 5])
def test_what_no_report_holds_is_refused(cells: Any, tmp_path: Path) -> None:
    with pytest.raises(InkdriftError, match="this is no report of ours"):
        two(tmp_path, right(), right(), blend={"title": "Belt", "cells": cells})


RECIPE = """
title = "Belt two"

[[blend]]
title = "What belt two does"
draws = 3
[[blend.part]]
perturbation = "translation"
along = "x"
unit = "px"
triangular = { low = -3, mode = 0, high = 3 }
"""


def test_blends_of_real_reports_are_compared_from_python_and_from_folders(tmp_path: Path) -> None:
    glyphs = write_strokes(count=80, seed=2)
    truth = glyphs.labels

    def knows(shift: int) -> Any:
        asked = iter(range(10**6))
        return lambda x: (truth[: len(x)] + (next(asked) % shift == 0)) % 10

    made = [make_report(knows(shift), parse_recipe(RECIPE), glyphs) for shift in (2, 3)]
    folders = []
    for at, report in enumerate(made):
        folders.append(tmp_path / str(at))
        report.save(folders[-1])
    here, there = compare_reports(made), compare_reports(folders)
    assert here.compared == there.compared
    (blend,) = here.compared.blends
    assert blend.of.cells == tuple(f"blend-01-draw-{n}" for n in (1, 2, 3))
    for share, report in zip(blend.accuracies, made, strict=True):
        assert share == report.evaluation.blends[0].accuracy
