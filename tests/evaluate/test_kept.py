"""Answers kept on disk: an interrupted run goes on, and nothing is asked twice."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gen.evaluate import kept as kept_module
from gen.evaluate.kept import KeptAnswers
from gen.evaluate.model import Model, load_model
from gen.evaluate.score import evaluate, score
from gen.evaluate.sheet import Record
from gen.glyphs.base import RasterGlyphs
from gen.perturb.recipes import parse_recipe
from gen.recipe.model import Recipe
from gen.render.plan import NOMINAL, Cell, Step, make_plan

Bars = Callable[..., RasterGlyphs]
Shifts = Callable[..., Recipe]

LOOKS = 2 * 64
"""Glyphs of a first look, and of another by which kept answers are held to the model."""

READER = """
import pathlib
import numpy as np

HERE = pathlib.Path(__file__).with_name("calls.txt")
SHARP = 2.0

def net(x):
    with HERE.open("a") as calls:
        calls.write(f"{len(x)}\\n")
    stands = np.stack([x[:, :, 8 * k + 3 : 8 * k + 5] for k in range(3)], axis=1)
    ink = SHARP * stands.sum(axis=(2, 3))
    shares = np.exp(ink - ink.max(axis=1, keepdims=True))
    return shares / shares.sum(axis=1, keepdims=True)
