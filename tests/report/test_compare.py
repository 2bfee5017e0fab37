"""Comparisons: what is read from reports, what is said of them, and what is stored."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import jsonschema
import numpy as np
import pytest

import gen
from gen.core.errors import InkdriftError, OutputError
from gen.evaluate.compared import PairDifference
from gen.evaluate.results import Side
from gen.report.compare_document import schema
from gen.report.compare_make import Comparison, compare_reports
from gen.report.compare_pairs import figures_words
from gen.report.compare_words import where_words
from tests.report.compare_support import CELLS, GRID, RULE, curve, reads, report_folder
from tests.report.page_reader import Page


def pair(tmp_path: Path, **shares: float) -> Comparison:
    """A reader that keeps 90 % everywhere, and one that doesn't where a share is given."""
    first = report_folder(tmp_path / "old", reads(), name="old.py:reader")
    second = report_folder(tmp_path / "new", reads(**shares), name="new.py:reader")
    return compare_reports([first, second])


# Verdicts and findings


def test_alike_models_give_no_difference(tmp_path: Path) -> None:
    found = pair(tmp_path)
    assert found.verdict == "No difference that holds after correction for all 5 tests"
    (said,) = found.findings
    assert said.says == (
        "Between old.py:reader and new.py:reader: no difference that holds after correction "
        "for all 5 tests, at nominal or in any sweep."
    )
    assert said.measured.startswith("At nominal +0.0 points (")


def test_a_planted_drop_is_told_where_it_is_and_nowhere_else(tmp_path: Path) -> None:
    found = pair(tmp_path, b2=0.7)
    assert found.verdict == "old.py:reader is better in places, new.py:reader nowhere"
    assert [said.says for said in found.findings] == [
        "old.py:reader reads better than new.py:reader in blur at 2 px.",
        "In placement: no difference that holds after correction for all 5 tests.",
    ]
    assert "p < 0.001 corrected, blur at 2 px" in found.findings[0].measured


def test_an_interval_without_nought_and_no_difference_after_correction_are_told_to_agree(
    tmp_path: Path,
) -> None:
    found = pair(tmp_path, box=0.865)  # six marks of 400: p is 0.031, and 0.16 of five tests
    (difference,) = found.compared.cell("02-box").differences
    assert difference.low > 0
    assert difference.p_holm > 0.05
    assert found.verdict == "No difference that holds after correction for all 5 tests"
    note = "one may leave 0 out where no difference holds after correction."
    for told in (found.as_text(), Page(found.as_html()).text):
        assert note in " ".join(told.split())


def test_a_drop_to_the_end_of_a_sweep_is_told_with_both_ends_of_where_it_is(tmp_path: Path) -> None:
    found = pair(tmp_path, b1=0.7, b2=0.7, box=0.99)
    assert found.verdict == "old.py:reader and new.py:reader are each better in places"
    assert [said.says for said in found.findings] == [
        "old.py:reader reads better than new.py:reader in blur from 1 px to 2 px.",
        "new.py:reader reads better than old.py:reader in placement at box centred.",
    ]


def test_each_sentence_has_figures_in_favour_of_the_one_that_it_praises(tmp_path: Path) -> None:
    found = pair(tmp_path, b1=0.3, b2=0.3, box=1.0)
    old, new, *_ = found.findings
    assert old.says.startswith("old.py:reader reads better")
    assert "largest +" in old.measured
    assert old.measured.endswith("blur at 1 px") or old.measured.endswith("blur at 2 px")
    # The other one's gain is smaller, and still what its own sentence shows.
    assert new.says.startswith("new.py:reader reads better")
    assert "largest +" in new.measured
    assert new.measured.endswith("placement at box centred")


@pytest.mark.parametrize(
    ("sweeps", "end"), [(7, "in sweep 6 at 1 px."), (8, "and in 2 more sweeps.")]
)
def test_a_long_list_of_sweeps_is_cut_and_the_rest_counted(
    sweeps: int, end: str, tmp_path: Path
) -> None:
    curves = [
        curve(f"sweep {n}", [0.0, 1.0, 2.0], ["nominal", f"{n}", CELLS[1]]) for n in range(sweeps)
    ]
    moved = {f"{n}": np.arange(400) > 200 for n in range(sweeps)}
    folders = [
        report_folder(tmp_path / name, {**reads(), **read}, name=name, curves=curves)
        for name, read in (("old", {cell: np.ones(400, bool) for cell in moved}), ("new", moved))
    ]
    says = compare_reports(folders).findings[0].says
    assert says.startswith("old reads better than new in sweep 0 at 1 px; in sweep 1 at 1 px")
    assert says.endswith(end)
    assert says.count("; ") == 6


