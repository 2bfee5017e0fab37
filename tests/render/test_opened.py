"""A stress set read back: by this package, and by others that know nothing of it."""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from gen import open_stress_set, render_cells
from gen.core.errors import GlyphError
from gen.glyphs.mapped import mapping_of
from gen.render.formats import FORMATS
from gen.render.stress_set import write_stress_set
from tests.render.stress_support import pictures, recipe

Read = Callable[[Path, str], tuple[NDArray[np.uint8], list[str]]]


def by_numpy(folder: Path, name: str) -> tuple[NDArray[np.uint8], list[str]]:
    with np.load(folder / "cells" / f"{name}.npz", allow_pickle=False) as held:
        return held["images"], [str(held["classes"][label]) for label in held["labels"]]


def by_struct(folder: Path, name: str) -> tuple[NDArray[np.uint8], list[str]]:
    raw = (folder / "cells" / f"{name}-images-idx3-ubyte").read_bytes()
    zero, kind, sizes, count, high, wide = struct.unpack(">HBBIII", raw[:16])
    assert (zero, kind, sizes) == (0, 8, 3)
    labels = (folder / "cells" / f"{name}-labels-idx1-ubyte").read_bytes()
    assert struct.unpack(">HBBI", labels[:8]) == (0, 8, 1, count)
    classes = json.loads((folder / "manifest.json").read_text("utf-8"))["glyphs"]["classes"]
    images = np.frombuffer(raw[16:], np.uint8).reshape(count, high, wide)
    return images, [classes[label] for label in labels[8:]]


def by_pillow(folder: Path, name: str) -> tuple[NDArray[np.uint8], list[str]]:
    paths = sorted((folder / "cells" / name).glob("*/*.png"), key=lambda path: int(path.stem))
    safe = {"pear": "pear", "plum": "plum", "class-2": "a b"}
    images = np.stack([np.asarray(Image.open(path)) for path in paths])
    return images, [safe[path.parent.name] for path in paths]


READERS: dict[str, Read] = {"npz": by_numpy, "idx": by_struct, "png": by_pillow}


@pytest.fixture(scope="module", params=FORMATS)
def written(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, Path]:
    folder = tmp_path_factory.mktemp(request.param) / "set"
    write_stress_set(recipe(), pictures(), folder, kind=request.param)
    return request.param, folder


def test_every_format_is_read_by_ordinary_code(written: tuple[str, Path]) -> None:
    kind, folder = written
    names = [f"{name}" for name in pictures().classes]
    expected = [names[label] for label in pictures().labels]
    cells = 0
    for cell, rendered in render_cells(recipe(), pictures()):
        images, labels = READERS[kind](folder, cell.name)
        assert images.dtype == np.uint8
        assert np.array_equal(images, rendered.images), cell.name
        assert labels == expected
        cells += 1
    assert cells == 6


def test_it_opens_as_a_mapping_of_cells_with_their_arrays(written: tuple[str, Path]) -> None:
    _, folder = written
    stress = open_stress_set(str(folder))
    assert stress.classes == ("pear", "plum", "a b")
    assert stress.names == tuple(stress)
    assert stress.names[0] == "nominal"
    assert np.array_equal(stress.labels, pictures().labels)
    for cell, rendered in render_cells(recipe(), pictures()):
        there = stress[cell.name]
        assert np.array_equal(there.images, rendered.images)
        assert np.array_equal(there.labels, pictures().labels)
        assert [step["level"] for step in there.steps] == [step.level for step in cell.steps]
        assert len(there) == 60
    with pytest.raises(KeyError):
        stress["another"]


@pytest.mark.parametrize("kind", ["npz", "idx"])
def test_pictures_are_mapped_and_not_read(tmp_path: Path, kind: str) -> None:
    write_stress_set(recipe(), pictures(), tmp_path / "set", kind=kind)
    images = open_stress_set(tmp_path / "set")["nominal"].images
    assert mapping_of(images) is not None
    assert not images.flags.writeable


def test_where_there_is_no_set_it_says_how_to_get_one(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match=r"no stress set here: no manifest.json\n +try +gen rend"):
        open_stress_set(tmp_path)


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{}", "3", "{" * 9, '{"format": "npz", "cells": [], "glyphs": 3}'],
)
def test_a_manifest_that_is_none_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "manifest.json").write_text(text)
    with pytest.raises(GlyphError, match="isn't the manifest of a stress set"):
        open_stress_set(tmp_path)


@pytest.mark.parametrize("name", ["../nominal", "/etc/passwd", "a/b", "", "..\\x", None, 3])
def test_a_cell_that_would_lead_elsewhere_is_refused(tmp_path: Path, name: Any) -> None:
    made = write_stress_set(recipe(), pictures(), tmp_path / "set")
    made["cells"][1]["name"] = name
    (tmp_path / "set" / "manifest.json").write_text(json.dumps(made))
    with pytest.raises(GlyphError, match=r"isn't the manifest of a stress set\n.*a cell named"):
        open_stress_set(tmp_path / "set")


@pytest.mark.parametrize("kind", FORMATS)
def test_a_cell_that_came_to_harm_is_an_error_that_names_it(tmp_path: Path, kind: str) -> None:
    write_stress_set(recipe(), pictures(), tmp_path / "set", kind=kind)
    cells = tmp_path / "set" / "cells"
    for path in [p for p in cells.rglob("*nominal*") if p.is_file()] + list(
        cells.glob("nominal/*/*")
    ):
        path.write_bytes(path.read_bytes()[:60])
    cell = open_stress_set(tmp_path / "set")["nominal"]
    with pytest.raises(GlyphError, match=r"nominal.*: can't be read"):
        _ = cell.images


def test_a_picture_that_is_gone_is_missed(tmp_path: Path) -> None:
    write_stress_set(recipe(), pictures(), tmp_path / "set", kind="png")
    next((tmp_path / "set" / "cells" / "nominal").glob("*/000007.png")).unlink()
    with pytest.raises(GlyphError, match=r"pictures are missing.*\n +got +59 pictures"):
        _ = open_stress_set(tmp_path / "set")["nominal"].images
