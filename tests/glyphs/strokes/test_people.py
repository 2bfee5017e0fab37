"""Hands differ, writers of one hand differ, and a writer's glyphs resemble each other."""

from __future__ import annotations

import numpy as np
import pytest

from gen.glyphs.strokes import CLASSES, HANDS, write_strokes
from gen.glyphs.strokes.people import crowd, ways_of
from gen.glyphs.strokes.shape import PATHS, shapes

ROUNDS = 12


def paths_of(writers: int) -> np.ndarray:
    """Pen paths free of place and size: (rounds, writers, 10 digits, samples * 2)."""
    glyphs = write_strokes(count=10 * writers * ROUNDS, writers=writers, frame=(100, 100), seed=21)
    ends = glyphs.strokes(np.arange(len(glyphs))).segments[:, :, 0]
    ends = ends - ends.mean(axis=1, keepdims=True)
    return (ends / 70).reshape(ROUNDS, writers, 10, -1)


def nearest_writer(paths: np.ndarray) -> np.ndarray:
    """For each writer, who the last half of the rounds is taken for, by the first half."""
    known, asked = (np.median(half, axis=0) for half in np.split(paths, 2))
    far = np.abs(known[:, None] - asked[None]).mean(axis=(2, 3))
    return far.argmin(axis=0)


@pytest.mark.parametrize("writers", [24, 60])
def test_a_writer_is_known_again_by_later_glyphs(writers: int) -> None:
    """Of 24 or 60, nearly all; by chance it would be one."""
    right = nearest_writer(paths_of(writers)) == np.arange(writers)
    assert right.mean() >= 0.9


def test_writers_of_one_hand_differ_from_each_other_more_than_from_themselves() -> None:
    paths = paths_of(3 * len(HANDS))
    early, late = (np.median(half, axis=0) for half in np.split(paths, 2))
    for hand in range(len(HANDS)):
        mine = np.arange(hand, 3 * len(HANDS), len(HANDS))
        itself = np.abs(early[mine] - late[mine]).mean()
        others = np.abs(early[mine] - late[np.roll(mine, 1)]).mean()
        assert others > 1.3 * itself, HANDS[hand].name


def test_shuffled_writers_are_not_known_again() -> None:
    """The measure can fail: glyphs dealt to no writer in particular have no likeness."""
    paths = paths_of(24)
    order = np.random.default_rng(0)
    dealt = np.stack([round_[order.permutation(24)] for round_ in paths])
    assert (nearest_writer(dealt) == np.arange(24)).mean() < 0.3


def test_there_are_at_least_eight_hands_and_no_two_write_alike() -> None:
    assert len({hand.name for hand in HANDS}) == len(HANDS) >= 8
    habits = [
        tuple(shape for label in CLASSES for shape, _ in ways_of(number, label)[:1])
        for number in range(len(HANDS))
    ]
    for number, mine in enumerate(habits):
        for other in habits[:number]:
            differ = sum(a != b for a, b in zip(mine, other, strict=True))
            assert differ >= 9, "a quarter of the characters at least"


def test_every_way_that_a_hand_likes_is_known_and_every_way_is_liked_by_some_hand() -> None:
    liked = set()
    for number, hand in enumerate(HANDS):
        for label, ways in hand.likes.items():
            assert set(ways.split()) <= set(PATHS[label]), (hand.name, label)
            assert len(set(ways.split())) == len(ways.split()), (hand.name, label)
        for label in CLASSES:
            named = hand.likes.get(label, " ".join(PATHS[label])).split()
            liked |= {(label, way) for way in named}
            shares = [share for _, share in ways_of(number, label)]
            assert sum(shares) == pytest.approx(1.0)
            assert min(shares) > 0
    assert liked == {(label, way) for label, ways in PATHS.items() for way in ways}


def test_every_character_has_several_ways_and_digits_at_least_four() -> None:
    assert "".join(CLASSES) == "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert all(len(PATHS[label]) >= 3 for label in CLASSES)
    assert all(len(PATHS[label]) >= 4 for label in "0123456789")
    table = shapes()
    assert len(table.keys) == sum(map(len, PATHS.values()))


def test_slants_lean_both_ways_and_within_what_people_do() -> None:
    shear = crowd(0, 1200, tuple("0123456789")).shear
    low, high = np.percentile(shear, [2, 98])
    assert -0.36 < low < -0.1  # tangents of -20 and -6 degrees
    assert 0.36 < high < 0.75  # of 20 and 37 degrees


def test_hands_are_told_by_writer() -> None:
    glyphs = write_strokes(count=10, writers=14)
    assert glyphs.hands[:2] == (HANDS[0].name, HANDS[1].name)
    assert glyphs.hands[12] == HANDS[0].name
