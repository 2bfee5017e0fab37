"""`gen diagnose`: the answer to standard output, its files into a folder, and exit codes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from gen.report.diagnosis_document import schema
from tests.cli.support import Ended, Shed, idx
from tests.report.diagnosis_support import CLASSES, drawn

Called = Callable[..., Ended]

READERS = '''
import numpy as np

print("printed at import")


def third(pictures):
    """Which third of the frame the ink lies in, for bars that are not moved."""
    print("printed while answering")
    across = pictures.sum(axis=1)
    ink = np.maximum(across.sum(axis=1), 1e-9)
    centre = (across * np.arange(across.shape[1])).sum(axis=1) / ink
    return np.digitize(centre, [3.7, 8.7])


def numb(pictures):
    return np.zeros(len(pictures), int)
'''
NAMED = ("--classes", ",".join(CLASSES))
DIAGNOSE = ("diagnose", "readers.py:third", "--glyphs", "moved-images-idx3-ubyte", *NAMED)
NUMB = ("diagnose", "readers.py:numb", "--glyphs", "moved-images-idx3-ubyte", *NAMED)


@pytest.fixture
def bars(shed: Shed) -> Path:
    (shed.folder / "readers.py").write_text(READERS, encoding="utf-8")
    for name, moved_px in (("moved", 2), ("straight", 0)):
        glyphs = drawn(moved_px)
        shed.images(name, idx(glyphs.images), glyphs.labels.astype(np.uint8))
    return shed.folder


def test_it_says_what_is_wrong_and_what_to_change(bars: Path, called: Called) -> None:
    ended = called(*DIAGNOSE)
    assert ended.code == 0
    first, _, says, *_ = ended.out.splitlines()
    assert first == "One change gives accuracy back: translation -2 px along x"
    assert says == "* These marks sit 2 px further right than the model was trained on."
    assert "\ntranslation -2 px along x " in ended.out
    assert "printed" not in ended.out
    assert {path.name for path in bars.iterdir() if path.is_dir()} <= {"__pycache__"}


def test_json_has_standard_output_to_itself_and_is_the_file(bars: Path, called: Called) -> None:
    ended = called(*DIAGNOSE, "--into", "why", "--json", "--quiet")
    assert ended.code == 0
    assert set(ended.err.splitlines()) == {"printed at import", "printed while answering"}
    assert ended.out == (bars / "why" / "diagnosis.json").read_text()
    stored = json.loads(ended.out)
    jsonschema.validate(stored, schema())
    assert stored["verdict"] == "explained"
    step = {"perturbation": "translation", "amount": -2.0, "unit": "px", "options": {"along": "x"}}
    assert stored["remedies"][0]["steps"] == [step]
    assert stored["command"].startswith("gen diagnose readers.py:third --glyphs moved-images")


def test_the_mended_glyphs_can_be_tried_at_once(bars: Path, called: Called) -> None:
    ended = called(*DIAGNOSE, "--into", "why")
    assert {path.name for path in (bars / "why").iterdir()} == {
        "diagnosis.html", "diagnosis.json", "mended.npz",
    }  # fmt: skip
    assert ended.err.endswith(
        "written   why/diagnosis.html, diagnosis.json beside it\n"
        "to try    the same command or gen report with --glyphs why/mended.npz --ink bright\n"
    )
    again = called(
        "diagnose", "readers.py:third", "--glyphs", "why/mended.npz", "--ink", "bright", "--json"
    )
    stored = json.loads(again.out)
    assert (again.code, stored["verdict"]) == (0, "healthy")
    assert (stored["baseline"]["correct"], stored["baseline"]["n"]) == (60, 60)


def test_a_model_that_nothing_helps_ends_with_1(bars: Path, called: Called) -> None:
    ended = called(*NUMB, "--into", "why")
    assert ended.code == 1
    assert ended.out.startswith("No change was found that gives accuracy back\n")
    assert "mended.npz" not in {path.name for path in (bars / "why").iterdir()}


def test_too_few_glyphs_end_with_1(bars: Path, called: Called) -> None:
    ended = called(*DIAGNOSE, "--count", "9")
    assert ended.code == 1
    assert ended.out.startswith("Too few glyphs to say why\n")


def test_the_exit_code_is_1_when_whoever_read_the_answer_has_gone(
    bars: Path, called: Called, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(*_: object, **__: object) -> None:
        raise BrokenPipeError

    monkeypatch.setattr("gen.cli.diagnose._show", gone)
    assert called(*DIAGNOSE, "--count", "9").code == 1
    assert called(*DIAGNOSE, "--floor", "0.01").code == 0


def test_a_training_set_is_named_beside(bars: Path, called: Called) -> None:
    ended = called(*DIAGNOSE, "--trained-on", "straight-images-idx3-ubyte")
    assert ended.code == 0
    assert "\ntraining  60 glyphs of 3 classes (left middle right), 12 x 20 px" in ended.err


REFUSED = {
    "no glyphs named": (("diagnose", "readers.py:third"), "gen diagnose: --glyphs is missing\n"),
    "marks of no class": (
        ("diagnose", "readers.py:third", "--glyphs", "foreign:noise"),
        "--glyphs: marks of no class have no label that a model could get right\n",
    ),
    "a floor in percent": ((*DIAGNOSE, "--floor", "90"), "try       0.9, if 90 % is meant\n"),
    "labels of no training set": (
        (*DIAGNOSE, "--trained-labels", "x"),
        "--trained-labels: there is no training set that this could be of\n",
    ),
    "a file that isn't there": (
        ("diagnose", "readers.py:third", "--glyphs", "none.npz"),
        "none.npz",
    ),
    "a model that isn't there": (
        ("diagnose", "readers.py:thirds", "--glyphs", "moved-images-idx3-ubyte"),
        "thirds",
    ),
}


@pytest.mark.parametrize(("given", "says"), REFUSED.values(), ids=REFUSED)
def test_bad_input_ends_with_2_and_writes_nothing(
    given: tuple[str, ...], says: str, bars: Path, called: Called
) -> None:
    ended = called(*given, "--into", "why")
    assert (ended.code, ended.out) == (2, "")
    assert says in ended.err
    assert not (bars / "why").exists()


def test_a_folder_that_is_not_empty_is_left_alone_unless_told(bars: Path, called: Called) -> None:
    (bars / "why").mkdir()
    (bars / "why" / "mine.txt").write_text("mine")
    ended = called(*DIAGNOSE, "--into", "why")
    assert (ended.code, ended.out) == (2, "")
    assert "the folder isn't empty" in ended.err
    assert called(*DIAGNOSE, "--into", "why", "--overwrite").code == 0
    assert (bars / "why" / "mine.txt").read_text() == "mine"
