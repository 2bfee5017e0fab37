"""Everything that can be used can be reached with the keyboard, and one sees where one is.

WCAG 2.1: 2.1.1 keyboard, 2.1.2 no trap, 2.4.3 focus order, 2.4.7 focus visible, 1.4.11 contrast.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.keys import Keys

from tests.browser.opened import Opened
from tests.browser.pages import KINDS, Written
from tests.browser.test_access import contrast

pytestmark = pytest.mark.browser

PageOf = Callable[..., Path]
LEAST_OUTLINE_PX = 2
LEAST_CONTRAST = 3.0  # WCAG 2.1, success criterion 1.4.11, what isn't text


@pytest.mark.parametrize("kind", KINDS)
def test_tab_reaches_everything_that_can_be_used_in_the_order_of_the_page(
    opened: Opened, written: Written, kind: str
) -> None:
    opened.open(written.page(kind))
    opened.unfold()
    wanted, reached = travelled(opened)
    assert wanted
    assert [place["name"] for place in reached] == wanted


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("kind", ["report", "thorough", "comparison"])
def test_wherever_the_keyboard_is_can_be_seen(
    opened: Opened, written: Written, kind: str, scheme: str
) -> None:
    opened.open(written.page(kind), scheme=scheme)
    opened.unfold()
    _, reached = travelled(opened)
    assert reached
    assert [place["name"] for place in reached if not is_seen(place)] == []


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_folded_opens_and_closes_with_the_keyboard(
    opened: Opened, written: Written, kind: str
) -> None:
    opened.open(written.page(kind))
    for summary in opened.all("details > summary")[:2]:
        opened.script("arguments[0].focus()", summary)
        opened.press(Keys.ENTER)
        assert opened.script("return arguments[0].parentElement.open", summary)
        opened.press(Keys.SPACE)
        assert not opened.script("return arguments[0].parentElement.open", summary)


@pytest.mark.parametrize("kind", KINDS)
def test_the_first_link_goes_past_the_top(opened: Opened, written: Written, kind: str) -> None:
    opened.open(written.page(kind))
    opened.press(Keys.TAB)
    assert opened.script("return document.activeElement.className") == "skip"
    box = opened.script(
        "const b = document.activeElement.getBoundingClientRect(); return [b.left, b.top]"
    )
    assert min(box) >= 0
    opened.press(Keys.ENTER)
    assert opened.script("return location.hash") == "#findings"
    opened.press(Keys.TAB)
    assert opened.script(
        "const to = document.getElementById('findings');"
        "const at = document.activeElement;"
        "const others = document.querySelectorAll('main a, main summary, main [tabindex]');"
        "return !others.length || !!(to.compareDocumentPosition(at) & (4 | 16))"  # after or within
    )


def travelled(opened: Opened) -> tuple[list[str], list[dict[str, Any]]]:
    """What can be used, in the order of the page, and what Tab came by, till it left the page."""
    wanted: list[str] = opened.script(_WANTED)
    opened.script(_WATCH)
    opened.press(*[Keys.TAB] * (len(wanted) + 3))
    reached: list[dict[str, Any]] = opened.script("return window.reached")
    # Past the last it begins again.
    once = reached[: next((i for i, r in enumerate(reached) if i and r == reached[0]), None)]
    return wanted, once


def is_seen(place: dict[str, Any]) -> bool:
    """Whether an outline is thick enough and stands out, and the thing is in the window."""
    return (
        place["inside"]
        and place["style"] not in {"none", "hidden"}
        and place["width"] >= LEAST_OUTLINE_PX
        and contrast(place["colour"], place["under"]) >= LEAST_CONTRAST
    )


# What the checks above have to see


def test_what_only_a_mouse_can_use_is_seen(opened: Opened, page_of: PageOf) -> None:
    body = (
        "<main><a id='a' href='#b'>a</a><span id='b' onclick='1'>b</span>"
        "<button id='c' tabindex='-1'>c</button></main>"
    )
    opened.open(page_of(body))
    wanted, reached = travelled(opened)
    assert wanted == ["a", "b", "c"]
    assert [place["name"] for place in reached] == ["a"]


def test_an_order_that_jumps_is_seen(opened: Opened, page_of: PageOf) -> None:
    opened.open(page_of("<button id='a'>a</button><button id='b' tabindex='1'>b</button>"))
    wanted, reached = travelled(opened)
    assert wanted == ["a", "b"]
    assert [place["name"] for place in reached] == ["b", "a"]


@pytest.mark.parametrize(
    "style",
    [
        "outline: none",
        "outline: 1px solid black",
        "outline: 3px solid #ddd",
        "outline: 3px solid black; position: absolute; left: -99rem",
    ],
)
def test_a_focus_that_cannot_be_seen_is_seen(opened: Opened, page_of: PageOf, style: str) -> None:
    opened.open(page_of(f"<style>#a:focus-visible {{{style}}}</style><button id='a'>a</button>"))
    _, (place,) = travelled(opened)
    assert not is_seen(place)


def test_a_focus_with_an_outline_is_seen(opened: Opened, page_of: PageOf) -> None:
    style = "outline: 2px solid #000"
    opened.open(page_of(f"<style>#a:focus-visible {{{style}}}</style><button id='a'>a</button>"))
    _, (place,) = travelled(opened)
    assert is_seen(place)


_NAME = """
const name = e => e.id || e.className?.baseVal || (e.tagName.toLowerCase() + ' ' +
  (e.getAttribute('aria-label') || e.textContent.trim()).slice(0, 60) + ' #' +
  [...document.querySelectorAll('*')].indexOf(e));
"""

# Of radio buttons of a group the chosen one is a stop, and of a grid the cell that one was in;
# arrows lead to the others.
_WANTED = f"""
{_NAME}
const usable = 'a[href], button, input, select, textarea, summary, [tabindex], [onclick], ' +
  '[role="button"], [role="slider"], [role="option"], [role="radio"], [role="tab"]';
return [...document.querySelectorAll(usable)]
  .filter(e => e.checkVisibility({{visibilityProperty: true}}) && !e.disabled)
  .filter(e => e.type !== 'radio' || e.checked)
  .filter(e => !e.closest('[role="grid"]') || e.tabIndex === 0)
  .map(name);
"""

# Where the focus goes, with how that looks, once the browser has drawn it.
_WATCH = f"""
{_NAME}
const figures = c => c.match(/[\\d.]+/g).map(Number).slice(0, 3);
const under = e => {{
  for (e = e.parentElement; e; e = e.parentElement) {{
    const c = getComputedStyle(e).backgroundColor.match(/[\\d.]+/g).map(Number);
    if (c.length === 3 || c[3] > 0) return c.slice(0, 3);
  }}
  return [255, 255, 255];
}};
window.reached = [];
document.activeElement.blur();
document.addEventListener('focusin', event => {{
  const e = event.target, style = getComputedStyle(e), box = e.getBoundingClientRect();
  window.reached.push({{
    name: name(e), style: style.outlineStyle, width: parseFloat(style.outlineWidth),
    colour: figures(style.outlineColor), under: under(e),
    inside: box.right > 0 && box.bottom > 0 && box.left < innerWidth && box.top < innerHeight,
  }});
}});
"""
