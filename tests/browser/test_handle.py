"""The handle of a sweep: moved by keys, mouse and finger, true to report.json at every level."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from typing import Any

import pytest
from selenium.common.exceptions import TimeoutException
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from tests.browser.opened import Opened
from tests.browser.pages import Written
from tests.browser.reading import assert_counts, assert_shares, figures

pytestmark = pytest.mark.browser

PATIENCE_S = 5  # pointers are told to a page with its next picture
KINDS = ("report", "many classes", "thorough")
Told = dict[str, Any]


def handle(number: int) -> str:
    """Where the handle of a sweep is found; sweeps count from 1."""
    return f"#sweep-{number} .handle"


def shown(opened: Opened, number: int) -> Told:
    """Handle, panel and chart of a sweep as they are now."""
    told: Told = opened.script(_SHOWN, f"sweep-{number}")
    return told


def assert_level(told: Told, report: Told, curve: Told, level: int) -> None:
    """Everything that is shown is that of this level in report.json."""
    point = curve["points"][level]
    last = len(curve["points"]) - 1
    assert (told["now"], told["least"], told["most"]) == (str(level), "0", str(last))
    assert told["here"] == [str(level)]
    assert_place(told["where"], curve, point)
    assert told["words"].startswith(told["where"])
    interval = (point["accuracy"], point["low"], point["high"])
    assert_shares(told["words"].removeprefix(told["where"]), *interval)
    assert_shares(told["share"], point["accuracy"])
    counted, *more = told["lines"]
    low, high, correct, n = figures(counted)
    assert_shares(f"{low} {high}", point["low"], point["high"])
    assert_counts(f"{correct} {n}", point["correct"], point["n"])
    gap = point["difference"]
    if gap is not None:
        said, p = more[0].split("), ")
        assert_shares(said, gap["value"], gap["low"], gap["high"])
        assert_p(p, gap["p_holm"])
    sure = [point[f"confidence_{word}"] for word in ("right", "wrong")]
    (line,) = [line for line in more if line.startswith("sure: ")] or [""]
    assert_shares(line, *[share for share in sure if share is not None])
    wrong = point["n"] - point["correct"]
    assert figures(told["wrong"]) == ([float(wrong)] if wrong else [])
    assert_confused(told["confused"], report["classes"], point)
    assert_misread(told["misread"], report["classes"], point)


def assert_place(where: str, curve: Told, point: Told) -> None:
    """A level is named by its name or its figure; "with" and "without" have none."""
    level = point["level"]
    if isinstance(level, str):
        assert level in where
    elif curve["unit"] == "times":
        assert ("without" in where) == (level == 0)
    elif "%" in where:
        assert 100 * level in figures(where)
    elif level != curve["nominal"] or figures(where):
        # "2 px narrower" and "4 px left" say the sign in words.
        assert abs(level) in [abs(figure) for figure in figures(where)]
    assert ("nominal" in where) == (level == curve["nominal"])


def assert_p(said: str, p: float) -> None:
    """A p to three digits, or that it is under a thousandth."""
    if p < 0.001:
        assert "< 0.001" in said
    else:
        (figure,) = figures(said)
        assert abs(figure - p) <= 0.0005 + 1e-9


def assert_confused(table: list[list[str]], classes: list[str], point: Told) -> None:
    """A whole matrix, or of many classes the pairs that are misread most."""
    wrong = {(classes[i], classes[j]): times for i, j, times in point["misread"]}
    right = {each["class"]: each["correct"] for each in point["per_class"]}
    of = {each["class"]: each["n"] for each in point["per_class"]}
    if not table:
        assert not wrong
        return
    heads, *rows = table
    if len(rows) == len(classes) and heads[1:] == classes:
        for name, *cells in rows:
            for answered, cell in zip(classes, cells, strict=True):
                times = right[name] if name == answered else wrong.get((name, answered), 0)
                assert cell == (f"{times:,}" if times or name == answered else "")
        return
    listed = {}
    for true, answered, times, share in rows:
        assert_counts(times, wrong[true, answered])
        assert_shares(share, wrong[true, answered] / of[true])
        listed[true, answered] = wrong[true, answered]
    assert len(listed) == len(rows) == min(len(wrong), 8)
    others = [times for pair, times in wrong.items() if pair not in listed]
    assert min(listed.values(), default=0) >= max(others, default=0)


def assert_misread(glyphs: list[list[str]], classes: list[str], point: Told) -> None:
    """Each glyph is of a pair that is misread here, none stands more often than it may."""
    left = {(i, j): times for i, j, times in point["misread"]}
    if point["misread"]:
        assert glyphs
    for true, answered, words in glyphs:
        i = classes.index(true.strip("“”"))
        j = classes.index(answered.removeprefix("as "))
        assert words
        left[i, j] -= 1
        assert left[i, j] >= 0


@pytest.mark.parametrize("kind", KINDS)
def test_at_every_level_of_every_sweep_the_panel_says_what_the_report_says(
    opened: Opened, written: Written, kind: str
) -> None:
    opened.open(written.page(kind))
    report = written.document(kind)
    planted_without_counts = kind == "thorough"
    for number, curve in enumerate(report["curves"], 1):
        opened.script("document.querySelector(arguments[0]).focus()", handle(number))
        opened.press(Keys.HOME)
        for level, point in enumerate(curve["points"]):
            told = shown(opened, number)
            if planted_without_counts:
                # Planted points say how many were misread and not as what.
                told["confused"], told["misread"], point["misread"] = [], [], []
            assert_level(told, report, curve, level)
            opened.press(Keys.ARROW_RIGHT)
        assert shown(opened, number)["now"] == str(len(curve["points"]) - 1)
    assert opened.problems() == []


@pytest.mark.parametrize(
    ("keys", "moves"),
    [
        ((Keys.HOME,), lambda at, last: 0),
        ((Keys.END,), lambda at, last: last),
        ((Keys.HOME, Keys.ARROW_LEFT), lambda at, last: 0),
        ((Keys.END, Keys.ARROW_RIGHT), lambda at, last: last),
        ((Keys.HOME, Keys.ARROW_RIGHT), lambda at, last: 1),
        ((Keys.END, Keys.ARROW_LEFT), lambda at, last: last - 1),
        ((Keys.HOME, Keys.ARROW_UP), lambda at, last: 1),
        ((Keys.END, Keys.ARROW_DOWN), lambda at, last: last - 1),
        ((Keys.HOME, Keys.PAGE_UP), lambda at, last: 2),
        ((Keys.END, Keys.PAGE_DOWN), lambda at, last: last - 2),
    ],
)
def test_a_handle_on_an_axis_moves_by_keys(
    opened: Opened, written: Written, keys: tuple[str, ...], moves: Callable[[int, int], int]
) -> None:
    """As the pattern for sliders of the ARIA Authoring Practices has it (W3C)."""
    opened.open(written.page("report"))
    report = written.document("report")
    last = len(report["curves"][0]["points"]) - 1
    opened.script("document.querySelector(arguments[0]).focus()", handle(1))
    before = opened.script("return scrollY")
    opened.press(*keys)
    level = moves(int(shown(opened, 1)["now"]), last)
    assert_level(shown(opened, 1), report, report["curves"][0], level)
    assert opened.script("return scrollY") == before  # the page itself stays where it is


def test_a_handle_on_rows_goes_down_with_the_arrow_that_points_down(
    opened: Opened, written: Written
) -> None:
    opened.open(written.page("report"))
    opened.script("document.querySelector(arguments[0]).focus()", handle(3))
    opened.press(Keys.HOME, Keys.ARROW_DOWN)
    assert shown(opened, 3)["now"] == "1"
    assert shown(opened, 3)["way"] == "vertical"
    opened.press(Keys.ARROW_UP)
    assert shown(opened, 3)["now"] == "0"


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_handle_is_dragged_by_the_mouse_to_every_level(
    opened: Opened, written: Written, number: int
) -> None:
    opened.open(written.page("report"))
    report = written.document("report")
    curve = report["curves"][number - 1]
    spots = spots_of(opened, number)
    assert len(spots) == len(curve["points"])
    at = middle(opened, handle(number))
    mouse(opened, "mousePressed", at)
    for level, (x, y) in [*enumerate(spots), *reversed(list(enumerate(spots)))]:
        # From where the pointer is now; the handle stands beside the dots of its level.
        to = (x, at[1]) if shown(opened, number)["way"] == "horizontal" else (at[0], y)
        mouse(opened, "mouseMoved", to)
        assert_level(settled(opened, number, level), report, curve, level)
    mouse(opened, "mouseReleased", to)
    mouse(opened, "mouseMoved", spots[-1], held=False)
    opened.driver.execute_async_script("requestAnimationFrame(() => setTimeout(arguments[0]))")
    assert shown(opened, number)["now"] == "0"  # let go


@pytest.mark.parametrize("number", [1, 2])
def test_a_handle_is_dragged_by_a_finger(opened: Opened, written: Written, number: int) -> None:
    opened.open(written.page("report"), width_px=375)
    report = written.document("report")
    curve = report["curves"][number - 1]
    spots = spots_of(opened, number)
    x, y = middle(opened, handle(number))
    touch(opened, "touchStart", x, y)
    for level, (to, _) in enumerate(spots):
        touch(opened, "touchMove", to, y)
        assert_level(settled(opened, number, level), report, curve, level)
    touch(opened, "touchEnd")
    assert opened.sideways_px() == 0


def test_a_finger_that_rests_on_rows_drags_the_handle_and_the_page_stays(
    opened: Opened, written: Written
) -> None:
    opened.open(written.page("report"), width_px=375)
    report = written.document("report")
    curve = report["curves"][2]
    spots = spots_of(opened, 3)
    x, y = spots[0][0], spots[0][1]
    opened.script("document.querySelector('#sweep-3 .handle').focus({preventScroll: true})")
    opened.press(Keys.END)
    before = opened.script("return scrollY")
    touch(opened, "touchStart", x, y)
    assert shown(opened, 3)["now"] == str(len(spots) - 1)  # not before it has rested
    assert_level(settled(opened, 3, 0), report, curve, 0)
    for level, (_, to) in enumerate(spots):
        touch(opened, "touchMove", x, to)
        assert_level(settled(opened, 3, level), report, curve, level)
    touch(opened, "touchEnd")
    assert not opened.script("return !!document.querySelector('.plot.held')")
    assert opened.script("return scrollY") == before


def test_a_finger_that_does_not_rest_on_rows_pushes_the_page(
    opened: Opened, written: Written
) -> None:
    opened.open(written.page("report"), width_px=375)
    opened.script("document.querySelector('#sweep-3 .handle').focus({preventScroll: true})")
    opened.press(Keys.END)
    (x, y), *_, (_, last) = spots_of(opened, 3)
    before = opened.script("return scrollY")
    touch(opened, "touchStart", x, last)
    for step in range(1, 7):
        touch(opened, "touchMove", x, last + (y - last) * step / 6)
    touch(opened, "touchEnd")
    opened.driver.execute_async_script("setTimeout(arguments[0], 500)")
    assert shown(opened, 3)["now"] == "2"
    assert opened.script("return scrollY") > before


def test_a_click_on_the_chart_moves_the_handle_there(opened: Opened, written: Written) -> None:
    opened.open(written.page("report"))
    for level, (x, y) in enumerate(spots_of(opened, 1)):
        for kind in ("mousePressed", "mouseReleased"):
            mouse(opened, kind, (x, y))
        assert settled(opened, 1, level)["now"] == str(level)
        assert opened.script("return document.activeElement.matches('.handle')")


@pytest.mark.parametrize("width_px", [1280, 375])
def test_the_handle_stands_at_the_dot_of_its_level(
    opened: Opened, written: Written, width_px: int
) -> None:
    opened.open(written.page("report"), width_px=width_px)
    for number, curve in enumerate(written.document("report")["curves"], 1):
        opened.script("document.querySelector(arguments[0]).focus()", handle(number))
        opened.press(Keys.HOME)
        for x, y in spots_of(opened, number):
            grip = middle(opened, handle(number))
            if curve["unit"] in {"rule", "times"}:
                box = opened.script(_BOX, handle(number))
                assert box[1] <= y <= box[3]
            else:
                assert abs(grip[0] - x) <= 1
            opened.press(Keys.ARROW_RIGHT)


# What the checks above have to see


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ("share", "62.6 %"),
        ("where", "at +3 px along x"),
        ("lines", ""),
        ("wrong", "44 misread here"),
        ("confused", "<table><tr><th></th></tr><tr><th>0</th></tr></table>"),
        ("misread", "<figure><img alt='x'><b>“0”</b><span class='wrong'>as 0</span></figure>"),
    ],
)
def test_a_panel_that_says_something_else_is_seen(
    opened: Opened, written: Written, part: str, text: str
) -> None:
    opened.open(written.page("report"))
    report = written.document("report")
    curve = report["curves"][0]
    opened.script("document.querySelector(arguments[0]).focus()", handle(1))
    opened.press(Keys.HOME)
    assert_level(shown(opened, 1), report, curve, 0)
    opened.script(
        "document.querySelector(`#sweep-1-reading [data-part='${arguments[0]}']`).innerHTML ="
        "arguments[1]",
        part,
        text,
    )
    with pytest.raises((AssertionError, ValueError, KeyError), match=r"."):
        assert_level(shown(opened, 1), report, curve, 0)


def spots_of(opened: Opened, number: int) -> list[tuple[float, float]]:
    """Where the dots of a sweep are in the window, which is moved so that they are in it."""
    opened.script(
        "document.querySelector(arguments[0]).scrollIntoView({block: 'center'})",
        f"#sweep-{number} .plot",
    )
    return [
        (float(x), float(y))
        for x, y in opened.script(
            "return [...document.querySelectorAll(arguments[0])].map(e => {"
            "const b = e.getBoundingClientRect();"
            "return [b.left + b.width / 2, b.top + b.height / 2]})",
            f"#sweep-{number} .plot g[data-level] > circle.dot, "
            f"#sweep-{number} .plot g[data-level] > svg:not(.glyph) circle.dot",
        )
    ]


def middle(opened: Opened, selector: str) -> tuple[float, float]:
    """The middle of an element in the window."""
    left, top, right, bottom = opened.script(_BOX, selector)
    return (left + right) / 2, (top + bottom) / 2


def mouse(opened: Opened, kind: str, to: tuple[float, float], *, held: bool = True) -> None:
    """What a mouse does, with its left button held or not."""
    told = {"type": kind, "x": round(to[0]), "y": round(to[1]), "clickCount": 1}
    told |= {"button": "left", "buttons": 1} if held else {"button": "none", "buttons": 0}
    opened.driver.execute_cdp_cmd("Input.dispatchMouseEvent", told)


def settled(opened: Opened, number: int, level: int) -> Told:
    """What is shown once the handle is at a level; what is shown after a while if it isn't."""
    with contextlib.suppress(TimeoutException):
        WebDriverWait(opened.driver, PATIENCE_S, poll_frequency=0.02).until(
            lambda _: shown(opened, number)["now"] == str(level)
        )
    return shown(opened, number)


