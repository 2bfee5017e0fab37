from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from gen.core.errors import GlyphError
from gen.glyphs.fit import Fit
from gen.glyphs.load import load_glyphs


def mark(width: int = 8, height: int = 10, *, ink: int = 0, paper: int = 255) -> Image.Image:
    """A page with one upright stroke."""
    pixels = np.full((height, width), paper, dtype=np.uint8)
    pixels[2:-2, width // 2] = ink
    return Image.fromarray(pixels)


def shed(folder: Path, classes: tuple[str, ...] = ("pear", "plum"), count: int = 2) -> Path:
    for name in classes:
        (folder / name).mkdir(parents=True)
        for place in range(count):
            mark().save(folder / name / f"{place}.png")
    return folder


def test_each_sub_folder_is_a_class(tmp_path: Path) -> None:
    glyphs = load_glyphs(shed(tmp_path))
    assert glyphs.classes == ("pear", "plum")
    assert glyphs.labels.tolist() == [0, 0, 1, 1]
    assert glyphs.frame == (10, 8)
    assert (glyphs.provenance.kind, glyphs.provenance.ink) == ("folder", "dark")
    assert np.unique(glyphs.images).tolist() == [0, 255]


def test_classes_and_pictures_come_in_natural_order(tmp_path: Path) -> None:
    for name in ("10", "2", "1", "0"):
        (tmp_path / name).mkdir()
        for place in (10, 9, 2):
            page = np.zeros((8, 8), dtype=np.uint8)
            page[2:4, 2:4] = 200 + place
            Image.fromarray(page).save(tmp_path / name / f"tag {place}.png")
    glyphs = load_glyphs(tmp_path)
    assert glyphs.classes == ("0", "1", "2", "10")
    assert glyphs.images.max(axis=(1, 2)).tolist() == [202, 209, 210] * 4


def test_hidden_and_system_files_are_skipped_and_counted(tmp_path: Path) -> None:
    shed(tmp_path)
    (tmp_path / ".DS_Store").write_bytes(b"x")
    (tmp_path / "pear" / "Thumbs.db").write_bytes(b"x")
    (tmp_path / "plum" / "._0.png").write_bytes(b"x")
    (tmp_path / "__MACOSX").mkdir()
    glyphs = load_glyphs(tmp_path)
    assert len(glyphs) == 4
    assert "4 hidden or system files skipped" in glyphs.provenance.notes


def test_files_beside_the_class_folders_are_named(tmp_path: Path) -> None:
    shed(tmp_path)
    (tmp_path / "README.txt").write_text("tags of the north row")
    notes = load_glyphs(tmp_path).provenance.notes
    assert "1 beside the class folders not read: README.txt" in notes


def test_an_empty_class_folder_is_an_error(tmp_path: Path) -> None:
    shed(tmp_path)
    (tmp_path / "quince").mkdir()
    (tmp_path / "quince" / ".hidden").write_bytes(b"")
    with pytest.raises(GlyphError, match="quince: the class folder is empty"):
        load_glyphs(tmp_path)


def test_an_empty_folder_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match="the folder is empty"):
        load_glyphs(tmp_path)


def test_a_folder_of_loose_pictures_says_how_to_label_them(tmp_path: Path) -> None:
    mark().save(tmp_path / "tag.png")
    with pytest.raises(GlyphError, match=r"no class folders.*\n.*tag.png\n.*\n.*sort them into"):
        load_glyphs(tmp_path)


def test_a_folder_of_idx_files_says_to_name_the_images(tmp_path: Path) -> None:
    (tmp_path / "t10k-images-idx3-ubyte").write_bytes(b"\0\0\x08\x03")
    with pytest.raises(GlyphError, match=r"name that: .*t10k-images-idx3-ubyte"):
        load_glyphs(tmp_path)


def test_a_folder_one_level_too_high_says_so(tmp_path: Path) -> None:
    shed(tmp_path / "train")
    shed(tmp_path / "test")
    with pytest.raises(GlyphError, match="'test' isn't a class but a part of the set"):
        load_glyphs(tmp_path)


def test_three_hundred_classes_are_read(tmp_path: Path) -> None:
    names = tuple(f"symbol {place}" for place in range(300))
    assert load_glyphs(shed(tmp_path, names, 1)).classes == names


