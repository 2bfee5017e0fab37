"""Strokes to pixels, against closed-form geometry."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from gen.glyphs.base import Strokes
from gen.glyphs.strokes import write_strokes
from gen.render import edge
from gen.render.coverage import draw
from gen.render.overlap import square_overlap
from tests.render import tolerances as tol
from tests.render.measures import centroids, covariances
from tests.render.support import images_of, rendered

ANGLES = np.linspace(0, np.pi, 200, endpoint=False)
RNG = np.random.default_rng(5)
PLACES = RNG.random((200, 2))


def capsules(width_px: float, length_px: float = 12.0) -> tuple[Strokes, np.ndarray]:
    """200 straight strokes at all angles and places between the pixels, with their middles."""
    middle = 23.5 + PLACES
    half = np.stack([np.sin(ANGLES), np.cos(ANGLES)], axis=1) * length_px / 2
    segments = np.stack([middle - half, middle + half], axis=1)[:, None]
    return Strokes(segments, np.full((200, 1), width_px)), middle


def ink_px2(images: np.ndarray) -> np.ndarray:
    return images.sum(axis=(1, 2)) / 255


@pytest.mark.parametrize("width_px", [1.0, 2.0, 3.0, 4.0, 6.0])
def test_ink_over_length_is_the_width_of_a_capsule(width_px: float) -> None:
    """Area of a stadium: pi r**2 + 2 r a (elementary geometry)."""
    strokes, _ = capsules(width_px)
    seen = (ink_px2(draw(strokes, (48, 48))) - np.pi * width_px**2 / 4) / 12.0
    assert np.abs(seen - width_px).mean() < tol.STROKE_PX
    assert abs(seen.mean() - width_px) < tol.STROKE_MEAN_PX


@pytest.mark.parametrize("radius_px", [0.75, 1.0, 1.5, 2.0, 3.0])
def test_ink_of_a_dot_is_the_area_of_a_disc(radius_px: float) -> None:
    middle = 10.0 + PLACES
    dots = Strokes(np.stack([middle, middle], axis=1)[:, None], np.full((200, 1), 2 * radius_px))
    seen = ink_px2(draw(dots, (24, 24)))
    assert_allclose(seen.mean(), np.pi * radius_px**2, rtol=0, atol=0.01)


@pytest.mark.parametrize(
    ("length_px", "radius_px", "along", "across"),
    # Second moments of a stadium over its area: parallel axes, half discs' centroid 4r/3pi.
    [(3.0, 2.0, 3.3314121073, 1.1628242146), (10.0, 1.0, 11.2060227827, 0.3220203960)],
)
def test_second_moments_of_a_capsule(
    length_px: float, radius_px: float, along: float, across: float
) -> None:
    strokes, _ = capsules(2 * radius_px, length_px)
    values = np.linalg.eigvalsh(covariances(draw(strokes, (48, 48))))
    # A square pixel has a variance of 1/12 of its own that pixel centres do not see twice.
    assert_allclose(values.mean(axis=0), [across + 1 / 12, along + 1 / 12], rtol=0, atol=0.02)


def test_the_centroid_of_a_stroke_is_its_middle() -> None:
    strokes, middle = capsules(2.5)
    seen = centroids(draw(strokes, (48, 48))) - middle
    assert np.abs(seen).mean() < tol.LONE_STROKE_CENTROID_PX
    assert np.abs(seen.mean(axis=0)).max() < tol.LONE_STROKE_CENTROID_PX / 5


@pytest.mark.parametrize("shift", [0.1, 0.5, -1.25, 3.0])
def test_written_marks_move_by_what_was_asked(shift: float) -> None:
    glyphs = write_strokes(classes="0123456789", count=300, seed=8)
    still = images_of(glyphs, "translation", 0.0)
    moved = rendered(glyphs, "translation", shift, along="y")
    kept = moved.ink_lost == 0
    seen = (centroids(moved.images) - centroids(still))[kept]
    assert kept.sum() >= 150
    assert np.abs(seen - (shift, 0.0)).mean() < tol.CENTROID_PX


@pytest.mark.parametrize(
    ("offset", "expected"),
    # Half-plane cover of a unit pixel by an edge along the grid: 1/2 + c, held to 0..1.
    [(0.25, 0.75), (0.0, 0.5), (-0.25, 0.25), (0.5, 1.0), (-0.5, 0.0)],
)
def test_an_edge_along_the_grid_covers_its_share_of_the_pixel(
    offset: float, expected: float
) -> None:
    wide = Strokes(np.array([[[[0.0 + offset, -40.0], [0.0 + offset, 40.0]]]]), np.array([[20.0]]))
    assert draw(wide, (21, 3))[0, 10, 1] == round(expected * 255 + 1e-9)


def test_a_stroke_on_pixel_centres_is_exact() -> None:
    line = Strokes(np.array([[[[3.0, -9.0], [3.0, 19.0]]]]), np.array([[3.0]]))
    assert draw(line, (7, 5))[0, :, 2].tolist() == [0, 0, 255, 255, 255, 0, 0]


@pytest.mark.parametrize("width_px", [0.1, 0.5, 0.9])
def test_a_hairline_covers_its_width_and_no_more(width_px: float) -> None:
    line = Strokes(np.array([[[[10.3, -20.0], [10.3, 40.0]]]]), np.array([[width_px]]))
    assert_allclose(draw(line, (21, 5))[0, :, 2].sum() / 255, width_px, rtol=0, atol=0.01)


@pytest.mark.parametrize("angle", [0.0, 0.3, 0.785])
def test_a_thin_stroke_beside_a_wide_one_keeps_its_own_ink(angle: float) -> None:
    """Both in one glyph, far apart: 0.4 px and 3 px wide, 20 px long."""
    way = 10 * np.array([np.sin(angle), np.cos(angle)])
    middles = np.array([[20.3, 20.4], [20.3, 60.7]])
    segments = np.stack([middles - way, middles + way], axis=1)[None]
    image = draw(Strokes(segments, np.array([[0.4, 3.0]])), (41, 82))[0] / 255
    for columns, width_px in ((np.s_[:, :40], 0.4), (np.s_[:, 40:], 3.0)):
        seen = image[columns].sum() / (20 + np.pi * width_px / 4)
        bound = tol.STROKE_PX if width_px > 1 else tol.UNEVEN_HAIRLINE_PX
        assert_allclose(seen, width_px, rtol=0, atol=bound)


def test_no_pen_no_ink() -> None:
    strokes, _ = capsules(0.0)
    assert not draw(strokes, (48, 48)).any()


def test_pieces_of_one_line_leave_no_seam() -> None:
    whole = Strokes(np.array([[[[5.2, 4.0], [15.7, 16.0]]]]), np.array([[2.4]]))
    knots = np.linspace([5.2, 4.0], [15.7, 16.0], 30)
    pieces = Strokes(np.stack([knots[:-1], knots[1:]], axis=1)[None], np.full((1, 29), 2.4))
    assert_allclose(
        draw(pieces, (21, 21)).astype(int), draw(whole, (21, 21)).astype(int), rtol=0, atol=1
    )


def test_a_repeated_piece_changes_nothing() -> None:
    once = Strokes(np.array([[[[5.2, 4.0], [15.7, 16.0]]]]), np.array([[2.4]]))
    thrice = Strokes(once.segments.repeat(3, axis=1), once.width_px.repeat(3, axis=1))
    assert draw(once, (21, 21)).tobytes() == draw(thrice, (21, 21)).tobytes()


def test_what_lies_outside_the_frame_is_not_drawn_into_it() -> None:
    far = Strokes(np.array([[[[-30.0, -30.0], [-20.0, -20.0]]]]), np.array([[3.0]]))
    assert not draw(far, (21, 21)).any()


@pytest.mark.parametrize("frame", [(28, 28), (20, 33), (9, 50)])
def test_a_frame_is_a_window_on_a_larger_one(frame: tuple[int, int]) -> None:
    strokes, _ = capsules(3.0)
    shifted = Strokes(strokes.segments - 20.0, strokes.width_px)
    large = draw(strokes, (80, 80))
    expected = large[:, 20 : 20 + frame[0], 20 : 20 + frame[1]]
    assert_allclose(draw(shifted, frame).astype(int), expected.astype(int), rtol=0, atol=1)


@pytest.mark.parametrize(
    ("angle_deg", "distance_px", "expected"),
    # Half-plane cover of a unit pixel in closed form, and a polygon clipped numerically.
    [
        (0.0, 0.25, 0.75),
        (45.0, 0.0, 0.5),
        (45.0, 0.25, 0.7910533906),
        (45.0, -0.5, 0.0428932188),
        (45.0, 0.5**0.5, 1.0),
        (30.0, 0.1, 0.6154700538),
        (30.0, 0.2, 0.7306068977),
        (30.0, -0.2, 0.2693931023),
        (30.0, 0.5, 0.9613248654),
    ],
)
def test_cover_of_a_pixel_by_an_edge_at_an_angle(
    angle_deg: float, distance_px: float, expected: float
) -> None:
    direction = np.array([round(angle_deg)])
    seen = edge.edge_cover(np.array([distance_px], np.float32), direction)
    assert_allclose(seen, expected, rtol=0, atol=1e-6)


def test_directions_between_two_of_the_table_miss_by_under_a_grey_level() -> None:
    fine = np.deg2rad(np.linspace(0, 45, 200))
    direction = edge.direction_of(np.sin(fine, dtype=np.float32), np.cos(fine, dtype=np.float32))
    assert np.abs(direction - np.rad2deg(fine)).max() <= 0.5 + 1e-4
    near = direction.astype(np.intp)
    for distance in (0.1, 0.3, 0.5, 0.6):
        y, x = np.cos(fine) * distance, np.sin(fine) * distance
        box = 20 * np.array([[np.sin(fine), -np.cos(fine)], [-np.cos(fine), -np.sin(fine)]])
        corners = [
            np.stack([y, x]) + sign * box[0] + depth * box[1]
            for sign, depth in ((-1, 0), (1, 0), (1, 1), (-1, 1))
        ]
        exact = square_overlap(
            np.stack([c[0] + 0.5 for c in corners], axis=-1),
            np.stack([c[1] + 0.5 for c in corners], axis=-1),
        )
        seen = edge.edge_cover(np.full(200, distance, np.float32), near)
        assert np.abs(seen - exact).max() < 1 / 255
        assert abs((seen - exact).mean()) < 0.2 / 255
