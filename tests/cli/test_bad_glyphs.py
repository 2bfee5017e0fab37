"""Sources of glyphs that can't be used: one clear error, exit 2, nothing left behind."""

from __future__ import annotations

import gzip
import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.cli.support import Ended, Shed, bars, idx

Called = Callable[..., Ended]

LABELS = (np.arange(30) % 10).astype(np.uint8)
WHOLE = idx(bars())


def pictures(shed: Shed, name: str, classes: tuple[str, ...] = ("a", "b")) -> Path:
    folder = shed.folder / name
    for one in classes:
        (folder / one).mkdir(parents=True)
        for number in range(3):
            Image.fromarray(bars(1)[0]).save(folder / one / f"{number}.png")
    return folder


def not_a_picture(shed: Shed) -> str:
    (pictures(shed, "tags") / "c").mkdir()
    (shed.folder / "tags" / "c" / "x.png").write_text("not a picture")
    return "tags"


def empty_class(shed: Shed) -> str:
    (pictures(shed, "tags") / "c").mkdir()
    return "tags"


def bomb(shed: Shed) -> str:
    (pictures(shed, "tags") / "c").mkdir()
    Image.new("1", (16_000, 16_000)).save(shed.folder / "tags" / "c" / "9.png")
    return "tags"


def packed_bomb(shed: Shed) -> str:
    header = idx(np.zeros((1, 1, 1), np.uint8))[:4] + np.array([10**6] * 3, ">u4").tobytes()
    (shed.folder / "big-images-idx3-ubyte.gz").write_bytes(gzip.compress(header + bytes(10**6)))
    return "big-images-idx3-ubyte.gz"


def without_class_folders(shed: Shed) -> str:
    (shed.folder / "flat").mkdir()
    Image.fromarray(bars(1)[0]).save(shed.folder / "flat" / "a.png")
    return "flat"


def pickled(shed: Shed) -> str:
    np.savez(shed.folder / "o.npz", images=np.array([1, "a"], dtype=object), labels=LABELS)
    return "o.npz"


def short_row(shed: Shed) -> str:
    rows = np.column_stack([LABELS[:4], bars(4).reshape(4, -1)]).tolist()
    rows[2].pop()
    lines = [",".join(map(str, row)) for row in rows]
    (shed.folder / "t.csv").write_text("\n".join(lines) + "\n")
    return "t.csv"


def of_two_sizes(shed: Shed) -> str:
    Image.fromarray(bars(1)[0][:20]).save(pictures(shed, "tags") / "b" / "2.png")
    return "tags"


def alone(shed: Shed) -> str:
    Image.fromarray(bars(1)[0]).save(shed.folder / "one.png")
    return "one.png"


