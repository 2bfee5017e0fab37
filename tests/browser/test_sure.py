"""How sure the model is at a level: drawn and told as report.json has it."""

from __future__ import annotations

import re
from typing import Any

import pytest
from selenium.webdriver.common.keys import Keys

from gen.report.sure_here import LEFT, SIDE, TOP
from tests.browser.opened import Opened
from tests.browser.pages import Written
from tests.browser.reading import assert_counts, assert_shares, figures

pytestmark = pytest.mark.browser

KINDS = ("report", "many classes", "thorough")
Told = dict[str, Any]


def sure(opened: Opened, number: int) -> Told:
    """What a sweep says of confidence now."""
    told: Told = opened.script(_SURE, f"sweep-{number}")
    return told


def assert_sure(told: Told, point: Told) -> None:
    """Drawing, lines and bins are those of a level in report.json."""
    part = point["calibration"]
    assert len(told["rows"]) == len(part["bins"])
    for (edges, answers, right, interval), each in zip(told["rows"], part["bins"], strict=True):
        for figure, edge in zip(figures(edges), (each["from"], each["to"]), strict=True):
            assert abs(figure - 100 * edge) <= 0.05 + 1e-6
        assert_counts(answers, each["n"])
        assert_shares(right, each["accuracy"])
        assert_shares(interval, each["low"], each["high"])
    spots = re.findall(r"M([\d.]+) ([\d.]+)h0", told["spots"])
    for (x, y), each in zip(spots, part["bins"], strict=True):
        assert abs((float(x) - LEFT) / SIDE - each["confidence"]) < 0.001
        assert abs(1 - (float(y) - TOP) / SIDE - each["accuracy"]) < 0.001
    overall, error, *_ = told["lines"]
    assert_shares(overall, point["accuracy"] + part["overconfidence"], point["accuracy"])
    assert abs(figures(error)[0] - 100 * part["ece"]) <= 0.05 + 1e-6


@pytest.mark.parametrize("kind", KINDS)
def test_at_every_level_confidence_is_drawn_and_told_as_the_report_has_it(
    opened: Opened, written: Written, kind: str
) -> None:
    opened.open(written.page(kind)).unfold()
    for number, curve in enumerate(written.document(kind)["curves"], 1):
        opened.script(f"document.querySelector('#sweep-{number} .handle').focus()")
        opened.press(Keys.HOME)
        for point in curve["points"]:
            assert_sure(sure(opened, number), point)
            opened.press(Keys.ARROW_RIGHT)
    assert opened.problems() == []


def test_what_is_unfolded_stays_so_while_the_handle_moves(opened: Opened, written: Written) -> None:
    opened.open(written.page("report"))
    assert not opened.script("return document.querySelector('#sweep-1 details.sure').open")
    opened.script("document.querySelector('#sweep-1 details.sure summary').focus()")
    opened.press(Keys.ENTER)
    opened.script("document.querySelector('#sweep-1 .handle').focus()")
    opened.press(Keys.HOME, Keys.ARROW_RIGHT)
    assert opened.script("return document.querySelector('#sweep-1 details.sure').open")


def test_a_drawing_of_another_level_is_seen(opened: Opened, written: Written) -> None:
    opened.open(written.page("report")).unfold()
    first, second = written.document("report")["curves"][0]["points"][:2]
    opened.script("document.querySelector('#sweep-1 .handle').focus()")
    opened.press(Keys.HOME)
    assert_sure(sure(opened, 1), first)
    with pytest.raises((AssertionError, ValueError), match=r"."):
        assert_sure(sure(opened, 1), second)


_SURE = """
const sweep = document.getElementById(arguments[0]);
const text = e => e.textContent.replaceAll('\\u00a0', ' ').trim();
return {
  rows: [...sweep.querySelector('.bins').tBodies[0].rows].map(r => [...r.cells].map(text)),
  lines: [...sweep.querySelector('[data-part="sure-lines"]').children].map(text),
  spots: sweep.querySelector('.spots').getAttribute('d'),
};
"""
