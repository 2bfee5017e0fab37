"""Sets made from several photographs: what is written, who wrote it, and what is left out."""

from __future__ import annotations

import csv
import hashlib
import os
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from gen.core.errors import CombinedError, GlyphError, OutputError
from gen.glyphs.load import load_glyphs
from gen.glyphs.paper.collected import collect_photos
from gen.glyphs.paper.drawing import page_shapes
from gen.glyphs.paper.layout import Plan
from gen.glyphs.paper.named import writer_names
from gen.glyphs.paper.raster import page_picture
from tests.glyphs.paper.camera import Filled
from tests.glyphs.paper.conftest import PLAN, Save

Grey = NDArray[np.uint8]


def test_a_set_holds_every_mark_with_its_class_and_its_writer(
    digits: Filled, straight: Grey, save: Save, tmp_path: Path
) -> None:
    photos = [save("anna.png", straight), save("tom.png", np.rot90(straight).copy())]
    before = [hashlib.sha256(photo.read_bytes()).digest() for photo in photos]
    got = collect_photos(photos, tmp_path / "out")
    marks = digits.states.count("mark")
    assert got.counts == {
        "kept": 2 * marks,
        "crossed out": 2 * digits.states.count("crossed"),
        "empty": 2 * digits.states.count("empty"),
    }
    with np.load(tmp_path / "out" / "glyphs.npz") as held:
        assert held["images"].shape == (2 * marks, got.side_px, got.side_px)
        assert held["writers"].tolist() == ["anna"] * marks + ["tom"] * marks
        assert held["photos"].tolist() == ["anna.png"] * marks + ["tom.png"] * marks
        wanted = [at for at, state in enumerate(digits.states) if state == "mark"]
        assert held["boxes"].tolist() == [at + 1 for at in wanted] * 2
        assert held["labels"].tolist() == [digits.labels[at] for at in wanted] * 2
    loaded = load_glyphs(str(tmp_path / "out" / "glyphs.npz"))
    assert loaded.classes == PLAN.classes
    assert loaded.provenance.ink == "bright"
    assert [hashlib.sha256(photo.read_bytes()).digest() for photo in photos] == before
    assert sorted(path.name for path in (tmp_path / "out" / "check").iterdir()) == [
        "01 anna.png",
        "02 tom.png",
    ]


