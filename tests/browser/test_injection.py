"""Names that would like to be markup or script stay words, on every page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from selenium import webdriver

from gen import Report, compare_reports, make_report, parse_recipe
from gen.report.measure_set import measure_set
from gen.report.run import RunInfo
from tests.browser.opened import Opened
from tests.browser.pages import DIGITS, RECIPE, digits, reader
from tests.report import planted
from tests.report.diagnosis_support import CLASSES, drawn, explained
from tests.report.test_page import poisoned

pytestmark = pytest.mark.browser

PageOf = Callable[..., Path]
LEAK = "window.leaked=1;alert(1)"
HOSTILE = {
    "an image": f'"><img src=x onerror="{LEAK}">',
    "a script": f"</script></style></title></pre></svg><script>{LEAK}</script>",
    "a comment": f"<!--<script>--></script>]]><script>{LEAK}</script>",
    # Without a box: putting it away would give the focus back, and so open the next one.
    "an attribute": "' onfocus='window.leaked=1' autofocus tabindex=0 x=\" onclick=\"leaked=1",
    "an address": f"javascript:{LEAK}",
    "a template": "${" + LEAK + "}`+(()=>{" + LEAK + "})()+`\\u003cimg src=x\\u003e&lt;b&gt;",
    "a string": f'\\";{LEAK};//\u2028{LEAK}',
}
HARMLESS = "plain"


def saved(folder: Path, word: str, kind: str) -> Path:
    """A page of a kind in which everything that somebody else may name is called so."""
    folder.mkdir(parents=True, exist_ok=True)
    _MADE[kind](folder, word)
    (page,) = sorted(folder.glob("*.html"))
    return page


def _planted(folder: Path, word: str) -> None:
    made, run = poisoned(planted, word)
    Report(made, planted.shown(made), run).save(folder)


def _real(folder: Path, word: str) -> None:
    """From names in a recipe, a set and a command line to the page, through every door."""
    named = _named(word)
    recipe = replace(
        parse_recipe(RECIPE), title=f"Belt two {word}", note=word, text=f"# {word}\n{RECIPE}"
    )
    blends = tuple(replace(blend, title=f"Belt {word}", note=word) for blend in recipe.blends)
    recipe = replace(recipe, blends=blends)
    made = make_report(reader(), recipe, named, command=f"gen report {word}")
    notes = (*made.evaluation.left_out, word)
    evaluation = replace(made.evaluation, left_out=notes, model=word)
    replace(made, evaluation=evaluation).save(folder)


def _compared(folder: Path, word: str) -> None:
    named = _named(word)
    recipe = replace(parse_recipe(RECIPE), title=f"Belt two {word}")
    folders = []
    for at, model in enumerate((reader(), lambda pictures: np.zeros(len(pictures), int))):
        made = make_report(model, recipe, named)
        evaluation = replace(made.evaluation, model=f"{word}{at}")
        folders.append(folder / "reports" / str(at))
        replace(made, evaluation=evaluation).save(folders[-1])
    compare_reports(folders, command=f"gen compare {word}").save(folder)


def _diagnosed(folder: Path, word: str) -> None:
    bars = drawn(classes=tuple(f"{name}{word}" for name in CLASSES))
    made = explained(glyphs=bars)
    found = replace(made.diagnosis, model=word, glyphs=word, ruled_out=(word,))
    replace(made, diagnosis=found, run=RunInfo(word)).save(folder)


def _measured(folder: Path, word: str) -> None:
    measure_set(_named(word), digits(seed=4), run=RunInfo(word)).save(folder)


def _named(word: str) -> Any:
    """Digits, each class of which has the word behind its name, from a file named so."""
    made = digits(classes=tuple(f"{digit}{word}" for digit in DIGITS))
    source = replace(made.provenance, name=word, notes=(*made.provenance.notes, word))
    return replace(made, provenance=source)


_MADE: dict[str, Callable[[Path, str], None]] = {
    "planted report": _planted,
    "report": _real,
    "comparison": _compared,
    "diagnosis": _diagnosed,
    "measured": _measured,
}


Made = tuple[list[str], dict[str, int]]
"""What a page is made of: its elements, and those that come and go while it is used."""


@pytest.fixture(scope="module")
def plain_pages(
    chrome: webdriver.Chrome, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[str], Made]:
    """What the same pages are made of with harmless names; each is looked at once."""
    known: dict[str, Made] = {}

    def made_of(kind: str) -> Made:
        if kind not in known:
            folder = tmp_path_factory.mktemp("plain") / "page"
            opened = Opened(chrome).open(saved(folder, HARMLESS, kind))
            known[kind] = elements(opened), used(opened)
        return known[kind]

    return made_of


@pytest.mark.parametrize("named", HOSTILE)
def test_a_name_on_a_report_stays_words(
    opened: Opened, tmp_path: Path, plain_pages: Callable[[str], Made], named: str
) -> None:
    kind = "planted report"
    stays_words(opened, tmp_path, plain_pages(kind), kind, HOSTILE[named])


@pytest.mark.parametrize("kind", ["report", "comparison", "diagnosis", "measured"])
def test_names_on_a_page_that_was_made_as_people_make_it_stay_words(
    opened: Opened, tmp_path: Path, plain_pages: Callable[[str], Made], kind: str
) -> None:
    stays_words(opened, tmp_path, plain_pages(kind), kind, " ".join(HOSTILE.values()))


def stays_words(opened: Opened, tmp_path: Path, wanted: Made, kind: str, word: str) -> None:
    """The page has no element or attribute that harmless names don't give, and nothing ran."""
    opened.open(saved(tmp_path / "hostile", word, kind))
    assert (elements(opened), used(opened)) == wanted
    opened.script("for (const e of document.querySelectorAll('[tabindex]')) e.focus()")
    shown = opened.script("return document.body.textContent")
    assert word.replace("\u2028", "") in shown.replace("\u2028", "")
    assert ran(opened) == []
    assert opened.problems() == []
    assert opened.requests() == []


