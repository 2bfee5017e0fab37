"""Every kind of source in a command: one line of what it was taken for, and options that fit it."""

from __future__ import annotations

import json
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image

from gen.cli import fit_options
from gen.cli.fit_options import Fitting
from gen.glyphs import fit
from tests.cli.support import Ended, Shed, bars, idx

Called = Callable[..., Ended]

LABELS = (np.arange(30) % 10).astype(np.uint8)


def table(shed: Shed, name: str) -> str:
    images = bars()
    images[:, 0, 0] = 0
    rows = np.column_stack([LABELS, images.reshape(30, -1)])
    np.savetxt(shed.folder / name, rows, fmt="%d", delimiter=",")
    return name


def sheet(shed: Shed, name: str) -> str:
    cells = bars().reshape(5, 6, 28, 28)
    page = np.full((5 * 30 - 2, 6 * 30 - 2), 255, np.uint8)
    for row in range(5):
        for column in range(6):
            page[row * 30 : row * 30 + 28, column * 30 : column * 30 + 28] = cells[row, column]
    Image.fromarray(page).save(shed.folder / name)
    return name


def crops(shed: Shed, name: str) -> str:
    for writer in range(6):
        for one in ("pear", "plum"):
            inner = shed.folder / name / one / f"hand {writer}"
            inner.mkdir(parents=True)
            page = np.full((60 + 9 * writer, 70), 255, np.uint8)
            page[10:50, 30 : 34 + writer] = 0
            Image.fromarray(page).save(inner / "0.png")
    return name


def pens(shed: Shed, name: str) -> str:
    for one, data in (("1", "M30 10V90"), ("7", "M20 10H80L40 90")):
        (shed.folder / name / one).mkdir(parents=True)
        for number in range(3):
            (shed.folder / name / one / f"{number}.svg").write_text(
                '<svg xmlns="http://www.w3.org/2000/svg" fill="none" stroke="black" '
                f'stroke-width="{4 + number}"><path d="{data}"/></svg>'
            )
    return name


TAKEN_FOR = {
    "IDX": (
        lambda shed: [shed.images("tags", idx(bars()), LABELS)],
        "30 glyphs of 10 classes (0 1 2 3 4 5 6 7 8 9), 28 x 28 px, IDX tags-images-idx3-ubyte, "
        "bright ink, values 0..255\n",
    ),
    "table": (
        lambda shed: [table(shed, "t.csv")],
        "30 glyphs of 10 classes (0 1 2 3 4 5 6 7 8 9), 28 x 28 px, table t.csv, bright ink, "
        "values 0..255\n",
    ),
    "grid": (
        lambda shed: [sheet(shed, "s.png"), "--grid", "5x6, gutter 2", "--labels", "columns"],
        "30 glyphs of 6 classes (0 1 2 3 4 5), 28 x 28 px, grid s.png, bright ink, "
        "values 0..255\n",
    ),
    "crops": (
        lambda shed: [
            crops(shed, "c"), "--fit", "centre of mass", "--folders", "class/writer",
            "--frame", "32", "--box", "24",
        ],
        "12 glyphs of 2 classes (pear plum), 32 x 32 px, folder c, dark ink, values 0..255, "
        "6 writers\n",
    ),
    "pens": (
        lambda shed: [pens(shed, "p"), "--fit", "box centred", "--stroke", "2.5"],
        "6 glyphs of 2 classes (1 7), 28 x 28 px, SVG p\n",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", TAKEN_FOR)
@pytest.mark.parametrize("command", ["measure", "render", "diagnose"])
def test_each_source_is_told_in_one_line_by_every_command(
    shed: Shed, called: Called, kind: str, command: str
) -> None:
    make, line = TAKEN_FOR[kind]
    source, *options = make(shed)
    (shed.folder / "zero.py").write_text("def model(x):\n    return [0] * len(x)\n")
    before = {path: path.read_bytes() for path in shed.folder.rglob("*") if path.is_file()}
    begun = {
        "measure": ["measure", source],
        "render": ["render", "small.toml", "--into", "out", "--glyphs", source],
        "diagnose": ["diagnose", "zero.py:model", "--glyphs", source],
    }
    ended = called(*begun[command], *options)
    assert ended.code in {"measure": {0}, "render": {0}, "diagnose": {0, 1}}[command], ended.err
    assert f"glyphs    {line}" in ended.err
    for path, held in before.items():
        assert path.read_bytes() == held


def test_intervals_respect_writers_that_folders_or_an_archive_name(
    shed: Shed, called: Called
) -> None:
    np.savez(
        shed.folder / "w.npz",
        images=bars(),
        labels=LABELS,
        writers=np.array([f"hand {n // 5}" for n in range(30)]),
    )
    (shed.folder / "zero.py").write_text("def model(x):\n    return [0] * len(x)\n")
    args = ("zero.py:model", "small.toml", "--into", "out", "--json", "--overwrite")
    by_writer = called("report", *args, "--glyphs", "w.npz")
    assert by_writer.code == 0, by_writer.err
    assert "6 writers" in by_writer.err
    assert "of writers" in json.dumps(json.loads(by_writer.out))
    np.savez(shed.folder / "n.npz", images=bars(), labels=LABELS)
    alone = called("report", *args, "--glyphs", "n.npz")
    assert "of writers" not in alone.out


NO_RULE = (
    "--fit: there is no such rule\n"
    "  got       '%s'\n"
    '  allowed   "as drawn", "centre of mass", "centre of mass, whole px", "box centred"\n'
    "  try       "
)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--fit", "middle"), f"{NO_RULE % 'middle'}the one by which the training set was made\n"),
        (("--fit", "center"), f'{NO_RULE % "center"}"centre of mass" or "box centred"\n'),
        (("--fit", "Box Center"), f'{NO_RULE % "Box Center"}"box centred"\n'),
        (("--fit", "box centred", "--box", "40"), "--fit: the box in px is out of range\n"),
        (("--fit", "box centred", "--stroke", "wide"), "--fit: strokes can't be so\n"),
        (("--box", "20"), "--box: nothing is fitted, so there is nothing that this could change\n"),
        (("--stroke", "2"), "--stroke: nothing is fitted"),
        (("--margin", "2"), "--margin: nothing is fitted"),
        (("--ink-from", "9"), "--ink-from: nothing is fitted"),
        (("--frame", "32"), "--frame: pictures have a frame of their own\n"),
        (("--grid", "ten"), "--grid: this says no grid\n  got       'ten'\n"),
    ],
)
def test_what_is_wrong_with_an_option_is_said_of_the_option(
    shed: Shed, called: Called, options: tuple[str, ...], said: str
) -> None:
    source = shed.images("tags", idx(bars()), LABELS)
    ended = called("render", "small.toml", "--glyphs", source, "--into", "out", *options)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith(said)


