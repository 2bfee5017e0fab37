"""What a page shows when it is asked: another glyph, a class, a cell, what was misread first."""

from __future__ import annotations

import base64
import io
from typing import Any

import numpy as np
import pytest
from PIL import Image
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys

from gen import Report
from tests.browser.opened import Opened
from tests.browser.pages import Written, scored
from tests.browser.reading import assert_counts, assert_shares, figures

pytestmark = pytest.mark.browser

LINE_PX = 1.0


@pytest.fixture(scope="module")
def made() -> Report:
    """The report whose page is "report", with the pictures that were rendered for it."""
    return scored()


def ink(uri: str) -> np.ndarray:
    """What a picture in a page shows, as ink: its pixels are dark on white."""
    data = base64.b64decode(uri.removeprefix("data:image/png;base64,"))
    with Image.open(io.BytesIO(data)) as read:
        return 255 - np.asarray(read.convert("L"))


# Another glyph


def strip(opened: Opened, number: int) -> dict[int, list[str]]:
    """Pictures and words under the levels of a sweep that have them."""
    found: list[list[Any]] = opened.script(
        "return [...document.querySelectorAll(arguments[0])].map(g => [g.dataset.level,"
        " g.querySelector('image').getAttribute('href'), g.querySelector('.said').textContent])",
        f"#sweep-{number} g[data-level]:has(image)",
    )
    return {int(level): [uri, said] for level, uri, said in found}


def assert_follows(opened: Opened, made: Report, chosen: int) -> None:
    """Every strip shows the chosen glyph at each of its levels, and what it was read as."""
    assert made.shown is not None
    for number, sweep in enumerate(made.shown.sweeps, 1):
        followed = sweep.followed[chosen]
        under = strip(opened, number)
        assert {0, len(followed.images) - 1} <= set(under)
        for level, (uri, words) in under.items():
            np.testing.assert_array_equal(ink(uri), followed.images[level])
            said = followed.said[level]
            assert words == ("" if said.right else f"as {said.answered}")
        level = int(opened.one(f"#sweep-{number} .handle").get_attribute("data-level") or -1)
        large = opened.one(f"#sweep-{number}-reading [data-part=glyph] img")
        np.testing.assert_array_equal(ink(large.get_attribute("src") or ""), followed.images[level])
        assert f"“{followed.true}”" in (large.get_attribute("alt") or "")
        picked = opened.script(
            "return document.querySelector(arguments[0]).value",
            f"#sweep-{number} .choice input:checked",
        )
        assert picked == str(chosen)


def test_another_glyph_is_followed_through_every_sweep(
    opened: Opened, written: Written, made: Report
) -> None:
    opened.open(written.page("report"))
    assert_follows(opened, made, 0)
    choices = opened.all("#sweep-1 .choice label")
    assert made.shown is not None
    assert len(choices) == len(made.shown.sweeps[0].followed) > 1
    for chosen in range(1, len(choices)):
        opened.script("arguments[0].scrollIntoView({block: 'center'})", choices[chosen])
        choices[chosen].click()
        assert_follows(opened, made, chosen)
    opened.script("arguments[0].focus()", opened.one("#sweep-2 .choice input:checked"))
    opened.press(Keys.HOME, Keys.ARROW_RIGHT)  # past the last is the first again
    assert_follows(opened, made, 0)


def test_the_glyph_of_the_panel_goes_with_the_handle(
    opened: Opened, written: Written, made: Report
) -> None:
    opened.open(written.page("report"))
    assert made.shown is not None
    opened.script("document.querySelector('#sweep-1 .handle').focus()")
    opened.press(Keys.HOME)
    for level, image in enumerate(made.shown.sweeps[0].followed[0].images):
        large = opened.one("#sweep-1-reading [data-part=glyph] img")
        np.testing.assert_array_equal(ink(large.get_attribute("src") or ""), image)
        for picture, shown in zip(
            made.shown.sweeps[0].misread[level],
            opened.all("#sweep-1-reading [data-part=misread] img"),
            strict=True,
        ):
            np.testing.assert_array_equal(ink(shown.get_attribute("src") or ""), picture.image)
        opened.press(Keys.ARROW_RIGHT)


# A class


def lines_over(opened: Opened, number: int) -> list[list[list[float]]]:
    """The classes over a chart: of each, at every level, where it is and where it should be."""
    found: list[list[list[float]]] = opened.script(_OVER, f"sweep-{number}")
    return found


