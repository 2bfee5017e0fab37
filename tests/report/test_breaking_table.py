"""breaking.csv: each glyph's first misread level on either side, by a slower way too."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from types import ModuleType
from typing import Any

import numpy as np

from gen.evaluate.breaking import breaking
from gen.evaluate.sheet import Record, Sheet
from gen.report.breaking_table import COLUMNS, breaking_as_csv
from gen.report.write import write_report


def swept(
    planted: ModuleType, answers: dict[Any, list[int]], labels: list[int], **changes: Any
) -> tuple[Any, Sheet]:
    """A sweep whose answers are given by level, for classes a, b and c."""
    levels = list(answers)
    curve = planted.curve("blur", "px", levels, lambda level: 0.9, classes=("a", "b", "c"))
    points = tuple(replace(p, cell=f"cell {p.level:g}") for p in curve.points)
    sheet = Sheet([p.cell for p in points], np.array(labels), writers=None, classes=("a", "b", "c"))
    n = len(labels)
    for point, said in zip(points, answers.values(), strict=True):
        record = Record(np.array(said, np.int16), None, np.zeros(n))
        sheet.put(point.cell, np.arange(n), record)
    made = planted.evaluation(replace(curve, points=points, **changes), classes=("a", "b", "c"))
    return made, sheet


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_each_glyph_has_the_level_nearest_to_nominal_that_misreads_it(
    planted: ModuleType,
) -> None:
    made, sheet = swept(
        planted,
        {
            -2.0: [1, 0, 2, 0],
            -1.0: [0, 0, 2, 0],
            0.0: [0, 0, 1, 0],  # the last is "c" and misread from the start
            1.0: [0, 2, 1, 2],
            3.0: [1, 0, 1, 2],
        },
        [0, 0, 1, 2],
    )
    rows = read(breaking_as_csv(made, sheet))
    assert [tuple(row.values()) for row in rows] == [
        ("1", "blur", "0", "a", "a", "-2", "b", "3", "b"),
        ("1", "blur", "1", "a", "a", "", "", "1", "c"),
        ("1", "blur", "2", "b", "b", "-1", "c", "", ""),
        ("1", "blur", "3", "c", "a", "", "", "", ""),
    ]
    assert tuple(rows[0]) == COLUMNS


def test_a_sweep_with_one_side_leaves_the_other_empty_and_rules_are_left_out(
    planted: ModuleType,
) -> None:
    made, sheet = swept(planted, {0.0: [0, 1], 2.0: [1, 1]}, [0, 1])
    by_rule = replace(made.curves[0], nominal="as drawn")
    both = replace(made, curves=(by_rule, made.curves[0]))
    rows = read(breaking_as_csv(both, sheet))
    assert [(r["sweep"], r["below"], r["above"], r["above_answered"]) for r in rows] == [
        ("2", "", "2", "b"), ("2", "", "", "")
    ]  # fmt: skip


def test_glyphs_keep_their_numbers_where_some_are_not_scored(planted: ModuleType) -> None:
    made, sheet = swept(planted, {0.0: [0, 0, 1], 2.0: [1, 0, 1]}, [0, 0, 1])
    sheet.leave_out(np.array([1]))
    rows = read(breaking_as_csv(made, sheet))
    assert [(row["glyph"], row["true"], row["above"]) for row in rows] == [
        ("0", "a", "2"), ("2", "b", "")
    ]  # fmt: skip


def test_the_rows_add_up_to_the_distribution_of_the_report(planted: ModuleType) -> None:
    rng = np.random.default_rng(5)
    labels = rng.integers(0, 3, 200)
    levels = [-3.0, -1.5, 0.0, 1.0, 2.0, 4.0]
    answers = {
        level: np.where(rng.random(200) < 0.8, labels, (labels + 1) % 3).tolist()
        for level in levels
    }
    made, sheet = swept(planted, answers, labels.tolist())
    rows = read(breaking_as_csv(made, sheet))
    right = np.stack([np.array(answers[level]) == labels for level in levels])
    for side in breaking(levels, right, nominal=0.0):
        column = {"down": "below", "up": "above"}[side.side]
        found = [float(row[column]) for row in rows if row[column]]
        assert tuple(found.count(level) for level in side.levels) == side.counts
    for glyph, row in enumerate(rows):
        slow = ""
        for level in (1.0, 2.0, 4.0):
            if answers[level][glyph] != labels[glyph] and answers[0.0][glyph] == labels[glyph]:
                slow = f"{level:g}"
                break
        assert row["above"] == slow


def test_it_is_written_with_the_answers_and_not_without(planted: ModuleType, tmp_path: Any) -> None:
    made, sheet = swept(planted, {0.0: [0, 1], 2.0: [1, 1]}, [0, 1])
    assert "breaking.csv" in write_report(tmp_path, made, sheet=sheet)
    text = (tmp_path / "breaking.csv").read_bytes().decode()
    assert text == breaking_as_csv(made, sheet)
    assert "breaking.csv" not in write_report(tmp_path, made)
    assert "breaking.csv" not in write_report(tmp_path, replace(made, curves=()), sheet=sheet)