"""


@pytest.fixture
def reader(tmp_path: Path) -> Path:
    path = tmp_path / "reader.py"
    path.write_text(READER)
    return path


def asked(reader: Path) -> int:
    """How many glyphs the model has been asked about since this was last called."""
    calls = reader.with_name("calls.txt")
    total = sum(int(line) for line in calls.read_text().split()) if calls.exists() else 0
    calls.write_text("")
    return total


def loaded(reader: Path) -> Model:
    return load_model(f"{reader}:net")


def test_a_second_run_asks_nothing_and_says_the_same(
    reader: Path, tmp_path: Path, bars: Bars, shifts: Shifts
) -> None:
    glyphs, recipe = bars(600, blanks=(5, 599)), shifts(-1, 0.5, 2)
    options: dict[str, Any] = {"extras": False, "block": 256}
    fresh = evaluate(loaded(reader), recipe, glyphs, **options)
    asked(reader)
    first = evaluate(loaded(reader), recipe, glyphs, keep=tmp_path / "kept", **options)
    assert asked(reader) > 4 * 598
    second = evaluate(loaded(reader), recipe, glyphs, keep=tmp_path / "kept", **options)
    assert asked(reader) == LOOKS
    assert replace(first, seconds=()) == replace(second, seconds=()) == replace(fresh, seconds=())


def test_what_another_recipe_has_scored_is_not_asked_again(
    reader: Path, tmp_path: Path, bars: Bars, shifts: Shifts
) -> None:
    glyphs, keep = bars(300), tmp_path / "kept"
    evaluate(loaded(reader), shifts(-1, 1), glyphs, keep=keep, extras=False)
    asked(reader)
    evaluate(loaded(reader), shifts(-1, 1, 2), glyphs, keep=keep, extras=False)
    assert asked(reader) == 300 + LOOKS  # the new level


def test_a_changed_model_is_asked_anew(
    reader: Path, tmp_path: Path, bars: Bars, shifts: Shifts
) -> None:
    glyphs, keep = bars(300), tmp_path / "kept"
    evaluate(loaded(reader), shifts(1), glyphs, keep=keep, extras=False)
    asked(reader)
    reader.write_text(READER.replace("SHARP = 2.0", "SHARP = 0.01"))
    found = evaluate(loaded(reader), shifts(1), glyphs, keep=keep, extras=False)
    assert asked(reader) == 2 * 300 + 64
    assert found.baseline.confidence_right == pytest.approx(0.35, abs=0.02)


def test_other_glyphs_and_another_seed_are_asked_anew(
    reader: Path, tmp_path: Path, bars: Bars, shifts: Shifts
) -> None:
    keep = tmp_path / "kept"
    evaluate(loaded(reader), shifts(1), bars(300), keep=keep, extras=False)
    asked(reader)
    evaluate(loaded(reader), shifts(1), bars(301), keep=keep, extras=False)
    assert asked(reader) == 2 * 301 + 64
    evaluate(loaded(reader), replace(shifts(1), seed=8), bars(300), keep=keep, extras=False)
    assert asked(reader) == 2 * 300 + 64


def test_as_many_glyphs_with_other_pixels_are_asked_anew(tmp_path: Path, bars: Bars) -> None:
    glyphs = bars(40)
    record = Record(np.zeros(40, np.int16), None, np.zeros(40))
    keep_of(tmp_path, glyphs).write(NOMINAL, 0, np.ones(40, bool), record)
    paler = replace(glyphs, provenance=replace(glyphs.provenance, digest="of paler pixels"))
    assert keep_of(tmp_path, glyphs).read(NOMINAL, 0, 40) is not None
    assert keep_of(tmp_path, paler).read(NOMINAL, 0, 40) is None


def test_pictures_that_other_code_renders_are_asked_anew(
    tmp_path: Path, bars: Bars, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = Record(np.zeros(4, np.int16), None, np.zeros(4))
    keep_of(tmp_path, bars(4)).write(NOMINAL, 0, np.ones(4, bool), record)
    monkeypatch.setattr(kept_module, "_code", lambda: "of another version")
    assert keep_of(tmp_path, bars(4)).read(NOMINAL, 0, 4) is None


def test_each_draw_of_a_blend_is_kept_for_itself(tmp_path: Path, bars: Bars) -> None:
    (blend,) = make_plan(parse_recipe(PAPER.format(dpi=100)), (9, 24)).blends
    first = blend.cells[0]
    keep = keep_of(tmp_path, bars(4))
    record = Record(np.zeros(4, np.int16), None, np.zeros(4))
    keep.write(first, 0, np.ones(4, bool), record)
    assert keep.read(replace(first, name="as it may be called"), 0, 4) is not None
    assert keep.read(replace(first, draw=first.draw + 1), 0, 4) is None
    assert keep.read(replace(first, seed=first.seed + 1), 0, 4) is None


def test_afresh_everything_is_asked_again_and_kept_anew(
    reader: Path, tmp_path: Path, bars: Bars, shifts: Shifts
) -> None:
    glyphs, options = bars(300), {"extras": False, "keep": tmp_path / "kept"}
    evaluate(loaded(reader), shifts(1), glyphs, **options)
    asked(reader)
    evaluate(loaded(reader), shifts(1), glyphs, afresh=True, **options)
    assert asked(reader) == 2 * 300 + 64
    evaluate(loaded(reader), shifts(1), glyphs, **options)
    assert asked(reader) == LOOKS


def test_of_a_model_that_answers_by_chance_nothing_is_kept(
    reader: Path, tmp_path: Path, bars: Bars, shifts: Shifts
) -> None:
    chance = "SHARP = np.random.default_rng().uniform(0.01, 0.1)"
    reader.write_text(
        READER.replace("    with HERE", f"    {chance}\n    with HERE").replace("SHARP = 2.0", "")
    )
    found = evaluate(loaded(reader), shifts(1), bars(60), keep=tmp_path / "kept")
    assert found.behaviour is not None
    assert found.behaviour.again > 0
    assert not (tmp_path / "kept").exists()


def test_a_model_whose_answers_changed_without_its_file_is_found_out(
    reader: Path, tmp_path: Path, bars: Bars, shifts: Shifts
) -> None:
    glyphs, keep = bars(300), tmp_path / "kept"
    evaluate(loaded(reader), shifts(1), glyphs, keep=keep, extras=False)
    asked(reader)
    model = loaded(reader)
    sys.modules[model_module(model)].SHARP = 0.01  # as when weights come from elsewhere
    found = evaluate(model, shifts(1), glyphs, keep=keep, extras=False)
    assert asked(reader) == 2 * 300 + LOOKS
    assert found.baseline.confidence_right == pytest.approx(0.35, abs=0.02)


def model_module(model: Model) -> str:
    (name,) = [n for n in sys.modules if n.startswith("inkdrift_model") and n.endswith("reader")][
        -1:
    ]
    del model
    return name


KILLED = """
import os, signal, sys
from pathlib import Path
import numpy as np
from gen.evaluate.model import load_model
from gen.evaluate.score import evaluate
from gen.glyphs.base import Provenance, RasterGlyphs, pixels_digest
from gen.recipe.model import Recipe, Sweep

labels = np.arange(2000) % 3
images = np.zeros((2000, 9, 24), np.uint8)
for row, label in enumerate(labels):
    images[row, 2:7, 8 * label + 3 : 8 * label + 5] = 200
names = tuple("abc")
glyphs = RasterGlyphs(frame=(9, 24), labels=labels, classes=names, writers=None, images=images,
    provenance=Provenance("array", "bars", pixels_digest(images, labels, names)))