BAD: dict[str, tuple[Callable[[Shed], str], str]] = {
    "truncated": (
        lambda shed: shed.images("t", WHOLE[:-100], LABELS),
        "t-images-idx3-ubyte: the file ends early: 100 bytes short of what its header states\n"
        "  got       23,420 bytes after the header\n"
        "  allowed   30 x 28 x 28 = 23,520 bytes\n"
        "  try       the file was cut short: copy or fetch it again\n",
    ),
    "trailing garbage": (
        lambda shed: shed.images("t", WHOLE + b"xyz", LABELS),
        "t-images-idx3-ubyte: the file goes on for 3 bytes after the end that its header states\n"
        "  got       23,523 bytes after the header\n"
        "  allowed   30 x 28 x 28 = 23,520 bytes\n"
        "  try       something was appended, or the sizes in the header are wrong\n",
    ),
    "wrong magic": (
        lambda shed: shed.images("t", b"\1\2\3\4" + WHOLE[4:], LABELS),
        "t-images-idx3-ubyte: not an IDX file: wrong magic number\n"
        "  got       01 02 03 04\n"
        "  allowed   00 00 08 03 for images, 00 00 08 01 for labels\n",
    ),
    "counts that differ": (
        lambda shed: shed.images("t", WHOLE, LABELS[:-2]),
        "t-images-idx3-ubyte: there are not as many labels as pictures\n"
        "  got       30 pictures, 28 labels\n"
        "  try       do both come from the same set?\n",
    ),
    "no labels": (
        lambda shed: shed.images("t", WHOLE, None),
        "t-images-idx3-ubyte: the pictures have no labels\n"
        "  got       nothing beside it named t-labels-idx1-ubyte, t-labels-idx1-ubyte.gz, "
        "t-labels-idx3-ubyte, t-labels-idx3-ubyte.gz\n"
        "  try       give the file that has them (--labels FILE, or labels= in Python)\n",
    ),
    "no ink at all": (
        lambda shed: shed.images("t", idx(bars() * 0), LABELS),
        "t-images-idx3-ubyte: no glyph has any ink\n"
        "  got       30 pictures of one even tone\n"
        "  try       look at one of the pictures; if its ink is dark, say so (--ink dark)\n",
    ),
    "missing": (
        lambda shed: "nowhere.npz",
        "nowhere.npz: there is no such file\n  try       is the path right?\n",
    ),
    "a class of what is no picture": (
        not_a_picture,
        "tags/c/x.png: not a picture\n"
        "  try       take it out of the folder, or save it again as PNG\n",
    ),
    "an empty class folder": (
        empty_class,
        "tags/c: the class folder is empty\n"
        "  try       take the folder away, or put pictures into it\n",
    ),
    "a decompression bomb": (
        bomb,
        "tags/c/9.png: the picture is far larger than a glyph can be, so it isn't decoded\n"
        f"  got       over {Image.MAX_IMAGE_PIXELS:,} pixels\n"
        "  allowed   up to 64,000,000 pixels\n",
    ),
    "a gzip bomb": (
        packed_bomb,
        "big-images-idx3-ubyte.gz: the header asks for more than the file can hold\n",
    ),
    "no class folders": (
        without_class_folders,
        "flat: the folder has no class folders, so nothing in it is labelled\n"
        "  got       1 file, first a.png\n"
        "  allowed   FOLDER/CLASS/PICTURE, one sub-folder a class\n"
        "  try       pictures get their labels from the folder they are in: sort them into "
        "folders\n",
    ),
    "a table with a short row": (
        short_row,
        "t.csv:3: the row isn't as long as the first one\n"
        "  got       784 columns\n"
        "  allowed   785 columns\n",
    ),
    "pictures of two sizes": (
        of_two_sizes,
        "tags/b/2.png: the picture isn't of the same size as the others\n"
        "  got       20 x 28 px (rows x columns)\n"
        "  allowed   28 x 28 px, as 5 of 6 in tags\n"
        "  try       say by what rule they are fitted into one frame (--fit RULE, or fit= in "
        "Python)\n",
    ),
    "one picture": (
        alone,
        "one.png: one picture has no label\n"
        "  got       a PNG file\n"
        "  try       name a folder that has one sub-folder of pictures for each class; or, of one "
        "picture with many glyphs, say how they are laid (--grid ROWSxCOLUMNS)\n",
    ),
    "an npz that needs pickle": (
        pickled,
        "o.npz: images.npy: needs pickle, which could run code, so it isn't read\n"
        "  got       dtype object\n"
        "  try       save plain numbers, or names as text (dtype U)\n",
    ),
}


@pytest.mark.filterwarnings("default::PIL.Image.DecompressionBombWarning")
@pytest.mark.parametrize("case", BAD)
def test_a_source_that_cannot_be_used_is_one_clear_error(
    shed: Shed, called: Called, case: str
) -> None:
    make, message = BAD[case]
    source = make(shed)
    before = shed.names()
    ended = called("render", "small.toml", "--glyphs", source, "--into", "out")
    assert (ended.code, ended.out) == (2, "")
    if case == "a gzip bomb":
        assert ended.err.startswith(message)
    else:
        assert ended.err == message
    assert shed.names() == before


@pytest.mark.filterwarnings("default::PIL.Image.DecompressionBombWarning")
def test_pictures_that_cannot_be_read_are_named_and_the_run_goes_on(
    shed: Shed, called: Called
) -> None:
    folder = pictures(shed, "tags")
    (folder / "a" / "x.png").write_text("not a picture")
    Image.new("1", (16_000, 16_000)).save(folder / "b" / "9.png")
    ended = called("render", "small.toml", "--glyphs", "tags", "--into", "out")
    assert ended.code == 0
    assert "1 of 8 pictures left out, not a picture: a/x.png\n" in ended.err
    assert "1 of 8 pictures left out, the picture is far larger than a glyph can be" in ended.err
    assert "6 glyphs of 2 classes" in ended.err


def test_a_glyph_without_ink_is_named_and_counted_and_the_run_goes_on(
    shed: Shed, called: Called
) -> None:
    images = bars()
    images[[3, 7]] = 0
    source = shed.images("tags", idx(images), LABELS)
    ended = called("report", "models.py:right", "small.toml", "--glyphs", source, "--into", "out")
    assert ended.code == 0
    assert "          2 of 30 glyphs have no ink and were left out: numbers 3, 7\n" in ended.err
    assert "glyphs    28 glyphs of 10 classes" in ended.err
    assert (shed.folder / "out" / "report.html").is_file()


