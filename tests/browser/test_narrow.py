"""On a phone's width tables keep their words and figures whole."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.opened import Opened
from tests.browser.pages import KINDS, Written, compared

pytestmark = pytest.mark.browser

PHONE_PX = 375
_BROKEN = """
const broken = [];
for (const cell of document.querySelectorAll('th, td')) {
  const walker = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
  for (let node; (node = walker.nextNode());) {
    for (const word of node.data.matchAll(/[^\\s]+/g)) {
      const range = document.createRange();
      range.setStart(node, word.index);
      range.setEnd(node, word.index + word[0].length);
      const tops = new Set([...range.getClientRects()].map((box) => Math.round(box.top)));
      if (tops.size > 1) broken.push(word[0]);
    }
  }
}
return broken;
"""


def broken(opened: Opened) -> list[str]:
    """Words of tables that stand in more than one line; paths may."""
    return [word for word in opened.script(_BROKEN) if "/" not in word]


@pytest.mark.parametrize("name", KINDS)
def test_no_word_of_a_table_is_broken(opened: Opened, written: Written, name: str) -> None:
    opened.open(written.page(name), width_px=PHONE_PX).unfold()
    assert broken(opened) == []


def test_no_word_of_a_comparison_of_two_is_broken(opened: Opened, tmp_path: Path) -> None:
    compared(tmp_path, 2)
    opened.open(tmp_path / "compare.html", width_px=PHONE_PX).unfold()
    assert broken(opened) == []


def test_a_broken_word_is_seen(opened: Opened, page_of: object) -> None:
    assert callable(page_of)
    opened.open(
        page_of("<table><td style='width:2em;overflow-wrap:anywhere'>nobody a"),
        width_px=PHONE_PX,
    )
    assert broken(opened) == ["nobody"]