sweep = Sweep("translation", "px", (-1.0, 1.0, 2.0), (("along", "x"),))

def told(done, steps):
    if len(sys.argv) > 3 and done == int(sys.argv[3]):
        os.kill(os.getpid(), signal.SIGKILL)

found = evaluate(load_model(sys.argv[1] + ":net"), Recipe("moves", "", 7, (sweep,)), glyphs,
    keep=Path(sys.argv[2]), extras=False, block=256, progress=told)
print(found.curves[0].points)
"""


@pytest.mark.skipif(os.name == "nt", reason="needs SIGKILL")
def test_a_killed_run_goes_on_where_it_was(reader: Path, tmp_path: Path) -> None:
    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-c", KILLED, str(reader), *arguments]
        return subprocess.run(command, capture_output=True, text=True, check=False)

    whole = run(str(tmp_path / "other"))
    assert whole.returncode == 0, whole.stderr
    everything = asked(reader)
    assert run(str(tmp_path / "kept"), "20").returncode == -signal.SIGKILL
    before = asked(reader)
    assert before >= 64 + 19 * 256
    resumed = run(str(tmp_path / "kept"))
    # Of the first look's glyphs those in the five blocks that were done are held to.
    look_again = sum(k * 2000 // 64 < 5 * 256 for k in range(64))
    assert asked(reader) == everything - before + 64 + look_again
    assert resumed.stdout == whole.stdout


PAPER = """
title = "On paper"
scan_dpi = {dpi}

[[blend]]
title = "a camera"

