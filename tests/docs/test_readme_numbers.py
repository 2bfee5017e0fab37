"""The figures that README quotes from the demo are those that the demo writes."""

from __future__ import annotations

import json
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")
DEMO = ROOT / "demo_output"


def test_both_own_scores_are_those_of_the_story() -> None:
    quoted = re.findall(r"^  (?:right|slipped) +[\d.]+%$", README, re.MULTILINE)
    assert len(quoted) == 2
    story = (DEMO / "story.txt").read_text("utf-8").splitlines()
    assert all(line in story for line in quoted)


def test_the_slipped_readers_true_score_is_that_of_its_report() -> None:
    report = json.loads((DEMO / "report-slipped" / "report.json").read_text("utf-8"))
    (quoted,) = re.findall(r"tags as they really are the second reads\n([\d.]+) %", README)
    assert f"{report['baseline']['accuracy']:.1%}" == f"{quoted}%"


def test_the_quoted_finding_is_the_first_of_its_report() -> None:
    report = json.loads((DEMO / "report-slipped" / "report.json").read_text("utf-8"))
    quoted = " ".join(
        line.removeprefix("> ") for line in README.splitlines() if line.startswith("> ")
    )
    assert quoted == report["findings"][0]["says"]
