"""ONNX files through OpenCV's reader, on a network whose answers are known by arithmetic."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import ModelError
from gen.evaluate.model import load_model
from gen.glyphs.base import RasterGlyphs
from tests.evaluate.onnx_by_hand import linear_network

Bars = Callable[..., RasterGlyphs]

SCORES = 1e-4  # sums of 216 float32 values of at most 1


@pytest.fixture
def network(tmp_path: Path) -> Callable[..., Path]:
    """A network that sums the ink of each class's own eight columns."""

    def make(*, batch: int | None = None) -> Path:
        owner = np.tile(np.arange(24) // 8, 9)
        path = tmp_path / "reader.onnx"
        path.write_bytes(linear_network(np.eye(3, dtype=np.float32)[owner], batch=batch))
        return path

    return make


@pytest.mark.parametrize("batch", [None, 1])
def test_a_network_gives_the_scores_that_arithmetic_gives(
    network: Callable[..., Path], bars: Bars, batch: int | None
) -> None:
    glyphs = bars(64)
    model = load_model(str(network(batch=batch)))
    look = model.first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert (look.expects.layout, look.answers, look.correct) == ("flat", "logits", 64)
    assert "after NHW failed" in look.lines[1]
    ink = (glyphs.images.reshape(64, 9, 3, 8).sum(axis=(1, 3)) / 255).astype(np.float64)
    known = np.exp(ink) / np.exp(ink).sum(axis=1, keepdims=True)
    for count in (1, 5, 64):
        answers = model.answer(glyphs.images[:count])
        np.testing.assert_allclose(answers.probabilities, known[:count], rtol=0, atol=SCORES)
        np.testing.assert_array_equal(answers.labels, glyphs.labels[:count])


def test_an_answer_is_not_written_over_by_the_next(
    network: Callable[..., Path], bars: Bars
) -> None:
    from gen.evaluate.onnx_net import OnnxNet

    net = OnnxNet(network(), output=None, spec="reader.onnx")
    flat = (bars(6).images / 255).astype(np.float32).reshape(6, -1)
    first = np.asarray(net(flat))
    kept = first.copy()
    net(flat[::-1].copy())
    np.testing.assert_array_equal(first, kept)


@pytest.mark.skipif(sys.platform in {"win32", "darwin"}, reason="names are text there")
def test_a_path_that_is_no_text_is_refused_before_opencv_sees_it(tmp_path: Path) -> None:
    folder = tmp_path / "crates-\udcff"
    folder.mkdir()
    (folder / "reader.onnx").write_bytes(b"anything")
    with pytest.raises(ModelError, match="path is no text"):
        load_model(f"{folder}/reader.onnx")


def test_a_file_with_a_stated_layout_that_it_does_not_take_is_refused(
    network: Callable[..., Path], bars: Bars
) -> None:
    glyphs = bars(8)
    model = load_model(str(network()), expects={"layout": "N1HW"})
    with pytest.raises(ModelError, match=r"reader\.onnx: first batch: the model fails\n.*OpenCV: "):
        model.first_look(glyphs.images, glyphs.labels, glyphs.classes)


def test_pictures_of_another_size_than_the_network_takes_are_refused_layout_by_layout(
    network: Callable[..., Path],
) -> None:
    images = np.ones((4, 10, 24), np.uint8)
    with pytest.raises(ModelError, match=r"can't read any layout|the model fails") as caught:
        load_model(str(network())).first_look(images, np.zeros(4, np.intp), ("a", "b", "c"))
    assert "/modules/dnn/" not in str(caught.value)


def test_opencv_keeps_silent_about_layouts_that_do_not_fit(
    network: Callable[..., Path], bars: Bars, capfd: pytest.CaptureFixture[str]
) -> None:
    glyphs = bars(8)
    load_model(str(network())).first_look(glyphs.images, glyphs.labels, glyphs.classes)
    assert capfd.readouterr() == ("", "")


def test_weights_beside_a_network_belong_to_it(network: Callable[..., Path]) -> None:
    path = network()
    before = load_model(str(path)).fingerprint
    assert load_model(str(path)).fingerprint == before
    path.with_name("reader.onnx.data").write_bytes(b"weights")
    assert load_model(str(path)).fingerprint != before
