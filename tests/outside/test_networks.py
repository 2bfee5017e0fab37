"""What networks from PyTorch and ONNX files do beside the plain case, on real digits.

The pictures are scikit-learn's bundled digits (E. Alpaydin and C. Kaynak, Optical
Recognition of Handwritten Digits, UCI Machine Learning Repository, 1998): 8 x 8 px, greys
0 to 16.
"""

from __future__ import annotations

import copy
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.behaviour import CHANGED, behaviour
from gen.evaluate.model import load_model, wrap_model
from tests.evaluate.onnx_by_hand import linear_network

CLASSES = tuple("0123456789")
READS = 0.9
"""What a right way in has to read; a wrong one reads about one in ten."""
ANOTHER_ORDER = 1e-5
"""Change of a confidence by float32 sums in another order; the worst seen was 2.4e-7."""

Pixels = NDArray[np.uint8]


@dataclass(frozen=True)
class Digits:
    """Training and test digits; images (n, 8, 8) uint8, 255 for the 16 of the source."""

    train: Pixels
    train_labels: NDArray[np.intp]
    test: Pixels
    labels: NDArray[np.intp]


@pytest.fixture(scope="module")
def digits() -> Digits:
    from sklearn.datasets import load_digits

    loaded = load_digits()
    images = np.rint(loaded.images * 255 / 16).astype(np.uint8)
    target = loaded.target.astype(np.intp)
    return Digits(images[:1000], target[:1000], images[1000:], target[1000:])


@pytest.fixture(scope="module")
def torch() -> Any:
    found = pytest.importorskip("torch")
    pytest.importorskip("onnx")
    found.set_num_threads(1)
    return found


@pytest.fixture(scope="module")
def net(torch: Any, digits: Digits) -> Any:
    """A small convolutional network with batch statistics and dropout."""
    torch.manual_seed(3)
    nn = torch.nn
    made = nn.Sequential(
        *(nn.Conv2d(1, 16, 3, padding=1), nn.BatchNorm2d(16), nn.ReLU(), nn.MaxPool2d(2)),
        *(nn.Conv2d(16, 32, 3, padding=1), nn.ReLU(), nn.MaxPool2d(2)),
        *(nn.Flatten(), nn.Dropout(0.3), nn.Linear(128, 10)),
    )
    x = torch.from_numpy(digits.train[:, None].astype(np.float32) / 255)
    y = torch.from_numpy(digits.train_labels.astype(np.int64))
    steps = torch.optim.Adam(made.parameters(), lr=3e-3)
    for _ in range(25):
        for part in torch.randperm(len(x)).split(64):
            steps.zero_grad()
            nn.functional.cross_entropy(made(x[part]), y[part]).backward()
            steps.step()
    return made.eval()


