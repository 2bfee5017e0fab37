"""One inked pixel pins every sign: which way is positive."""

from __future__ import annotations

import numpy as np
import pytest

from gen.recipe.model import Level
from tests.render.support import dot, images_of


@pytest.mark.parametrize(
    ("name", "level", "options", "lands"),
    [
        ("translation", 2.0, {"along": "x"}, (4, 7)),  # right
        ("translation", -2.0, {"along": "x"}, (4, 3)),
        ("translation", 2.0, {"along": "y"}, (6, 5)),  # down
        ("translation", 2.0, {"along": 90.0}, (2, 5)),  # 90 deg anticlockwise from x is up
        ("translation", 2.0, {"along": 180.0}, (4, 3)),
        ("rotation", 90.0, {}, (3, 4)),  # what was to the right of the centre is above it
        ("rotation", -90.0, {}, (5, 4)),
        ("rotation", 180.0, {}, (4, 3)),
        ("quarter-turns", 1.0, {}, (3, 4)),
        ("quarter-turns", 3.0, {}, (5, 4)),
        ("row-slip", 2.0, {}, (4, 7)),  # two bytes early: two px right
        ("row-slip", -2.0, {}, (4, 3)),
        ("row-slip", 5.0, {}, (5, 1)),  # past the end of the row it wraps into the next
        ("axis-swap", 1.0, {}, (5, 4)),
        ("mirror", 1.0, {"along": "x"}, (4, 3)),
        ("half-turn", 1.0, {}, (4, 3)),
        ("placement", "top left", {}, (0, 0)),
        ("placement", "bottom right", {}, (8, 8)),
        ("placement", "top", {}, (0, 4)),
        ("placement", "left", {"margin_px": 1.0}, (4, 1)),
        ("placement", "box centred", {}, (4, 4)),
        ("placement", "centre of mass", {}, (4, 4)),
        ("placement", "centre of mass, whole px", {}, (4, 4)),
    ],
)
def test_a_dot_right_of_the_centre_lands_where_the_sign_says(
    name: str, level: Level, options: dict[str, Level], lands: tuple[int, int]
) -> None:
    moved = images_of(dot(4, 5), name, level, **options)[0]
    assert [tuple(map(int, place)) for place in np.argwhere(moved)] == [lands]
    assert moved[lands] == 255


def test_mirror_along_y_exchanges_top_and_bottom() -> None:
    assert images_of(dot(1, 5), "mirror", 1.0, along="y")[0, 7, 5] == 255


@pytest.mark.parametrize(("y", "right"), [(2, 1), (6, -1), (4, 0)])
def test_a_slant_moves_what_is_above_the_centre_to_the_right(y: int, right: int) -> None:
    """By its height over the centre times the tangent: 2 px and tan 26.565 deg = 1/2."""
    moved = images_of(dot(y, 5), "slant", 26.56505117707799)[0].astype(float)
    centroid = (moved.sum(axis=0) * np.arange(9)).sum() / moved.sum()
    assert centroid == pytest.approx(5 + right, abs=1e-9)
    assert moved[y].sum() == moved.sum()


def test_scale_doubles_the_distance_from_the_centre() -> None:
    moved = images_of(dot(4, 6), "scale", 2.0)[0].astype(float)
    centroid = (moved.sum(axis=0) * np.arange(9)).sum() / moved.sum()
    assert centroid == pytest.approx(8, abs=0.35)  # the right half of it is outside the frame
    assert moved[:, :6].sum() == 0


def test_whole_px_rule_puts_the_centroid_at_index_14_of_28() -> None:
    moved = images_of(dot(3, 5, (28, 28)), "placement", "centre of mass, whole px")[0]
    assert moved[14, 14] == 255


def test_polarity_and_value_range_change_values_only() -> None:
    glyphs = dot(4, 5)
    assert np.array_equal(images_of(glyphs, "ink-polarity", 1.0), 255 - glyphs.images)
    assert images_of(glyphs, "value-range", 1.0).max() == 1
    assert images_of(glyphs, "value-range", 128.0)[0, 4, 5] == 128
