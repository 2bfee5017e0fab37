"""A build that is stopped: exit codes, lines, JUnit XML, and a test that fails readably."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from xml.dom import minidom

import numpy as np
import pytest
from numpy.typing import NDArray

from gen import RequirementMissed, hold_to, parse_recipe, write_strokes
from gen.core.errors import RecipeError
from tests.cli.support import SMALL, Ended, Shed, environment

Called = Callable[..., Ended]

GATE = f"""{SMALL}
[[require]]
perturbation = "translation"
unit = "px"
within = 1
keeps = {{keeps}}

[[require]]
nominal = true
keeps = 0.05
"""


@pytest.fixture
def gate(shed: Shed) -> Shed:
    """Models that say 0 or 3 to everything, right for a tenth, and what they are held to."""
    for name, keeps in (("open", 0.1), ("shut", 0.5)):
        text = GATE.format(keeps=keeps)
        (shed.folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return shed


def report(called: Called, recipe: str, *more: str, model: str = "models.py:centre") -> Ended:
    return called("report", model, recipe, "--count", "20", "--into", "out", *more)


def test_what_is_kept_ends_with_0(gate: Shed, called: Called) -> None:
    ended = report(called, "open.toml")
    assert ended.code == 0
    assert "missed" not in ended.err


def test_what_is_missed_ends_with_1_once_everything_is_written(gate: Shed, called: Called) -> None:
    ended = report(called, "shut.toml", "--junit", "gate.xml", "--quiet")
    assert ended.code == 1
    # What the model itself prints stands before it.
    *_, last = ended.err.splitlines()
    assert last == (
        "missed    translation along x from -1 to 1 px keeps 50 %: "
        "worst at -1 px along x (left): 10.0 % "
        "(2.8 to 30.1 %), asked 50 %; 2 of 20 read rightly"
    )
    assert "\n1. A requirement is missed: translation along x" in ended.out
    stored = json.loads((gate.folder / "out" / "report.json").read_text("utf-8"))
    assert [part["kept"] for part in stored["requirements"]] == [False, True]
    suite = minidom.parse(str(gate.folder / "gate.xml")).getElementsByTagName("testsuite")[0]
    assert (suite.getAttribute("tests"), suite.getAttribute("failures")) == ("2", "1")


def test_the_printed_json_is_whole_when_one_is_missed(gate: Shed, called: Called) -> None:
    ended = report(called, "shut.toml", "--json", "--quiet")
    assert (ended.code, json.loads(ended.out)["requirements"][0]["kept"]) == (1, False)


def test_junit_may_lie_in_the_reports_own_folder(gate: Shed, called: Called) -> None:
    assert report(called, "open.toml", "--junit", "out/junit.xml").code == 0
    assert (gate.folder / "out" / "junit.xml").is_file()


def test_junit_without_requirements_is_refused_before_any_work(gate: Shed, called: Called) -> None:
    before = gate.names()
    ended = report(called, "small.toml", "--junit", "gate.xml")
    assert ended.code == 2
    assert "the recipe requires nothing" in ended.err
    assert gate.names() == before


def test_junit_in_a_folder_that_is_not_there_is_refused_before_any_work(
    gate: Shed, called: Called
) -> None:
    before = gate.names()
    ended = report(called, "open.toml", "--junit", "nowhere/gate.xml")
    assert (ended.code, "its folder isn't there" in ended.err) == (2, True)
    assert gate.names() == before


JUNIT = '<?xml version="1.0" encoding="UTF-8"?>\n<testsuites>\n</testsuites>\n'


@pytest.mark.parametrize(
    ("recipe", "model"), [("open.toml", "models.py:nan"), ("broken.toml", "models.py:centre")]
)
def test_a_run_that_ends_early_leaves_no_older_outcome(
    gate: Shed, called: Called, recipe: str, model: str
) -> None:
    (gate.folder / "broken.toml").write_text("title = \n", encoding="utf-8")
    (gate.folder / "gate.xml").write_text(JUNIT, encoding="utf-8")
    assert report(called, recipe, "--junit", "gate.xml", model=model).code == 2
    assert not (gate.folder / "gate.xml").exists()


def test_an_older_outcome_is_replaced(gate: Shed, called: Called) -> None:
    (gate.folder / "gate.xml").write_text(JUNIT, encoding="utf-8")
    assert report(called, "open.toml", "--junit", "gate.xml").code == 0
    assert "testcase" in (gate.folder / "gate.xml").read_text("utf-8")


def test_junit_takes_the_place_of_nothing_else(gate: Shed, called: Called) -> None:
    said = (gate.folder / "open.toml").read_bytes()
    ended = report(called, "open.toml", "--junit", "open.toml")
    assert (ended.code, "no JUnit XML" in ended.err) == (2, True)
    assert (gate.folder / "open.toml").read_bytes() == said
    # Through a link it would not be seen what is lost.
    (gate.folder / "link.xml").symlink_to("open.toml")
    ended = report(called, "open.toml", "--junit", "link.xml")
    assert (ended.code, "no plain file" in ended.err) == (2, True)
    assert (gate.folder / "link.xml").is_symlink()


@pytest.mark.parametrize("name", ["out", "out/report.html", "out/answers.npz"])
def test_junit_does_not_go_where_the_report_goes(gate: Shed, called: Called, name: str) -> None:
    before = gate.names()
    ended = report(called, "open.toml", "--junit", name)
    assert (ended.code, "the report itself goes there" in ended.err) == (2, True)
    assert gate.names() == before


def test_a_level_that_failed_misses_what_needs_it(gate: Shed, called: Called) -> None:
    # This model breaks once the ink is a px further left.
    ended = report(called, "open.toml", "--quiet", model="models.py:edgy")
    assert ended.code == 1
    assert "missed    translation along x from -1 to 1 px keeps 10 %: " in ended.err
    assert "level -1 px was not scored: " in ended.err
    assert "ink at the left edge" in ended.err
    assert "the model failed in 1 cell" in ended.err


def test_a_build_is_stopped_though_nobody_reads_the_summary(gate: Shed) -> None:
    command = [sys.executable, "-m", "gen", "report", "models.py:centre", "shut.toml"]
    with subprocess.Popen(
        [*command, "--count", "20", "--into", "out", "--quiet"],
        cwd=gate.folder,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        said = running.stderr.read().decode()
        assert running.wait() == 1
    assert said.splitlines()[-1].startswith("missed    translation")


def test_check_tells_how_many_requirements_there_are(gate: Shed, called: Called) -> None:
    assert "3 levels, 2 requirements, seed 0" in called("recipe", "check", "open.toml").out
    assert "requirement" not in called("recipe", "check", "small.toml").out


TEST = '''
from gen import hold_to, parse_recipe, write_strokes

RECIPE = """{recipe}"""


def always_three(pictures):
    return [3] * len(pictures)


def test_the_gate():
    report = hold_to(always_three, parse_recipe(RECIPE), write_strokes(count=20), extras=False)
    assert report.evaluation.baseline.accuracy.correct == 2
'''


def pytest_run(shed: Shed, recipe: str) -> subprocess.CompletedProcess[str]:
    (shed.folder / "test_gate.py").write_text(TEST.format(recipe=recipe), encoding="utf-8")
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "test_gate.py"],
        cwd=shed.folder,
        env=environment(),
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_test_that_is_missed_shows_its_own_line_and_every_requirement(shed: Shed) -> None:
    done = pytest_run(shed, GATE.format(keeps=0.5))
    assert done.returncode == 1
    assert ">       report = hold_to(always_three" in done.stdout
    wanted = """\
