"""curves.csv, read back by Python's own csv module."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from gen.report.table import COLUMNS, GRID_COLUMNS, as_csv, grids_as_csv


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_every_level_is_a_row_with_its_figures(planted: ModuleType) -> None:
    made = planted.slipped()
    rows = read(as_csv(made))
    points = [(i, c, p) for i, c in enumerate(made.curves, 1) for p in c.points]
    assert len(rows) == len(points)
    for row, (number, curve, point) in zip(rows, points, strict=True):
        assert row["sweep"] == str(number)
        assert row["perturbation"] == curve.perturbation
        level = row["level"] if isinstance(point.level, str) else float(row["level"])
        assert level == point.level
        assert int(row["correct"]) == point.accuracy.correct
        assert float(row["accuracy"]) == float(f"{point.accuracy.value:.6g}")
        assert row["nominal"] == ("yes" if point.level == curve.nominal else "no")
        assert (row["difference"] == "") == (point.level == curve.nominal)
        assert row["interval"] == point.accuracy.method
        assert row["difference_interval"] == (point.difference.method if point.difference else "")


def test_lines_end_as_rfc_4180_has_it(planted: ModuleType) -> None:
    text = as_csv(planted.healthy())
    assert text.endswith("\r\n")
    assert text.count("\n") == text.count("\r\n")
    assert text.split("\r\n", 1)[0] == ",".join(COLUMNS)


@pytest.mark.parametrize(
    "name", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", '=HYPERLINK("http://x","y")', "=a,b\r\n=c"]
)
def test_text_is_never_a_formula(planted: ModuleType, name: str) -> None:
    made = planted.healthy()
    curve: Any = replace(made.curves[0], title=name, options=(("along", name),))
    rows = read(as_csv(replace(made, curves=(curve,))))
    assert rows[0]["title"] == f"'{name}"
    assert all(not cell.startswith(("=", "@", "+", "\t")) for row in rows for cell in row.values())


def test_negative_amounts_stay_numbers(planted: ModuleType) -> None:
    assert read(as_csv(planted.slipped()))[0]["level"] == "-8"


def test_a_title_with_commas_and_quotes_comes_back_whole(planted: ModuleType) -> None:
    title = 'placement, "as drawn"\nor not'
    made = planted.healthy()
    made = replace(made, curves=(replace(made.curves[0], title=title),))
    assert read(as_csv(made))[0]["title"] == title


def test_calibration_stands_in_the_row_of_its_level(planted: ModuleType) -> None:
    made = planted.thorough()
    rows = read(as_csv(made))
    point = made.curves[0].points[0]
    assert float(rows[0]["brier"]) == float(f"{point.calibration.brier:.6g}")
    assert float(rows[0]["log_loss"]) == float(f"{point.calibration.log_loss:.6g}")
    assert float(rows[0]["ece"]) == float(f"{point.calibration.ece:.6g}")
    assert read(as_csv(planted.healthy()))[0]["ece"] == ""


def test_every_cell_of_a_grid_is_a_row(planted: ModuleType) -> None:
    made = planted.thorough()
    (grid,) = made.grids
    holed = replace(grid, points=(*grid.points[:3], (*grid.points[3][:3], None)))
    rows = read(grids_as_csv(replace(made, grids=(holed,))))
    assert len(rows) == 16
    assert list(rows[0]) == list(GRID_COLUMNS)
    assert (rows[6]["down_level"], rows[6]["across_level"]) == ("10", "1")
    assert int(rows[6]["correct"]) == grid.points[1][2].accuracy.correct
    assert rows[15]["correct"] == ""
    assert read(grids_as_csv(planted.healthy())) == []
