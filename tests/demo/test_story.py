"""What the demo claims: two readers look equally good, and the report tells them apart."""

from __future__ import annotations

import json
import re
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from gen.demo.crate_tags import CLASSES, HEADER_BYTES, decode, made_tags
from gen.demo.reader import Reader
from gen.demo.story import SLIP_BYTES

pytestmark = pytest.mark.slow

COMMITTED = Path(__file__).resolve().parents[2] / "demo_output"
GOOD = 0.9
"""What both readers must score for the story to be true."""
# A slip in words or as a peak along x or in bytes: what must be said of one reader alone.
NAMES_A_SLIP = re.compile(r"row slip|too (early|late)|wraps the rows|peaks? at")


def report_on(demo: Path, name: str) -> dict[str, Any]:
    told: dict[str, Any] = json.loads((demo / f"report-{name}" / "report.json").read_text("utf-8"))
    return told


@pytest.mark.parametrize(("name", "skip"), [("right", 16), ("slipped", 12)])
def test_both_readers_look_good_on_held_out_tags_read_their_way(
    demo: Path, name: str, skip: int
) -> None:
    assert skip in (HEADER_BYTES, HEADER_BYTES - SLIP_BYTES)
    _, held_out = made_tags()
    reader = Reader.load(demo / f"{name}.npz")
    answers = reader.predict_proba(decode(held_out.images, skip=skip)).argmax(axis=1)
    share = float((answers == held_out.answers).mean())
    assert share > GOOD
    assert f"  {name:8} {share:.1%}" in (demo / "story.txt").read_text("utf-8")


def test_the_report_of_the_slipped_reader_names_the_slip(demo: Path) -> None:
    told = report_on(demo, "slipped")
    first = told["findings"][0]["says"]
    assert "+4 px along x" in first
    assert "row slip of +4 bytes" in first
    slip = next(curve for curve in told["curves"] if curve["perturbation"] == "row-slip")
    assert slip["peak"]["level"] == SLIP_BYTES
    assert slip["peak"]["off_nominal"]
    assert told["baseline"]["accuracy"] < GOOD


def test_the_report_of_the_right_reader_names_none(demo: Path) -> None:
    told = report_on(demo, "right")
    assert not [f["says"] for f in told["findings"] if NAMES_A_SLIP.search(f["says"])]
    assert not any(
        curve["peak"]["off_nominal"]
        for curve in told["curves"]
        if curve["perturbation"] in ("row-slip", "translation")
    )
    assert told["baseline"]["accuracy"] > GOOD


def test_the_search_for_a_slip_finds_the_one_that_is_told(demo: Path) -> None:
    assert NAMES_A_SLIP.search(report_on(demo, "slipped")["findings"][0]["says"])


def test_it_is_shown_on_every_class(demo: Path) -> None:
    assert report_on(demo, "right")["classes"] == list(CLASSES)


@pytest.mark.skipif(not COMMITTED.is_dir(), reason="demo_output is no part of this copy")
def test_a_rerun_gives_what_is_committed(demo: Path, same_demo: ModuleType) -> None:
    assert same_demo.differences(COMMITTED, demo) == []