def test_a_fault_in_the_file_is_told_by_its_name_alone(tmp_path: Path) -> None:
    swap = curve(
        "axis swap", [0.0, 1.0], ["nominal", CELLS[3]], perturbation="axis-swap", unit="times"
    )
    folders = [
        report_folder(tmp_path / name, reads(nominal=share, box=share), name=name, curves=[swap])
        for name, share in (("old", 0.9), ("new", 0.5))
    ]
    found = compare_reports(folders)
    assert found.findings[0].says == (
        "old reads better than new with nothing changed; in axis swap."
    )
    assert "old is better with and without." in found.as_html()


def test_nominal_is_told_once_and_not_under_every_sweep(tmp_path: Path) -> None:
    found = pair(tmp_path, nominal=0.6)
    assert [said.says for said in found.findings] == [
        "old.py:reader reads better than new.py:reader with nothing changed.",
        "In blur and placement: no difference that holds after correction for all 5 tests.",
    ]


@pytest.mark.parametrize(
    ("shares", "verdict"),
    [
        (dict.fromkeys(["nominal", "b1", "b2", "box", "top"], 0.5), "is better everywhere"),
        (dict.fromkeys(["nominal", "b1", "b2", "box"], 0.5), "is better in most places, new.py"),
        (dict.fromkeys(["nominal", "b1"], 0.5), "is better in places, new.py:reader nowhere"),
    ],
)
def test_the_verdict_says_how_widely_one_is_better(
    shares: dict[str, float], verdict: str, tmp_path: Path
) -> None:
    assert pair(tmp_path, **shares).verdict.startswith(f"old.py:reader {verdict}")


def test_nearly_everywhere_is_nine_cells_of_ten(tmp_path: Path) -> None:
    cells = ["nominal", *(f"01-{n}" for n in range(9))]
    long = [curve("blur", [float(n) for n in range(10)], cells)]
    better = {cell: np.ones(300, bool) for cell in cells}
    worse = {cell: np.arange(300) > 150 for cell in cells}
    first = report_folder(tmp_path / "a", better, name="a", curves=long)
    for alike, says in (
        (1, "a is better nearly everywhere"),
        (2, "a is better in most places, b nowhere"),
    ):
        told = {**worse, **{cell: better[cell] for cell in cells[:alike]}}
        second = report_folder(tmp_path / "b", told, name="b", curves=long)
        assert compare_reports([first, second]).verdict.startswith(says)


@pytest.mark.parametrize(
    ("others", "says"),
    [
        (1, "a is better in most places, b in a few"),
        (2, "a is better in most places, b in some"),
        (5, "a and b are each better in places"),
    ],
)
def test_one_that_is_better_in_half_of_the_cells_is_better_in_most(
    others: int, says: str, tmp_path: Path
) -> None:
    cells = ["nominal", *(f"01-{n}" for n in range(9))]
    long = [curve("blur", [float(n) for n in range(10)], cells)]
    all_read, half = np.ones(300, bool), np.arange(300) > 150
    a = {cell: half if at < others else all_read for at, cell in enumerate(cells)}
    b = {cell: all_read if at < others else half if at < 5 + others else all_read
         for at, cell in enumerate(cells)}  # fmt: skip
    folders = [
        report_folder(tmp_path / name, told, name=name, curves=long)
        for name, told in (("a", a), ("b", b))
    ]
    assert compare_reports(folders).verdict == says


def test_of_three_the_one_that_leads_is_named(tmp_path: Path) -> None:
    folders = [
        report_folder(tmp_path / name, reads(b2=share, top=share), name=name)
        for name, share in (("worst", 0.3), ("best", 0.9), ("middle", 0.6))
    ]
    found = compare_reports(folders)
    assert found.verdict == "best reads best"
    assert found.findings[0].says == (
        "best is better than each of the others somewhere, and nowhere worse."
    )
    assert {sweep.leader for sweep in found.compared.sweeps} == {1}
    assert len([said for said in found.findings if said.kind == "pair"]) == 3


def test_of_three_without_a_best_each_leads_where_it_does(tmp_path: Path) -> None:
    shares: dict[str, dict[str, float]] = {"x": {"b2": 0.99}, "y": {"top": 0.99}, "z": {}}
    folders = [
        report_folder(tmp_path / name, reads(**said), name=name) for name, said in shares.items()
    ]
    found = compare_reports(folders)
    assert found.findings[0].says == "x leads in blur; y leads in placement."
    assert found.verdict == "x leads in 1 of 2 sweeps"


