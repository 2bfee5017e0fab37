"""Options that make no sense, and folders that can't be written into: refused before any work."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.support import Ended, Shed

Called = Callable[..., Ended]

RENDER = ("render", "small.toml", "--count", "20", "--into", "out")
REPORT = ("report", "models.py:right", "small.toml", "--count", "20", "--into", "out")

BAD = {
    ("--frame", "2"): (
        "strokes: the height of the frame in px is out of range\n"
        "  got       2\n"
        "  allowed   a whole number from 8 to 4096\n"
    ),
    ("--frame", "0"): (
        "strokes: the height of the frame in px is out of range\n"
        "  got       0\n"
        "  allowed   a whole number from 8 to 4096\n"
    ),
    ("--frame", "28x5000"): (
        "strokes: the width of the frame in px is out of range\n"
        "  got       5000\n"
        "  allowed   a whole number from 8 to 4096\n"
    ),
    ("--classes", "0-9é"): (
        "strokes: a class that no hand writes\n"
        "  got       'é'\n"
        "  allowed   0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ\n"
    ),
    ("--classes", "9-0"): (
        '--classes: "9-0" is not a range\n'
        "  got       '9-0'\n"
        "  allowed   0-9, A-Z, a-z or a part of one of these\n"
        "  try       put commas between the names\n"
    ),
    ("--classes", ""): "--classes: a class has no name\n  got       ''\n",
    ("--classes", "0,0,1"): (
        "--classes: a class name comes twice\n"
        "  got       '0'\n"
        "  try       put commas between names of more than one character\n"
    ),
    ("--labels", "models.py"): (
        "--labels: the built-in strokes have labels of their own\n"
        "  try       --glyphs SOURCE as well, or leave --labels out\n"
    ),
    ("--ink", "dark"): (
        "--ink: this says how pictures show their ink, and the built-in strokes are no pictures\n"
        "  try       leave --ink out\n"
    ),
}


@pytest.mark.parametrize(("option", "value"), BAD)
def test_an_option_that_makes_no_sense_is_one_clear_error(
    shed: Shed, called: Called, option: str, value: str
) -> None:
    before = shed.names()
    assert called(*RENDER, option, value) == Ended(2, "", BAD[option, value])
    assert shed.names() == before


BAD_FOR_REPORTS = {
    ("--floor", "90"): (
        "--floor: not an accuracy\n"
        "  got       90\n"
        "  allowed   over 0 and at most 1\n"
        "  try       0.9, if 90 % is meant\n"
    ),
    ("--floor", "nan"): ('--floor: this is no number\n  got       "nan"\n  allowed   a number\n'),
    ("--floor", "0"): (
        "--floor: not an accuracy\n  got       0\n  allowed   over 0 and at most 1\n"
    ),
    ("--values", "bright"): (
        "--values: not a range\n  got       bright\n  allowed   LOW..HIGH, such as 0..255\n"
    ),
    ("--values", "0-255"): (
        "--values: not a range\n  got       0-255\n  allowed   LOW..HIGH, such as 0..255\n"
    ),
    ("--values", "nan..1"): (
        "--values: not a range\n  got       nan..1\n  allowed   LOW..HIGH, such as 0..255\n"
    ),
    ("--values", "1..0"): (
        "--values: the first value must be below the second\n"
        "  got       1..0\n"
        "  try       --takes-ink dark, if full ink is the lower value\n"
    ),
}


@pytest.mark.parametrize(("option", "value"), BAD_FOR_REPORTS)
def test_an_option_of_reports_is_refused_before_the_model_is_imported(
    shed: Shed, called: Called, option: str, value: str
) -> None:
    # The models print when they are imported: nothing of that may be seen.
    assert called(*REPORT, option, value) == Ended(2, "", BAD_FOR_REPORTS[option, value])


def test_options_may_stand_anywhere(shed: Shed, called: Called) -> None:
    ended = called("render", "--into", "out", "--quiet", "small.toml", "--count", "5")
    assert (ended.code, ended.out, ended.err) == (0, "", "")
    assert (shed.folder / "out" / "manifest.json").is_file()


def test_a_count_larger_than_the_set_takes_all_and_says_so(shed: Shed, called: Called) -> None:
    from tests.cli.test_bad_glyphs import LABELS, WHOLE

    source = shed.images("tags", WHOLE, LABELS)
    ended = called("render", "small.toml", "--glyphs", source, "--count", "1000", "--into", "out")
    assert ended.code == 0
    assert "          --count 1,000 is more than there are; all 30 are used\n" in ended.err


@pytest.mark.parametrize(
    ("extra", "message"),
    [
        (
            ("--frame", "28"),
            "--frame: pictures have a frame of their own\n"
            "  got       28 x 28\n"
            "  try       leave it out, or say by what rule marks are fitted into it (--fit RULE, "
            "or fit= in Python)\n",
        ),
        (
            ("--classes", "pear,plum"),
            "tags-images-idx3-ubyte: the class names given don't fit the classes found\n"
            "  got       2 names: pear, plum\n"
            "  allowed   labels up to 9, so at least 10 names\n",
        ),
        (
            ("--labels", "nowhere"),
            "nowhere: there is no such file\n  try       is the path right?\n",
        ),
    ],
    ids=["frame", "classes", "labels"],
)
def test_an_option_that_does_not_go_with_pictures_is_refused(
    shed: Shed, called: Called, extra: tuple[str, str], message: str
) -> None:
    from tests.cli.test_bad_glyphs import LABELS, WHOLE

    source = shed.images("tags", WHOLE, LABELS)
    ended = called("render", "small.toml", "--glyphs", source, *extra, "--into", "out")
    assert ended == Ended(2, "", message)


def test_labels_are_refused_for_a_folder(shed: Shed, called: Called) -> None:
    from tests.cli.test_bad_glyphs import pictures

    pictures(shed, "tags")
    ended = called(
        "render", "small.toml", "--glyphs", "tags", "--labels", "models.py", "--into", "out"
    )
    assert ended == Ended(
        2,
        "",
        "tags: a folder has its labels already, from its class folders\n"
        "  got       labels as well\n",
    )


NOT_EMPTY = (
    "out: the folder isn't empty\n"
    "  try       another folder, or --overwrite to replace what is in it\n"
)


@pytest.mark.parametrize("arguments", [RENDER, REPORT, ("demo", "--into", "out")])
def test_a_folder_that_is_not_empty_is_refused_untouched(
    shed: Shed, called: Called, arguments: tuple[str, ...]
) -> None:
    (shed.folder / "out").mkdir()
    (shed.folder / "out" / "harvest.txt").write_text("12 crates")
    before = shed.names()
    assert called(*arguments) == Ended(2, "", NOT_EMPTY)
    assert shed.names() == before


def test_an_output_path_that_is_a_file_is_refused_untouched(shed: Shed, called: Called) -> None:
    (shed.folder / "out").write_text("12 crates")
    ended = called(*RENDER, "--overwrite")
    assert ended == Ended(2, "", "out: is a file, not a folder\n  try       another name\n")
    assert (shed.folder / "out").read_text() == "12 crates"


@pytest.mark.parametrize("kind", ["npz", "idx", "png"])
def test_overwriting_replaces_what_the_last_run_wrote_and_nothing_else(
    shed: Shed, called: Called, kind: str
) -> None:
    into = shed.folder / "out"
    assert called(*RENDER, "--format", kind).code == 0
    theirs = [into / "harvest.txt", into / "cells" / "bees.txt", into / "sheets" / "mine.png"]
    for path in theirs:
        path.write_text("12 crates")
    small = (shed.folder / "small.toml").read_text("utf-8")
    (shed.folder / "small.toml").write_text(small.replace("[-1, 0, 1]", "[0, 2]"))
    assert called(*RENDER, "--format", kind, "--count", "10", "--overwrite").code == 0
    assert [path.read_text() for path in theirs] == ["12 crates"] * 3
    assert called(*RENDER[:-1], "fresh", "--format", kind, "--count", "10").code == 0
    for path in theirs:
        path.unlink()
    assert files(into) == files(shed.folder / "fresh")


def files(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_the_files_of_two_runs_that_differ_are_told_apart(shed: Shed, called: Called) -> None:
    assert called(*RENDER).code == called(*RENDER[:-1], "more", "--count", "21").code == 0
    assert files(shed.folder / "out") != files(shed.folder / "more")


def test_somebody_elses_folder_under_a_name_of_ours_is_not_replaced(
    shed: Shed, called: Called
) -> None:
    (shed.folder / "out" / "report.json").mkdir(parents=True)
    (shed.folder / "out" / "report.json" / "harvest.txt").write_text("12 crates")
    before = shed.names()
    ended = called(*REPORT, "--overwrite", "--quiet")
    assert ended.code == 2
    assert ended.err.endswith(
        "out/report.json: there is a folder where a file is to be written\n"
        "  try       move it away, or write into another folder\n"
    )
    assert shed.names() == before


def test_missing_parents_are_made(shed: Shed, called: Called) -> None:
    assert called(*RENDER[:-1], "a/b/out").code == 0
    assert (shed.folder / "a" / "b" / "out" / "manifest.json").is_file()


@pytest.mark.skipif(sys.platform == "win32", reason="limits as POSIX has them")
@pytest.mark.parametrize("into", ["out", "a/b/out"])
@pytest.mark.parametrize(
    "arguments",
    [
        *((*RENDER[:-2], "--format", kind) for kind in ("npz", "idx", "png")),
        REPORT[:-2],
        ("demo",),
    ],
    ids=["npz", "idx", "png", "report", "demo"],
)
def test_a_disk_without_room_is_one_clear_error_and_nothing_is_left(
    shed: Shed, arguments: tuple[str, ...], into: str
) -> None:
    before = shed.names()
    ended = shed.gen(*arguments, "--into", into, "--quiet", largest_file=50)
    ours = "".join(line for line in ended.err.splitlines(True) if "printed" not in line)
    assert (ended.code, ended.out) == (2, "")
    assert ours.removeprefix("written at import\n").startswith(f"{into}")
    assert "can't be written\n  got       File too large\n" in ours
    assert "Traceback" not in ended.err
    assert shed.names() == before


def test_marks_of_no_class_are_a_source(shed: Shed, called: Called) -> None:
    ended = called(
        "render", "small.toml", "--glyphs", "foreign:scribble", "--count", "5", "--into", "out"
    )
    assert shed.names() and ended.code == 0, ended.err
    assert "5 glyphs of 1 class (none of them)" in ended.err


def test_an_unknown_kind_of_foreign_marks_lists_the_kinds(shed: Shed, called: Called) -> None:
    ended = called("render", "small.toml", "--glyphs", "foreign:scrible", "--into", "out")
    assert ended.code == 2
    assert "scribble" in ended.err


@pytest.mark.parametrize("model", ["models.py:right", "models.py", "reader.onnx"])
@pytest.mark.parametrize("recipe", ["first-look", "small.toml", "nowhere.toml"])
def test_a_recipe_where_the_model_should_be_is_recognised(
    called: Called, recipe: str, model: str
) -> None:
    assert called("report", recipe, model, "--into", "out") == Ended(
        2,
        "",
        f"{recipe}: this is a recipe, and the model comes before it\n"
        f"  try       gen report {model} {recipe}\n",
    )


@pytest.mark.parametrize("arguments", [RENDER[:-1], REPORT[:-1], ("demo", "--into")])
def test_a_place_that_lies_in_a_file_is_refused_before_any_work(
    shed: Shed, called: Called, arguments: tuple[str, ...]
) -> None:
    # The models print when they are imported: nothing of that may be seen.
    before = shed.names()
    assert called(*arguments, "models.py/a/out") == Ended(
        2,
        "",
        "models.py/a/out: can't be written\n"
        f"  got       {shed.folder / 'models.py'} is a file, not a folder\n"
        "  try       another name\n",
    )
    assert shed.names() == before
