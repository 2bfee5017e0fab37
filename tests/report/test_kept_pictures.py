"""pictures.npz: what is kept of a page's pictures comes back, and hostile files are refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from gen import make_report, parse_recipe, write_strokes
from gen.core.errors import InkdriftError
from gen.report import kept_pictures
from gen.report.kept_pictures import kept_of, read_pictures, write_pictures
from gen.report.shown import Shown
from tests.report import planted

Arrays = dict[str, NDArray[np.generic]]
DIGESTS = {"glyphs_digest": "a1", "recipe_digest": "b2"}


def some(count: int = 5) -> dict[tuple[str, int], NDArray[np.uint8]]:
    draw = np.random.default_rng(3)
    return {
        (f"01-blur+{n % 2}px", 7 * n): draw.integers(0, 256, (9, 6), np.uint8) for n in range(count)
    }


def test_pictures_come_back_as_they_were_given(tmp_path: Path) -> None:
    path = write_pictures(tmp_path / "pictures.npz", some(), **DIGESTS)
    read = read_pictures(path, **DIGESTS)
    assert list(read) == list(some())
    for place, image in some().items():
        np.testing.assert_array_equal(read[place], image)
    with np.load(path, allow_pickle=False) as plain:
        assert plain["images"].shape == (5, 9, 6)
        assert plain["glyphs"].tolist() == [0, 7, 14, 21, 28]


def test_where_there_is_no_file_there_are_no_pictures(tmp_path: Path) -> None:
    assert read_pictures(tmp_path / "pictures.npz", **DIGESTS) == {}


def test_the_followed_glyph_is_kept_at_every_level_and_misread_ones_beside_it() -> None:
    made = planted.thorough()
    shown = planted.shown(made)
    kept = kept_of(made, shown)
    for curve, sweep in zip(made.curves, shown.sweeps, strict=True):
        one = sweep.followed[0]
        for point, image, misread in zip(curve.points, one.images, sweep.misread, strict=True):
            assert (point.cell, one.glyph) in kept
            assert {(point.cell, picture.glyph) for picture in misread[:3]} <= set(kept)
            assert kept[point.cell, one.glyph].shape == image.shape
    for grid in made.grids:
        for row in grid.points:
            assert all(point.cell in {cell for cell, _ in kept} for point in row if point)
    for blend in made.blends:
        assert sum(cell == blend.cells[0] for cell, _ in kept) == 12


def test_pictures_are_of_the_cell_and_the_glyph_that_they_say(tmp_path: Path) -> None:
    """Held to the renderer itself: nominal glyphs, moved by whole pixels."""
    glyphs = write_strokes(count=60, seed=4)
    recipe = parse_recipe(
        'title = "Sag"\n[[sweep]]\nperturbation = "translation"\nunit = "px"\nalong = "x"\n'
        "levels = [-3, 0, 3]"
    )
    made = make_report(lambda x: np.arange(len(x)) % 10, recipe, glyphs)
    kept = read_pictures(
        made.save(tmp_path)["pictures.npz"],
        glyphs_digest=made.evaluation.glyphs_digest,
        recipe_digest=made.evaluation.recipe_digest,
    )
    moved = {point.cell: int(float(point.level)) for point in made.evaluation.curves[0].points}
    pairs = [
        (kept["nominal", glyph], image, moved[cell])
        for (cell, glyph), image in kept.items()
        if moved[cell] and ("nominal", glyph) in kept
    ]
    assert len(pairs) >= 6
    for nominal, image, by in pairs:
        np.testing.assert_array_equal(
            image[:, max(by, 0) : 28 + min(by, 0)], nominal[:, max(-by, 0) : 28 - max(by, 0)]
        )


def test_a_report_without_pictures_writes_no_such_file(tmp_path: Path) -> None:
    recipe = parse_recipe('title = "As they are"')
    made = make_report(lambda x: np.zeros(len(x), int), recipe, write_strokes(count=20))
    replace(made, shown=None).save(tmp_path)
    assert (tmp_path / "answers.npz").exists()
    assert not (tmp_path / "pictures.npz").exists()
    assert kept_of(planted.thorough(), Shown()) == {}


def test_where_there_is_no_room_one_glyph_through_all_levels_stays(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made = planted.slipped()
    shown = planted.shown(made)
    levels = [point.cell for curve in made.curves for point in curve.points]
    distinct = len(set(levels))
    monkeypatch.setattr(kept_pictures, "MOST_PIXELS", distinct * 28 * 28 + 100)
    kept = kept_of(made, shown)
    assert {cell for cell, _ in kept} == set(levels)
    assert {glyph for _, glyph in kept} == {shown.sweeps[0].followed[0].glyph}


def test_pictures_of_another_run_are_refused(tmp_path: Path) -> None:
    path = write_pictures(tmp_path / "pictures.npz", some(), **DIGESTS)
    with pytest.raises(InkdriftError, match=r"pictures\.npz: these pictures are of another run"):
        read_pictures(path, glyphs_digest="a1", recipe_digest="c3")


CHANGES: dict[str, Callable[[Arrays], object]] = {
    "a cell that isn't named": lambda a: a.update(cells=np.full(5, 2)),
    "a cell below zero": lambda a: a.update(cells=np.full(5, -1)),
    "fewer glyphs": lambda a: a.update(glyphs=np.arange(4)),
    "fractions": lambda a: a.update(images=np.zeros((5, 9, 6))),
    "flat pictures": lambda a: a.update(images=np.zeros((5, 54), np.uint8)),
    "empty pictures": lambda a: a.update(images=np.zeros((5, 0, 6), np.uint8)),
    "larger pictures than a page shows": lambda a: a.update(images=np.zeros((5, 1, 65), np.uint8)),
    "names that are numbers": lambda a: a.update(cell_names=np.arange(2)),
    "a digest that is a list": lambda a: a.update(recipe_digest=np.array(["b2"])),
}


@pytest.mark.parametrize("change", CHANGES)
def test_what_no_report_writes_is_refused(change: str, tmp_path: Path) -> None:
    path = write_pictures(tmp_path / "pictures.npz", some(), **DIGESTS)
    with np.load(path) as read:
        arrays: Arrays = dict(read)
    CHANGES[change](arrays)
    np.savez(path, **arrays)  # type: ignore[arg-type]
    with pytest.raises(InkdriftError, match=r"pictures\.npz: this is not what a report writes"):
        read_pictures(path, **DIGESTS)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=100)
@given(data=st.data())
def test_no_flipped_byte_does_anything_but_an_error_of_ours(
    data: st.DataObject, tmp_path: Path
) -> None:
    path = write_pictures(tmp_path / "pictures.npz", some(), **DIGESTS)
    bent = bytearray(path.read_bytes())
    bent[data.draw(st.integers(0, len(bent) - 1))] ^= data.draw(st.integers(1, 255))
    path.write_bytes(bent)
    try:
        read_pictures(path, **DIGESTS)
    except InkdriftError as error:
        assert str(error).startswith(str(path))
