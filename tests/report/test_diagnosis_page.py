"""diagnosis.html: true to diagnosis.json, quiet towards the network, whole for every verdict."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from gen.diagnose.results import VERDICTS
from gen.report.diagnosis_make import DiagnosisReport
from gen.report.typeset import typeset
from tests.report.diagnosis_support import (
    CLASSES,
    MOVE,
    READING,
    SHIFTED,
    drawn,
    explained,
    remedy,
    without_remedy,
)
from tests.report.page_reader import Page, assert_only_its_own_style

HOSTILE = '<script>alert("x")</script> & <b>"tags"</b>.py:\'reader\''


def page_of(report: DiagnosisReport) -> Page:
    return Page(report.as_html())


def of(verdict: str) -> DiagnosisReport:
    return explained() if verdict == "explained" else without_remedy(verdict)


def test_the_figures_on_the_page_are_those_of_the_document() -> None:
    report = explained()
    page, stored = page_of(report), report.as_dict()
    _, base, *rows = page.tables["Remedies"]
    assert base[:3] == ["as they are", "30 of 60", "50.0 % (37.7 to 62.3 %)"]
    assert len(rows) == len(stored["remedies"]) == 2
    for row, told in zip(rows, stored["remedies"], strict=True):
        share = f"{100 * told['accuracy']:.1f} % ({100 * told['low']:.1f} to "
        assert row[1] == f"{told['correct']} of {told['n']}"
        assert row[2].replace("\u00a0", " ").startswith(share)
        assert row[3] == typeset(f"{100 * told['gain']:+.1f} points")
        assert row[4:] == ["< 0.001", told["side"]]
    _, *rows = page.tables["Differences from the training glyphs"]
    assert len(rows) == len(stored["differences"]) > 10
    _, (curve, level, predicted, seen) = page.tables["Expected and seen"]
    assert (curve, level) == ("translation along x", "+2\u00a0px")
    assert (predicted[:6], seen[:6]) == ("51.7 %", "50.0 %")
    assert page.tables["Variations"][1] == [
        "translation along x",
        "0 to 2.4\u00a0px",
        "47.0 points",
    ]


def test_the_answer_stands_first_and_in_order() -> None:
    report = explained()
    text = page_of(report).text
    places = [text.index(said) for said in (report.headline, *report.diagnosis.says)]
    places += [text.index(word) for word in ("Accuracy", "Each remedy", "Ruled out")]
    assert places == sorted(places)
    for word in ("row-slip \u22122 bytes", "rotation", "ink polarity", "marks sit to the right"):
        assert word in text


@pytest.mark.parametrize("verdict", VERDICTS)
def test_every_verdict_has_a_page_of_its_own(verdict: str) -> None:
    report = of(verdict)
    text = page_of(report).text
    assert report.headline in text
    assert report.diagnosis.says[0] in text
    assert ("Each remedy" in text) == (verdict == "explained")
    assert ("Ruled out" in text) == (verdict in {"explained", "unexplained"})


def test_each_example_is_shown_before_and_after_with_what_it_was_read_as() -> None:
    report = explained(remedy(MOVE))
    page = page_of(report)
    shown = [str(a["src"]) for tag, a in page.tags if tag == "img"]
    examples = report.examples[0]
    assert len(shown) == 2 + 2 * len(examples)  # a pair in front
    assert len(set(shown)) > len(examples)
    for one in examples:
        assert f"labelled \u201c{one.labelled}\u201d" in page.text
        assert f"read \u201c{one.read}\u201d" in page.text


def test_labels_that_change_are_told_and_pictures_that_do_not_are_shown_once() -> None:
    report = explained(remedy(SHIFTED))
    page = page_of(report)
    assert len(report.examples[0]) > 1
    assert len([1 for tag, _ in page.tags if tag == "img"]) == len(report.examples[0])
    one = report.examples[0][0]
    head = f"labelled \u201c{one.labelled}\u201d, then \u201c{one.labelled_after}\u201d"
    assert head in page.text
    assert "--values 0..255" in page_of(explained(remedy(READING))).text


def hostile() -> DiagnosisReport:
    """Every text that comes from files or people made to do harm."""
    bars = drawn(classes=(HOSTILE, "</style>", "javascript:alert(1)"))
    made = explained(replace(remedy(MOVE), wrong=HOSTILE, equally=(HOSTILE,)), glyphs=bars)
    found = replace(
        made.diagnosis, says=(HOSTILE,), ruled_out=(HOSTILE,), model=HOSTILE, glyphs=HOSTILE
    )
    return replace(made, diagnosis=found)


def test_nothing_is_fetched_and_nothing_runs() -> None:
    page = page_of(hostile())
    assert {"script", "link", "iframe", "object", "embed", "form"} & {
        tag for tag, _ in page.tags
    } == set()
    for _, attributes in page.tags:
        assert not any(name.startswith("on") or name == "style" for name in attributes)
        for name in ("src", "href"):
            if attributes.get(name) is not None:
                assert str(attributes[name]).startswith(("#", "data:image/png;base64,"))


def test_text_with_markup_stays_text() -> None:
    report = hostile()
    assert "<script" not in report.as_html()
    assert page_of(report).text.count(HOSTILE) >= 8
    assert report._repr_html_().startswith('<iframe title="Inkdrift diagnosis" sandbox=""')
    assert "<script" not in report._repr_html_()


def test_the_policy_allows_the_one_style_sheet_and_pictures_in_the_page() -> None:
    text = explained().as_html()
    assert_only_its_own_style(text, pictures=True)


def test_ids_are_unique_and_links_lead_somewhere_and_pictures_have_words() -> None:
    page = page_of(explained())
    ids = Counter(str(a["id"]) for _, a in page.tags if "id" in a)
    assert max(ids.values()) == 1
    for tag, attributes in page.tags:
        assert set(str(attributes.get("aria-labelledby") or "").split()) <= set(ids)
        if str(attributes.get("href") or "").startswith("#"):
            assert str(attributes["href"])[1:] in ids
        if tag == "img":
            assert attributes["alt"]
    (chart,) = [a for t, a in page.tags if t == "svg"]
    assert chart["role"] == "img"
    assert "translation -2 px along x: 95.0 % (86.3 to 98.3 %)" in str(chart["aria-label"])


def test_a_bar_is_as_long_as_its_accuracy() -> None:
    bars = [a for t, a in page_of(explained()).tags if t == "rect"]
    assert [a["width"] for a in bars] == ["50.00%", "95.00%", "66.67%"]
    assert CLASSES[0] in page_of(explained()).text
