"""The report as an object and as files."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path
from types import ModuleType

import jsonschema
import pytest

from gen.core.errors import OutputError
from gen.report.document import schema
from gen.report.object import Report
from gen.report.run import RunInfo
from gen.report.write import write_report


@pytest.fixture
def report(planted: ModuleType) -> Report:
    made = planted.slipped()
    return Report(made, planted.shown(made), RunInfo("gen report m.py:read r.toml", "seed = 1\n"))


def test_saving_writes_the_three_files(report: Report, tmp_path: Path) -> None:
    paths = report.save(tmp_path / "new" / "out")
    assert sorted(paths) == ["curves.csv", "report.html", "report.json"]
    stored = json.loads(paths["report.json"].read_text("utf-8"))
    jsonschema.Draft202012Validator(schema()).validate(stored)
    assert stored == report.as_dict()
    assert paths["report.html"].read_text("utf-8") == report.as_html()


def test_saving_twice_gives_the_same_bytes(report: Report, tmp_path: Path) -> None:
    first, second = report.save(tmp_path / "a"), report.save(tmp_path / "b")
    for name, path in first.items():
        assert path.read_bytes() == second[name].read_bytes()


def test_a_folder_that_is_not_there_is_refused(planted: ModuleType, tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="there is no such folder"):
        write_report(tmp_path / "nowhere", planted.healthy())


def test_a_file_in_the_place_of_the_folder_is_refused(report: Report, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("")
    with pytest.raises(OutputError, match="can't be made"):
        report.save(tmp_path / "out")


def test_a_name_with_half_a_character_can_still_be_written(
    planted: ModuleType, tmp_path: Path
) -> None:
    from dataclasses import replace

    made = replace(planted.healthy(), glyphs="tags\udcff.idx")
    paths = Report(made).save(tmp_path)
    json.loads(paths["report.json"].read_text("utf-8"))
    assert "tags" in paths["report.html"].read_text("utf-8")


def test_the_words_of_a_report_are_its_summary(report: Report) -> None:
    assert str(report).startswith("NOT SAFE TO RELY ON\n")
    assert report.verdict == "Not safe to rely on"
    assert report.findings[0].says.split(":")[0] in " ".join(str(report).split())


def test_a_notebook_shows_the_page_in_a_closed_frame(report: Report) -> None:
    shown = report._repr_html_()
    frame = re.fullmatch(r'<iframe [^>]*srcdoc="([^"]*)"[^>]*></iframe>', shown)
    assert frame is not None
    assert html.unescape(frame[1]) == report.as_html()
    assert 'sandbox=""' in shown


def test_a_report_is_shown_briefly_where_only_its_name_is_wanted(report: Report) -> None:
    assert "sweeps" not in repr(report)
