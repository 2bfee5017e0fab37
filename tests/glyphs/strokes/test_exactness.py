"""The bits of the strokes, pinned: another machine or library must give the same."""

from __future__ import annotations

import ast
import hashlib
from pathlib import Path

import numpy as np
import pytest

from gen.glyphs.strokes import CLASSES, write_strokes
from gen.glyphs.strokes import write as writing

# Made by this project, with numpy 2 on x86-64; a change of the paths, the hands or the
# code that writes is meant to change it, and raises SHAPES_VERSION.
GOLDEN = "d925aabc6c99898c287251c899b258ed8ec6c1b58aa1b64be0fdd13962f61f9e"


def test_the_bits_of_a_few_hundred_glyphs_are_as_they_were() -> None:
    glyphs = write_strokes(classes=CLASSES, count=864, frame=(28, 28), seed=11)
    strokes = glyphs.strokes(np.arange(864))
    told = hashlib.sha256(strokes.segments.astype("<f8").tobytes())
    told.update(strokes.width_px.astype("<f8").tobytes())
    assert told.hexdigest() == GOLDEN


# Library functions whose last bit, or order of summing, may differ between machines.
INEXACT = {
    "sin", "cos", "tan", "exp", "log", "hypot", "power", "pow", "mean", "std", "var", "dot",
    "matmul", "einsum", "linalg", "fft", "average", "tensordot", "inner", "convolve", "interp",
    "arctan2", "cbrt", "random", "trapezoid", "norm",
}  # fmt: skip


def inexact_names(source: str) -> set[str]:
    """Attribute names and operators of a module that don't give the same bits everywhere."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute) and node.attr in INEXACT:
            found.add(node.attr)
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.MatMult):
            found.add("@")
    return found


@pytest.mark.parametrize(
    "path", sorted(Path(writing.__file__).parent.glob("*.py")), ids=lambda path: path.name
)
def test_no_inexact_function_is_used(path: Path) -> None:
    assert inexact_names(path.read_text("utf-8")) == set()


def test_the_reader_of_names_sees_an_inexact_one() -> None:
    assert inexact_names("np.hypot(a, b) + a @ b") == {"hypot", "@"}
