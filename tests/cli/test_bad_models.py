"""Models that fail, or answer with what is no answer: their own words, and where."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from tests.cli.support import MODELS, Ended, Shed

Called = Callable[..., Ended]

LINE = {text: number for number, text in enumerate(MODELS.splitlines(), 1)}
RAISES = LINE['    raise RuntimeError("the weights are missing")']
LATER = LINE['        raise RuntimeError("the lamp went out")']
LEAVES = LINE["    raise SystemExit(0)"]
USABLE = "boom, centre, edgy, few, keeper, late, leaves, nan, right, stranger"

IMPORTS = "from math import sqrt\nfrom textwrap import dedent\n"
BAD = {
    "models.py:few": (
        "models.py:few: first batch: the model gave a wrong number of answers\n"
        "  got       19, shape (19,)\n"
        "  allowed   20, one a glyph\n"
    ),
    "models.py:nan": (
        "models.py:nan: first batch: the answers hold NaN or infinity\n"
        "  got       in 20 of 20 glyphs, first in glyph 0\n"
        "  try       look for a division by zero or an exponential that overflows\n"
    ),
    "models.py:stranger": (
        "models.py:stranger: first batch: the model knows a class that no label has\n"
        '  got       "Q", the answer to 20 of 20 glyphs\n'
        "  allowed   0, 1, 2, 3, 4, 5, 6, 7, 8, 9\n"
    ),
    "models.py:boom": (
        "models.py:boom: first batch: the model fails\n"
        f"  got       RuntimeError: the weights are missing (models.py:{RAISES})\n"
    ),
    "models.py:leaves": (
        "models.py:leaves: first batch: the model fails\n"
        f"  got       SystemExit: 0 (models.py:{LEAVES})\n"
    ),
    "models.py:right-hand": (
        'models.py:right-hand: there is no "right-hand" there\n'
        '  got       "right-hand"\n'
        f"  allowed   {USABLE}\n"
        '  try       "right"\n'
    ),
    "models.py:number": (
        "models.py:number: this is not a model\n"
        "  got       int\n"
        "  allowed   a function, or an object with predict_proba or predict, or that can be "
        "called\n"
    ),
    "models.py": (
        "models.py: this doesn't say which name in the file is the model\n"
        "  allowed   path/to/file.py:name or package.module:name\n"
        "  try       models.py:boom, or one of centre, edgy, few, keeper, late, leaves, nan, "
        "right, stranger\n"
    ),
    "imports.py": (
        "imports.py: this doesn't say which name in the file is the model\n"
        "  allowed   path/to/file.py:name or package.module:name\n"
        "  try       imports.py:reader, or one of answer, bound\n"
    ),
    "only_imports.py": (
        "only_imports.py: this doesn't say which name in the file is the model\n"
        "  allowed   path/to/file.py:name or package.module:name\n"
        "  try       nothing made there could be a model; imported there: dedent, sqrt\n"
    ),
    "model.py:right": (
        'model.py:right: there is no such file\n  got       model.py\n  try       "models.py"\n'
    ),
    "broken.py:model": (
        "broken.py:model: the code fails when it is imported\n"
        "  got       ValueError: no weights here (broken.py:2)\n"
    ),
    "misspelt.py:model": (
        "misspelt.py:model: the code fails when it is imported\n"
        "  got       SyntaxError: invalid syntax (misspelt.py:1)\n"
    ),
}


@pytest.mark.parametrize("spec", BAD)
def test_a_model_that_cannot_be_used_is_one_clear_error(
    shed: Shed, called: Called, spec: str
) -> None:
    (shed.folder / "broken.py").write_text("\nraise ValueError('no weights here')\n")
    (shed.folder / "imports.py").write_text(
        f"{IMPORTS}def answer(x): ...\nclass Net:\n    def predict(self, x): ...\n"
        "bound = Net().predict\nreader = Net()\n"
    )
    (shed.folder / "only_imports.py").write_text(IMPORTS)
    (shed.folder / "misspelt.py").write_text("weights are missing\n")
    before = shed.names()
    ended = called("report", spec, "small.toml", "--count", "20", "--into", "out", "--quiet")
    ours = "".join(
        line for line in ended.err.splitlines(keepends=True) if not line.startswith("printed ")
    )
    assert (ended.code, ended.out, ours) == (2, "", BAD[spec])
    assert shed.names() == before


def test_a_model_that_no_longer_answers_ends_the_run(shed: Shed, called: Called) -> None:
    before = shed.names()
    ended = called("report", "models.py:late", "small.toml", "--count", "20", "--into", "out")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.endswith(
        "models.py:late: cell nominal, asked again: the model fails\n"
        f"  got       RuntimeError: the lamp went out (models.py:{LATER})\n"
    )
    assert shed.names() == before


def test_a_model_that_fails_in_a_cell_gets_its_report_without_it(
    shed: Shed, called: Called
) -> None:
    ended = called("report", "models.py:edgy", "small.toml", "--count", "20", "--into", "out")
    assert ended.code == 2
    words = "models.py:edgy: the model failed in 1 cell, which the report is without\n"
    assert words in ended.err
    told = json.loads((shed.folder / "out" / "report.json").read_text("utf-8"))
    (failed,) = told["failed"]
    assert "ink at the left edge" in failed["why"]
    assert len(told["curves"][0]["points"]) > 1


def test_a_model_that_holds_everywhere_gets_its_page(shed: Shed, called: Called) -> None:
    ended = called("report", "models.py:right", "small.toml", "--count", "60", "--into", "out")
    assert ended.code == 0
    page = (shed.folder / "out" / "report.html").read_text("utf-8")
    assert "at or over the floor" in page
