"""Files of a folder that can't be read: left out, counted, named, and never too many."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from gen.core.errors import GlyphError
from gen.glyphs.load import load_glyphs
from gen.glyphs.pens import read_pens
from tests.glyphs.test_folder import mark

SVG = '<svg xmlns="http://www.w3.org/2000/svg" fill="none" stroke="black"><path d="M0 0v9"/></svg>'
FITS = (None, "box centred")


def pictures(folder: Path) -> Path:
    for name, count in (("pear", 3), ("plum", 2)):
        (folder / name).mkdir(parents=True)
        for place in range(count):
            mark().save(folder / name / f"{place}.png")
    return folder


def pens(folder: Path) -> Path:
    for name, count in (("pear", 3), ("plum", 2)):
        (folder / name).mkdir(parents=True)
        for place in range(count):
            (folder / name / f"{place}.svg").write_text(SVG, "utf-8")
    return folder


def left_out(folder: Path, fit: str | None = None) -> tuple[list[int], list[str]]:
    glyphs = load_glyphs(folder, fit=fit)
    told = [note for note in glyphs.provenance.notes if "left out" in note]
    return glyphs.counts.tolist(), told


@pytest.mark.parametrize("fit", FITS)
def test_pictures_that_cannot_be_read_are_left_out_by_name(tmp_path: Path, fit: str | None) -> None:
    pictures(tmp_path)
    whole = (tmp_path / "pear" / "0.png").read_bytes()
    (tmp_path / "pear" / "0.png").write_bytes(whole[:-20])
    (tmp_path / "pear" / "list.txt").write_text("picked in the rain", "utf-8")
    (tmp_path / "plum" / "9.png").write_bytes(b"")
    os.mkfifo(tmp_path / "plum" / "pipe.png")
    assert left_out(tmp_path, fit) == (
        [2, 2],
        [
            "1 of 8 pictures left out, the picture is broken: pear/0.png",
            "3 of 8 pictures left out, not a picture: pear/list.txt, plum/9.png, plum/pipe.png",
        ],
    )


@pytest.mark.parametrize("fit", FITS)
def test_what_is_left_keeps_its_pixels_labels_and_writers(tmp_path: Path, fit: str | None) -> None:
    for writer in ("ada", "bo"):
        for name in ("1", "7"):
            (tmp_path / writer / name).mkdir(parents=True)
            for place in range(2):
                page = np.full((20, 20), 255, np.uint8)
                page[4:16, 5 : 6 + int(name) + place] = 0
                Image.fromarray(page).save(tmp_path / writer / name / f"{place}.png")
    whole = load_glyphs(tmp_path, folders="writer/class", fit=fit)
    (tmp_path / "ada" / "1" / "0.png").write_bytes(b"no picture")
    (tmp_path / "bo" / "7" / "1.png").write_bytes(b"no picture")
    part = load_glyphs(tmp_path, folders="writer/class", fit=fit)
    kept = [1, 2, 3, 4, 5, 6]
    assert part.labels.tolist() == whole.labels[kept].tolist()
    assert whole.writers is not None
    assert part.writers is not None
    assert part.writers.tolist() == whole.writers[kept].tolist()
    np.testing.assert_array_equal(part.images, whole.images[kept])  # type: ignore[union-attr]


@pytest.mark.parametrize("fit", FITS)
@pytest.mark.parametrize("make", [pictures, pens])
def test_a_class_of_which_nothing_is_left_is_an_error(
    tmp_path: Path, make: object, fit: str | None
) -> None:
    make(tmp_path)  # type: ignore[operator]
    for one in (tmp_path / "plum").iterdir():
        one.write_bytes(one.read_bytes()[:-20])
    with pytest.raises(GlyphError, match=r"none of 2 \w+ of class plum can be read\n.*plum/0\."):
        load_glyphs(tmp_path, fit=fit)


@pytest.mark.parametrize("fit", FITS)
@pytest.mark.parametrize("make", [pictures, pens])
def test_a_set_of_which_nothing_is_left_is_an_error(
    tmp_path: Path, make: object, fit: str | None
) -> None:
    make(tmp_path)  # type: ignore[operator]
    for one in tmp_path.rglob("*.*"):
        one.write_bytes(one.read_bytes()[:-20])
    with pytest.raises(GlyphError, match=r"none of 5 \w+ can be read\n.*pear/0\."):
        load_glyphs(tmp_path, fit=fit)


def test_pen_files_that_cannot_be_read_are_left_out_by_name(tmp_path: Path) -> None:
    pens(tmp_path)
    (tmp_path / "pear" / "0.svg").write_bytes(b"")
    (tmp_path / "pear" / "1.svg").write_text(SVG[:-20], "utf-8")
    (tmp_path / "plum" / "2.svg").write_text(SVG.replace("M0 0v9", "M0 0" + "h9v9" * 600), "utf-8")
    os.mkfifo(tmp_path / "plum" / "3.svg")
    counts, told = left_out(tmp_path)
    assert counts == [1, 2]
    assert told == [
        "1 of 7 files left out, the file isn't well-formed XML: pear/1.svg",
        "1 of 7 files left out, the pen goes to and fro far more than in any mark: plum/2.svg",
        "1 of 7 files left out, not a file: plum/3.svg",
        "1 of 7 files left out, neither InkML nor SVG: pear/0.svg",
    ]


def test_a_pen_file_that_has_no_label_is_an_error_and_not_left_out(tmp_path: Path) -> None:
    pens(tmp_path)
    (tmp_path / "0.svg").write_text(SVG, "utf-8")
    with pytest.raises(GlyphError, match="the drawing has no label"):
        load_glyphs(tmp_path)


def test_a_broken_file_that_was_named_itself_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "0.svg").write_text(SVG[:-20], "utf-8")
    with pytest.raises(GlyphError, match="well-formed"):
        read_pens(tmp_path / "0.svg", label="1")


def test_labels_of_files_that_are_not_there_are_refused(tmp_path: Path) -> None:
    (tmp_path / "hook.svg").write_text(SVG, "utf-8")
    assert load_glyphs(tmp_path, labels={"hook.svg": "J"}).classes == ("J",)
    with pytest.raises(GlyphError, match=r"aren't there\n.*got       hok\.svg\n.*hook\.svg"):
        load_glyphs(tmp_path, labels={"hook.svg": "J", "hok.svg": "L"})


def test_only_a_dozen_names_are_told(tmp_path: Path) -> None:
    pictures(tmp_path)
    for place in range(20):
        (tmp_path / "pear" / f"{place}.txt").write_text("tag", "utf-8")
    (note,) = left_out(tmp_path)[1]
    assert note.startswith("20 of 25 pictures left out, not a picture: pear/0.txt, pear/1.txt, ")
    assert note.endswith(", pear/11.txt and 8 more")
