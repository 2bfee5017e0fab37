from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from gen.core.errors import GlyphError
from gen.glyphs.base import pixels_digest
from gen.glyphs.fit import Fit
from gen.glyphs.load import load_glyphs

WriteIdx = Callable[..., Path]
LABELS = np.array([3, 1, 4, 1, 5, 2], dtype=np.uint8)


def test_every_kind_of_source_gives_the_same_glyphs(
    tmp_path: Path, tags: np.ndarray, write_idx: WriteIdx
) -> None:
    images, labels = write_idx("tags-images", tags), write_idx("tags-labels", LABELS)
    np.savez(tmp_path / "tags.npz", images=tags, labels=LABELS)
    np.save(tmp_path / "tags.npy", tags)
    digests = {
        load_glyphs(images).provenance.digest,
        load_glyphs(str(images), labels=str(labels)).provenance.digest,
        load_glyphs(images, labels=LABELS.tolist()).provenance.digest,
        load_glyphs(tmp_path / "tags.npz").provenance.digest,
        load_glyphs(tmp_path / "tags.npz", labels=labels).provenance.digest,
        load_glyphs(tmp_path / "tags.npy", labels=labels).provenance.digest,
        load_glyphs(images, labels=tmp_path / "tags.npz").provenance.digest,
        load_glyphs(tags, labels=LABELS).provenance.digest,
    }
    assert digests == {pixels_digest(tags, LABELS.astype(np.intp), tuple("012345"))}


def test_the_source_is_not_changed(tags: np.ndarray) -> None:
    page = 255 - tags
    before = page.copy()
    load_glyphs(page, labels=LABELS)
    np.testing.assert_array_equal(page, before)


def test_an_unlabelled_idx_says_where_labels_were_looked_for(
    write_idx: WriteIdx, tags: np.ndarray
) -> None:
    path = write_idx("tags-images-idx3-ubyte", tags)
    with pytest.raises(GlyphError, match=r"no labels\n.*tags-labels-idx1-ubyte.*\n.*labels="):
        load_glyphs(path)


def test_labels_in_place_of_images_are_told_apart(write_idx: WriteIdx) -> None:
    with pytest.raises(GlyphError, match="these are labels, not pictures"):
        load_glyphs(write_idx("tags-labels-idx1-ubyte", LABELS))


def test_images_in_place_of_labels_are_told_apart(write_idx: WriteIdx, tags: np.ndarray) -> None:
    path = write_idx("tags-images", tags)
    with pytest.raises(GlyphError, match=r"these are pictures, not labels\n.*\(6, 7, 5\)"):
        load_glyphs(path, labels=path)


@pytest.mark.parametrize(
    ("count", "said"), [(5, "come from the same set"), (14, "8 more is one header")]
)
def test_different_counts_are_both_stated(tags: np.ndarray, count: int, said: str) -> None:
    with pytest.raises(GlyphError, match=rf"6 pictures, {count} labels\n.*{said}"):
        load_glyphs(tags, labels=[0] * count)


def test_a_source_that_isnt_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match=r"nowhere: there is no such file"):
        load_glyphs(tmp_path / "nowhere")


def test_labels_that_arent_there_are_named(write_idx: WriteIdx, tags: np.ndarray) -> None:
    with pytest.raises(GlyphError, match=r"nowhere: there is no such file"):
        load_glyphs(write_idx("tags", tags), labels="nowhere")


def test_labels_may_be_text_with_one_a_line(tmp_path: Path, tags: np.ndarray) -> None:
    path = tmp_path / "labels.txt"
    path.write_text("3\n1\n4\n1\n5\n2\n")
    assert load_glyphs(tags, labels=path).labels.tolist() == LABELS.tolist()
    path.write_text("pear\nplum\npear\nplum\npear\nfig\n")
    assert load_glyphs(tags, labels=path).classes == ("fig", "pear", "plum")
    path.write_text("pear,1\nplum,2\n")
    with pytest.raises(GlyphError, match=r"labels\.txt:1: labels must be one a line\n.*'pear,1'"):
        load_glyphs(tags, labels=path)


def test_labels_in_a_file_of_something_else_are_refused_with_what_is_known(
    tmp_path: Path, tags: np.ndarray
) -> None:
    path = tmp_path / "labels.bin"
    path.write_bytes(bytes([7, 0, 1, 2]))
    with pytest.raises(GlyphError, match=r"not a file of labels.*\n.*07 00 01 02\n.*npy, npz, or"):
        load_glyphs(tags, labels=path)


def test_labels_of_unequal_length_are_refused(tags: np.ndarray) -> None:
    with pytest.raises(GlyphError, match="one number or name a picture"):
        load_glyphs(tags, labels=[[1], [1, 2]])