@pytest.mark.parametrize("odd", [0, 1, 4])
def test_the_picture_of_another_size_is_named_wherever_it_is(tmp_path: Path, odd: int) -> None:
    shed(tmp_path, ("pear",), 5)
    mark(9, 12).save(tmp_path / "pear" / f"{odd}.png")
    said = (
        rf"pear/{odd}\.png: .*same size.*\n.*12 x 9 px.*\n"
        r".*10 x 8 px, as 4 of 5.*\n.*--fit RULE"
    )
    with pytest.raises(GlyphError, match=said):
        load_glyphs(tmp_path)


def test_labels_for_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match="a folder has its labels already"):
        load_glyphs(shed(tmp_path), labels=[0, 1, 0, 1])


def test_names_replace_those_of_the_folders(tmp_path: Path) -> None:
    assert load_glyphs(shed(tmp_path), classes="P,Q").classes == ("P", "Q")


def test_black_ink_on_transparent_paper_is_not_all_black(tmp_path: Path) -> None:
    (tmp_path / "pear").mkdir()
    for place in range(3):
        shows = Image.fromarray(255 - np.array(mark()))
        black = Image.new("L", shows.size, 0)
        Image.merge("LA", (black, shows)).save(tmp_path / "pear" / f"{place}.png")
    glyphs = load_glyphs(tmp_path)
    np.testing.assert_array_equal(glyphs.images[0], 255 - np.array(mark()))
    assert glyphs.provenance.ink == "dark"
    assert "3 of 3 pictures: transparency laid on white" in glyphs.provenance.notes


def test_white_ink_on_transparent_paper_is_laid_on_black(tmp_path: Path) -> None:
    (tmp_path / "pear").mkdir()
    shows = Image.fromarray(255 - np.array(mark()))
    white = Image.new("L", shows.size, 255)
    Image.merge("LA", (white, shows)).save(tmp_path / "pear" / "0.png")
    glyphs = load_glyphs(tmp_path)
    np.testing.assert_array_equal(glyphs.images[0], 255 - np.array(mark()))
    assert glyphs.provenance.ink == "bright"
    assert "1 of 1 pictures: transparency laid on black" in glyphs.provenance.notes


def test_a_scan_with_clear_corners_keeps_its_own_paper(tmp_path: Path) -> None:
    (tmp_path / "pear").mkdir()
    page = mark(12, 12)
    alpha = np.full((12, 12), 255, dtype=np.uint8)
    alpha[:2, :2] = 0
    hidden = np.array(page)
    hidden[:2, :2] = 0  # what lies under the clear corner must not show
    for line in range(3, 9):
        hidden[4:8, line] = 0
    scan = Image.merge("LA", (Image.fromarray(hidden), Image.fromarray(alpha)))
    scan.save(tmp_path / "pear" / "0.png")
    glyphs = load_glyphs(tmp_path)
    assert glyphs.images[0, :2, :2].max() == 0
    assert "laid on white" in " ".join(glyphs.provenance.notes)


def test_pictures_of_different_sizes_are_fitted_into_one_frame(tmp_path: Path) -> None:
    for name, sizes in (("pear", ((40, 60), (33, 20))), ("plum", ((200, 180),))):
        (tmp_path / name).mkdir()
        for place, (height, width) in enumerate(sizes):
            mark(width, height).save(tmp_path / name / f"{place}.png")
    glyphs = load_glyphs(tmp_path, fit="box centred")
    assert (glyphs.frame, glyphs.labels.tolist()) == ((28, 28), [0, 0, 1])
    assert glyphs.images.shape == (3, 28, 28)
    rows = np.flatnonzero(glyphs.images[2].any(axis=1))
    assert (rows[0], rows[-1]) == (4, 23)
    assert glyphs.provenance.notes == (
        "pictures of 33 x 20 to 200 x 180 px",
        "ink is dark on bright paper, as 3 of 3 pictures show; inverted",
        "fitted by the rule 'box centred': the longer side of the mark is 20 of 28 x 28 px, "
        "strokes scaled with it; resized by 0.102 to 0.69",
    )
    assert glyphs.provenance.values == "0..255"


def test_fitted_pictures_are_the_same_whether_they_are_kept_or_decoded_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = load_glyphs(shed(tmp_path), fit=Fit("centre of mass", (20, 20)))
    monkeypatch.setattr("gen.glyphs.ragged.KEPT_BYTES", 100)
    again = load_glyphs(tmp_path, fit=Fit("centre of mass", (20, 20)))
    assert again.provenance.digest == whole.provenance.digest
    assert again.frame == (20, 20)


