"""A filled page and some photographs of it, taken once for all tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from gen.glyphs.paper.layout import Plan
from tests.glyphs.paper.camera import Camera, Filled, filled

SMALL = {"width": 1500, "height": 2000}
PLAN = Plan(tuple("0123456789"), 11)

Save = Callable[..., Path]


@pytest.fixture(scope="session")
def digits() -> Filled:
    return filled(PLAN, seed=3)


@pytest.fixture(scope="session")
def straight(digits: Filled) -> NDArray[np.uint8]:
    """A photograph from above, small and quickly read."""
    return Camera(**SMALL).shoot(digits.page, PLAN.size_mm)  # type: ignore[arg-type]


@pytest.fixture
def save(tmp_path: Path) -> Save:
    def saved(name: str, grey: NDArray[np.uint8]) -> Path:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        assert cv2.imwrite(str(path), grey)
        return path

    return saved
