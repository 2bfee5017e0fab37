"""JUnit XML, read with a reader of XML that is not the writer's."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import ModuleType
from xml.dom import minidom
from xml.parsers import expat

import pytest

from gen.core.errors import OutputError
from gen.evaluate.results import Evaluation
from gen.report.junit import as_junit, write_junit

HOSTILE = '"/><testcase name="planted"/><!-- \x1b[2J\x00\ud800\uffff]]> & \n'


def cases(text: str) -> list[minidom.Element]:
    return minidom.parseString(text.encode("utf-8")).getElementsByTagName("testcase")


def required(planted: ModuleType, *kept: bool) -> Evaluation:
    parts = tuple(planted.judged(each, f"requirement {n}") for n, each in enumerate(kept))
    seconds = (("rendering", 1.25), ("model", 2.0), ("statistics", 0.5))
    made = replace(planted.healthy(), requirements=parts, seconds=seconds)
    assert isinstance(made, Evaluation)
    return made


def test_a_requirement_is_a_testcase_and_one_that_is_missed_a_failure(planted: ModuleType) -> None:
    text = as_junit(required(planted, True, False, True))
    (suite,) = minidom.parseString(text).getElementsByTagName("testsuite")
    counts = {key: suite.getAttribute(key) for key in ("tests", "failures", "errors", "skipped")}
    assert counts == {"tests": "3", "failures": "1", "errors": "0", "skipped": "0"}
    failed = [bool(case.getElementsByTagName("failure")) for case in cases(text)]
    assert failed == [False, True, False]
    assert float(suite.getAttribute("time")) == 3.75


def test_a_failure_holds_the_evidence(planted: ModuleType) -> None:
    made = required(planted, False)
    (case,) = cases(as_junit(made))
    assert case.getAttribute("classname") == made.recipe
    assert case.getAttribute("name") == "requirement 0, at the lower end"
    (failure,) = case.getElementsByTagName("failure")
    assert failure.getAttribute("message").startswith("worst at -2 px along x (left): 93.1 % (")
    said = failure.firstChild
    assert isinstance(said, minidom.Text)
    for part in ("931 of 1,000 read rightly", "asked 95 %", made.model, made.glyphs):
        assert part in said.data


def test_no_title_or_name_can_put_markup_in(planted: ModuleType) -> None:
    made = required(planted, False, True)
    parts = tuple(replace(part, says=HOSTILE, why=HOSTILE) for part in made.requirements)
    hostile = replace(made, recipe=HOSTILE, model=HOSTILE, glyphs=HOSTILE, requirements=parts)
    found = cases(as_junit(hostile))
    assert len(found) == 2
    assert (
        found[0].getAttribute("classname").startswith('"/><testcase name="planted"/><!-- \\u001b')
    )
    assert [case.tagName for case in found] == ["testcase", "testcase"]


def test_the_hostile_text_would_break_xml_if_it_were_written_as_it_is() -> None:
    with pytest.raises(expat.ExpatError, match="not well-formed"):
        minidom.parseString(f"<a>{HOSTILE}</a>".encode("utf-8", "replace"))


def test_two_requirements_of_one_name_are_told_apart(planted: ModuleType) -> None:
    made = required(planted, True, False)
    same = tuple(replace(part, says="nominal keeps 97 %") for part in made.requirements)
    names = [c.getAttribute("name") for c in cases(as_junit(replace(made, requirements=same)))]
    assert names == [
        "nominal keeps 97 %, at the lower end",
        "nominal keeps 97 %, at the lower end (2)",
    ]


def test_the_file_is_whole_or_not_there(planted: ModuleType, tmp_path: Path) -> None:
    made = required(planted, False)
    write_junit(tmp_path / "junit.xml", made)
    assert [path.name for path in tmp_path.iterdir()] == ["junit.xml"]
    assert (tmp_path / "junit.xml").read_bytes() == as_junit(made).encode("utf-8")
    with pytest.raises(OutputError, match="nowhere"):
        write_junit(tmp_path / "nowhere" / "junit.xml", made)
