"""What the tests of more than one room need."""

from __future__ import annotations

import importlib.util
import itertools
import os
import sys
from collections.abc import Generator
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest
from hypothesis import settings

from gen.glyphs.base import RasterGlyphs
from gen.glyphs.load import load_glyphs

# The same examples in every run, none failed for being slow, nothing kept on disk.
settings.register_profile("steady", derandomize=True, deadline=None, database=None)
settings.load_profile("steady")


@pytest.fixture(autouse=True)
def kept_answers_of_its_own(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No test finds answers that another one, or a person, has kept."""
    own = tmp_path_factory.getbasetemp() / f"kept-{next(_NUMBERS)}"  # made when it is used
    monkeypatch.setenv("INKDRIFT_CACHE", str(own))


_NUMBERS = itertools.count()

REQUIRED = "INKDRIFT_REQUIRE_OPEN_DATA"
"""Set to 1 where a test must not be skipped for want of the MNIST files."""

REQUIRED_RUNTIMES = "INKDRIFT_REQUIRE_RUNTIMES"
"""Set to 1 where a test must not be skipped for want of PyTorch or onnxruntime."""

REQUIRED_BROWSER = "INKDRIFT_REQUIRE_BROWSER"
"""Set to 1 where a test must not be skipped for want of Chromium and its driver."""


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    wants = (
        (REQUIRED, needs_open_data(item)),
        (REQUIRED_RUNTIMES, item.get_closest_marker("runtimes") is not None),
        (REQUIRED_BROWSER, item.get_closest_marker("browser") is not None),
    )
    for required, needed in wants:
        if report.skipped and os.environ.get(required) == "1" and needed:
            report.outcome = "failed"
            report.longrepr = f"skipped, though {required} is 1: {report.longrepr}"
    return report


def needs_open_data(item: pytest.Item) -> bool:
    """Whether a test is marked so, or asks for the files without being marked."""
    asked = {"open_data", "open_digits"} & set(getattr(item, "fixturenames", ()))
    return item.get_closest_marker("open_data") is not None or bool(asked)


@dataclass(frozen=True)
class OpenDigits:
    """The MNIST digits, read by the package's own loader.

    `files` gives the four files by their usual names, without ".gz".
    """

    train: RasterGlyphs
    test: RasterGlyphs
    files: dict[str, Path]


@pytest.fixture(scope="session")
def open_data() -> ModuleType:
    """The module that looks for the MNIST files; tests aren't a package, hence by path."""
    path = Path(__file__).with_name("outside") / "open_data.py"
    spec = importlib.util.spec_from_file_location("inkdrift_open_data", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def open_digits(open_data: ModuleType) -> OpenDigits:
    located = open_data.locate()
    if located.reason is not None:
        pytest.skip(f"no MNIST files: {located.reason}")
    files = dict(located.files)
    return OpenDigits(
        train=load_glyphs(files["train-images-idx3-ubyte"]),
        test=load_glyphs(files["t10k-images-idx3-ubyte"]),
        files=files,
    )