[[blend.part]]
perturbation = "translation"
along = "x"
unit = "mm"
uniform = {{low = 0, high = 1}}
"""


def test_a_blend_in_millimetres_is_asked_anew_at_another_resolution(
    reader: Path, tmp_path: Path, bars: Bars
) -> None:
    glyphs, keep = bars(200), tmp_path / "kept"
    coarse, fine = (parse_recipe(PAPER.format(dpi=dpi)) for dpi in (25.4, 101.6))
    evaluate(loaded(reader), coarse, glyphs, keep=keep, extras=False)
    resumed = evaluate(loaded(reader), fine, glyphs, keep=keep, extras=False)
    fresh = evaluate(loaded(reader), fine, glyphs, extras=False)
    assert replace(resumed, seconds=()) == replace(fresh, seconds=())


def keep_of(root: Path, glyphs: RasterGlyphs) -> KeptAnswers:
    made = KeptAnswers(root, fingerprint="abc", glyphs=glyphs, seed=0)
    made.start()
    return made


def test_half_a_block_is_no_block(tmp_path: Path, bars: Bars) -> None:
    keep = keep_of(tmp_path, bars(100))
    inked = np.ones(40, bool)
    inked[3] = False
    record = Record(np.arange(39, dtype=np.int16) % 3, None, np.linspace(0, 1, 39))
    keep.write(NOMINAL, 10, inked, record)
    known = keep.read(NOMINAL, 10, 50)
    assert known is not None
    np.testing.assert_array_equal(known[0], inked)
    np.testing.assert_array_equal(known[1].answered, record.answered)
    np.testing.assert_array_equal(known[1].ink_lost, record.ink_lost)
    assert known[1].shares is None
    assert keep.read(NOMINAL, 10, 51) is None
    assert keep.read(NOMINAL, 0, 50) is None
    assert keep.read(Cell("x", (Step("blur", "px", 1.0),)), 10, 50) is None


def test_a_cell_is_known_by_what_is_done_and_not_by_its_name(tmp_path: Path, bars: Bars) -> None:
    keep = keep_of(tmp_path, bars(4))
    steps = (Step("blur", "px", 1.0), Step("rotation", "deg", 5.0, (("about", "frame"),)))
    record = Record(np.zeros(4, np.int16), np.full((3, 4), 0.5, np.float32), np.zeros(4))
    keep.write(Cell("one", steps), 0, np.ones(4, bool), record)
    known = keep.read(Cell("other", steps[::-1]), 0, 4)
    assert known is not None
    assert known[1].shares is not None
    assert keep.read(Cell("one", steps[:1]), 0, 4) is None


def test_the_folders_that_were_not_used_for_longest_go_first(
    tmp_path: Path, bars: Bars, monkeypatch: pytest.MonkeyPatch
) -> None:
    newest, older, oldest = ("a" * 32, "b" * 32, "c" * 32)
    for age, name in enumerate((newest, older, oldest)):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "cell").write_bytes(b"x" * 100_000)
        os.utime(folder, (1e9 - age, 1e9 - age))
    monkeypatch.setattr(kept_module, "MOST_BYTES", 250_000)
    keep_of(tmp_path, bars(4))
    left = {path.name for path in tmp_path.iterdir()}
    assert oldest not in left
    assert {newest, older} <= left


def test_what_somebody_else_put_beside_kept_answers_stays(
    tmp_path: Path, bars: Bars, monkeypatch: pytest.MonkeyPatch
) -> None:
    theirs = tmp_path / "thesis"
    theirs.mkdir()
    (theirs / "draft.txt").write_bytes(b"x" * 100_000)
    monkeypatch.setattr(kept_module, "MOST_BYTES", 0)
    keep_of(tmp_path, bars(4))
    assert (theirs / "draft.txt").stat().st_size == 100_000


def test_a_folder_that_can_not_be_written_is_no_reason_to_fail(
    reader: Path, tmp_path: Path, bars: Bars, shifts: Shifts
) -> None:
    (tmp_path / "kept").write_text("a file where a folder should be")
    found = score(loaded(reader), shifts(1), bars(30), keep=tmp_path / "kept", extras=False)
    assert found.evaluation.baseline.accuracy.value == 1.0
    assert any("can't be kept" in line for line in found.notes)


def test_a_user_without_a_home_keeps_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def nowhere() -> Path:
        raise RuntimeError("Could not determine home directory.")

    for name in ("INKDRIFT_CACHE", "XDG_CACHE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(Path, "home", nowhere)
    assert kept_module.usual_folder() is None


def garbage(content: bytes, rng: np.random.Generator) -> bytes:
    return rng.bytes(len(content))


def a_bit_flipped(content: bytes, rng: np.random.Generator) -> bytes:
    glyph = int(rng.integers(len(content) // 27))
    return content[: 26 * glyph] + bytes([content[26 * glyph] ^ 1]) + content[26 * glyph + 1 :]


def rows_lost(content: bytes, rng: np.random.Generator) -> bytes:
    del rng
    written = len(content) // 27 * 26
    return bytes(written) + content[written:]


def cut(content: bytes, rng: np.random.Generator) -> bytes:
    return content[: int(rng.integers(len(content)))]


def grown(content: bytes, rng: np.random.Generator) -> bytes:
    return content + rng.bytes(100)


@pytest.mark.parametrize("damage", [garbage, a_bit_flipped, rows_lost, cut, grown])
def test_damaged_files_cost_time_and_no_truth(
    damage: Callable[[bytes, np.random.Generator], bytes],
    reader: Path,
    tmp_path: Path,
    bars: Bars,
    shifts: Shifts,
) -> None:
    glyphs, recipe, keep = bars(300, blanks=(7,)), shifts(-1, 0.5, 2), tmp_path / "kept"
    options: dict[str, Any] = {"extras": False, "block": 100, "keep": keep}
    first = evaluate(loaded(reader), recipe, glyphs, **options)
    rng = np.random.default_rng(3)
    files = [path for path in keep.rglob("*") if path.is_file()]
    assert len(files) >= 4
    for path in files:
        path.write_bytes(damage(path.read_bytes(), rng))
    second = evaluate(loaded(reader), recipe, glyphs, **options)
    assert replace(first, seconds=()) == replace(second, seconds=())
    asked(reader)
    third = evaluate(loaded(reader), recipe, glyphs, **options)
    assert asked(reader) == LOOKS  # and are whole again
    assert replace(first, seconds=()) == replace(third, seconds=())


def test_answers_of_one_cell_are_not_taken_for_those_of_another(tmp_path: Path, bars: Bars) -> None:
    keep = keep_of(tmp_path, bars(4))
    record = Record(np.zeros(4, np.int16), None, np.zeros(4))
    blurred = Cell("x", (Step("blur", "px", 1.0),))
    keep.write(blurred, 0, np.ones(4, bool), record)
    (path,) = (one for one in tmp_path.rglob("*") if one.is_file())
    keep.write(NOMINAL, 0, np.ones(4, bool), record)
    (other,) = (one for one in tmp_path.rglob("*") if one.is_file() and one != path)
    assert keep.read(NOMINAL, 0, 4) is not None
    other.write_bytes(path.read_bytes())
    assert keep.read(NOMINAL, 0, 4) is None
    assert any("damaged" in line for line in keep.notes)