def exported(torch: Any, module: Any, path: Path, example: Any, **options: Any) -> Path:
    """Write a module to an ONNX file that takes any number of glyphs."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the older exporter calls itself old
        torch.onnx.export(
            *(module.eval(), (example,), str(path)),
            dynamo=False,
            input_names=["x"],
            dynamic_axes={"x": {0: "n"}},
            **options,
        )
    return path


@pytest.mark.runtimes
def test_parts_that_somebody_froze_stay_so(net: Any, digits: Digits) -> None:
    module = copy.deepcopy(net).train()
    module[1].eval()
    model = wrap_model(module, name="net")
    look = model.first_look(digits.test[:64], digits.labels[:64], CLASSES)
    assert "asked in evaluation mode, though it was left in training mode" in look.lines[0]
    assert [part.training for part in module] == [at != 1 for at in range(len(module))]
    known = wrap_model(net, name="net")
    known.first_look(digits.test[:64], digits.labels[:64], CLASSES)
    np.testing.assert_array_equal(
        model.answer(digits.test).probabilities, known.answer(digits.test).probabilities
    )


@pytest.mark.runtimes
@pytest.mark.parametrize("dtype", ["float64", "float16", "bfloat16"])
def test_a_module_of_another_floating_type_is_handed_that(
    torch: Any, net: Any, digits: Digits, dtype: str
) -> None:
    module = copy.deepcopy(net).to(getattr(torch, dtype))
    look = wrap_model(module).first_look(digits.test, digits.labels, CLASSES)
    assert look.correct / look.n > READS


@pytest.mark.runtimes
def test_answers_hardly_depend_on_the_batch_and_training_mode_shows(
    torch: Any, net: Any, digits: Digits, tmp_path: Path
) -> None:
    path = exported(torch, net, tmp_path / "net.onnx", torch.zeros(1, 1, 8, 8))
    for model in (wrap_model(net), load_model(str(path))):
        model.first_look(digits.test[:64], digits.labels[:64], CLASSES)
        seen = behaviour(model, digits.test[:64])
        assert (seen.again, seen.alone, seen.elsewhere) == (0, 0, 0)
        assert seen.largest is not None
        assert seen.largest < ANOTHER_ORDER < CHANGED

    module = copy.deepcopy(net).train()

    def as_trained(x: Any) -> Any:
        with torch.no_grad():
            return module(torch.from_numpy(x))

    model = wrap_model(as_trained, expects={"layout": "N1HW"})
    model.first_look(digits.test[:64], digits.labels[:64], CLASSES)
    seen = behaviour(model, digits.test[:64])
    assert seen.again > 10  # dropout
    assert seen.alone > 5  # batch statistics of a single glyph


@pytest.mark.runtimes
def test_an_output_is_named_where_there_are_several(
    torch: Any, net: Any, digits: Digits, tmp_path: Path
) -> None:
    class Two(torch.nn.Module):  # type: ignore[misc, name-defined]
        def __init__(self) -> None:
            super().__init__()
            self.net = net

        def forward(self, x: Any) -> Any:
            logits = self.net(x)
            return logits, torch.softmax(logits, 1)

    names = ["scores", "shares"]
    example = torch.zeros(1, 1, 8, 8)
    path = exported(torch, Two(), tmp_path / "two.onnx", example, output_names=names)
    first = load_model(str(path)).first_look(digits.test[:64], digits.labels[:64], CLASSES)
    assert first.answers == "logits"
    assert 'output "scores", and not "shares"' in first.lines[0]
    named = load_model(f"{path}:shares")
    look = named.first_look(digits.test[:64], digits.labels[:64], CLASSES)
    assert (look.answers, look.correct) == ("probabilities", first.correct)
    with pytest.raises(ModelError, match=r'no such output\n[\s\S]*try       "shares"'):
        load_model(f"{path}:share")


@pytest.mark.runtimes
def test_a_network_with_its_channel_last_is_found_so(
    torch: Any, net: Any, digits: Digits, tmp_path: Path
) -> None:
    class Last(torch.nn.Module):  # type: ignore[misc, name-defined]
        def __init__(self) -> None:
            super().__init__()
            self.net = net

        def forward(self, x: Any) -> Any:
            return self.net(x.permute(0, 3, 1, 2))

    path = exported(torch, Last(), tmp_path / "last.onnx", torch.zeros(1, 8, 8, 1))
    look = load_model(str(path)).first_look(digits.test[:64], digits.labels[:64], CLASSES)
    assert look.expects.layout == "NHW1"
    assert look.correct / look.n > READS


@pytest.mark.runtimes
def test_a_network_that_takes_whole_numbers_says_which_dtype(
    torch: Any, net: Any, digits: Digits, tmp_path: Path
) -> None:
    import cv2

    class Whole(torch.nn.Module):  # type: ignore[misc, name-defined]
        def __init__(self) -> None:
            super().__init__()
            self.net = net

        def forward(self, x: Any) -> Any:
            return self.net(x.to(torch.float32) / 255)

    example = torch.zeros(1, 1, 8, 8, dtype=torch.uint8)
    path = exported(torch, Whole(), tmp_path / "whole.onnx", example)
    (tmp_path / "whole.toml").write_text('dtype = "uint8"\n')
    look = load_model(str(path)).first_look(digits.test[:64], digits.labels[:64], CLASSES)
    assert look.correct / look.n > READS
    assert "as whole.toml says" in look.lines[1]
    (tmp_path / "whole.toml").unlink()
    plain = load_model(str(path))
    if int(cv2.__version__.split(".")[0]) < 5:
        # Older ones take floats for whole numbers; the range is then told by its score.
        assert plain.first_look(digits.test[:64], digits.labels[:64], CLASSES).other_readings
        return
    with pytest.raises(ModelError, match='try       dtype = "uint8"'):
        plain.first_look(digits.test[:64], digits.labels[:64], CLASSES)


@pytest.mark.runtimes
@pytest.mark.parametrize("batch", [None, 1])
def test_the_network_that_tests_write_by_hand_is_one_to_others(
    torch: Any, tmp_path: Path, batch: int | None
) -> None:
    del torch  # and with it there is onnx
    onnx = pytest.importorskip("onnx")
    onnxruntime = pytest.importorskip("onnxruntime")
    weights = np.random.default_rng(4).random((64, 10), dtype=np.float32)
    path = tmp_path / "linear.onnx"
    path.write_bytes(linear_network(weights, batch=batch))
    onnx.checker.check_model(str(path), full_check=True)
    session = onnxruntime.InferenceSession(str(path), providers=["CPUExecutionProvider"])
    x = np.random.default_rng(5).random((1, 64), dtype=np.float32)
    np.testing.assert_allclose(session.run(None, {"x": x})[0], x @ weights, rtol=0, atol=1e-5)


def test_an_estimator_that_was_taught_on_other_values_is_told_of(digits: Digits) -> None:
    from sklearn.neighbors import KNeighborsClassifier

    nearest = KNeighborsClassifier(1).fit(digits.train.reshape(-1, 64), digits.train_labels)
    look = wrap_model(nearest).first_look(digits.test[:64], digits.labels[:64], CLASSES)
    assert look.correct < 20
    assert look.other_readings[0].how == "--values 0..255"
    assert look.other_readings[0].correct >= 60
    assert "score far better" in look.lines[-1]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"not a network", r"OpenCV can't read this as an ONNX file\n  got       OpenCV: "),
        (None, r"there is no such file\n[\s\S]*try       \".*reader\.onnx\""),
    ],
)
def test_a_file_that_is_no_network_is_refused(
    tmp_path: Path, content: bytes | None, words: str
) -> None:
    (tmp_path / "reader.onnx").write_bytes(content or b"")
    name = "reader.onnx" if content else "raeder.onnx"
    with pytest.raises(ModelError, match=words):
        load_model(str(tmp_path / name))
