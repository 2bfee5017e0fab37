"""`gen measure`: its tables, page and JSON, and what it refuses."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from functools import cache
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from gen.diagnose.measures import MEASURES
from gen.diagnose.sets import KINDS
from gen.report.measure_document import as_dict, schema
from gen.report.measure_set import Drawings, measure_set
from gen.report.run import RunInfo
from tests.cli.support import Shed, idx
from tests.diagnose.planted import FAULTS, clean, moved, with_images
from tests.report.page_reader import Page


@pytest.fixture
def shed(tmp_path: Path) -> Shed:
    return Shed(tmp_path)


@cache
def alone() -> Drawings:
    return measure_set(clean(200), run=RunInfo("gen measure marks"))


@cache
def beside() -> Drawings:
    planted = with_images(clean(200), moved(clean(200).images, 0, 3))
    return measure_set(planted, clean(200, 12))


def test_the_document_is_valid_and_the_schema_is_too() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    for made in (alone(), beside()):
        jsonschema.validate(as_dict(made), schema())
        assert json.loads(json.dumps(as_dict(made), allow_nan=False)) == as_dict(made)


def test_the_schema_refuses_a_document_with_a_kind_that_does_not_exist() -> None:
    wrong = as_dict(alone())
    wrong["findings"][0]["kind"] = "moon"
    with pytest.raises(jsonschema.ValidationError, match="'moon' is not one of"):
        jsonschema.validate(wrong, schema())


def test_the_schema_knows_all_measures_and_kinds() -> None:
    told = schema()
    kinds = told["properties"]["findings"]["items"]["properties"]["kind"]["enum"]
    names = told["$defs"]["set"]["properties"]["measures"]["items"]["properties"]["name"]["enum"]
    assert set(kinds) == set(KINDS)
    assert names == list(MEASURES)


def test_the_page_fetches_nothing_and_its_style_is_the_one_it_allows() -> None:
    page = beside().as_html()
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]+)"', page)
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.S)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy
    assert not re.findall(r'(?:src|href)="(?!data:image/png|#)', page)
    assert " style=" not in page
    assert "<script" not in page


def test_the_page_shows_verdict_findings_classes_and_what_was_ruled_out() -> None:
    made = beside()
    text = Page(made.as_html()).text
    assert made.verdict in text
    for finding in made.findings:
        assert finding.says[1:] in text
    page = made.as_html()
    for name in made.here.classes:
        assert f'alt="Mean of class {name}"' in page
        assert f'alt="Mean of class {name} in the other set"' in page


def test_the_figures_on_the_page_are_those_of_the_document() -> None:
    made = beside()
    page, document = Page(made.as_html()), as_dict(made)
    _, *rows = page.tables["Differences between the two sets"]
    assert len(rows) == len(document["differences"]) == len(MEASURES)
    for row, stored in zip(rows, document["differences"], strict=True):
        assert row[0].startswith(MEASURES[stored["name"]].title)
        assert row[4].startswith(f"{stored['delta']['value']:+.2f}")


def test_the_text_has_every_measure_and_names_what_was_found() -> None:
    text = beside().as_text()
    assert "placement: marks sit away from the other set's" in text
    for measure in MEASURES.values():
        assert measure.title in text


def test_a_name_that_is_markup_stays_text_on_the_page() -> None:
    from dataclasses import replace

    names = ("<b>", *clean(200).classes[1:])
    page = measure_set(replace(clean(200), classes=names)).as_html()
    assert "<b></b>" not in page
    assert "&lt;b&gt;" in page


def test_the_command_prints_tables_and_writes_page_and_document(shed: Shed) -> None:
    planted = FAULTS["4 px to the right"][1](clean(200))
    labels = clean(200).labels.astype(np.uint8)
    shed.images("moved", idx(planted.images), labels)
    ended = shed.gen("measure", "moved-images-idx3-ubyte", "--against", "strokes", "--into", "out")
    assert ended.code == 0, ended.err
    assert "placement" in ended.out
    assert "stroke width, px" in ended.out
    assert {"out/measure.html", "out/measure.json"} <= shed.names()
    document = json.loads((shed.folder / "out" / "measure.json").read_text("utf-8"))
    jsonschema.validate(document, schema())
    assert "gen measure moved-images-idx3-ubyte --against strokes" in document["command"]


def test_json_has_standard_output_to_itself(shed: Shed) -> None:
    ended = shed.gen("measure", "strokes", "--count", "60", "--json")
    assert ended.code == 0, ended.err
    jsonschema.validate(json.loads(ended.out), schema())


def test_blank_pictures_are_counted_and_not_left_out(shed: Shed) -> None:
    images = clean(200).images.copy()
    images[:10] = 0
    shed.images("some", idx(images), clean(200).labels.astype(np.uint8))
    ended = shed.gen("measure", "some-images-idx3-ubyte", "--json")
    document = json.loads(ended.out)
    assert document["glyphs"]["count"] == 200
    assert document["findings"][0]["kind"] == "transparency"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["nowhere"], "nowhere"),
        (["strokes", "--against-labels", "some"], "--against-labels: there is no other set"),
        (["strokes", "--against-ink", "dark"], "--against-ink: there is no other set"),
        (["strokes", "--ink", "dark"], "--ink"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_message(
    shed: Shed, arguments: list[str], says: str
) -> None:
    ended = shed.gen("measure", *arguments)
    assert ended.code == 2
    assert ended.out == ""
    assert says in ended.err
    assert "Traceback" not in ended.err


def test_a_frame_for_pictures_is_refused(shed: Shed) -> None:
    shed.images("some", idx(clean(200).images), clean(200).labels.astype(np.uint8))
    ended = shed.gen("measure", "some-images-idx3-ubyte", "--frame", "32")
    assert (ended.code, ended.out) == (2, "")
    assert "--frame: pictures have a frame of their own" in ended.err