def touch(opened: Opened, kind: str, x: float = 0, y: float = 0) -> None:
    """What a finger does."""
    points = [] if kind == "touchEnd" else [{"x": round(x), "y": round(y)}]
    opened.driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


_BOX = """
const b = document.querySelector(arguments[0]).getBoundingClientRect();
return [b.left, b.top, b.right, b.bottom];
"""

_SHOWN = """
const article = document.getElementById(arguments[0]);
const handle = article.querySelector('.handle');
const part = name => article.querySelector(`[data-part="${name}"]`);
const text = e => e.textContent.replaceAll('\\u00a0', ' ').trim();
const table = part('confused').querySelector('table');
return {
  now: handle.getAttribute('aria-valuenow'),
  least: handle.getAttribute('aria-valuemin'),
  most: handle.getAttribute('aria-valuemax'),
  words: handle.getAttribute('aria-valuetext').replaceAll('\\u00a0', ' '),
  way: handle.getAttribute('aria-orientation'),
  here: [...article.querySelectorAll('g[data-level].here')].map(g => g.dataset.level),
  where: text(part('where')), share: text(part('share')), wrong: text(part('wrong')),
  lines: [...part('lines').children].map(text),
  confused: table ? [...table.rows].map(r => [...r.cells].map(text)) : [],
  misread: [...part('misread').querySelectorAll('figure')].map(f => [
    text(f.querySelector('b')), text(f.querySelector('.wrong')), f.querySelector('img').alt]),
};
"""
