"""The same model in other people's hands: PyTorch, ONNX, scikit-learn, C and Node agree.

One network is trained in PyTorch and run by PyTorch, by OpenCV and by onnxruntime; one
linear model is trained by scikit-learn and run by scikit-learn, by a program in C and by
the Node program that README shows.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gen import nominal_pictures, write_strokes
from gen.evaluate.expect import Expectation, prepare
from gen.evaluate.model import Model, load_model, wrap_model
from tests.docs.blocks import fenced_blocks

README = Path(__file__).resolve().parents[2] / "README.md"

SAME = 1e-5
"""Of probabilities from float32 sums in other orders; the worst seen was 4e-7."""
READS = 0.9
"""What a right way in has to read; a wrong one reads about one in ten."""


class Marks:
    """Built-in handwriting as pictures."""

    def __init__(self, *, count: int, seed: int) -> None:
        strokes = write_strokes(count=count, seed=seed)
        self.images = nominal_pictures(strokes)
        self.labels, self.classes = strokes.labels, strokes.classes


@pytest.fixture(scope="module")
def taught() -> Marks:
    return Marks(count=2000, seed=1)


@pytest.fixture(scope="module")
def held_out() -> Marks:
    return Marks(count=200, seed=2)


def looked_at(model: Model, glyphs: Marks) -> Model:
    look = model.first_look(glyphs.images[:64], glyphs.labels[:64], glyphs.classes)
    assert look.correct / look.n >= READS, str(look)
    return model


def shares(model: Model, glyphs: Marks) -> Any:
    found = model.answer(glyphs.images).probabilities
    assert found is not None
    return found


def hold_alike(model: Model, wanted: Any, glyphs: Marks) -> None:
    """Hold a model's probabilities to others, and its labels to theirs exactly."""
    np.testing.assert_allclose(shares(model, glyphs), wanted, rtol=0, atol=SAME)
    np.testing.assert_array_equal(model.answer(glyphs.images).labels, wanted.argmax(axis=1))


def test_unlike_probabilities_are_told_apart(held_out: Marks) -> None:
    model = wrap_model(lambda x: np.full((len(x), 10), 0.1), name="same")
    model.first_look(held_out.images, held_out.labels, held_out.classes)
    wanted = np.full((len(held_out.images), 10), 0.1)
    hold_alike(model, wanted, held_out)
    wanted[0, 1] += 2 * SAME
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        hold_alike(model, wanted, held_out)


# PyTorch, ONNX in OpenCV, ONNX in onnxruntime


@pytest.fixture(scope="module")
def torch() -> Any:
    found = pytest.importorskip("torch")
    found.set_num_threads(1)
    return found


@pytest.fixture(scope="module")
def onnxruntime() -> Any:
    return pytest.importorskip("onnxruntime")


@pytest.fixture(scope="module")
def net(torch: Any, taught: Marks) -> Any:
    """A small convolutional network, trained on the built-in handwriting."""
    nn = torch.nn
    torch.manual_seed(0)
    made = nn.Sequential(
        *(nn.Conv2d(1, 8, 3, padding=1), nn.BatchNorm2d(8), nn.ReLU(), nn.MaxPool2d(2)),
        *(nn.Conv2d(8, 16, 3, padding=1), nn.ReLU(), nn.MaxPool2d(2)),
        *(nn.Flatten(), nn.Dropout(0.2), nn.Linear(16 * 7 * 7, 10)),
    )
    x = torch.from_numpy(prepare(taught.images, Expectation(layout="N1HW")))
    y = torch.from_numpy(taught.labels.astype(np.int64))
    optimiser = torch.optim.Adam(made.parameters(), lr=3e-3)
    for _ in range(5):
        for rows in torch.randperm(len(x)).split(64):
            optimiser.zero_grad()
            nn.functional.cross_entropy(made(x[rows]), y[rows]).backward()
            optimiser.step()
    return made


def exported(torch: Any, net: Any, path: Path, *, fixed: bool, newest: bool) -> Path:
    """Write a network to an ONNX file, with a batch of one or of any size."""
    one = (torch.zeros(1, 1, 28, 28),)
    net.eval()
    with warnings.catch_warnings():
        # The exporters warn of each other, and of what they will be in later versions.
        warnings.simplefilter("ignore")
        if newest:
            shapes = None if fixed else ({0: torch.export.Dim("n")},)
            torch.onnx.export(
                *(net, one, str(path)),
                dynamo=True,
                verbose=False,
                external_data=False,
                dynamic_shapes=shapes,
            )
        else:
            axes = None if fixed else {"x": {0: "n"}}
            torch.onnx.export(
                *(net, one, str(path)), dynamo=False, input_names=["x"], dynamic_axes=axes
            )
    return path


