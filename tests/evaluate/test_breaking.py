"""Where single glyphs break."""

from __future__ import annotations

import numpy as np
import pytest

from gen.evaluate.breaking import breaking, first_misread


def test_each_side_is_followed_outwards_from_nominal() -> None:
    right = np.array(
        [
            [1, 0, 1, 1],  # -2
            [1, 1, 0, 1],  # -1
            [1, 1, 1, 0],  # 0: the last glyph is misread from the start and not followed
            [1, 0, 0, 1],  # 1
            [0, 1, 0, 1],  # 3
        ],
        bool,
    )
    down, up = breaking([-2.0, -1.0, 0.0, 1.0, 3.0], right, nominal=0.0)
    assert (down.side, down.levels, down.counts, down.never) == ("down", (-1.0, -2.0), (1, 1), 1)
    assert down.quartiles == (-1.0, -2.0, None)
    assert (up.side, up.levels, up.counts, up.never) == ("up", (1.0, 3.0), (2, 1), 0)
    assert up.quartiles == (1.0, 1.0, 3.0)


def test_a_glyph_that_is_read_again_further_out_has_broken_all_the_same() -> None:
    right = np.array([[1], [0], [1]], bool)
    (up,) = breaking([0.0, 1.0, 2.0], right, nominal=0.0)
    assert (up.counts, up.never) == ((1, 0), 0)


def test_a_side_without_levels_is_left_out() -> None:
    assert breaking([0.0], np.ones((1, 5), bool), nominal=0.0) == ()
    assert [side.side for side in breaking([0.0, 1.0], np.ones((2, 5), bool), nominal=0.0)] == [
        "up"
    ]


def test_without_a_glyph_that_nominal_reads_nothing_breaks() -> None:
    (up,) = breaking([0.0, 1.0], np.zeros((2, 5), bool), nominal=0.0)
    assert (up.counts, up.never, up.quartiles) == ((0,), 0, (None, None, None))


@pytest.mark.parametrize("glyphs", [1, 2, 3, 4, 7, 100])
def test_quartiles_are_the_smallest_levels_that_reach_a_quarter(
    rng: np.random.Generator, glyphs: int
) -> None:
    right = rng.random((6, glyphs)) < 0.8
    right[0] = True
    (up,) = breaking([float(k) for k in range(6)], right, nominal=0.0)
    for quarters, found in zip((1, 2, 3), up.quartiles, strict=True):
        reached = [k for k in range(1, 6) if sum(up.counts[:k]) / glyphs >= quarters / 4]
        assert found == (float(reached[0]) if reached else None)
    assert sum(up.counts) + up.never == glyphs


def test_first_misread_is_the_loop_over_levels(rng: np.random.Generator) -> None:
    right = rng.random((5, 200)) < 0.7
    slow = [next((k for k in range(5) if not right[k, glyph]), 5) for glyph in range(200)]
    assert first_misread(right).tolist() == slow