PX = Side("translation", "px", 0.0, (), "translation", tuple(float(n) for n in range(-3, 4)))
RULES = Side("placement", "rule", "as drawn", (), "placement", ("as drawn", "top", "left"))
FAULT = Side("axis-swap", "times", 0.0, (), "axis swap", (0.0, 1.0))


@pytest.mark.parametrize(
    ("side", "better", "words"),
    [
        (PX, (1.0, 2.0, 3.0), "from +1 px to +3 px"),
        (PX, (-3.0, -2.0), "from -3 px to -2 px"),
        (PX, (-3.0,), "at -3 px"),
        (PX, (-1.0, 0.0, 1.0), "from -1 px to +1 px"),
        (PX, (-3.0, -2.0, 2.0, 3.0), "from -3 px to -2 px and from +2 px to +3 px"),
        (PX, PX.levels, "at every level"),
        (RULES, ("left",), "at left"),
        (RULES, ("top", "left"), "at top and at left"),
        (FAULT, (1.0,), ""),
        (FAULT, (0.0,), "without"),
        (FAULT, (0.0, 1.0), "with and without"),
    ],
)
def test_levels_are_put_into_words(side: Side, better: tuple[Any, ...], words: str) -> None:
    assert where_words(side, better) == words


def test_many_stretches_are_only_counted_in_a_finding() -> None:
    better = (-3.0, -1.0, 1.0)
    assert where_words(PX, better, most=2) == "at 3 of 7 levels"
    assert where_words(PX, better) == "at -3 px, at -1 px and at +1 px"


# What to bear in mind


def test_glyphs_that_not_every_model_was_scored_on_are_told(tmp_path: Path) -> None:
    first = report_folder(tmp_path / "old", reads(), name="old", left_out=[3, 4])
    second = report_folder(tmp_path / "new", reads(), name="new", left_out=[4, 9])
    found = compare_reports([first, second])
    assert found.compared.glyphs == 397
    assert found.findings[-1].says == (
        "Left out are glyphs that not every model was scored on: 1 of old and 1 of new. "
        "397 are compared."
    )


def test_a_cell_that_a_model_failed_in_is_told_and_stands_in_the_others_curve(
    tmp_path: Path,
) -> None:
    short = curve("blur", [0.0, 1.0], ["nominal", CELLS[1]])
    first = report_folder(
        tmp_path / "old", reads(), name="old", failed=[CELLS[2]], curves=[short, RULE]
    )
    second = report_folder(tmp_path / "new", reads(), name="new")
    found = compare_reports([first, second])
    assert found.findings[-1].says == (
        f"old has no answers in 1 cell ({CELLS[2]}), so it isn't compared there."
    )
    assert found.compared.sweeps[0].of.side.levels == (0.0, 1.0, 2.0)
    assert found.compared.cell(CELLS[2]).accuracies[0] is None
    assert "no answers" in found.as_html()
    assert found.compared.tests == 4


def test_few_glyphs_are_told(tmp_path: Path) -> None:
    first = report_folder(tmp_path / "old", reads(20), name="old")
    found = compare_reports([first, report_folder(tmp_path / "new", reads(20), name="new")])
    assert found.findings[-1].says.startswith("Only 20 glyphs were compared")


def test_other_versions_are_told(tmp_path: Path) -> None:
    first = report_folder(tmp_path / "old", reads(), name="old", version="1.0")
    found = compare_reports([first, report_folder(tmp_path / "new", reads(), name="new")])
    assert "different versions of Inkdrift (1.0 and 1.2.3)" in found.findings[-1].says


# Names


def test_models_called_alike_are_told_apart_by_folder_path_and_number(tmp_path: Path) -> None:
    a, b = (report_folder(tmp_path / name, reads()) for name in ("monday", "tuesday"))
    other = report_folder(tmp_path / "other", reads(), name="other.py:reader")
    assert compare_reports([a, other, b]).names == (
        "models.py:reader (monday)", "other.py:reader", "models.py:reader (tuesday)",
    )  # fmt: skip
    deep = report_folder(tmp_path / "week" / "monday", reads())
    assert compare_reports([a, deep]).names == (
        f"models.py:reader ({a})", f"models.py:reader ({deep})",
    )  # fmt: skip
    assert compare_reports([a, a]).names == ("models.py:reader (1)", "models.py:reader (2)")


