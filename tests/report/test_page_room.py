"""A page holds each picture once, and fewer of them where they would make it too large."""

from __future__ import annotations

import base64
import io
from dataclasses import replace
from types import ModuleType

import numpy as np
import pytest
from PIL import Image

from gen.report.album import PREFIX, Album
from gen.report.findings import find
from gen.report.page import as_html
from gen.report.room import in_room
from gen.report.run import RunInfo
from gen.report.shown import ShownGrid
from tests.report.page_reader import page_data
from tests.report.test_page import noisy


def test_pictures_that_look_alike_are_one() -> None:
    album = Album()
    one = np.arange(12, dtype=np.uint8).reshape(3, 4)
    assert album.number(one) == album.number(one.copy()) == 0
    assert album.number(one.reshape(4, 3)) == 1  # the same bytes in another frame


def test_the_data_holds_what_the_script_wants_and_the_markup_has_not() -> None:
    album = Album()
    images = [np.full((4, 4), shade, np.uint8) for shade in range(3)]
    assert [album.later(images[0]), album.later(images[1]), album.number(images[2])] == [0, 1, 2]
    album.img(images[0], "shown")
    held = album.rest()
    assert [bool(uri) for uri in held] == [False, True, False]
    with Image.open(io.BytesIO(base64.b64decode(held[1]))) as read:
        np.testing.assert_array_equal(255 - np.asarray(read), images[1])


def test_every_picture_that_the_script_may_show_is_in_the_page_once(planted: ModuleType) -> None:
    made = planted.thorough()
    rng = np.random.default_rng(2)
    shown = noisy(made, planted.shown(made), rng)
    ((first, *rest),) = (grid.cells for grid in shown.grids)
    alone = replace(first[0], image=np.full((28, 28), 77, np.uint8))  # nowhere else on the page
    shown = replace(shown, grids=(ShownGrid(((alone, *first[1:]), *rest)),))
    text = as_html(made, find(made), RunInfo(), shown)
    data = page_data(text)
    held = [uri for uri in data["pictures"] if uri]
    assert len(held) == len(set(held))
    wanted = [each[0] for s in data["sweeps"] for level in s["levels"] for each in level["misread"]]
    wanted += [each[0] for s in data["sweeps"] for glyph in s["glyphs"] for each in glyph["seen"]]
    wanted += [cell[0] for grid in data["grids"] for row in grid for cell in row]
    for number in wanted:
        in_markup = f'data-picture="{number}"' in text
        assert bool(data["pictures"][number]) != in_markup
    assert not any(PREFIX + uri in text for uri in held)


@pytest.mark.parametrize(("chars", "followed", "misread", "says"), [
    (10**9, 6, 6, ""),
    (1_400_000, 6, 4, "So that this file stays small, at most 4 misread glyphs can be seen"),
    (700_000, 3, 2, "at most 3 glyphs can be followed and at most 2 misread glyphs can be seen"),
    (130_000, 1, 0, "at most 1 glyph can be followed and no misread glyphs can be seen"),
])  # fmt: skip
def test_fewer_glyphs_are_shown_where_all_would_take_too_much_room(
    planted: ModuleType, chars: int, followed: int, misread: int, says: str
) -> None:
    made = planted.evaluation(planted.along_x(planted.bell(0, 5)))
    many = planted.evaluation(*[made.curves[0]] * 5)
    shown = noisy(many, planted.shown(many, 32), np.random.default_rng(1))
    album = Album()
    few, said = in_room(shown, album, most_chars=chars)
    assert {len(sweep.followed) for sweep in few.sweeps} == {followed}
    assert {len(level) for sweep in few.sweeps for level in sweep.misread} == {misread}
    assert says in said
    assert bool(said) == bool(says)


def test_grids_go_last(planted: ModuleType) -> None:
    made = planted.thorough()
    few, said = in_room(planted.shown(made), Album(), most_chars=10)
    assert few.grids == ()
    assert said.endswith("and none in the cells of grids.")
    assert len(few.at_nominal) == len(planted.shown(made).at_nominal)


def test_of_grids_nothing_is_said_where_there_are_none(planted: ModuleType) -> None:
    made = planted.slipped()
    _, said = in_room(planted.shown(made), Album(), most_chars=10)
    assert said.endswith("no misread glyphs can be seen at a level.")


def test_what_was_left_out_is_said_over_the_sweeps(
    planted: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = planted.slipped()
    shown = planted.shown(made)
    assert "stays small" not in as_html(made, find(made), RunInfo(), shown)
    monkeypatch.setattr("gen.report.page.in_room", lambda s, a: in_room(s, a, most_chars=2_000))
    text = as_html(made, find(made), RunInfo(), shown)
    assert text.index("stays small") > text.index("Each sweep")
