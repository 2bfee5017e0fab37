"""A page opens from disk without a complaint, asks nobody for anything and fits its window."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from selenium.webdriver.common.keys import Keys

from tests.browser.opened import Opened
from tests.browser.pages import KINDS, Written, scored

pytestmark = pytest.mark.browser

PHONES_PX = (375, 320)
MOST_BYTES = 5_000_000
TEN_SWEEPS = 'title = "Everything at once"\n' + "".join(
    f"""
[[sweep]]
perturbation = "translation"
along = {18 * number}
unit = "px"
levels = {{ from = -8, to = 8, step = 1 }}
"""
    for number in range(10)
)
PageOf = Callable[..., Path]


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_opens_without_complaints_and_asks_for_nothing(
    opened: Opened, written: Written, kind: str
) -> None:
    opened.open(written.page(kind))
    opened.unfold()
    assert opened.one("h1").text
    assert opened.problems() == []
    assert opened.requests() == []
    assert opened.dialogs() == []


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_does_not_slide_sideways_on_a_phone(
    opened: Opened, written: Written, kind: str
) -> None:
    opened.open(written.page(kind), width_px=PHONES_PX[0])
    for width_px in PHONES_PX:
        opened.size(width_px)
        assert opened.sideways_px() == 0
        opened.unfold()
        assert opened.sideways_px() == 0


def test_a_report_of_ten_long_sweeps_stays_small_and_works(opened: Opened, tmp_path: Path) -> None:
    made = scored(TEN_SWEEPS)
    assert len(made.evaluation.curves) == 10
    page = made.save(tmp_path)["report.html"]
    assert page.stat().st_size < MOST_BYTES
    opened.open(page)
    opened.script("document.querySelector('#sweep-10 .handle').focus()")
    opened.press(Keys.END)
    assert opened.one("#sweep-10 .handle").get_attribute("aria-valuenow") == "16"
    assert opened.problems() == []


# What the checks above have to see


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ("<script>throw new Error('the lamp went out')</script>", "the lamp went out"),
        ("<script>console.error('a jam on belt two')</script>", "a jam on belt two"),
        ('<img alt="" src="missing.png">', "ERR_FILE_NOT_FOUND"),
    ],
)
def test_a_complaint_is_seen(opened: Opened, page_of: PageOf, body: str, says: str) -> None:
    opened.open(page_of(body))
    assert any(says in problem for problem in opened.problems())


def test_what_a_policy_refuses_is_seen(opened: Opened, page_of: PageOf) -> None:
    policy = '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'">'
    opened.open(page_of("<script>document.title = 'ran'</script>", head=policy))
    assert any("Content Security Policy" in problem for problem in opened.problems())
    assert opened.driver.title != "ran"


@pytest.mark.parametrize(
    "body",
    [
        '<img alt="" src="https://shed.example/pixel.png">',
        '<link rel="stylesheet" href="https://shed.example/s.css">',
        "<style>@import 'https://shed.example/s.css'</style>",
        "<script>fetch('https://shed.example/tell')</script>",
        '<img alt="" src="beside.png">',
        "<script>navigator.sendBeacon('https://shed.example/tell', 'x')</script>",
    ],
)
def test_an_outside_request_is_seen(opened: Opened, page_of: PageOf, body: str) -> None:
    opened.open(page_of(body))
    (asked,) = opened.requests()
    assert asked.startswith("https://shed.example/") or asked.endswith("/beside.png")


def test_a_box_that_a_script_opens_is_seen(opened: Opened, page_of: PageOf) -> None:
    opened.open(page_of("<script>alert('hello')</script>"))
    assert opened.dialogs() == ["hello"]


def test_a_page_that_is_too_wide_is_seen(opened: Opened, page_of: PageOf) -> None:
    viewport = '<meta name="viewport" content="width=device-width, initial-scale=1">'
    path = page_of('<p style="width: 400px">wide</p>', head=viewport)
    opened.open(path, width_px=1280)
    assert opened.sideways_px() == 0
    for width_px in PHONES_PX:
        opened.open(path, width_px=width_px)
        assert opened.sideways_px() > 0