def test_a_class_is_laid_over_the_chart_and_taken_off_by_keyboard(
    opened: Opened, written: Written
) -> None:
    opened.open(written.page("report"))
    curve = written.document("report")["curves"][0]
    opened.unfold()
    buttons = opened.all("#sweep-1-classes button")
    names = [each["class"] for each in curve["points"][0]["per_class"]]
    assert len(buttons) == len(names)
    for at in (0, len(names) - 1):
        opened.script("arguments[0].focus()", buttons[at])
        opened.press(Keys.ENTER)
        assert buttons[at].get_attribute("aria-pressed") == "true"
        (line,) = lines_over(opened, 1)
        wanted = [point["per_class"][at]["accuracy"] for point in curve["points"]]
        for (x, y), (dot_x, none, whole), accuracy in zip(
            line[::2], line[1::2], wanted, strict=True
        ):
            assert abs(x - dot_x) <= LINE_PX
            assert abs(y - (none + accuracy * (whole - none))) <= LINE_PX
        opened.press(Keys.SPACE)
        assert buttons[at].get_attribute("aria-pressed") == "false"
        assert lines_over(opened, 1) == []


def test_two_classes_lie_over_a_chart_and_a_third_takes_the_place_of_the_first(
    opened: Opened, written: Written
) -> None:
    opened.open(written.page("report"))
    opened.unfold()
    for number in (1, 3):
        buttons = opened.all(f"#sweep-{number}-classes button")
        for button in buttons[:3]:
            opened.script("arguments[0].click()", button)
        pressed = [button.get_attribute("aria-pressed") for button in buttons[:4]]
        assert pressed == ["false", "true", "true", "false"]
        names = opened.script(
            "return [...new Set([...document.querySelectorAll(arguments[0])]"
            ".map(e => e.textContent))]",
            f"#sweep-{number} .plot text.of-class, #sweep-{number} .plot .of-class text",
        )
        assert names == ["1", "2"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_is_asked_for_has_nothing_that_a_judge_of_accessibility_objects_to(
    opened: Opened, written: Written, scheme: str
) -> None:
    opened.open(written.page("report"), scheme=scheme)
    opened.unfold()
    for number in (1, 3):
        opened.script(
            "for (const b of [...document.querySelectorAll(arguments[0])].slice(0, 2)) b.click()",
            f"#sweep-{number}-classes button",
        )
        opened.script("document.querySelector(arguments[0]).focus()", f"#sweep-{number} .handle")
        opened.press(Keys.END)
    opened.script("document.querySelector('#grid-1 td[data-cell=\"0,0\"]').focus()")
    assert opened.violations() == []


# A cell of a grid


def assert_cell(opened: Opened, made: Report, written: Written, down: int, across: int) -> None:
    """What stands beside the grid is about this cell."""
    point = written.document("report")["grids"][0]["points"][down][across]
    words = opened.one("#grid-1 .cell p").text
    share, counted = words.rpartition(": ")[2].split("),")
    assert_shares(share, *(point[key] for key in ("accuracy", "low", "high")))
    assert_counts(counted, point["correct"], point["n"])
    assert made.shown is not None
    picture = made.shown.grids[0].cells[down][across]
    shown = opened.one("#grid-1 .cell img")
    np.testing.assert_array_equal(ink(shown.get_attribute("src") or ""), picture.image)
    assert f"“{picture.true}”" in (shown.get_attribute("alt") or "")


def cells(opened: Opened) -> list[tuple[int, int]]:
    """All cells of the grid, row by row."""
    found = opened.script(
        "return [...document.querySelectorAll('#grid-1 td[data-cell]')].map(c => c.dataset.cell)"
    )
    return [(int(down), int(across)) for down, across in (name.split(",") for name in found)]


def test_a_cell_shows_its_glyph_under_the_pointer(
    opened: Opened, written: Written, made: Report
) -> None:
    opened.open(written.page("report"))
    opened.script("document.querySelector('#grid-1').scrollIntoView({block: 'center'})")
    assert len(cells(opened)) == 9
    assert_cell(opened, made, written, 1, 0)  # where nothing is changed, to begin with
    for down, across in cells(opened):
        spot = opened.one(f'#grid-1 td[data-cell="{down},{across}"]')
        ActionChains(opened.driver, duration=0).move_to_element(spot).perform()
        assert_cell(opened, made, written, down, across)


def test_a_cell_shows_its_glyph_when_the_keyboard_comes_there(
    opened: Opened, written: Written, made: Report
) -> None:
    """As the pattern for grids of the ARIA Authoring Practices has it (W3C)."""
    opened.open(written.page("report"))

    def here() -> tuple[int, int]:
        name = opened.script("return document.activeElement.dataset.cell")
        assert (
            opened.script("return document.querySelectorAll('#grid-1 td[tabindex=\"0\"]').length")
            == 1
        )
        down, across = name.split(",")
        return int(down), int(across)

    opened.script("document.querySelector('#grid-1 td[tabindex=\"0\"]').focus()")
    assert here() == (1, 0)
    for key, there in (
        (Keys.ARROW_UP, (0, 0)), (Keys.ARROW_UP, (0, 0)), (Keys.END, (0, 2)),
        (Keys.ARROW_DOWN, (1, 2)), (Keys.ARROW_DOWN, (2, 2)), (Keys.ARROW_RIGHT, (2, 2)),
        (Keys.ARROW_LEFT, (2, 1)), (Keys.HOME, (2, 0)),
    ):  # fmt: skip
        opened.press(key)
        assert here() == there
        assert_cell(opened, made, written, *there)
    assert opened.one("#grid-1 .cell").get_attribute("aria-live") == "polite"


# What was misread first


def test_the_gallery_shows_what_was_misread_at_nominal_and_at_the_smallest_change(
    opened: Opened, written: Written, made: Report
) -> None:
    opened.open(written.page("report"))
    assert made.shown is not None
    rows = [(None, made.shown.at_nominal)]
    rows += [(sweep.first_lost_at, sweep.first_lost) for sweep in made.shown.sweeps]
    wanted = [pictures for _, pictures in rows if pictures]
    shown = opened.script(
        "return [...document.querySelectorAll('#misread dl > div')].map(row =>"
        " [...row.querySelectorAll('figure')].map(f => [f.innerText,"
        " ...[...f.querySelectorAll('img')].map(i => i.src)]))"
    )
    assert len(shown) == len(wanted) > 1
    for figures_there, pictures in zip(shown, wanted, strict=True):
        assert len(figures_there) == len(pictures)
        for (words, *uris), picture in zip(figures_there, pictures, strict=True):
            np.testing.assert_array_equal(ink(uris[-1]), picture.image)
            assert f"“{picture.true}”" in words
            assert f"“{picture.said.answered}”" in words
            assert picture.said.answered != picture.true
            sure = figures(words.replace("\u00a0", " ").rpartition("”")[2])
            assert_shares(f"{sure[-1]} %", picture.said.confidence)


# Without its script, and while it prints


def test_without_its_script_the_page_says_as_much(opened: Opened, written: Written) -> None:
    opened.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        opened.open(written.page("report"))
        assert not opened.script("return document.documentElement.classList.contains('live')")
        opened.unfold()
        text, tables = opened.text(), opened.tables()
        visible = opened.script(
            "return [...document.querySelectorAll('button, .handle, .choice input')]"
            ".filter(e => e.checkVisibility()).length"
        )
    finally:
        opened.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    report = written.document("report")
    assert report["verdict"] in text
    for curve in report["curves"]:
        assert len(tables[f"Figures: {curve['title']}"]) == 1 + len(curve["points"])
    assert visible == 0  # nothing that would do nothing


# What the checks above have to see


def test_a_picture_of_another_level_is_seen(opened: Opened, written: Written, made: Report) -> None:
    opened.open(written.page("report"))
    opened.script(
        "const [a, b] = document.querySelectorAll('#sweep-1 g[data-level] image');"
        "a.setAttribute('href', b.getAttribute('href'))"
    )
    with pytest.raises(AssertionError, match="Arrays are not equal"):
        assert_follows(opened, made, 0)


def test_words_of_another_cell_are_seen(opened: Opened, written: Written, made: Report) -> None:
    opened.open(written.page("report"))
    with pytest.raises(AssertionError, match="doesn't say"):
        assert_cell(opened, made, written, 0, 2)


# Corners of the lines over a chart, each followed by its dot's x and the ends of the plot, in px.
_OVER = """
const article = document.getElementById(arguments[0]);
const dots = [...article.querySelectorAll('.plot g[data-level] > .dot')].map(d => {
  const b = d.getBoundingClientRect();
  return b.left + b.width / 2;
});
const lines = [...article.querySelectorAll('.plot line.grid')]
  .map(l => l.getBoundingClientRect()).map(b => b.top + b.height / 2);
return [...article.querySelectorAll('.plot polyline.of-class')].map(line => {
  const to = line.getScreenCTM();
  return [...line.points].flatMap((p, i) => {
    const q = p.matrixTransform(to);
    return [[q.x, q.y], [dots[i], Math.max(...lines), Math.min(...lines)]];
  });
});
"""
