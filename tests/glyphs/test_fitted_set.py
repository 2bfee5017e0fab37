"""A whole set fitted: what is said of it, and that a large one is the same."""

from __future__ import annotations

import numpy as np
import pytest

from gen.glyphs import fitted_set
from gen.glyphs.base import Pixels
from gen.glyphs.fit import Fit, Fitted, fit_pictures
from gen.glyphs.fitted_set import fitted_in_pieces, gathered


def notes(images: Pixels, fit: Fit) -> str:
    return "\n".join(gathered(fitted_in_pieces(images, fit), len(images), fit)[1])


def bars(count: int = 3, side: int = 40) -> Pixels:
    """Upright bars, 20 px long and 4 px wide, each further right."""
    images = np.zeros((count, side, side), np.uint8)
    for place in range(count):
        images[place, 5:25, 6 + place : 10 + place] = 255
    return images


def test_pictures_that_are_enlarged_are_counted_with_how_their_pixels_are_seen() -> None:
    images = bars()
    images[0, 15:] = 0  # a bar of 10 px becomes 20
    assert "1 of 3 pictures enlarged: each pixel stays a square" in notes(
        images, Fit("box centred")
    )
    drawn = notes(images, Fit("as drawn", (80, 80), stroke=3.0))
    assert "3 of 3 pictures enlarged: linear between pixels" in drawn
    assert "enlarged" not in notes(bars(), Fit("box centred"))


def test_pictures_whose_ink_leaves_the_frame_are_named() -> None:
    images = bars()
    images[1, 20:25, :] = 255  # a foot far to the right, which the centroid is beside
    fit = Fit("centre of mass", box_px=28)
    assert "ink of 1 of 3 pictures leaves the frame" in notes(images, fit)
    assert "of it: numbers 1" in notes(images, fit)
    assert "leaves the frame" not in notes(images, Fit("box centred"))


def test_paper_taken_for_the_mark_is_told_where_most_pictures_have_it() -> None:
    images = bars()
    images[:2] = np.maximum(images[:2], 9)
    told = "in 2 of 3 pictures the ink reaches all four edges"
    assert told in notes(images, Fit("box centred"))
    assert told not in notes(images, Fit("as drawn"))
    assert told not in notes(images, Fit("box centred", ink_from=10))


def test_ink_of_just_the_grey_that_ink_begins_with_is_ink() -> None:
    page = bars(1) // 255 * np.uint8(100)
    assert fit_pictures(page, Fit("box centred", ink_from=100)).images.max() == 100
    assert fit_pictures(page, Fit("box centred", ink_from=101)).images.max() == 0


def test_a_large_set_is_the_same_on_disk_and_so_is_what_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fit = Fit("box centred")

    def alone() -> list[Fitted]:
        return [fit_pictures(one[None], fit) for one in bars()]

    held, said = gathered(iter(alone()), 3, fit)
    monkeypatch.setattr(fitted_set, "LARGE", 64)
    left, again = gathered(iter(alone()), 3, fit)
    assert isinstance(left, np.memmap)
    np.testing.assert_array_equal(left, held)
    assert again == said
