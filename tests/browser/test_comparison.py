"""A comparison in the browser: marks under their levels, figures of the document, nothing lost."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.browser.opened import Opened
from tests.browser.pages import Written

pytestmark = pytest.mark.browser

PageOf = Callable[..., Path]
NEAR_PX = 1.5  # a picture is as wide as whole px, and a word as its letters are

_STRIPS = """
const middle = e => { const r = e.getBoundingClientRect(); return r.left + r.width / 2 };
const shown = e => e.checkVisibility() && e.getBoundingClientRect().width > 0;
return [...document.querySelectorAll('svg.line.pictured')].map(chart => {
  const foot = Math.min(...[...chart.querySelectorAll('.glyph image')].filter(shown)
    .map(e => e.getBoundingClientRect().top));
  const ticks = [...chart.querySelectorAll('text.tick')].filter(shown)
    .filter(e => getComputedStyle(e).textAnchor === 'middle').map(middle);
  const glyphs = [...chart.querySelectorAll('.glyph')].filter(shown)
    .map(g => [middle(g.querySelector('image')),
      ...[...g.querySelectorAll('text')].map(middle)]);
  return [ticks, glyphs];
});
"""


@pytest.mark.parametrize("width_px", [1280, 375])
def test_every_level_with_a_number_has_its_mark_and_its_readings_right_under_it(
    opened: Opened, written: Written, width_px: int
) -> None:
    opened.open(written.page("comparison"), width_px=width_px)
    strips = opened.script(_STRIPS)
    assert strips
    for ticks, glyphs in strips:
        assert len(ticks) == len(glyphs) >= 2
        for tick, middles in zip(ticks, glyphs, strict=True):
            assert len(middles) == 1 + 3, "the mark, and what each of three models read"
            assert max(abs(one - tick) for one in middles) <= NEAR_PX


def test_a_mark_beside_its_level_is_seen(opened: Opened, page_of: PageOf) -> None:
    glyph = '<svg class="glyph" x="{}" y="30" overflow="visible"><image width="20" height="20"/>'
    opened.open(
        page_of(
            '<svg class="line pictured" width="300" height="80">'
            '<text class="tick" style="text-anchor: middle" x="100" y="20">1</text>'
            f"{glyph.format(150)}</svg></svg>"
        )
    )
    (((tick,), ((image,),)),) = opened.script(_STRIPS)
    assert image - tick > 10 * NEAR_PX


def test_what_is_seen_at_a_glance_is_what_the_document_holds(
    opened: Opened, written: Written
) -> None:
    opened.open(written.page("comparison"))
    held = written.document("comparison")
    _, nominal, *rows = opened.tables()["Everything compared"]
    shares = [part["accuracy"] for part in held["cells"][0]["accuracies"]]
    assert nominal[-3:] == [f"{100 * share:.1f} %" for share in shares]
    sweeps, (blend,) = held["sweeps"], held["blends"]
    assert [row[0] for row in rows] == [*(sweep["title"] for sweep in sweeps), blend["title"]]
    means = [sweep["means"] for sweep in sweeps]
    means.append([part["accuracy"] for part in blend["accuracies"]])
    for row, told in zip(rows, means, strict=True):
        assert row[-3:] == [f"{100 * share:.1f} %" for share in told]


def test_the_pictures_of_a_comparison_are_drawn(opened: Opened, written: Written) -> None:
    opened.open(written.page("comparison"))
    opened.unfold()
    broken = opened.script(
        "return [...document.images].filter(i => !i.complete || !i.naturalWidth).length"
    )
    assert opened.script("return document.images.length") > 4
    assert broken == 0
    assert opened.problems() == []