@pytest.mark.parametrize(
    ("count", "told"),
    [
        (1, "1 glyph of 1 class (0), 28 x 28 px"),
        (6, "6 glyphs of 1 class (0), 28 x 28 px"),
    ],
    ids=["one glyph", "one class"],
)
@pytest.mark.parametrize("command", ["render", "report"])
def test_one_glyph_or_one_class_is_enough(
    shed: Shed, called: Called, count: int, told: str, command: str
) -> None:
    source = shed.images("tags", idx(bars(count)), np.zeros(count, np.uint8))
    (shed.folder / "zero.py").write_text("def model(x):\n    return [0] * len(x)\n")
    model = ["zero.py:model"] if command == "report" else []
    ended = called(command, *model, "small.toml", "--glyphs", source, "--into", "out")
    assert ended.code == 0
    assert f"glyphs    {told}" in ended.err


def test_class_names_can_not_steer_a_terminal(shed: Shed, called: Called) -> None:
    names = np.array(["\x1b[2Jpear", "plum\nread 100 %"])[np.arange(6) % 2]
    np.savez(shed.folder / "odd.npz", images=bars(6), labels=names)
    ended = called("measure", "odd.npz")
    assert ended.code == 0
    assert "\\u001b[2Jpear plum\\u000aread 100 %" in ended.err
    assert "\x1b" not in ended.err


def test_more_classes_than_a_byte_can_hold_are_refused_for_idx_alone(
    shed: Shed, called: Called
) -> None:
    names = np.array([f"tag {number}" for number in range(300)])
    np.savez(shed.folder / "many.npz", images=bars(300, 12, 12), labels=names)
    refused = called(
        "render",
        "small.toml",
        "--glyphs",
        "many.npz",
        "--format",
        "idx",
        "--into",
        "out",
        "--quiet",
    )
    assert refused == Ended(
        2,
        "",
        "many.npz: IDX labels are single bytes\n"
        "  got       300 classes\n"
        "  allowed   at most 256\n"
        "  try       --format npz\n",
    )
    assert called("render", "small.toml", "--glyphs", "many.npz", "--into", "out").code == 0


@pytest.mark.parametrize("command", ["render", "report"])
def test_a_sweep_that_a_narrow_frame_cannot_have_is_left_out_and_told(
    shed: Shed, called: Called, command: str
) -> None:
    (shed.folder / "two.toml").write_text(
        (shed.folder / "small.toml").read_text("utf-8")
        + '[[sweep]]\nperturbation = "axis-swap"\nunit = "times"\nlevels = [0, 1]\n'
    )
    source = shed.images("tags", idx(bars(30, 28, 20)), LABELS)
    model = ["models.py:right"] if command == "report" else []
    ended = called(command, *model, "two.toml", "--glyphs", source, "--into", "out")
    assert ended.code == 0
    told = ended.out if command == "report" else ended.err
    line = "left out  axis swap: a 28 x 20 px frame isn't square, so its axes can't be swapped"
    assert line in told.replace("\n          ", " ")


def test_a_recipe_of_nothing_but_what_the_frame_cannot_have_is_refused(
    shed: Shed, called: Called
) -> None:
    (shed.folder / "swap.toml").write_text(
        'title = "Swap"\n[[sweep]]\nperturbation = "axis-swap"\nunit = "times"\nlevels = [0, 1]\n'
    )
    ended = called("render", "swap.toml", "--frame", "28x20", "--into", "out", "--quiet")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith("swap.toml:2: sweep 1: axes can only be swapped in a square frame")


@pytest.mark.parametrize(
    "name", [b"sp ace", b"quo'te\"s", b"not \xff text", "Äpfel".encode()], ids=ascii
)
def test_any_name_that_a_file_can_have_will_do(shed: Shed, name: bytes) -> None:
    text = os.fsdecode(name)
    try:
        pictures(shed, text)
    except (OSError, UnicodeError):
        pytest.skip("this file system takes no such name")
    said = shed.gen("render", "small.toml", "--glyphs", name, "--into", name + b" out")
    assert (said.code, "Traceback" in said.err) == (0, False)
    assert (shed.folder / (text + " out") / "manifest.json").is_file()
    command = ["report", "models.py:right", "small.toml", "--glyphs", name, "--into", name + b"r"]
    said = shed.gen(*command, "--classes", "0,1")
    assert said.code in (0, 2), said.err
    assert "Traceback" not in said.err
