"""One run of the demo, and the tool that compares two."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from gen.demo.story import tell

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that the demo wrote."""
    folder = tmp_path_factory.mktemp("shed") / "demo"
    tell(folder, overwrite=False, say=lambda paragraph: None)
    return folder


@pytest.fixture(scope="session")
def same_demo() -> ModuleType:
    """`.ci/same_demo.py`, which is a script and in no package."""
    spec = importlib.util.spec_from_file_location("same_demo", ROOT / ".ci" / "same_demo.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
