"""A page can be read by everybody: contrast, labels, order, landmarks and words for pictures.

Outside judges: axe-core, which holds pages to WCAG 2.1, and WCAG's own formula for
contrast where axe-core doesn't look, which is at text within drawings.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.browser.opened import Opened
from tests.browser.pages import KINDS, Written

pytestmark = pytest.mark.browser

PageOf = Callable[..., Path]
LOOKS = {
    "light": {"scheme": "light"},
    "dark": {"scheme": "dark"},
    "phone": {"scheme": "light", "width_px": 375},
    "dark phone": {"scheme": "dark", "width_px": 375},
}
ALL_LOOKS = ("report", "comparison")
"""Pages that are shown to axe-core in every way; the others have the same style sheet."""

LEAST_CONTRAST = 4.5  # WCAG 2.1, success criterion 1.4.3, text of the usual size
ROUNDING = 0.005  # WCAG's published pairs are given to two figures after the point


@pytest.mark.parametrize(
    ("kind", "look"),
    [
        (kind, look)
        for number, kind in enumerate(KINDS)
        for place, look in enumerate(LOOKS)
        if kind in ALL_LOOKS or place == number % len(LOOKS)
    ],
)
def test_a_judge_of_accessibility_has_nothing_against_a_page(
    opened: Opened, written: Written, kind: str, look: str
) -> None:
    opened.open(written.page(kind), **LOOKS[look])
    opened.unfold()
    assert opened.violations() == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("kind", KINDS)
def test_words_in_drawings_stand_out_from_the_paper(
    opened: Opened, written: Written, kind: str, scheme: str
) -> None:
    opened.open(written.page(kind), scheme=scheme)
    faint = {
        f"{text}: {contrast(ink, paper):.2f}"
        for text, ink, paper in opened.script(_DRAWN_TEXT)
        if contrast(ink, paper) < LEAST_CONTRAST
    }
    assert faint == set()


@pytest.mark.parametrize("kind", KINDS)
def test_every_picture_has_words(opened: Opened, written: Written, kind: str) -> None:
    opened.open(written.page(kind))
    assert opened.script(_WITHOUT_WORDS) == []


@pytest.mark.parametrize("kind", KINDS)
def test_headings_go_down_one_step_at_a_time(opened: Opened, written: Written, kind: str) -> None:
    opened.open(written.page(kind))
    assert out_of_order(opened.script(_HEADINGS)) == []


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_has_its_landmarks_and_every_region_a_name(
    opened: Opened, written: Written, kind: str
) -> None:
    opened.open(written.page(kind))
    assert landmarks_wrong(opened) == []


def contrast(ink: list[float], paper: list[float]) -> float:
    """The ratio of WCAG 2.1 between two colours of sRGB, each three figures from 0 to 255."""

    def light(colour: list[float]) -> float:
        linear = [
            c / 255 / 12.92 if c / 255 <= 0.03928 else ((c / 255 + 0.055) / 1.055) ** 2.4
            for c in colour
        ]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    brighter, darker = sorted((light(ink), light(paper)), reverse=True)
    return (brighter + 0.05) / (darker + 0.05)


def out_of_order(headings: list[list[object]]) -> list[str]:
    """Headings that skip a step, come before the first of the first step, or are empty."""
    wrong, before = [], 0
    for step, text in headings:
        assert isinstance(step, int)
        if step > before + 1 or not text or (step == 1) != (before == 0):
            wrong.append(f"{step}: {text}")
        before = step
    return wrong


def landmarks_wrong(opened: Opened) -> list[str]:
    """What is missing of language, title, main part and names of regions."""
    wrong = []
    if not opened.script("return document.documentElement.lang"):
        wrong.append("no language")
    if not opened.driver.title:
        wrong.append("no title")
    for name, selector in (("main", "main"), ("header", "body > header")):
        if len(opened.all(selector)) != 1:
            wrong.append(f"{len(opened.all(selector))} of {name}")
    wrong += [f"without a name: {html}" for html in opened.script(_REGIONS_WITHOUT_A_NAME)]
    return wrong


# What the checks above have to see


@pytest.mark.parametrize(
    ("body", "rule"),
    [
        ('<p style="color: #aaa; background: #fff">faint</p>', "color-contrast"),
        ('<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">', "image-alt"),
        ('<input type="range">', "label"),
        ('<input type="range" aria-label="x" aria-valuenow="x">', "aria-valid-attr-value"),
        ("<button></button>", "button-name"),
        ('<p id="a">1</p><p id="a" tabindex="0">2</p>', "duplicate-id-active"),
    ],
)
def test_the_judge_of_accessibility_sees_faults(
    opened: Opened, page_of: PageOf, body: str, rule: str
) -> None:
    opened.open(page_of(f"<main><h1>Broken</h1>{body}</main>"))
    assert any(said.startswith(f"{rule}:") for said in opened.violations())


def test_contrast_is_what_wcag_says() -> None:
    """Black on white is 21 to 1 by definition; #767676 on white is the well-known 4.54 to 1."""
    assert abs(contrast([0, 0, 0], [255, 255, 255]) - 21) < ROUNDING
    assert abs(contrast([0x76] * 3, [255, 255, 255]) - 4.54) < ROUNDING