def elements(opened: Opened) -> list[str]:
    """Every element with the names of its attributes, in order, all parts of the page open."""
    opened.unfold()
    found: list[str] = opened.script(
        "return [...document.querySelectorAll('*')]"
        ".map(e => e.tagName + ' ' + [...e.attributes].map(a => a.name).sort().join(' '))"
    )
    return found


def used(opened: Opened) -> dict[str, int]:
    """What comes and goes while all that can be used on a page is used, and how often."""
    found: dict[str, int] = opened.script(_USED)
    return found


def ran(opened: Opened) -> list[str]:
    """Traces of a script that wasn't the page's own."""
    traces = [f"a box: {said}" for said in opened.dialogs()]
    if opened.script("return window.leaked !== undefined"):
        traces.append("window.leaked")
    return traces


# What the checks above have to see


@pytest.mark.parametrize("named", ["an image", "a script", "a comment"])
def test_a_script_that_gets_through_is_seen(opened: Opened, page_of: PageOf, named: str) -> None:
    opened.open(page_of("<p>plain</p>"))
    wanted = elements(opened)
    opened.open(page_of(f"<p>{HOSTILE[named]}</p>"))
    assert elements(opened) != wanted
    assert ran(opened) == ["a box: 1", "window.leaked"]


def test_an_attribute_that_gets_through_is_seen(opened: Opened, page_of: PageOf) -> None:
    opened.open(page_of("<p title='plain'>x</p>"))
    wanted = elements(opened)
    opened.open(page_of(f"<p title='{HOSTILE['an attribute']}'>x</p>"))
    assert elements(opened) != wanted
    opened.one("p").click()
    assert ran(opened) == ["window.leaked"]


def test_a_script_that_gets_through_when_the_page_is_used_is_seen(
    opened: Opened, page_of: PageOf
) -> None:
    body = (
        '<div class="handle" tabindex="0" aria-valuemax="1"></div><p id="p"></p>'
        "<script>document.querySelector('.handle').addEventListener('keydown', () => {"
        "document.getElementById('p').innerHTML = '<img src=x onerror=\"leaked=1\">'})</script>"
    )
    opened.open(page_of(body))
    assert any(name.startswith("IMG") for name in used(opened))
    assert ran(opened) == ["window.leaked"]


# Handles to every level, every glyph, every class, every cell; what is there after each step.
_USED = """
const seen = {};
const note = () => {
  for (const e of document.querySelectorAll('.reading *, .plot *, .cell *, #p *')) {
    const name = e.tagName + ' ' + e.getAttributeNames().sort().join(' ');
    seen[name] = (seen[name] ?? 0) + 1;
  }
};
for (const handle of document.querySelectorAll('.handle')) {
  const steps = Number(handle.getAttribute('aria-valuemax'));
  for (const key of ['Home', ...Array(steps).fill('ArrowRight')]) {
    handle.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true}));
    note();
  }
}
for (const e of document.querySelectorAll('.choice input, li[data-class] button')) {
  e.click();
  note();
}
for (const e of document.querySelectorAll('td[data-cell]')) {
  e.focus();
  note();
}
return seen;
"""
