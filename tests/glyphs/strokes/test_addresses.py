"""A glyph is decided by its address: by nothing that is drawn beside it."""

from __future__ import annotations

import numpy as np
import pytest

from gen.glyphs.strokes import CLASSES, write_strokes

COUNT = 700


def same(left: np.ndarray, right: np.ndarray) -> bool:
    return left.shape == right.shape and left.tobytes() == right.tobytes()


def test_a_glyph_alone_is_the_glyph_in_a_batch_byte_for_byte() -> None:
    glyphs = write_strokes(classes=CLASSES, count=COUNT, seed=3)
    batch = glyphs.strokes(np.arange(COUNT))
    for index in (0, 1, 255, 256, 257, COUNT - 1):
        alone = glyphs.strokes(np.array([index]))
        assert same(alone.segments[0], batch.segments[index])
        assert same(alone.width_px[0], batch.width_px[index])


def test_order_and_repeats_are_as_asked() -> None:
    glyphs = write_strokes(count=COUNT, seed=3)
    batch = glyphs.strokes(np.arange(COUNT)).segments
    asked = np.array([699, 4, 4, 300])
    assert same(glyphs.strokes(asked).segments, batch[asked])


def test_asking_for_more_glyphs_changes_none_of_the_first() -> None:
    few = write_strokes(count=31, seed=8).strokes(np.arange(31))
    many = write_strokes(count=5000, seed=8).strokes(np.arange(31))
    assert same(few.segments, many.segments)
    assert same(few.width_px, many.width_px)


def test_the_same_seed_gives_the_same_bits_and_another_seed_no_glyph_of_them() -> None:
    first, again, other = (
        write_strokes(count=50, seed=seed).strokes(np.arange(50)).segments for seed in (5, 5, 6)
    )
    assert same(first, again)
    assert not any(same(a, b) for a, b in zip(first, other, strict=True))


def test_a_subset_keeps_its_glyphs_labels_and_writers() -> None:
    glyphs = write_strokes(classes="KLM1", count=COUNT, seed=2)
    at = np.array([600, 3, 77])
    part = glyphs.take(at)
    assert same(part.strokes(np.arange(3)).segments, glyphs.strokes(at).segments)
    assert part.labels.tolist() == glyphs.labels[at].tolist()
    assert part.writers is not None
    assert glyphs.writers is not None
    assert part.writers.tolist() == glyphs.writers[at].tolist()
    assert part.classes == glyphs.classes
    assert len(part) == 3


def test_a_subset_of_a_subset_is_counted_within_it() -> None:
    glyphs = write_strokes(count=100, seed=2)
    part = glyphs.take(np.arange(50, 100)).take(np.array([7]))
    assert same(part.strokes(np.array([0])).segments, glyphs.strokes(np.array([57])).segments)


def test_writers_of_a_larger_crowd_begin_with_those_of_a_smaller_one() -> None:
    """The first round of glyphs of two writers is that of any crowd."""
    two = write_strokes(count=20, writers=2, seed=1).strokes(np.arange(20))
    more = write_strokes(count=20, writers=50, seed=1).strokes(np.arange(20))
    assert same(two.segments, more.segments)


def test_labels_are_balanced_and_writers_take_turns() -> None:
    glyphs = write_strokes(classes="ABC", count=3 * 5 * 40, writers=5)
    assert glyphs.counts.tolist() == [200, 200, 200]
    assert glyphs.labels[:5].tolist() == [0, 1, 2, 0, 1]
    table = np.zeros((5, 3), int)
    np.add.at(table, (glyphs.writers, glyphs.labels), 1)
    assert (table == 40).all()


@pytest.mark.parametrize("count", [1, 7, 36, 101])
def test_no_class_has_two_glyphs_more_than_another(count: int) -> None:
    counts = write_strokes(classes=CLASSES, count=count).counts
    assert counts.sum() == count
    assert counts.max() - counts.min() <= 1


def test_the_digest_tells_apart_whatever_decides_the_glyphs() -> None:
    sets = [
        write_strokes(count=20),
        write_strokes(count=21),
        write_strokes(count=20, seed=1),
        write_strokes(count=20, writers=25),
        write_strokes(count=20, frame=(28, 29)),
        write_strokes(count=20, classes="0123456798"),
        write_strokes(count=21).take(np.arange(1, 21)),
    ]
    digests = [glyphs.provenance.digest for glyphs in sets]
    assert len(set(digests)) == len(digests)
    # A subset that holds the same glyphs is the same set, however it was come by.
    assert write_strokes(count=30).take(np.arange(20)).provenance.digest == digests[0]
    assert sets[0].provenance.kind == "strokes"
