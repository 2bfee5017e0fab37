from __future__ import annotations

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs.load import load_glyphs
from gen.glyphs.polarity import ink_votes, settled


def test_dark_ink_on_bright_paper_is_inverted_and_stated(tags: np.ndarray) -> None:
    glyphs = load_glyphs(255 - tags, labels=[0] * 6)
    np.testing.assert_array_equal(glyphs.images, tags)
    assert glyphs.provenance.ink == "dark"
    assert glyphs.provenance.notes == (
        "ink is dark on bright paper, as 6 of 6 pictures show; inverted",
    )


@pytest.mark.parametrize(("paper", "ink"), [(200, 40), (140, 30), (90, 10), (255, 180)])
def test_grey_paper_is_told_by_the_mark_on_it_and_not_by_its_own_tone(
    tags: np.ndarray, paper: int, ink: int
) -> None:
    page = np.where(tags > 0, np.uint8(ink), np.uint8(paper))
    assert ink_votes(page).ink == "dark"
    assert ink_votes(255 - page).ink == "bright"


def test_noise_on_the_paper_does_not_change_the_verdict(tags: np.ndarray) -> None:
    rng = np.random.Generator(np.random.Philox(3))
    page = np.where(tags > 0, 40, 200) + rng.integers(-15, 16, size=tags.shape)
    assert ink_votes(page.astype(np.uint8)).ink == "dark"


def test_a_minority_the_other_way_round_is_counted(tags: np.ndarray) -> None:
    tags[0] = 255 - tags[0]
    _, ink, note = settled(tags, "auto")
    assert ink == "bright"
    assert note == "ink is bright on dark paper, as 5 of 6 pictures show; kept"


@pytest.mark.parametrize("turned", [3, 6])
def test_an_even_split_and_blank_pages_are_too_even_to_call(tags: np.ndarray, turned: int) -> None:
    tags[:turned] = 255 - tags[:turned] if turned == 3 else 255
    same, ink, note = settled(tags, "auto")
    assert ink == "bright"
    assert note.startswith("ink polarity too even to call")
    assert note.endswith("of 6; kept as bright ink")
    np.testing.assert_array_equal(same, tags)


def test_blank_pages_have_no_say(tags: np.ndarray) -> None:
    page = 255 - tags
    page[:4] = 255
    votes = ink_votes(page)
    assert (votes.bright, votes.dark, votes.total, votes.ink) == (0, 2, 6, "dark")


def test_the_grain_of_blank_paper_has_no_say(tags: np.ndarray) -> None:
    page = 255 - tags
    page[:4] = 220
    page[:4, 3, 2] = 230  # a fleck, brighter than the paper
    votes = ink_votes(page)
    assert (votes.bright, votes.dark) == (0, 2)


def test_polarity_can_be_set_and_a_contradiction_is_stated(tags: np.ndarray) -> None:
    kept = load_glyphs(255 - tags, labels=[0] * 6, ink="bright")
    np.testing.assert_array_equal(kept.images, 255 - tags)
    assert kept.provenance.notes == (
        "ink is bright on dark paper, as told, though 6 of 6 pictures look the other way; kept",
    )
    turned = load_glyphs(255 - tags, labels=[0] * 6, ink="dark")
    assert turned.provenance.notes == ("ink is dark on bright paper, as told; inverted",)


def test_another_word_for_ink_is_refused(tags: np.ndarray) -> None:
    with pytest.raises(GlyphError, match=r"unknown ink\n.*'black'\n.*auto, bright, dark"):
        load_glyphs(tags, labels=[0] * 6, ink="black")


@pytest.mark.parametrize("frame", [(1, 1), (1, 5), (5, 1), (2, 2)])
def test_frames_that_are_all_border_are_survived(frame: tuple[int, int]) -> None:
    assert ink_votes(np.full((3, *frame), 255, dtype=np.uint8)).ink is None
