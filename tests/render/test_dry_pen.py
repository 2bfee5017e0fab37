"""A dry pen: the share left bare, on strokes along their middle line and on pictures in ink."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import ndimage

from gen.glyphs.base import Glyphs, Strokes
from gen.glyphs.strokes import write_strokes
from gen.perturb.base import DryPen
from gen.recipe.model import Recipe
from gen.render.dry_strokes import dry_strokes
from gen.render.engine import Renderer
from gen.render.plan import make_plan
from tests.render.measures import Pixels, Real, ink
from tests.render.support import Drawn, blobs, images_of, raster, rendered, sweep

FRAME = (41, 120)
COUNT = 200
LINES = Drawn(
    Strokes(
        np.repeat(np.array([[[[20.0, 10.0], [20.0, 109.0]]]]), COUNT, axis=0),
        np.full((COUNT, 1), 3.0),
    ),
    FRAME,
)
PICTURES = blobs(COUNT)
GAP_PX = 0.1
"""A gap has two round ends. An end that keeps the area of its disc is 1 / (24 r) px shorter at
the very tip, 0.06 px for two of r = 1.5; dots of less than a px add a little."""
SLIVER_PX = 0.8
"""A glyph has one gap in part, which may cut off less than a px between itself and the next."""
LOOK_PX = 0.1
"""The line is looked at every 1/20 px, at both ends of a gap."""
LEVELS = [0.05, 0.2, 0.5, 0.75]


def inked_along(images: Pixels) -> Real:
    """Cover along the middle line, looked at every 1/20 px by scipy: (n, places)."""
    x = np.arange(10.0, 109.0, 0.05)
    at = np.stack([np.full_like(x, 20.0), x])
    return np.array([ndimage.map_coordinates(i / 255.0, at, order=1) for i in images])


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("gap", [3.0, 6.0])
def test_the_share_of_the_line_that_is_bare_is_what_was_asked(level: float, gap: float) -> None:
    """What is missing along the line, in px of its 99, with GAP_PX allowed to a gap."""
    seen = inked_along(images_of(LINES, "dry-pen", level, gap_px=gap))
    gaps = (np.diff((seen < 0.5).astype(int), axis=1) == 1).sum(axis=1)
    off_px = 99 * (1 - seen.mean(axis=1) - level)
    assert abs(off_px.mean()) < GAP_PX * gaps.mean()
    assert (np.abs(off_px) < GAP_PX * gaps + SLIVER_PX).all()


def test_gaps_are_as_long_as_asked_when_they_are_few() -> None:
    seen = inked_along(images_of(LINES, "dry-pen", 0.1, gap_px=5.0)) < 0.5
    runs, several = ndimage.label(seen, structure=[[0, 0, 0], [1, 1, 1], [0, 0, 0]])
    lengths = ndimage.sum_labels(seen, runs, np.arange(1, several + 1)) * 0.05
    # Of 20 slots of 4.95 px two go bare: single gaps, or now and then one of twice that.
    assert_allclose(np.median(lengths), 4.95, rtol=0, atol=LOOK_PX)
    assert ((lengths < 4.95 + 3 * LOOK_PX) | ((lengths > 9.6) & (lengths < 10.2))).mean() > 0.98


def test_gaps_lie_everywhere_alike() -> None:
    seen = inked_along(images_of(LINES, "dry-pen", 0.5, gap_px=5.0)) < 0.5
    tenths = seen[:, : seen.shape[1] // 10 * 10].reshape(COUNT, 10, -1).mean(axis=(0, 2))
    assert_allclose(tenths, 0.5, rtol=0, atol=0.13)  # four deviations of 400 slots, half bare


@pytest.mark.parametrize("level", LEVELS)
def test_pictures_lose_that_share_of_their_ink(level: float) -> None:
    seen = images_of(PICTURES, "dry-pen", level)
    assert_allclose(1 - ink(seen) / ink(PICTURES.images), level, rtol=0, atol=0.003)


def test_a_bar_in_a_picture_is_cut_across() -> None:
    """Cells of the nearest place: a gap takes the whole width of the stroke, or nearly."""
    bar = rendered(LINES, "translation", 0.0).images
    seen = images_of(raster(bar), "dry-pen", 0.3, gap_px=5.0)
    columns = seen.sum(axis=1) / np.maximum(bar.sum(axis=1), 1)
    inside = columns[:, 12:108]
    assert ((inside < 0.1) | (inside > 0.9)).mean() > 0.75
    assert (inside < 0.1).mean() > 0.15


SOURCES: dict[str, Glyphs] = {
    "pictures": PICTURES,
    "strokes": write_strokes(classes="0123456789", count=60, seed=2),
}


@pytest.mark.parametrize("source", SOURCES)
def test_ink_falls_evenly_with_the_level_and_never_comes_back(source: str) -> None:
    glyphs = SOURCES[source]
    before = rendered(glyphs, "translation", 0.0).images
    levels = [0.1, 0.3, 0.5, 0.7, 0.9]
    seen = [before, *(images_of(glyphs, "dry-pen", level) for level in levels)]
    totals = np.array([ink(each).mean() for each in seen]) / ink(before).mean()
    assert (np.diff(totals) < 0).all()
    assert_allclose(totals[1:], 1 - np.array(levels), rtol=0, atol=0.09)
    for fewer, more in zip(seen[1:], seen[:-1], strict=True):
        grown = fewer.astype(int) - more
        # A dot between two gaps is drawn apart; its edge may be rounded another way.
        assert (grown > (0 if source == "pictures" else 8)).mean() < 0.002


@pytest.mark.parametrize("source", SOURCES)
def test_another_seed_breaks_strokes_elsewhere_and_another_glyph_too(source: str) -> None:
    glyphs = SOURCES[source]
    plans = [
        make_plan(Recipe("", "", seed, (sweep("dry-pen", [0.3]),)), glyphs.frame) for seed in (1, 2)
    ]
    one, other = (
        Renderer(plan, glyphs).block(np.arange(20)).render(plan.cells[1]).images for plan in plans
    )
    assert (one != other).any(axis=(1, 2)).all()
    lines = images_of(LINES, "dry-pen", 0.3)
    assert len(np.unique(lines.reshape(COUNT, -1), axis=0)) == COUNT


def test_lifts_and_corners_keep_the_total() -> None:
    """Three strokes, one of two pieces, and repeated pieces that must not count."""
    pieces = [
        [[5.0, 5.0], [5.0, 25.0]],
        [[5.0, 25.0], [25.0, 25.0]],
        [[15.0, 5.0], [30.0, 5.0]],
        [[35.0, 5.0], [35.0, 30.0]],
    ]
    segments = np.array([[*pieces, pieces[-1], pieces[-1]]])
    given = Strokes(segments, np.full((1, 6), 1e-6))  # a pen of no width: no round ends
    for share in (0.1, 0.35, 0.6, 0.9):
        for index in range(8):
            dry = dry_strokes(given, DryPen(share, 2.0), seed=3, indices=np.array([index]))
            unlike = np.unique(dry.segments[0].reshape(-1, 4), axis=0).reshape(-1, 2, 2)
            left = np.abs(unlike[:, 1] - unlike[:, 0]).sum()
            assert_allclose(left, 80 * (1 - share), rtol=0, atol=1e-4)


def test_a_share_of_nothing_gives_the_same_strokes() -> None:
    given = LINES.strokes(np.arange(3))
    assert dry_strokes(given, DryPen(0.0, 2.0), seed=0, indices=np.arange(3)) is given


def test_a_blank_picture_stays_blank() -> None:
    assert images_of(raster(np.zeros((2, 28, 28), np.uint8)), "dry-pen", 0.5).max() == 0