def test_the_table_has_a_line_for_every_box_and_says_what_became_of_it(
    digits: Filled, straight: Grey, save: Save, tmp_path: Path
) -> None:
    collect_photos([save("anna.png", straight)], tmp_path / "out", writers=["A. Pear"])
    with (tmp_path / "out" / "boxes.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == len(digits.states)
    assert {row["writer"] for row in rows} == {"A. Pear"}
    pictures = [row["picture"] for row in rows if row["state"] == "kept"]
    assert pictures == [str(at) for at in range(digits.states.count("mark"))]
    assert all(row["picture"] == "" for row in rows if row["state"] != "kept")
    assert [row["class"] for row in rows] == [PLAN.classes[label] for label in digits.labels]


def test_a_photo_that_cant_be_read_is_told_and_the_others_are_kept(
    straight: Grey, save: Save, tmp_path: Path
) -> None:
    (tmp_path / "note.jpg").write_text("not today")
    photos = [tmp_path / "note.jpg", save("anna.png", straight)]
    got = collect_photos(photos, tmp_path / "out")
    assert [error.where for error in got.failures] == [str(tmp_path / "note.jpg")]
    assert [photo.name for photo in got.photos] == ["anna.png"]


def test_when_no_photo_can_be_read_all_are_told_and_nothing_is_written(
    save: Save, tmp_path: Path
) -> None:
    photos = [save("a.png", np.full((1200, 900), 180, np.uint8)), tmp_path / "gone.png"]
    with pytest.raises(CombinedError, match=r"too few markers(.|\n)*gone.png: can't be read"):
        collect_photos(photos, tmp_path / "out")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.png"]


def test_photos_of_two_sheets_are_refused_with_both_named(
    straight: Grey, save: Save, tmp_path: Path
) -> None:
    plan = Plan(tuple("ABC"), 4)
    other = np.asarray(page_picture(page_shapes(plan, 1), plan.size_mm, dpi=150))
    photos = [save("anna.png", straight), save("abc.png", other)]
    with pytest.raises(GlyphError, match=r"abc.png: is of another sheet than anna.png\n.*A-C x 4"):
        collect_photos(photos, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_sheet_nobody_has_written_on_gives_no_set(save: Save, tmp_path: Path) -> None:
    plan = Plan(tuple("ABC"), 4)
    blank = np.asarray(page_picture(page_shapes(plan, 1), plan.size_mm, dpi=150))
    with pytest.raises(GlyphError, match=r"no box on any page holds a mark(.|\n)*12 empty"):
        collect_photos([save("blank.png", blank)], tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_writers_are_one_for_all_or_one_for_each(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match="2 writers, 3 photographs"):
        collect_photos([tmp_path / "a"] * 3, tmp_path / "out", writers=["x", "y"])


@pytest.mark.parametrize("names", [("a/1.jpg", "b/1.jpg"), ("1.jpg", "1.png"), ("1\t", "1\n")])
def test_photographs_of_nearly_the_same_name_have_writers_of_their_own(
    names: tuple[str, str],
) -> None:
    assert len(set(writer_names([Path(name) for name in names], []))) == 2


def test_the_same_page_of_one_writer_twice_is_kept_and_said(
    straight: Grey, save: Save, tmp_path: Path
) -> None:
    photos = [save("1.png", straight), save("2.png", np.roll(straight, 1, axis=1))]
    got = collect_photos(photos, tmp_path / "out", writers=["anna"])
    assert got.notes == (
        "2.png: page 1 by anna again, after 1.png; is it the same sheet of paper?",
    )


def test_one_photograph_under_two_names_is_not_two_writers(
    straight: Grey, save: Save, tmp_path: Path
) -> None:
    photos = [save("anna.png", straight), save("copy.png", straight)]
    with pytest.raises(GlyphError, match=r"copy.png: the same photograph comes twice"):
        collect_photos(photos, tmp_path / "out")
    with pytest.raises(GlyphError, match=r"anna.png: the same photograph comes twice"):
        collect_photos([photos[0]] * 2, tmp_path / "out")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("shown", [1.0, 0.6])
def test_two_sheets_side_by_side_are_refused_rather_than_one_of_them_taken(
    straight: Grey, save: Save, tmp_path: Path, shown: float
) -> None:
    beside = straight[:, : round(shown * straight.shape[1])]
    photo = save("both.png", np.hstack([straight, beside]))
    with pytest.raises(GlyphError, match=r"both.png: the photograph shows more than one page"):
        collect_photos([photo], tmp_path / "out")


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.png")
    with pytest.raises(GlyphError, match=r"pipe.png: not a file"):
        collect_photos([tmp_path / "pipe.png"], tmp_path / "out")


def test_pictures_of_an_earlier_run_go_and_what_else_is_there_stays(
    straight: Grey, save: Save, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    collect_photos([save("anna.png", straight)], out)
    (out / "check" / "seen by tom.png").write_bytes(b"his")
    collect_photos([save("bo.png", straight)], out, overwrite=True)
    assert sorted(path.name for path in (out / "check").iterdir()) == [
        "01 bo.png",
        "seen by tom.png",
    ]


def test_a_folder_that_holds_something_is_left_alone(
    straight: Grey, save: Save, tmp_path: Path
) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "harvest.txt").write_text("12 crates")
    with pytest.raises(OutputError, match="isn't empty"):
        collect_photos([save("anna.png", straight)], tmp_path / "out")
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["harvest.txt"]