def test_the_glyphs_do_not_follow_later_changes_of_the_array(tags: np.ndarray) -> None:
    glyphs = load_glyphs(tags, labels=LABELS)
    tags[:] = 7
    assert pixels_digest(glyphs.images, glyphs.labels, glyphs.classes) == glyphs.provenance.digest


def test_a_path_that_no_system_allows_is_refused() -> None:
    with pytest.raises(GlyphError, match=r"can't be read|no such file"):
        load_glyphs("tags\0.idx")
    with pytest.raises(GlyphError, match="can't be read"):
        load_glyphs("t" * 5000)


def test_an_empty_file_is_said_to_be_empty(tmp_path: Path) -> None:
    path = tmp_path / "tags"
    path.write_bytes(b"")
    with pytest.raises(GlyphError, match="the file is empty"):
        load_glyphs(path)


def test_a_single_picture_says_what_to_do(tmp_path: Path) -> None:
    path = tmp_path / "tag.idx"
    Image.new("L", (5, 5)).save(path, format="PNG")
    with pytest.raises(GlyphError, match=r"one sub-folder of pictures|wrong magic"):
        load_glyphs(path)
    plain = path.rename(tmp_path / "tag.png")
    with pytest.raises(GlyphError, match=r"one picture has no label\n.*PNG"):
        load_glyphs(plain)


def test_what_is_no_known_source_is_told_what_is(tmp_path: Path) -> None:
    path = tmp_path / "tags.doc"
    path.write_bytes(b"\xd0\xcf\x11\xe0")
    with pytest.raises(
        GlyphError,
        match=r"not a source.*\n.*d0 cf 11 e0\n.*IDX .*npz, npy, InkML, SVG, a font, or a",
    ):
        load_glyphs(path)


def test_loading_numbers_needs_no_picture_library(write_idx: WriteIdx, tags: np.ndarray) -> None:
    path, _ = write_idx("tags-images", tags), write_idx("tags-labels", LABELS)
    script = (
        "import sys; from gen.glyphs.load import load_glyphs; load_glyphs(sys.argv[1]);"
        "print(sorted({'PIL', 'cv2', 'scipy'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(path)],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).resolve().parents[2],
    )
    assert done.stdout.strip() == "[]"


def test_levels_of_folders_are_refused_where_there_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "tags.csv").write_text("label,a,b,c,d\n7,0,0,255,0\n", "utf-8")
    with pytest.raises(GlyphError, match=r"^folders: .*\n.*tags\.csv, which is no folder"):
        load_glyphs(tmp_path / "tags.csv", folders="class/writer")


def test_marks_that_are_lighter_than_ink_begins_are_counted() -> None:
    images = np.zeros((3, 12, 12), np.uint8)
    images[:2, 4:8, 5] = [[200], [90]]
    glyphs = load_glyphs(images, labels=[0, 1, 0], fit=Fit("box centred", (28, 28), ink_from=100))
    said = "2 of 3 pictures have no ink from grey 100 of 255 on, and are bare"
    assert said in glyphs.provenance.notes


def test_writers_are_numbered_in_natural_order(tmp_path: Path, tags: np.ndarray) -> None:
    who = np.array(["p10", "p2"])
    np.savez(tmp_path / "a.npz", images=tags[:2], labels=[0, 1], writers=who)
    read = load_glyphs(tmp_path / "a.npz")
    assert read.writers is not None
    assert read.writers.tolist() == [1, 0]


def test_the_same_names_in_another_order_keep_their_pictures() -> None:
    glyphs = load_glyphs(np.zeros((3, 4, 4), np.uint8), labels=["x", "y", "z"], classes="zyx")
    assert [glyphs.classes[label] for label in glyphs.labels] == ["x", "y", "z"]
    assert "classes put in the order given, each with its pictures" in glyphs.provenance.notes


def test_numbers_called_by_other_numbers_are_so_as_told_and_it_is_said() -> None:
    glyphs = load_glyphs(np.zeros((3, 4, 4), np.uint8), labels=[0, 1, 2], classes="123")
    assert [glyphs.classes[label] for label in glyphs.labels] == ["1", "2", "3"]
    assert "label 1 is called 2, as told" in glyphs.provenance.notes


def test_names_in_place_of_those_found_are_said_and_may_not_be_those_of_other_classes() -> None:
    images = np.zeros((2, 4, 4), np.uint8)
    glyphs = load_glyphs(images, labels=["x", "y"], classes="pq")
    assert "classes x, y named anew, in order" in glyphs.provenance.notes
    with pytest.raises(GlyphError, match=r"'y' would become the name of another class"):
        load_glyphs(images, labels=["x", "y"], classes="yw")


def test_no_source_is_not_the_folder_one_is_in() -> None:
    with pytest.raises(GlyphError, match=r"^source: no source is named"):
        load_glyphs("")