@pytest.mark.runtimes
def test_a_pytorch_module_is_asked_as_it_is_in_use(net: Any, held_out: Marks) -> None:
    net.train()
    model = looked_at(wrap_model(net, name="net"), held_out)
    assert model.expects.layout == "N1HW"
    assert net.training, "the mode that it was in is put back"
    again = shares(model, held_out)
    np.testing.assert_array_equal(shares(model, held_out), again)  # dropout would differ


@pytest.mark.runtimes
@pytest.mark.parametrize("fixed", [False, True], ids=["any batch", "batch of one"])
@pytest.mark.parametrize("newest", [False, True], ids=["older exporter", "newest exporter"])
def test_a_network_answers_alike_in_pytorch_opencv_and_onnxruntime(
    *,
    torch: Any,
    onnxruntime: Any,
    net: Any,
    held_out: Marks,
    tmp_path: Path,
    fixed: bool,
    newest: bool,
) -> None:
    path = exported(torch, net, tmp_path / "reader.onnx", fixed=fixed, newest=newest)
    session = onnxruntime.InferenceSession(str(path), providers=["CPUExecutionProvider"])
    (name,) = [given.name for given in session.get_inputs()]

    def run(x: Any) -> Any:
        return session.run(None, {name: x})[0]

    by_torch = looked_at(wrap_model(net, name="net"), held_out)
    by_opencv = looked_at(load_model(str(path)), held_out)
    most = 1 if fixed else None
    by_runtime = looked_at(
        wrap_model(run, name="session", expects={"layout": "N1HW", "batch": most}), held_out
    )
    if fixed and by_opencv.expects.batch == 1:
        assert "one glyph at a time, since it took no more" in str(by_opencv.look)
    wanted = shares(by_torch, held_out)
    for model in (by_opencv, by_runtime):
        hold_alike(model, wanted, held_out)


@pytest.mark.runtimes
def test_an_onnx_file_with_a_toml_file_beside_it_gets_what_that_states(
    torch: Any, net: Any, held_out: Marks, tmp_path: Path
) -> None:
    """Trained on normalised values: the first layer undoes it, so only those read rightly."""

    class Normalised(torch.nn.Module):  # type: ignore[name-defined,misc]
        def __init__(self) -> None:
            super().__init__()
            self.net = net

        def forward(self, x: Any) -> Any:
            return self.net(x * 0.25 + 0.5)

    path = exported(torch, Normalised(), tmp_path / "reader.onnx", fixed=False, newest=False)
    plain = load_model(str(path))
    plain.first_look(held_out.images[:64], held_out.labels[:64], held_out.classes)
    before = plain.fingerprint
    (tmp_path / "reader.toml").write_text(
        "layout = 'N1HW'\nmean = 0.5\ndeviation = 0.25\nframe = [28, 28]\nanswers = 'logits'\n"
    )
    model = looked_at(load_model(str(path)), held_out)
    assert "as reader.toml says" in str(model.look)
    assert model.fingerprint != before
    by_torch = looked_at(wrap_model(net, name="net"), held_out)
    hold_alike(model, shares(by_torch, held_out), held_out)


# scikit-learn, C and Node


@pytest.fixture(scope="module")
def linear(taught: Marks) -> Any:
    linear_model = pytest.importorskip("sklearn.linear_model")
    fitted = linear_model.LogisticRegression(max_iter=200)
    return fitted.fit(prepare(taught.images, Expectation(layout="flat")), taught.labels)


def by_scikit_learn(linear: Any, glyphs: Marks) -> Any:
    return linear.predict_proba(prepare(glyphs.images, Expectation(layout="flat")))


def test_a_scikit_learn_pipeline_is_asked_for_its_probabilities(
    taught: Marks, held_out: Marks
) -> None:
    pipeline = pytest.importorskip("sklearn.pipeline")
    from sklearn.decomposition import PCA
    from sklearn.preprocessing import StandardScaler
    from sklearn.svm import SVC

    made = pipeline.make_pipeline(StandardScaler(with_std=False), PCA(40, random_state=0), SVC())
    made.fit(taught.images.reshape(len(taught.images), -1) / 255.0, taught.labels)
    as_labels = looked_at(wrap_model(made, name="pipeline"), held_out)
    assert as_labels.look is not None
    assert (as_labels.look.answers, as_labels.expects.layout) == ("labels", "flat")

    from sklearn.linear_model import LogisticRegression

    made = pipeline.make_pipeline(StandardScaler(with_std=False), LogisticRegression(max_iter=200))
    made.fit(taught.images.reshape(len(taught.images), -1) / 255.0, taught.labels)
    model = looked_at(wrap_model(made, name="pipeline", expects={"dtype": "float64"}), held_out)
    assert model.look is not None
    assert model.look.answers == "probabilities"
    wanted = made.predict_proba(held_out.images.reshape(len(held_out.images), -1) / 255.0)
    hold_alike(model, wanted, held_out)


