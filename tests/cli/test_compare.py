"""`gen compare`: the page and the document into a folder, the summary to standard output."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.support import Ended, Shed
from tests.report.compare_support import CELLS, pictures, reads, report_folder

Called = Callable[..., Ended]

COMPARE = ("compare", "old", "new", "--into", "out")


@pytest.fixture
def reports(shed: Shed) -> Path:
    kept = pictures(CELLS)
    report_folder(shed.folder / "old", reads(), name="old.py:reader", pictures=kept)
    report_folder(shed.folder / "new", reads(b2=0.6), name="new.py:reader", pictures=kept)
    return shed.folder


def test_it_writes_the_page_and_the_document_and_prints_the_summary(
    reports: Path, called: Called
) -> None:
    ended = called(*COMPARE)
    assert ended.code == 0
    assert ended.out.startswith("old.py:reader is better in places, new.py:reader nowhere\n")
    assert ended.err == "written   out/compare.html, compare.json beside it\n"
    assert {path.name for path in (reports / "out").iterdir()} == {"compare.html", "compare.json"}
    stored = json.loads((reports / "out" / "compare.json").read_text())
    assert stored["command"] == "gen compare old new --into out --overwrite"
    assert [one["report"] for one in stored["models"]] == ["old", "new"]


def test_json_has_standard_output_to_itself(reports: Path, called: Called) -> None:
    ended = called(*COMPARE, "--json", "--quiet")
    assert (ended.code, ended.err) == (0, "")
    assert ended.out == (reports / "out" / "compare.json").read_text()


def test_a_folder_that_is_not_empty_is_left_alone_unless_told(
    reports: Path, called: Called
) -> None:
    assert called(*COMPARE).code == 0
    ended = called(*COMPARE)
    assert (ended.code, ended.out) == (2, "")
    assert "the folder isn't empty" in ended.err
    assert called(*COMPARE, "--overwrite").code == 0


def test_what_can_not_be_compared_ends_with_2_and_writes_nothing(
    reports: Path, called: Called
) -> None:
    report_folder(
        reports / "new", reads(), name="new.py:reader", recipe_digest="c3" * 32,
        pictures=pictures(CELLS),
    )  # fmt: skip
    ended = called(*COMPARE)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err == (
        "old.py:reader and new.py:reader: these can't be compared: they are not of one recipe\n"
        "  got       SHA-256 b2b2b2b2b2b2 and c3c3c3c3c3c3\n"
        "  allowed   the same recipe\n"
        "  try       score both models with one recipe file, unchanged in between\n"
    )
    assert not (reports / "out").exists()


@pytest.mark.parametrize(
    ("given", "missing"), [((), "REPORT REPORT [...]"), (("old",), "a second REPORT")]
)
def test_fewer_than_two_reports_are_refused(
    given: tuple[str, ...], missing: str, reports: Path, called: Called
) -> None:
    ended = called("compare", *given, "--into", "out")
    assert ended.code == 2
    assert ended.err.startswith(f"gen compare: {missing} is missing\n")


def test_a_terminal_without_curly_quotes_gets_plain_ones(reports: Path, shed: Shed) -> None:
    ended = shed.gen(*COMPARE, PYTHONIOENCODING="latin-1")
    assert ended.code == 0
    assert ended.out.isascii()
    assert 'always answering "pear"' in ended.out
    assert "Marks that one model reads and another doesn't:" in ended.out