RequirementMissed: 1 of 2 requirements missed, of the recipe "Small"
E         model   always_three: handed float32 (n, H, W), {handed}
E         glyphs  built-in strokes, 20 glyphs of 28 x 28 px
E         missed  translation along x from -1 to 1 px keeps 50 %
E                 {worst}: 10.0 % (2.8 to 30.1 %), asked 50 %; 2 of 20 read rightly
E         kept    nominal keeps 5 %
E                 10.0 % (2.8 to 30.1 %), asked 5 %; 2 of 20 read rightly
"""
    handed = "0 for bare paper to 1 for full ink; gives labels"
    assert wanted.format(handed=handed, worst="worst at -1 px along x (left)") in done.stdout
    assert "in hold_to" not in done.stdout, "the inside of the package is no news"
    assert "raise missed" not in done.stdout


def test_a_test_that_is_kept_goes_on_with_the_report(shed: Shed) -> None:
    done = pytest_run(shed, GATE.format(keeps=0.1))
    assert (done.returncode, "1 passed" in done.stdout) == (0, True)


def zeros(pictures: list[object]) -> list[int]:
    return [0] * len(pictures)


def test_what_is_missed_brings_its_report(tmp_path: Path) -> None:
    path = tmp_path / "gate.toml"
    path.write_text(GATE.format(keeps=0.5), encoding="utf-8")
    with pytest.raises(RequirementMissed, match="keeps 50 %") as caught:
        hold_to(zeros, path, write_strokes(count=20), extras=False)
    assert [part.kept for part in caught.value.report.evaluation.requirements] == [False, True]


RUDE = "out of ink\nkept      everything\x1b[2J"


def rude(pictures: NDArray[np.float32]) -> NDArray[np.intp]:
    """Breaks, with words made to steer a terminal, once the ink is far to the right."""
    across = pictures.sum(axis=(0, 1))
    if len(pictures) == 20 and across @ np.arange(28) > 17 * across.sum():
        raise RuntimeError(RUDE)
    return np.zeros(len(pictures), int)


def test_what_a_model_says_when_it_breaks_can_not_pass_for_an_outcome() -> None:
    text = GATE.format(keeps=0.05).replace("[-1, 0, 1]", "[-1, 0, 1, 6]")
    recipe = parse_recipe(text.replace("within = 1", "levels = [6]"))
    with pytest.raises(RequirementMissed, match=r"level 6 px was not .*out of ink") as caught:
        hold_to(rude, recipe, write_strokes(count=20), extras=False)
    # The recipe, the model, the glyphs, and two requirements with their evidence.
    lines = str(caught.value).split("\n")
    assert len(lines) == 3 + 2 * 2
    assert all(line.isprintable() for line in lines)


def test_a_recipe_that_requires_nothing_is_an_error_and_not_a_passing_test() -> None:
    with pytest.raises(RecipeError, match=r"(?s)requires nothing.*\[\[require\]\]"):
        hold_to(zeros, parse_recipe(SMALL), write_strokes(count=20))
