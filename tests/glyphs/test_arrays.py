from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs.arrays import as_bytes, laid_out
from gen.glyphs.load import load_glyphs

BYTES = np.arange(256, dtype=np.uint8).reshape(1, 16, 16)


@pytest.mark.parametrize("shape", [(4, 6, 6), (4, 36), (4, 6, 6, 1), (4, 1, 6, 6)])
def test_usual_layouts_are_the_same_pictures(shape: tuple[int, ...]) -> None:
    values = np.arange(144).reshape(shape)
    images, _ = laid_out("tags", values)
    np.testing.assert_array_equal(images, np.arange(144).reshape(4, 6, 6))


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        ((5,), "can't be told from the shape"),
        ((5, 37), r"got +shape \(5, 37\)"),
        ((5, 8, 8, 3), "make one grey channel"),
        ((5, 3, 8, 8), "make one grey channel"),
        ((0, 8, 8), "no pictures in it"),
        ((5, 0), "no pictures in it"),
    ],
)
def test_other_layouts_are_refused_with_the_shape(shape: tuple[int, ...], said: str) -> None:
    with pytest.raises(GlyphError, match=said):
        laid_out("tags", np.zeros(shape))


def test_rows_of_values_say_which_frame_was_understood() -> None:
    assert laid_out("tags", np.zeros((3, 784)))[1] == (
        "rows of 784 values understood as 28 x 28 px",
    )


@pytest.mark.parametrize("dtype", [np.float16, np.float32, np.float64])
def test_fractions_of_255_come_back_as_the_bytes_they_were(dtype: Any) -> None:
    seen, notes, _ = as_bytes("tags", (BYTES / 255).astype(dtype))
    np.testing.assert_array_equal(seen, BYTES)
    assert notes == ("values 0 to 1 understood as 0..1, scaled to 0..255",)


@pytest.mark.parametrize("dtype", [np.float32, np.int16, np.int64, np.uint16])
def test_wider_numbers_up_to_255_are_kept(dtype: Any) -> None:
    seen, notes, _ = as_bytes("tags", BYTES.astype(dtype))
    np.testing.assert_array_equal(seen, BYTES)
    assert notes == ("values 0 to 255 understood as 0..255",)


def test_bytes_are_passed_on_without_a_note() -> None:
    assert as_bytes("tags", BYTES)[1] == ()


def test_sixteen_bit_values_are_scaled_and_not_clipped() -> None:
    seen, notes, _ = as_bytes("tags", BYTES.astype(np.uint16) * 257)
    np.testing.assert_array_equal(seen, BYTES)
    assert notes == ("values 0 to 65535 understood as 0..65535, scaled to 0..255",)


def test_truth_values_become_full_ink() -> None:
    seen, _, _ = as_bytes("tags", BYTES > 127)
    assert np.unique(seen).tolist() == [0, 255]


def test_bytes_of_zero_and_one_are_understood_as_such() -> None:
    seen, notes, _ = as_bytes("tags", BYTES // 128)
    assert np.unique(seen).tolist() == [0, 255]
    assert "0..1" in notes[0]


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (np.array([-1.0, 1.0]), r"values are negative\n.*-1 to 1"),
        (np.array([-1, 100], dtype=np.int8), "have wrapped to negative numbers: store them as uin"),
        (np.array([-128, 100], dtype=np.int8), "128 was taken off bytes of 0 to 255: add it again"),
        (np.array([0, 300]), "values are too large"),
        (np.array([0.0, 70000.0]), "values are too large"),
        (np.array([0.0, 7.5]), r"fit no known range\n.*0 to 7.5"),
        (np.array([0.0, np.inf]), "picture 0 holds a value that isn't a finite number"),
        (np.array(["a", "b"]), "pictures aren't numbers"),
        (np.array([1j, 0]), "pictures aren't numbers"),
    ],
)
def test_values_of_no_known_range_are_refused(values: np.ndarray, said: str) -> None:
    with pytest.raises(GlyphError, match=said):
        as_bytes("tags", values.reshape(1, 1, 2))


def test_signed_bytes_reach_full_ink_at_the_most_that_they_can_hold() -> None:
    seen, notes, full = as_bytes("tags", np.array([[[0, 100, 127]]], dtype=np.int8))
    assert seen.tolist() == [[[0, 201, 255]]]  # 100 * 255 / 127 = 200.8
    assert notes == ("values 0 to 127 understood as 0..127, scaled to 0..255",)
    assert full == 127


def test_range_is_judged_over_all_blocks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gen.glyphs.arrays._BLOCK", 16)
    values = np.zeros((40, 4, 4))
    values[20, 0, 0] = 200
    values[[0, -1], 0, 0] = 1
    seen, _, _ = as_bytes("tags", values)
    assert seen[[0, 20, -1], 0, 0].tolist() == [1, 200, 1]


def test_counts_of_zero_to_sixteen_are_spread_over_all_bytes() -> None:
    values = np.arange(17.0).reshape(1, 1, 17)
    seen, notes, _ = as_bytes("tags", values)
    assert seen[0, 0, [0, 4, 16]].tolist() == [0, 64, 255]  # 4 * 255 / 16 = 63.75
    assert notes == ("values 0 to 16 understood as 0..16, scaled to 0..255",)


def test_an_array_in_memory_is_a_source(tags: np.ndarray) -> None:
    glyphs = load_glyphs(tags, labels=[0, 1, 2, 3, 4, 5])
    assert glyphs.provenance.kind == "array"
    np.testing.assert_array_equal(glyphs.images, tags)
