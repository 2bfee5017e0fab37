"""What the model was handed is saved whole, as picture, array and numbers."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from gen.core.errors import OutputError
from gen.evaluate.show_input import SHOWN, save_input


@pytest.mark.parametrize("shape", [(70, 8, 8), (70, 64), (70, 1, 8, 8), (3, 7), (1, 5, 9)])
def test_array_and_numbers_are_those_of_the_input(
    tmp_path: Path, shape: tuple[int, ...], rng: np.random.Generator
) -> None:
    array = rng.normal(size=shape).astype(np.float32)
    array.reshape(-1)[::4] = 0
    lines = save_input(array, tmp_path / "new")
    kept = np.load(tmp_path / "new" / "input.npy")
    assert kept.dtype == array.dtype
    np.testing.assert_array_equal(kept, array)
    facts = json.loads((tmp_path / "new" / "input.json").read_text("utf-8"))
    assert facts["shape"] == list(shape)
    assert facts["dtype"] == "float32"
    assert facts["least"] == float(array.min())
    assert facts["greatest"] == float(array.max())
    assert facts["mean"] == pytest.approx(np.mean(array.tolist()), abs=1e-12)
    assert facts["zeros"] == np.count_nonzero(array == 0) / array.size
    assert facts["picture"]["glyphs"] == min(SHOWN, shape[0])
    assert sorted(p.name for p in (tmp_path / "new").iterdir()) == [
        "input.json",
        "input.npy",
        "input.png",
    ]
    assert f"{array.min():g}" in lines[1]


def test_the_picture_spans_black_to_white_and_shows_the_glyph(tmp_path: Path) -> None:
    array = np.full((4, 10, 10), -3.0)
    array[:, 2, 5:8] = 5.0
    save_input(array, tmp_path)
    sheet = np.asarray(Image.open(tmp_path / "input.png"))
    times = sheet.shape[0] // (2 * 11 + 1)
    small = sheet[::times, ::times]
    np.testing.assert_array_equal(small[1:11, 1:11] == 255, array[0] == 5.0)
    np.testing.assert_array_equal(small[1:11, 1:11] == 0, array[0] == -3.0)
    np.testing.assert_array_equal(small[12:22, 12:22], small[1:11, 1:11])


def test_flat_rows_are_shown_in_the_frame_that_is_given(tmp_path: Path) -> None:
    array = np.zeros((1, 36), np.uint8)
    array[0, 1] = 9
    save_input(array, tmp_path, frame=(4, 9))
    sheet = np.asarray(Image.open(tmp_path / "input.png"))
    times = sheet.shape[1] // 11
    assert sheet[::times, ::times].shape == (6, 11)
    assert sheet[times, 2 * times] == 255


def test_a_constant_input_is_black_and_not_a_division_by_nothing(tmp_path: Path) -> None:
    save_input(np.full((2, 4, 4), 0.5), tmp_path)
    sheet = np.asarray(Image.open(tmp_path / "input.png"))
    assert set(np.unique(sheet)) == {0, 96}


def test_a_folder_that_can_not_be_made_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(OutputError, match=r"taken: can't be written\n  got       "):
        save_input(np.zeros((1, 2, 2)), tmp_path / "taken")


def test_nothing_half_written_is_left_when_writing_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OutputError, match="No space left on device"):
        save_input(np.zeros((1, 2, 2)), tmp_path)
    assert list(tmp_path.iterdir()) == []
