"""The page: whole, quiet towards the network, true to report.json, and proof against names."""

from __future__ import annotations

import base64
import io
import json
import re
from collections import Counter
from dataclasses import replace
from importlib import resources
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from PIL import Image

from gen.core.errors import OutputError
from gen.evaluate.results import ReliabilityBin
from gen.report.document import as_dict
from gen.report.findings import find, verdict
from gen.report.markup import data_block
from gen.report.page import SCRIPTS, as_html
from gen.report.pictures import png
from gen.report.run import RunInfo
from gen.report.shown import Shown, ShownSweep
from gen.report.typeset import typeset
from gen.report.words import amount, points
from tests.report.page_reader import Page, assert_only_its_own_style, page_data

RUN = RunInfo("gen report m.py:read r.toml", 'title = "Crate tags"\n')


def render(evaluation: Any, shown: Any = None, run: RunInfo = RUN) -> str:
    return as_html(evaluation, find(evaluation), run, shown)


def noisy(made: Any, shown: Shown, rng: np.random.Generator) -> Shown:
    """The same with six glyphs followed and six misread, all noise, which packs worst."""

    def noise(*size: int) -> Any:
        return rng.integers(0, 256, (*size, 32, 32), dtype=np.uint8)

    def many(sweep: ShownSweep) -> ShownSweep:
        one = sweep.followed[0]
        levels = len(one.images)
        spot = sweep.misread[0][0]
        return replace(
            sweep,
            followed=tuple(replace(one, images=noise(levels)) for _ in range(6)),
            misread=tuple(
                tuple(replace(spot, image=noise(), before=noise()) for _ in range(6))
                for _ in range(levels)
            ),
        )

    return replace(shown, sweeps=tuple(many(sweep) for sweep in shown.sweeps))


