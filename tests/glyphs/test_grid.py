"""One picture with many glyphs: cut where the person says, or refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from gen.core.errors import GlyphError
from gen.glyphs.grid import Grid
from gen.glyphs.load import load_glyphs


@pytest.fixture
def cells() -> np.ndarray:
    """Two rows of three marks, 8 x 6 px, bright on black."""
    images = np.zeros((6, 8, 6), np.uint8)
    for place in range(6):
        images[place, 2 : 4 + place % 3, 2:4] = 200 + place
    return images


def sheet(path: Path, cells: np.ndarray, *, gutter: int = 0, margin: int = 0) -> Path:
    """The cells pasted by Pillow, with a bright line wherever nothing should be cut."""
    height = 2 * margin + 2 * 8 + gutter
    width = 2 * margin + 3 * 6 + 2 * gutter
    page = Image.new("L", (width, height), 255)
    for place, cell in enumerate(cells):
        row, column = divmod(place, 3)
        at = margin + column * (6 + gutter), margin + row * (8 + gutter)
        page.paste(Image.fromarray(cell), at)
    page.save(path)
    return path


@pytest.mark.parametrize(("gutter", "margin"), [(0, 0), (1, 0), (3, 5), (0, 2)])
def test_cells_are_cut_without_gutters_and_margin(
    tmp_path: Path, cells: np.ndarray, gutter: int, margin: int
) -> None:
    path = sheet(tmp_path / "page.png", cells, gutter=gutter, margin=margin)
    said = f"2x3, gutter {gutter}, margin {margin}"
    glyphs = load_glyphs(path, grid=said, labels="rows", ink="bright")
    np.testing.assert_array_equal(glyphs.images, cells)
    assert glyphs.labels.tolist() == [0, 0, 0, 1, 1, 1]
    assert glyphs.provenance.kind == "grid"
    assert glyphs.provenance.notes[0].startswith("cut into 2 x 3 cells of 8 x 6 px")


def test_labels_of_a_grid_go_by_row_by_column_or_in_reading_order(
    tmp_path: Path, cells: np.ndarray
) -> None:
    path = sheet(tmp_path / "page.png", cells)
    assert load_glyphs(path, grid="2x3", labels="columns").labels.tolist() == [0, 1, 2] * 2
    (tmp_path / "names.txt").write_text("pear\nplum\nfig\npear\npear\nfig\n")
    read = load_glyphs(path, grid=Grid(2, 3), labels=tmp_path / "names.txt")
    assert (read.classes, read.labels.tolist()) == (("fig", "pear", "plum"), [1, 2, 0, 1, 1, 0])
    named = load_glyphs(path, grid="2x3", labels="rows", classes="pear,plum")
    assert named.classes == ("pear", "plum")
    with pytest.raises(GlyphError, match="the pictures have no labels"):
        load_glyphs(path, grid="2x3")
    with pytest.raises(GlyphError, match="6 pictures, 2 labels"):
        load_glyphs(path, grid="2x3", labels=[0, 1])


def test_a_grid_that_gives_no_equal_cells_says_what_is_left_over(
    tmp_path: Path, cells: np.ndarray
) -> None:
    path = sheet(tmp_path / "page.png", cells, gutter=1)
    match = r"2 equal rows\n.*17 x 20 px, which leaves 17 px for 2 rows"
    with pytest.raises(GlyphError, match=match):
        load_glyphs(path, grid="2x3", labels="rows")
    match = r"3 equal columns\n.*17 x 20 px, which leaves 20 px for 3 columns"
    with pytest.raises(GlyphError, match=match):
        load_glyphs(path, grid="1x3", labels="rows")
    with pytest.raises(GlyphError, match=r"can't be cut into 900 equal rows"):
        load_glyphs(path, grid="900x3", labels="rows")


@pytest.mark.parametrize("said", ["", "10", "0x3", "2x3,gutter", "2x-3", "2x3, gutter 1.5", "axb"])
def test_what_says_no_grid_is_refused(tmp_path: Path, cells: np.ndarray, said: str) -> None:
    with pytest.raises(GlyphError, match=r'this says no grid\n.*\n.*"10x20, gutter 2, margin 4"'):
        load_glyphs(sheet(tmp_path / "page.png", cells), grid=said, labels="rows")


def test_a_grid_is_for_one_picture(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match="this is a folder"):
        load_glyphs(tmp_path, grid="2x3")
    (tmp_path / "t.csv").write_text("1,2,3,4\n")
    with pytest.raises(GlyphError, match=r"t\.csv: not a picture"):
        load_glyphs(tmp_path / "t.csv", grid="2x3")


def test_one_picture_alone_says_how_a_grid_would_be_stated(
    tmp_path: Path, cells: np.ndarray
) -> None:
    with pytest.raises(GlyphError, match=r"one picture has no label\n.*PNG.*\n.*--grid ROWSxCOL"):
        load_glyphs(sheet(tmp_path / "page.png", cells))


def test_a_grid_can_be_fitted_like_any_source(tmp_path: Path, cells: np.ndarray) -> None:
    path = sheet(tmp_path / "page.png", cells)
    assert load_glyphs(path, grid="2x3", labels="rows", fit="box centred").frame == (28, 28)


def test_a_clear_grid_is_laid_on_the_paper_that_its_ink_wants(
    tmp_path: Path, cells: np.ndarray
) -> None:
    path = sheet(tmp_path / "page.png", cells)
    shows = Image.open(path)
    Image.merge("LA", (Image.new("L", shows.size, 0), shows)).save(tmp_path / "clear.png")
    glyphs = load_glyphs(tmp_path / "clear.png", grid="2x3", labels="rows")
    np.testing.assert_array_equal(glyphs.images, cells)
    assert "transparency laid on white" in glyphs.provenance.notes
    assert glyphs.provenance.ink == "dark"