def test_folders_are_left_out_of_names_that_differ_without(tmp_path: Path) -> None:
    a, b, c = (
        report_folder(tmp_path / name, reads(), name=f"{path}:reader")
        for name, path in (("1", "shed/old.py"), ("2", "shed/new.py"), ("3", "barn/new.py"))
    )
    assert compare_reports([a, b]).names == ("old.py:reader", "new.py:reader")
    assert compare_reports([b, c]).names == ("shed/new.py:reader", "barn/new.py:reader")
    program = report_folder(tmp_path / "4", reads(), name="program:node shed/reader.js")
    assert compare_reports([a, program]).names[1].endswith("node shed/reader.js")


def test_a_report_is_named_by_its_folder_or_its_document(tmp_path: Path) -> None:
    a = report_folder(tmp_path / "a", reads(), name="a")
    b = report_folder(tmp_path / "b", reads(b2=0.5), name="b")
    assert (
        compare_reports([a, b]).as_dict()
        == compare_reports([a / "report.json", str(b / "report.json")]).as_dict()
    )


# compare.json


def gridded(tmp_path: Path) -> Comparison:
    folders = []
    for name, share in (("old", 0.9), ("new", 0.5)):
        right = reads(b2=share) | {"g": reads(box=share)[CELLS[3]]}
        folders.append(report_folder(tmp_path / name, right, name=name, grids=[GRID]))
    return compare_reports(folders)


def test_a_grid_is_compared_cell_by_cell(tmp_path: Path) -> None:
    found = gridded(tmp_path)
    assert found.compared.grids[0].better == ((0, 1, 2, 0),)
    assert found.findings[1].says == (
        "In blur by blur, old reads better in 2 of 4 cells, new in 0."
    )
    assert found.compared.tests == 6
    assert found.findings[0].measured.endswith("p < 0.001 corrected, blur at 2 px")


def test_the_largest_difference_is_placed_in_its_grid(tmp_path: Path) -> None:
    folders = []
    for name, share in (("old", 0.9), ("new", 0.5)):
        right = reads() | {"g": reads(box=share)[CELLS[3]]}
        folders.append(report_folder(tmp_path / name, right, name=name, grids=[GRID]))
    found = compare_reports(folders)
    assert found.findings[0].measured.endswith("p < 0.001 corrected, blur by blur at 1 px and 2 px")
    alike = compare_reports([folders[0], folders[0]])
    assert alike.findings[0].says.endswith("for all 6 tests, at nominal or in any sweep or grid.")