def test_each_option_of_fitting_reaches_the_rule() -> None:
    said = Fitting("box centred", margin=3.0, stroke="2.5", ink_from=40).rule((32, 30))
    assert said == fit.Fit("box centred", (32, 30), margin_px=3.0, stroke=2.5, ink_from=40)
    assert Fitting("as drawn", box=20.0).rule(None) == fit.Fit("as drawn", (28, 28), box_px=20.0)
    assert Fitting().rule((32, 30)) is None


@pytest.mark.parametrize(
    "option",
    [
        ("--fit", "box centred"),
        ("--box", "20"),
        ("--margin", "2"),
        ("--stroke", "kept"),
        ("--ink-from", "9"),
        ("--grid", "2x2"),
        ("--folders", "class/writer"),
    ],
)
def test_built_in_strokes_are_not_fitted_or_cut(
    shed: Shed, called: Called, option: tuple[str, str]
) -> None:
    ended = called("render", "small.toml", "--into", "out", *option)
    assert ended.code == 2
    assert ended.err.startswith(f"{option[0]}: this is for what people drew")


def test_the_rules_that_help_names_are_those_that_there_are() -> None:
    assert sorted(fit_options.RULES) == sorted(fit.RULES)


def test_folders_of_a_kind_that_is_not_known_are_refused(shed: Shed, called: Called) -> None:
    ended = called("measure", crops(shed, "c"), "--folders", "page")
    assert ended.code == 2
    assert ended.err.startswith("--folders: folders can't be read so\n  got       'page'\n")


def test_the_digest_of_strokes_from_pens_is_the_same_for_any_number_of_workers(
    shed: Shed, called: Called
) -> None:
    source = pens(shed, "p")
    said = []
    for workers in ("1", "2"):
        ended = called(
            "render", "small.toml", "--glyphs", source, "--into", f"out{workers}",
            "--workers", workers,
        )  # fmt: skip
        assert ended.code == 0, ended.err
        said.append(json.loads((shed.folder / f"out{workers}" / "manifest.json").read_text()))
    assert said[0]["digest"] == said[1]["digest"]


BESIDE = [
    (("s.npz", "--against", "strokes"), "against   12 glyphs", "24 x 20 px"),
    (("strokes", "--against", "s.npz"), "glyphs    12 glyphs", "24 x 20 px"),
    (("s.npz", "--against", "strokes", "--frame", "30x22"), "against   12 glyphs", "30 x 22 px"),
]


@pytest.mark.parametrize(("arguments", "name", "frame"), BESIDE)
def test_built_in_strokes_come_in_the_frame_and_classes_of_the_set_beside_them(
    shed: Shed, called: Called, arguments: tuple[str, ...], name: str, frame: str
) -> None:
    images = np.zeros((12, 24, 20), np.uint8)
    images[:, 4:20, 8:12] = 255
    np.savez(shed.folder / "s.npz", images=images, labels=np.array(list("KLM" * 4)))
    ended = called("measure", *arguments, "--count", "12")
    assert ended.code == 0, ended.err
    assert f"{name} of 3 classes (K L M), {frame}, built-in strokes" in ended.err
    assert "12 glyphs of 3 classes (K L M), 24 x 20 px, npz s.npz" in ended.err