C_PROGRAM = r"""
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Reads weights (classes, then each class's weights and its intercept), then an npy array. */
int main(int argc, char **argv) {
    FILE *file = fopen(argv[1], "r");
    int classes, size, n;
    if (argc != 2 || !file || fscanf(file, "%d %d", &classes, &size) != 2) {
        fprintf(stderr, "no weights\n");
        return 3;
    }
    double *weights = malloc(sizeof(double) * classes * (size + 1));
    for (int i = 0; i < classes * (size + 1); i++)
        if (fscanf(file, "%lf", &weights[i]) != 1) return 3;
    unsigned char head[10];
    if (fread(head, 1, 10, stdin) != 10 || memcmp(head, "\x93NUMPY\x01", 7)) return 4;
    int length = head[8] + 256 * head[9], wide;
    char header[65536];
    if (fread(header, 1, length, stdin) != (size_t)length) return 4;
    header[length] = 0;
    char *shape = strstr(header, "'shape': (");
    if (!shape || sscanf(shape, "'shape': (%d, %d)", &n, &wide) != 2 || wide != size) return 5;
    float *x = malloc(sizeof(float) * size);
    for (int i = 0; i < n; i++) {
        if (fread(x, sizeof(float), size, stdin) != (size_t)size) return 6;
        for (int k = 0; k < classes; k++) {
            double sum = weights[k * (size + 1) + size];
            for (int j = 0; j < size; j++) sum += weights[k * (size + 1) + j] * x[j];
            printf(k ? "\t%.9g" : "%.9g", sum);
        }
        printf("\n");
    }
    return 0;
}
"""


def test_a_program_in_c_answers_as_scikit_learn_does(
    linear: Any, held_out: Marks, tmp_path: Path
) -> None:
    compiler = shutil.which("gcc") or shutil.which("cc")
    if compiler is None:
        pytest.skip("no C compiler")
    (tmp_path / "reader.c").write_text(C_PROGRAM)
    subprocess.run([compiler, "-O2", "-o", "reader", "reader.c"], cwd=tmp_path, check=True)
    with (tmp_path / "weights.txt").open("w") as file:
        print(*linear.coef_.shape, file=file)
        np.savetxt(file, np.column_stack([linear.coef_, linear.intercept_]), "%.17g")
    (tmp_path / "reader.toml").write_text(
        "program = ['./reader', 'weights.txt']\nlayout = 'flat'\nanswers = 'logits'\n"
    )
    model = looked_at(load_model(str(tmp_path / "reader.toml")), held_out)
    hold_alike(model, by_scikit_learn(linear, held_out), held_out)
    before = model.fingerprint
    text = (tmp_path / "weights.txt").read_text()
    (tmp_path / "weights.txt").write_text(text + "\n")
    assert load_model(str(tmp_path / "reader.toml")).fingerprint != before
    (tmp_path / "weights.txt").unlink()
    with pytest.raises(Exception, match=r"first batch: the program failed\n.*exit code 3[\s\S]*no"):
        looked_at(load_model(str(tmp_path / "reader.toml")), held_out)


def test_the_node_program_in_readme_answers_as_scikit_learn_does(
    linear: Any, held_out: Marks, tmp_path: Path
) -> None:
    shown = {block.note: block.text for block in fenced_blocks(README.read_text("utf-8"))}
    for name in ("reader.js", "node_reader.toml"):
        (tmp_path / name).write_text(shown[f"file: {name}"], encoding="utf-8")
    if shutil.which("node") is None:
        pytest.skip("no Node")
    weights = {"coef": linear.coef_.tolist(), "intercept": linear.intercept_.tolist()}
    (tmp_path / "weights.json").write_text(json.dumps(weights))
    model = looked_at(load_model(str(tmp_path / "node_reader.toml")), held_out)
    assert "started once" in str(model.look)
    hold_alike(model, by_scikit_learn(linear, held_out), held_out)


def test_an_object_with_predict_is_asked_without_progress_bars(held_out: Marks) -> None:
    """As Keras has it: predict prints a bar for every batch unless it is told not to."""

    class Predicts:
        def predict(self, x: Any, batch_size: Any = None, verbose: Any = "auto") -> Any:
            if verbose:
                print("1/1 [====]", file=sys.stderr)
                raise AssertionError("it would print")
            return np.full((len(x), 10), 0.1)

    model = wrap_model(Predicts(), name="predicts")
    look = model.first_look(held_out.images[:64], held_out.labels[:64], held_out.classes)
    assert look.answers == "probabilities"