def test_a_faint_word_in_a_drawing_is_seen(opened: Opened, page_of: PageOf) -> None:
    opened.open(
        page_of(
            '<div style="background: #222"><svg><text y="20" fill="#444">faint</text></svg></div>'
        )
    )
    ((text, ink, paper),) = opened.script(_DRAWN_TEXT)
    assert (text, ink, paper) == ("faint", [0x44] * 3, [0x22] * 3)
    assert contrast(ink, paper) < LEAST_CONTRAST


def test_a_picture_without_words_is_seen(opened: Opened, page_of: PageOf) -> None:
    uri = "data:image/gif;base64,R0lGODlhAQABAAAAACw="
    body = (
        f'<img id="a" src="{uri}"><img id="b" alt="  " src="{uri}"><img id="c" alt="x" src="{uri}">'
        '<svg id="d"></svg><svg id="e" role="img"></svg><svg id="f" role="img" aria-label="x"/>'
        '<svg id="g" aria-hidden="true"></svg><canvas id="h"></canvas>'
    )
    opened.open(page_of(body))
    assert opened.script(_WITHOUT_WORDS) == ["a", "b", "d", "e", "h"]


def test_headings_out_of_order_are_seen() -> None:
    assert out_of_order([[1, "a"], [2, "b"], [3, "c"], [2, "d"]]) == []
    assert out_of_order([[1, "a"], [3, "b"]]) == ["3: b"]
    assert out_of_order([[2, "a"]]) == ["2: a"]
    assert out_of_order([[1, "a"], [1, "b"]]) == ["1: b"]
    assert out_of_order([[1, "a"], [2, ""]]) == ["2: "]


def test_missing_landmarks_are_seen(opened: Opened, page_of: PageOf) -> None:
    opened.open(page_of('<section>x</section><div role="region">y</div>', head=""))
    opened.script("document.documentElement.removeAttribute('lang')")
    told = landmarks_wrong(opened)
    assert told[:4] == ["no language", "no title", "0 of main", "0 of header"]
    assert len(told) == 4 + 2


_NAMED = """
const named = e => (e.getAttribute('aria-label') || '').trim() ||
  (e.getAttribute('aria-labelledby') || '').split(/\\s+/).filter(Boolean)
    .map(i => document.getElementById(i)?.textContent || '').join(' ').trim();
"""

_WITHOUT_WORDS = f"""
{_NAMED}
const hidden = e => e.closest('[aria-hidden="true"]');
return [...document.querySelectorAll('img, svg, canvas, [role="img"]')]
  .filter(e => !hidden(e) && !(e.parentElement.closest('svg')))
  .filter(e => !(e.tagName === 'IMG' ? (e.getAttribute('alt') || '').trim()
    : e.getAttribute('role') && named(e)))
  .map(e => e.id || e.outerHTML.slice(0, 120));
"""

_HEADINGS = """
return [...document.querySelectorAll('h1, h2, h3, h4, h5, h6')]
  .map(h => [Number(h.tagName[1]), h.textContent.trim()]);
"""

_REGIONS_WITHOUT_A_NAME = f"""
{_NAMED}
return [...document.querySelectorAll('section, article, [role="region"], nav')]
  .filter(e => !named(e)).map(e => e.outerHTML.slice(0, 120));
"""

# Text within drawings, its colour, and the nearest colour that lies under it.
_DRAWN_TEXT = """
const figures = c => c.match(/[\\d.]+/g).map(Number);
const under = e => {
  for (; e; e = e.parentElement) {
    const c = figures(getComputedStyle(e).backgroundColor);
    if (c.length === 3 || c[3] > 0) return c.slice(0, 3);
  }
  return [255, 255, 255];
};
return [...document.querySelectorAll('svg text')]
  .filter(t => t.textContent.trim() && t.checkVisibility())
  .map(t => [t.textContent, figures(getComputedStyle(t).fill).slice(0, 3), under(t)]);
"""
