"""Planted evaluations, by path: tests aren't a package."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def planted() -> ModuleType:
    path = Path(__file__).with_name("planted.py")
    spec = importlib.util.spec_from_file_location("inkdrift_planted", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module
