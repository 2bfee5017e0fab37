"""Where MNIST files, runtimes or a browser are required, a test that does without has failed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
ONE_TEST = "tests/outside/test_open_digits.py"


@pytest.mark.parametrize(("required", "code", "says"), [("0", 0, "skipped"), ("1", 1, "REQUIRE")])
def test_a_test_without_its_files_is_skipped_or_fails(
    required: str, code: int, says: str, tmp_path: Path
) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-m", "open_data", ONE_TEST],
        cwd=ROOT,
        env={
            **os.environ,
            "INKDRIFT_OPEN_DATA": str(tmp_path / "nowhere"),
            "INKDRIFT_REQUIRE_OPEN_DATA": required,
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == code, done.stdout
    assert says in done.stdout
    assert " passed" not in done.stdout


@pytest.mark.parametrize(("required", "code", "says"), [("0", 0, "skipped"), ("1", 1, "REQUIRE")])
def test_a_test_without_its_runtime_is_skipped_or_fails(
    required: str, code: int, says: str, tmp_path: Path
) -> None:
    hidden = "raise ModuleNotFoundError('hidden from this test')\n"
    (tmp_path / "torch.py").write_text(hidden, encoding="utf-8")
    which = "tests/outside/test_model_kinds.py::test_a_pytorch_module_is_asked_as_it_is_in_use"
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-m", "runtimes", which],
        cwd=ROOT,
        env={
            **os.environ,
            "PYTHONPATH": str(tmp_path),
            "INKDRIFT_REQUIRE_RUNTIMES": required,
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == code, done.stdout
    assert says in done.stdout
    assert " passed" not in done.stdout


@pytest.mark.parametrize(("required", "code", "says"), [("0", 0, "skipped"), ("1", 1, "REQUIRE")])
def test_a_test_without_its_browser_is_skipped_or_fails(
    required: str, code: int, says: str, tmp_path: Path
) -> None:
    which = "tests/browser/test_quiet.py::test_a_box_that_a_script_opens_is_seen"
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-m", "browser", which],
        cwd=ROOT,
        env={
            **os.environ,
            "PATH": str(tmp_path),  # where nothing lies
            "INKDRIFT_REQUIRE_BROWSER": required,
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == code, done.stdout
    assert says in done.stdout
    assert " passed" not in done.stdout