def in_many_bins(planted: ModuleType, point: Any) -> Any:
    """The same level with an answer in each of fifteen bins."""
    bins = tuple(
        ReliabilityBin(k / 15, (k + 1) / 15, 86, (k + 0.43) / 15, planted.share(7 * k // 2, 86))
        for k in range(15)
    )
    return replace(point, calibration=replace(point.calibration, bins=bins))


def own_script() -> str:
    folder = resources.files("gen.report")
    return "".join(folder.joinpath(name).read_text("utf-8") for name in SCRIPTS)


def percent(share: float) -> str:
    return f"{100 * share:.1f} %"


# True to report.json


@pytest.mark.parametrize("name", ["healthy", "slipped", "fragile"])
def test_the_figures_on_the_page_are_those_of_report_json(planted: ModuleType, name: str) -> None:
    made = getattr(planted, name)()
    page = Page(render(made))
    document = as_dict(made, find(made), RUN)
    for curve, stored in zip(made.curves, document["curves"], strict=True):
        _, *rows = page.tables[f"Figures: {stored['title']}"]
        assert len(rows) == len(stored["points"])
        for row, point in zip(rows, stored["points"], strict=True):
            assert row[0] == typeset(amount(curve, point["level"]))
            counts = [f"{point['n']:,}", f"{point['correct']:,}"]
            assert row[1:4] == [*counts, percent(point["accuracy"])]
            assert row[4] == f"{100 * point['low']:.1f} to {100 * point['high']:.1f} %"
            gap = point["difference"]
            assert row[5] == ("nominal" if gap is None else typeset(points(gap["value"])))


def test_the_findings_stand_on_the_page_first_and_in_order(planted: ModuleType) -> None:
    made = planted.slipped()
    # A reason behind a colon is set in a smaller type; the sentence stays whole.
    text = Page(render(made)).text.replace(":  ", ": ")
    places = [text.index(finding.says) for finding in find(made)]
    assert places == sorted(places)
    assert text.index(verdict(find(made))) < places[0]
    assert places[-1] < text.index("With nothing changed")


@pytest.mark.parametrize("name", ["healthy", "slipped", "fragile", "thorough"])
def test_numbers_under_nought_have_a_minus_sign_and_no_hyphen(
    planted: ModuleType, name: str
) -> None:
    made = getattr(planted, name)()
    shown = render(made, planted.shown(made))
    whole = Page(shown).text
    text = whole[: whole.index("How this was made")]  # a command stays as it is typed
    assert "\u2212" in text
    assert re.findall(r"[^\w\u201c-]-\d.{0,20}", text) == []
    data = json.dumps(page_data(shown), ensure_ascii=False)
    assert re.findall(r"[ (\"]-\d.{0,20}", data) == []


def test_classes_are_listed_with_their_figures(planted: ModuleType) -> None:
    made = planted.healthy()
    _, *rows = Page(render(made)).tables["At nominal"]
    stored = as_dict(made, find(made), RUN)["baseline"]["per_class"]
    assert [row[0] for row in rows] == [each["class"] for each in stored]
    assert [row[2] for row in rows] == [percent(each["accuracy"]) for each in stored]


# Whole and quiet


def test_nothing_is_fetched_and_nothing_runs_but_its_own_script(planted: ModuleType) -> None:
    made = planted.slipped()
    text = render(made, planted.shown(made))
    page = Page(text)
    assert {"link", "iframe", "object", "embed", "form"} & {t for t, _ in page.tags} == set()
    scripts = [attributes for tag, attributes in page.tags if tag == "script"]
    assert scripts == [{"type": "application/json", "id": "page-data"}, {}]
    (code,) = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    assert code == own_script()
    for _, attributes in page.tags:
        assert not any(name.startswith("on") or name == "style" for name in attributes)
        for name in ("src", "href"):
            if attributes.get(name) is not None:
                assert str(attributes[name]).startswith(("#", "data:image/png;base64,"))


def test_the_policy_allows_the_style_sheet_the_script_and_pictures_in_the_page(
    planted: ModuleType,
) -> None:
    assert_only_its_own_style(render(planted.healthy()), pictures=True, script=True)


def test_the_script_makes_no_markup_out_of_text_and_asks_for_nothing() -> None:
    code = own_script()
    forbidden = r"innerHTML|outerHTML|insertAdjacent|document\.write|\beval\b|Function\(|import\("
    assert not re.search(forbidden, code)
    assert not re.search(r"fetch|XMLHttp|WebSocket|sendBeacon|localStorage|cookie|location", code)
    assert set(re.findall(r"https?://[^\s\"']+", code)) == {"http://www.w3.org/2000/svg"}


def test_the_page_has_a_title_a_language_and_charts_with_words(planted: ModuleType) -> None:
    made = planted.thorough()
    page = Page(render(made, planted.shown(made)))
    ids = Counter(str(a["id"]) for _, a in page.tags if "id" in a)
    assert max(ids.values()) == 1
    charts = [a for t, a in page.tags if t == "svg" and a.get("role") == "img"]
    # Sweeps with how sure the model is at a level, nominal and forecasts on a line each,
    # reliability and declining, and the reliability that proves a finding.
    assert len(charts) == 2 * len(made.curves) + 1 + len(made.blends) + 2 + 1
    assert all(a.get("aria-label") or a.get("aria-labelledby") for a in charts)
    for _, attributes in page.tags:
        for name in ("aria-labelledby", "for"):
            assert set(str(attributes.get(name) or "").split()) <= set(ids)
        if str(attributes.get("href") or "").startswith("#"):
            assert str(attributes["href"])[1:] in ids
    assert all(a.get("alt") for t, a in page.tags if t == "img")
    assert ("html", {"lang": "en"}) in page.tags


def test_ten_sweeps_with_all_that_can_be_said_of_them_stay_under_five_megabytes(
    planted: ModuleType,
) -> None:
    rng = np.random.default_rng(4)
    classes = tuple("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    curve = planted.curve(
        "translation", "px", [float(k) for k in range(-20, 21)], planted.bell(0, 9),
        options=(("along", "x"),), classes=classes, n=1296,
    )  # fmt: skip
    told = planted.sure_of(planted.summed_up(curve), lambda p: 0.9)
    told = replace(told, points=tuple(in_many_bins(planted, point) for point in told.points))
    steps = [float(k) for k in range(12)]
    grid = planted.crossed(lambda a, b: 0.97 - a / 40 - b / 40, steps, steps)
    made = replace(
        planted.thorough(), curves=(told,) * 10, grids=(grid,) * 4,
        blends=(planted.depot_camera(),) * 4, requirements=(planted.judged(False),) * 30,
    )  # fmt: skip
    shown = noisy(made, planted.shown(made, 32), rng)
    assert len(render(made, shown).encode()) < 5_000_000


def test_ten_long_sweeps_with_pictures_stay_under_five_megabytes(planted: ModuleType) -> None:
    rng = np.random.default_rng(3)
    curve = planted.curve(
        "translation", "px", [float(k) for k in range(-20, 21)], planted.bell(0, 9),
        options=(("along", "x"),),
    )  # fmt: skip
    made = planted.evaluation(*[curve] * 10)
    # Noise is the worst that a compressor can be given.
    shown = noisy(made, planted.shown(made, 32), rng)
    assert len(render(made, shown).encode()) < 5_000_000


# Pictures


def test_a_picture_decodes_to_the_glyph_with_its_ink_dark() -> None:
    glyph = np.random.default_rng(5).integers(0, 256, (9, 14), dtype=np.uint8)
    with Image.open(io.BytesIO(png(glyph))) as read:
        read.load()
        assert read.mode == "L"
        np.testing.assert_array_equal(np.asarray(read), 255 - glyph)


def test_the_glyph_under_each_level_is_the_one_of_that_level(planted: ModuleType) -> None:
    made = planted.slipped()
    shown = planted.shown(made)
    text = render(made, shown)
    article = text[text.index('id="sweep-1"') : text.index('id="sweep-2"')]
    drawn = dict(re.findall(r'<g data-level="(\d+)">(?:(?!</g>).)*?href="([^"]+)"', article))
    assert {"0", "8", "12", "16"} <= set(drawn)  # both ends, nominal, the peak
    for level, uri in drawn.items():
        data = base64.b64decode(uri.removeprefix("data:image/png;base64,"))
        with Image.open(io.BytesIO(data)) as read:
            np.testing.assert_array_equal(
                255 - np.asarray(read), shown.sweeps[0].followed[0].images[int(level)]
            )


def test_without_pictures_there_are_none(planted: ModuleType) -> None:
    made = planted.slipped()
    assert not {"img", "image"} & {tag for tag, _ in Page(render(made)).tags}
    bare = Shown(tuple(ShownSweep((), ((),) * len(curve.points)) for curve in made.curves))
    assert not {"img", "image"} & {tag for tag, _ in Page(render(made, bare)).tags}


def test_pictures_that_do_not_fit_are_refused(planted: ModuleType) -> None:
    made = planted.slipped()
    shown = planted.shown(made)
    with pytest.raises(OutputError, match="pictures and curves differ in number"):
        render(made, replace(shown, sweeps=shown.sweeps[:-1]))
    first = shown.sweeps[0]
    short = replace(first.followed[0], images=first.followed[0].images[:-1])
    cut = replace(first, followed=(short,))
    with pytest.raises(OutputError, match=r"a sweep don't fit its levels\n  got +16 pictures"):
        render(made, replace(shown, sweeps=(cut, *shown.sweeps[1:])))


# Names that would like to be markup

HOSTILE = (
    '</title></style></svg></pre><script>alert(1)</script><img src=x onerror="a()">\'"&<b>\x00\x1b'
)


def poisoned(planted: ModuleType, word: str) -> tuple[Any, RunInfo]:
    """A report in which every string that somebody else chooses is the word."""
    made = planted.thorough()
    classes = tuple(f"{name}{word}" for name in planted.DIGITS)
    rules = [f"{rule}{word}" for rule in planted.RULES]

    def point(p: Any) -> Any:
        scores = tuple(replace(s, name=f"{s.name}{word}") for s in p.per_class)
        level = f"{p.level}{word}" if isinstance(p.level, str) else p.level
        return replace(p, per_class=scores, cell=word, level=level)

    curves = []
    for curve in made.curves:
        by_rule = isinstance(curve.nominal, str)
        told = curve.summary
        if told.first_class is not None:
            told = replace(
                told,
                first_class=replace(told.first_class, name=word),
                confused=replace(told.confused, true=word, answered=word),
            )
        curves.append(
            replace(
                curve,
                summary=told,
                title=f"{curve.title}{word}",
                unit=f"{curve.unit}{word}",
                options=(("along", word),),
                points=tuple(point(p) for p in curve.points),
                nominal=rules[0] if by_rule else curve.nominal,
                peak=replace(
                    curve.peak, level=f"{curve.peak.level}{word}" if by_rule else curve.peak.level
                ),
            )
        )

    def side(s: Any) -> Any:
        options = (("along", word),)
        return replace(s, title=word, unit=word, perturbation=word, options=options)

    grids = tuple(
        replace(
            grid,
            title=word,
            down=side(grid.down),
            across=side(grid.across),
            points=tuple(tuple(point(p) for p in row) for row in grid.points),
        )
        for grid in made.grids
    )
    blends = tuple(
        replace(
            blend, title=word, accuracy=replace(blend.accuracy, method=word),
            parts=tuple(replace(part, title=word, unit=word) for part in blend.parts),
        )
        for blend in made.blends
    )  # fmt: skip
    base = point(made.baseline)
    base = replace(
        base,
        per_class=tuple(
            replace(s, accuracy=planted.share(1, 100)) if i == 3 else s
            for i, s in enumerate(base.per_class)
        ),
    )
    dirty = replace(
        made,
        model=word, answers=word, glyphs=word, glyphs_digest=word, recipe=word,
        recipe_digest=word, classes=classes, baseline=base, curves=tuple(curves),
        left_out=(word,) * 5,
        grids=grids, blends=blends, resampled=word,
        foreign=tuple(replace(kind, kind=word, commonest=word) for kind in made.foreign),
        declining=replace(made.declining, rule=word),
        behaviour=replace(made.behaviour, notes=(word,)),
        failed=tuple(replace(cell, cell=word, why=word) for cell in made.failed),
        requirements=tuple(
            replace(part, says=word, judged_on=word, level=word, curve=None)
            for part in made.requirements
        ),
        seconds=((word, 1.0),),
    )  # fmt: skip
    return dirty, RunInfo(word, word, (("inkdrift", word), (word, "1")))


def test_no_name_can_become_markup(planted: ModuleType) -> None:
    made, run = poisoned(planted, HOSTILE)
    harmless, plain = poisoned(planted, "harmless")
    shown = planted.shown(planted.thorough())
    dirty, clean = render(made, shown, run), render(harmless, shown, plain)
    found, wanted = Page(dirty), Page(clean)
    assert [tag for tag, _ in found.tags] == [tag for tag, _ in wanted.tags]
    assert [sorted(a) for _, a in found.tags] == [sorted(a) for _, a in wanted.tags]
    assert dirty.count("<script") == 2  # its own, and what that reads
    assert "\x00" not in dirty
    assert "\\u0000" not in dirty
    assert shapes(page_data(dirty)) == shapes(page_data(clean))
    assert "alert(1)" in found.text  # it is there, as words


def shapes(values: Any) -> Any:
    """The same without texts and figures: what holds what."""
    if isinstance(values, dict):
        return {name: shapes(each) for name, each in values.items()}
    if isinstance(values, list):
        return [shapes(each) for each in values]
    return type(values).__name__


@pytest.mark.parametrize("name", ["</script>", "<!--<script>", "]]>", "a\u2028b\u2029c", "\\u003c"])
def test_no_name_ends_the_data_of_the_script(name: str) -> None:
    block = data_block({"name": name}, ident="page-data")
    inside = block.removeprefix('<script type="application/json" id="page-data">')
    inside = inside.removesuffix("</script>")
    assert not set("<>&\u2028\u2029") & set(inside)
    assert json.loads(inside) == {"name": name}


def test_the_check_for_markup_sees_markup() -> None:
    assert ("script", {}) in Page(
        f"<p>{HOSTILE[HOSTILE.index('<script') : HOSTILE.index('<img')]}</p>"
    ).tags


def test_nothing_in_a_name_turns_the_page_round(planted: ModuleType) -> None:
    made, run = poisoned(planted, "\u202eplum\u2066")
    page = as_html(made, find(made), run, planted.shown(made))
    told = page + json.dumps(page_data(page), ensure_ascii=False)
    assert "plum" in told
    assert not set(told) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067")
