"""The main job on pictures that nobody here made: a slip that a held-out score can't see.

The MNIST files (LeCun, Cortes and Burges) and scikit-learn's multi-layer perceptron.
A network of two hidden layers of 100, trained on 12,000 of the training images, once
through a right decoder and once through one that starts 3 bytes early.
"""

from __future__ import annotations

import gzip
import json
import pickle
import subprocess
import sys
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

pytestmark = [pytest.mark.open_data, pytest.mark.slow]

SLIP = 3
RECIPE = """
title = "Where do the marks sit?"

[[sweep]]
perturbation = "translation"
along = "x"
unit = "px"
levels = { from = -6, to = 6, step = 1 }

[[sweep]]
perturbation = "translation"
along = "y"
unit = "px"
levels = { from = -3, to = 3, step = 1 }

[[sweep]]
perturbation = "row-slip"
unit = "bytes"
levels = { from = -4, to = 4, step = 1 }

[[sweep]]
perturbation = "blur"
unit = "px"
levels = [0.5, 1, 1.5]
"""
MODEL = """
import pickle
from pathlib import Path

reader = pickle.loads((Path(__file__).parent / "{name}.pickle").read_bytes())
"""


def decoded(file: bytes, skip: int) -> NDArray[np.float64]:
    """What a decoder hands on that takes the header for `skip` bytes long, 0 to 1."""
    count = (len(file) - 16) // 784
    pixels = np.frombuffer(file, np.uint8, count=count * 784, offset=skip)
    return pixels.reshape(count, 784) / 255.0


def raw(path: Path) -> bytes:
    data = path.read_bytes()
    return gzip.decompress(data) if data[:2] == b"\x1f\x8b" else data


@pytest.fixture(scope="module")
def job(open_digits: Any, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Both readers, their own held-out scores, and what `gen report` says of each."""
    from sklearn.exceptions import ConvergenceWarning
    from sklearn.neural_network import MLPClassifier

    folder = tmp_path_factory.mktemp("job")
    files = {name: raw(open_digits.files[name]) for name in open_digits.files}
    train_images, test_images = files["train-images-idx3-ubyte"], files["t10k-images-idx3-ubyte"]
    train_labels = np.frombuffer(files["train-labels-idx1-ubyte"], np.uint8, offset=8)
    test_labels = np.frombuffer(files["t10k-labels-idx1-ubyte"], np.uint8, offset=8)
    (folder / "held-out-images-idx3-ubyte").write_bytes(test_images)
    (folder / "held-out-labels-idx1-ubyte").write_bytes(files["t10k-labels-idx1-ubyte"])
    (folder / "where.toml").write_text(RECIPE, encoding="utf-8")
    told: dict[str, Any] = {}
    for name, skip in (("right", 16), ("slipped", 16 - SLIP)):
        reader = MLPClassifier((100, 100), max_iter=15, random_state=0)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ConvergenceWarning)
            reader.fit(decoded(train_images, skip)[:12_000], train_labels[:12_000])
        (folder / f"{name}.pickle").write_bytes(pickle.dumps(reader))
        (folder / f"{name}.py").write_text(MODEL.format(name=name), encoding="utf-8")
        done = subprocess.run(
            [
                *(sys.executable, "-m", "gen", "report", f"{name}.py:reader", "where.toml"),
                *("--glyphs", "held-out-images-idx3-ubyte", "--into", f"report-{name}"),
                *("--json", "--quiet"),
            ],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        told[name] = {
            "own": reader.score(decoded(test_images, skip), test_labels),
            "right files": reader.score(decoded(test_images, 16), test_labels),
            "report": json.loads(done.stdout),
        }
    return told


def curve(report: dict[str, Any], perturbation: str, along: str | None = None) -> dict[str, Any]:
    (found,) = (
        one
        for one in report["curves"]
        if one["perturbation"] == perturbation and one["options"].get("along") == along
    )
    return dict(found)


@pytest.mark.parametrize("name", ["right", "slipped"])
def test_both_readers_score_over_90_percent_on_files_read_as_their_training_was(
    job: dict[str, Any], name: str
) -> None:
    assert job[name]["own"] > 0.9


def test_the_slipped_reader_falls_by_more_than_20_points_on_files_read_rightly(
    job: dict[str, Any],
) -> None:
    assert job["slipped"]["own"] - job["slipped"]["right files"] > 0.2


@pytest.mark.parametrize("name", ["right", "slipped"])
def test_the_baseline_is_what_scikit_learn_scores(job: dict[str, Any], name: str) -> None:
    assert job[name]["report"]["baseline"]["accuracy"] == pytest.approx(
        job[name]["right files"], abs=5e-4
    )


def test_the_report_puts_the_slipped_readers_peak_at_3_px_along_x(job: dict[str, Any]) -> None:
    peak = curve(job["slipped"]["report"], "translation", "x")["peak"]
    assert peak["level"] == SLIP
    assert peak["off_nominal"]
    assert peak["accuracy"] > 0.9
    assert curve(job["slipped"]["report"], "row-slip")["peak"]["level"] == SLIP
    assert curve(job["slipped"]["report"], "translation", "y")["peak"]["level"] == 0


def test_the_first_finding_says_what_that_means(job: dict[str, Any]) -> None:
    first = job["slipped"]["report"]["findings"][0]
    for words in ("peaks at +3 px along x (right)", "3 bytes too early", "header"):
        assert words in first["says"]


def test_the_right_reader_is_not_accused(job: dict[str, Any]) -> None:
    report = job["right"]["report"]
    assert curve(report, "translation", "x")["peak"]["level"] == 0
    assert not any(one["peak"]["off_nominal"] for one in report["curves"] if one["unit"] != "px")
    assert not any("header" in finding["says"] for finding in report["findings"])
