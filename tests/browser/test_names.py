"""Names that are read from right to left leave the words and figures round them in order."""

from __future__ import annotations

from pathlib import Path

import pytest

from gen import make_report, parse_recipe
from tests.browser.opened import Opened
from tests.browser.pages import digits, reader

pytestmark = pytest.mark.browser

RECIPE = """\
title = "From right to left"
[[sweep]]
perturbation = "translation"
along = "x"
unit = "px"
levels = [-4, 0, 4]
"""
ALEF = tuple("\u05d0" + "\u05d1" * k for k in range(10))

_LEFT_TO_RIGHT = """
const [selector, words] = arguments;
const inside = document.querySelector(selector);
const walker = document.createTreeWalker(inside, NodeFilter.SHOW_TEXT);
for (let node; (node = walker.nextNode());) {
  let after = 0;
  const places = words.map((word) => (after = node.data.indexOf(word, after)));
  if (places.includes(-1)) continue;
  return words.map((word, at) => {
    const range = document.createRange();
    range.setStart(node, places[at]);
    range.setEnd(node, places[at] + word.length);
    const box = range.getBoundingClientRect();
    return [box.left, box.top];
  });
}
return null;
"""


def lefts(opened: Opened, selector: str, *words: str) -> list[float]:
    """Where words begin that follow each other in one piece of text, all in one line."""
    found = opened.script(_LEFT_TO_RIGHT, selector, list(words))
    assert found is not None, words
    assert max(top for _, top in found) - min(top for _, top in found) < 5
    return [left for left, _ in found]


def test_a_figure_after_a_name_stands_after_it(opened: Opened, tmp_path: Path) -> None:
    report = make_report(reader(classes=ALEF), parse_recipe(RECIPE), digits(classes=ALEF))
    report.save(tmp_path / "out")
    opened.open(tmp_path / "out" / "report.html", width_px=1600)
    places = lefts(opened, "#baseline", "always", "\u05d0", "10.0")
    assert places == sorted(places)


def test_a_figure_that_a_name_draws_to_its_other_side_is_seen(
    opened: Opened, tmp_path: Path
) -> None:
    page = tmp_path / "drawn.html"
    page.write_text(
        "<!doctype html><meta charset=utf-8><p>always “\u05d0\u05d1” 10.0 %</p>", "utf-8"
    )
    opened.open(page)
    places = lefts(opened, "p", "always", "\u05d0", "10.0")
    assert places != sorted(places)