def test_the_document_is_valid_and_the_same_at_every_rerun(tmp_path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    validator = jsonschema.Draft202012Validator(schema())
    for at, found in enumerate((gridded(tmp_path), pair(tmp_path / "pair", b2=0.4))):
        written = [found.save(tmp_path / f"out {at}{again}")["compare.json"] for again in (1, 2)]
        assert written[0].read_bytes() == written[1].read_bytes()
        stored = json.loads(written[0].read_bytes())
        validator.validate(stored)
        assert stored == found.as_dict()


@pytest.mark.parametrize("key", list(schema()["required"]))
def test_the_schema_refuses_a_document_that_lacks_a_key(key: str, tmp_path: Path) -> None:
    stored = pair(tmp_path).as_dict()
    del stored[key]
    with pytest.raises(jsonschema.ValidationError, match=f"'{key}' is a required property"):
        jsonschema.validate(stored, schema())


def test_the_document_holds_the_figures(tmp_path: Path) -> None:
    stored = pair(tmp_path, b2=0.7).as_dict()
    assert stored["tests"] == {"count": 5, "alpha": 0.05}
    assert stored["glyphs"]["counts"] == [134, 133, 133]
    blur = stored["sweeps"][0]
    (told,) = blur["pairs"]
    assert (told["first"], told["second"]) == ("A", "B")
    assert (told["first_better"], told["second_better"], blur["leads"]) == ([2.0], [], "A")
    cell = next(each for each in stored["cells"] if each["cell"] == CELLS[2])
    right = [part["correct"] for part in cell["accuracies"]]
    (difference,) = cell["differences"]
    assert difference["only_first"] - difference["only_second"] == right[0] - right[1]
    # Only the first cell on which they differ counts in the mean over the two levels.
    assert told["mean_difference"]["value"] == pytest.approx((right[0] - right[1]) / 800, rel=1e-5)


# What is refused


def broken(tmp_path: Path, text: str) -> Path:
    folder = report_folder(tmp_path / "bent", reads())
    (folder / "report.json").write_text(text)
    return folder


BENT = {
    "no JSON": ("{", "this is no JSON"),
    "deep": ("[" * 100_000, "this is no JSON"),
    "no object": ("[]", "this is no report of ours(.|\n)*list"),
    "nothing in it": ("{}", "this is no report of ours(.|\n)*KeyError"),
}


@pytest.mark.parametrize(("text", "says"), BENT.values(), ids=BENT)
def test_what_is_no_report_is_one_clear_error(text: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(InkdriftError, match=rf"report\.json: {says}"):
        compare_reports([broken(tmp_path, text), broken(tmp_path, text)])


PARTS: list[tuple[list[str | int], Any]] = [
    (["curves"], 3),
    (["curves", 0, "points"], []),
    (["curves", 0, "points", 0, "level"], True),
    (["curves", 0, "points", 0, "level"], float("nan")),
    (["curves", 0, "points", 0, "level"], 10**400),
    (["curves", 0, "title"], ["blur"]),
    (["curves", 0, "nominal"], 7.0),
    (["curves", 0, "nominal"], "none"),
    (["curves", 0, "options"], None),
    (["model"], "reader"),
    (["grids"], [{"points": [[]]}]),
]


@pytest.mark.parametrize(("path", "value"), PARTS, ids=map(str, range(len(PARTS))))
def test_a_part_of_another_kind_is_one_clear_error(
    path: list[str | int], value: object, tmp_path: Path
) -> None:
    folder = report_folder(tmp_path / "bent", reads())
    held = json.loads((folder / "report.json").read_text())
    at = held
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    (folder / "report.json").write_text(json.dumps(held))
    with pytest.raises(InkdriftError, match=r"report\.json: this is no report of ours"):
        compare_reports([folder, folder])


def test_a_folder_without_a_report_is_one_clear_error(tmp_path: Path) -> None:
    with pytest.raises(InkdriftError, match=r"report\.json: can't be read"):
        compare_reports([tmp_path / "none", tmp_path / "none"])


def test_a_report_without_answers_is_one_clear_error(tmp_path: Path) -> None:
    folder = report_folder(tmp_path / "old", reads())
    (folder / "answers.npz").unlink()
    with pytest.raises(InkdriftError, match=r"there is no answers\.npz in it(.|\n)*again"):
        compare_reports([folder, folder])


def test_answers_of_another_run_are_refused(tmp_path: Path) -> None:
    folder = report_folder(tmp_path / "old", reads())
    other = report_folder(tmp_path / "new", reads(), recipe_digest="c3" * 32)
    (folder / "answers.npz").write_bytes((other / "answers.npz").read_bytes())
    with pytest.raises(InkdriftError, match=r"answers\.npz is of another run than report\.json"):
        compare_reports([folder, folder])


def test_another_recipe_is_refused_by_the_names_of_the_models(tmp_path: Path) -> None:
    first = report_folder(tmp_path / "old", reads(), name="old")
    second = report_folder(tmp_path / "new", reads(), name="new", recipe_digest="c3" * 32)
    with pytest.raises(InkdriftError, match="old and new: these can't be compared"):
        compare_reports([first, second])


@pytest.mark.parametrize("many", [0, 1, 9])
def test_too_few_or_too_many_reports_are_refused(many: int, tmp_path: Path) -> None:
    folder = report_folder(tmp_path / "old", reads())
    with pytest.raises(InkdriftError, match=rf"got       {many}\n  allowed   2 to 8"):
        compare_reports([folder] * many)


def test_a_report_that_kept_no_answers_is_refused(tmp_path: Path) -> None:
    recipe = gen.parse_recipe('title = "As they are"')
    made = gen.make_report(lambda x: [0] * len(x), recipe, gen.write_strokes(count=20))
    object.__setattr__(made, "sheet", None)
    with pytest.raises(InkdriftError, match="holds no answers of single glyphs"):
        compare_reports([made, made])


def test_a_folder_that_can_not_be_made_is_one_clear_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="can't be written"):
        pair(tmp_path).save(tmp_path / "file" / "out")


def test_in_favour_of_the_second_model_a_difference_and_its_interval_change_sides() -> None:
    told = PairDifference(
        first=0, second=1, value=-0.03, low=-0.05, high=0.01,
        only_first=5, only_second=8, p_value=0.5, p_holm=0.5,
    )  # fmt: skip
    compared: Any = SimpleNamespace(
        cells=[SimpleNamespace(cell="nominal", differences=[told])], sweeps=(), grids=()
    )
    here, there = (figures_words(compared, pair) for pair in ((0, 1), (1, 0)))
    assert here == "At nominal -3.0 points (-5.0 to +1.0), p = 0.500 corrected"
    assert there == "At nominal +3.0 points (-1.0 to +5.0), p = 0.500 corrected"