@pytest.mark.parametrize(("pen", "paper", "ink"), [(0, "white", "dark"), (255, "black", "bright")])
def test_clear_pictures_of_different_sizes_are_laid_on_the_paper_they_vote_for(
    tmp_path: Path, pen: int, paper: str, ink: str
) -> None:
    (tmp_path / "pear").mkdir()
    for place, size in enumerate((30, 44)):
        shows = Image.fromarray(255 - np.array(mark(size, size)))
        drawn = Image.new("L", shows.size, pen)
        Image.merge("LA", (drawn, shows)).save(tmp_path / "pear" / f"{place}.png")
    glyphs = load_glyphs(tmp_path, fit="box centred")
    assert glyphs.provenance.ink == ink
    assert f"2 of 2 pictures: transparency laid on {paper}" in glyphs.provenance.notes
    assert glyphs.images[:, 0, 0].max() == 0
    assert glyphs.images.any(axis=(1, 2)).all()


def written_by_three(folder: Path, layout: str) -> Path:
    for writer, classes in (("Ida", ("1", "2")), ("Oke", ("1",)), ("Una", ("2",))):
        for name in classes:
            inner = folder / (
                f"{name}/{writer}" if layout == "class/writer" else f"{writer}/{name}"
            )
            inner.mkdir(parents=True)
            for place in range(2):
                mark().save(inner / f"{place}.png")
    return folder


@pytest.mark.parametrize("layout", ["class/writer", "writer/class"])
def test_folders_say_who_wrote_what_when_that_is_stated(tmp_path: Path, layout: str) -> None:
    glyphs = load_glyphs(written_by_three(tmp_path, layout), folders=layout)
    assert glyphs.classes == ("1", "2")
    assert glyphs.labels.tolist() == [0] * 4 + [1] * 4
    assert glyphs.writers is not None
    assert glyphs.writers.tolist() == [0, 0, 1, 1, 0, 0, 2, 2]
    assert "written by 3 people, as the source says" in glyphs.provenance.notes


def test_folders_in_class_folders_are_never_taken_for_writers_unasked(tmp_path: Path) -> None:
    written_by_three(tmp_path, "class/writer")
    with pytest.raises(GlyphError, match=r"holds another folder\n.*\n.*\n.*--folders class/writer"):
        load_glyphs(tmp_path)


def test_folders_that_stand_for_nothing_known_are_refused(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match=r"'page'\n.*class, class/writer, writer/class"):
        load_glyphs(shed(tmp_path), folders="page")


def test_a_level_of_folders_that_is_missing_is_named(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match=r"pear: .*no class folders.*\n.*\n.*CLASS/WRITER/PICTURE"):
        load_glyphs(shed(tmp_path), folders="class/writer")


def test_a_folder_that_leads_back_to_itself_is_not_walked_for_ever(tmp_path: Path) -> None:
    shed(tmp_path)
    (tmp_path / "pear" / "loop").symlink_to(tmp_path)
    with pytest.raises(GlyphError, match=r"holds another folder\n.*loop"):
        load_glyphs(tmp_path)
    (tmp_path / "pear" / "loop").unlink()
    (tmp_path / "pear" / "round.png").symlink_to(tmp_path / "pear" / "round.png")
    notes = load_glyphs(tmp_path).provenance.notes
    assert "1 of 5 pictures left out, not a picture: pear/round.png" in notes


def test_a_folder_with_an_archive_in_it_says_to_name_that(tmp_path: Path) -> None:
    np.savez(tmp_path / "glyphs.npz", images=np.zeros((1, 8, 8)), labels=[0])
    with pytest.raises(GlyphError, match=r"name that: .*glyphs\.npz"):
        load_glyphs(tmp_path)


def test_of_a_folder_that_collecting_wrote_the_set_in_it_is_named(tmp_path: Path) -> None:
    shed(tmp_path, classes=("check",))
    (tmp_path / "glyphs.npz").write_bytes(b"x")
    with pytest.raises(GlyphError, match=r"holds a set of glyphs[\s\S]*try       .*glyphs\.npz$"):
        load_glyphs(tmp_path)
