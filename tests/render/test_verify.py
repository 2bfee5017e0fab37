"""`verify_stress_set` finds what was done to a set, and nothing where nothing was."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from gen import write_strokes
from gen.core.errors import GlyphError
from gen.glyphs.base import Glyphs
from gen.render.formats import FORMATS
from gen.render.manifest import set_digest
from gen.render.stress_set import write_stress_set
from gen.render.verify import verify_stress_set
from tests.render.stress_support import TEXT, pictures, recipe
from tests.render.support import Drawn, capsule

SOURCES: dict[str, Callable[[], Glyphs]] = {
    "strokes": lambda: write_strokes(count=30, classes="07K", seed=3, frame=(20, 24), writers=5),
    "some strokes": lambda: write_strokes(count=90).take(np.array([3, 88, 17, 5])),
    "pictures": pictures,
}
BLEND = """
title = "Drawn"
[[blend]]
title = "the belt"
draws = 2
[[blend.part]]
perturbation = "blur"
unit = "px"
normal = { mean = 1, sd = 0.2 }
"""


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("source", SOURCES)
def test_a_set_as_it_was_written_has_no_differences(tmp_path: Path, source: str, kind: str) -> None:
    glyphs = SOURCES[source]()
    write_stress_set(recipe(), glyphs, tmp_path / "set", kind=kind)
    found = verify_stress_set(tmp_path / "set", sample=10_000, seed=1)
    assert found.differences == found.notes == ()
    assert (found.cells, found.rendered) == (6, 6 * len(glyphs))


def test_a_subset_as_it_was_written_has_no_differences(tmp_path: Path) -> None:
    write_stress_set(recipe(), pictures(), tmp_path / "set", only=["blur"])
    assert verify_stress_set(tmp_path / "set").differences == ()


def test_the_sample_is_spread_over_all_cells_and_may_be_none(tmp_path: Path) -> None:
    write_stress_set(recipe(), pictures(), tmp_path / "set")
    told: list[tuple[int, int]] = []
    assert verify_stress_set(tmp_path / "set", sample=7).rendered == 12
    found = verify_stress_set(tmp_path / "set", sample=0, progress=lambda *n: told.append(n))
    assert (found.rendered, found.differences) == (0, ())
    assert told[-1] == (6, 6)


def manifest_of(folder: Path) -> dict[str, Any]:
    made: dict[str, Any] = json.loads((folder / "manifest.json").read_text("utf-8"))
    return made


def write_manifest(folder: Path, made: dict[str, Any]) -> None:
    made["digest"] = set_digest(made["recipe"]["digest"], made["glyphs"]["digest"], made["cells"])
    (folder / "manifest.json").write_text(json.dumps(made))


@pytest.mark.parametrize("kind", FORMATS)
def test_one_pixel_that_was_flipped_is_found(tmp_path: Path, kind: str) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), pictures(), folder, kind=kind)
    name = "04-blur+1px"
    if kind == "png":
        (path,) = (folder / "cells" / name).glob("*/000007.png")
        pixels = np.array(Image.open(path))
        pixels[14, 14] ^= 1
        Image.fromarray(pixels).save(path)
        expected = (f"{name}: its pictures aren't those that manifest.json pins",)
    else:
        file = f"cells/{name}.npz" if kind == "npz" else f"cells/{name}-images-idx3-ubyte"
        raw = bytearray((folder / file).read_bytes())
        raw[-28 * 28 * 5 - 100] ^= 1
        (folder / file).write_bytes(raw)
        expected = (f"{file}: changed",)
    assert verify_stress_set(folder).differences == expected


@pytest.mark.parametrize(
    ("harm", "expected"),
    [
        ("gone", "cells/nominal.npz: missing"),
        ("short", "cells/nominal.npz: cut short: "),
        ("long", "cells/nominal.npz: longer than it was: "),
        ("extra", "cells/bees.npz: not in manifest.json"),
        ("no sheet", "sheets/03-scale.png: missing"),
        ("sheet", "sheets/03-scale.png: changed"),
        ("no picture", "sheets/03-scale.png: can't be read"),
        ("no recipe", "recipe.toml: missing"),
        ("recipe", "recipe.toml: isn't the recipe that manifest.json holds"),
    ],
)
def test_each_kind_of_harm_is_one_line(tmp_path: Path, harm: str, expected: str) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), write_strokes(count=30), folder)
    cell, sheet = folder / "cells" / "nominal.npz", folder / "sheets" / "03-scale.png"
    if harm == "gone":
        cell.unlink()
    elif harm in ("short", "long"):
        raw = cell.read_bytes()
        cell.write_bytes(raw[:-9] if harm == "short" else raw + b"!")
    elif harm == "extra":
        (folder / "cells" / "bees.npz").write_bytes(b"12 crates")
        (folder / "harvest.txt").write_text("nobody's matter")
    elif harm == "no sheet":
        sheet.unlink()
    elif harm == "sheet":
        Image.new("L", (9, 9)).save(sheet)
    elif harm == "no picture":
        sheet.write_bytes(b"12 crates")
    elif harm == "no recipe":
        (folder / "recipe.toml").unlink()
    else:
        (folder / "recipe.toml").write_text(TEXT + "# a word")
    (found,) = verify_stress_set(folder).differences
    assert found.startswith(expected)


@pytest.mark.parametrize("name", ["missing", "again", "strange"])
def test_pictures_that_are_not_as_many_as_they_were_are_told(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), pictures(), folder, kind="png")
    (path,) = (folder / "cells" / "nominal").glob("*/000007.png")
    if name == "missing":
        path.unlink()
        expected = "cells/nominal: pictures are missing, or there are too many (59 pictures)"
    elif name == "again":
        other = next(p for p in path.parent.parent.iterdir() if p != path.parent)
        (other / path.name).write_bytes(path.read_bytes())
        expected = "000007.png: not in manifest.json"
    else:
        (path.parent / "bees.txt").write_text("12 crates")
        expected = "bees.txt: not in manifest.json"
    assert expected in "\n".join(verify_stress_set(folder).differences)


@pytest.mark.parametrize("source", SOURCES)
def test_a_recipe_that_was_edited_everywhere_is_found_by_rendering(
    tmp_path: Path, source: str
) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), SOURCES[source](), folder)
    made, text = manifest_of(folder), TEXT.replace("levels = [1]", "levels = [1.05]")
    made["recipe"] |= {"text": text, "digest": recipe(text).digest}
    for entry in made["cells"]:
        if entry["name"] == "04-blur+1px":
            entry["name"] = "04-blur+1.05px"
            entry["files"][0]["path"] = "cells/04-blur+1.05px.npz"
            entry["steps"][0]["level"] = 1.05
    (folder / "cells" / "04-blur+1px.npz").rename(folder / "cells" / "04-blur+1.05px.npz")
    (folder / "recipe.toml").write_text(text)
    write_manifest(folder, made)
    assert verify_stress_set(folder, sample=0).differences == (), "files alone can't show it"
    (found,) = verify_stress_set(folder, sample=60).differences
    assert found.startswith("04-blur+1.05px: glyph")
    assert found.endswith("tried, not what the recipe renders")


def test_a_recipe_that_was_edited_carelessly_is_found_in_many_ways(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), write_strokes(count=30), folder)
    made, text = manifest_of(folder), TEXT.replace("levels = [1]", "levels = [2]")
    made["recipe"]["text"] = text
    write_manifest(folder, made)
    assert verify_stress_set(folder).differences == (
        "recipe.toml: isn't the recipe that manifest.json holds",
        "manifest.json: its recipe isn't the one that its digest pins",
        "04-blur+2px: the recipe asks for it; not there",
        "04-blur+1px: the recipe doesn't ask for it",
    )


def test_steps_that_were_edited_are_found(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), write_strokes(count=30), folder)
    made = manifest_of(folder)
    made["cells"][-1]["steps"][0]["level"] = 2
    write_manifest(folder, made)
    (found,) = verify_stress_set(folder).differences
    assert found == "04-blur+1px: the recipe asks for other steps in it"


@pytest.mark.parametrize(
    ("key", "value"), [("seed", 4), ("writers", 6), ("numbers", list(range(1, 31)))]
)
def test_strokes_that_were_said_to_be_others_are_found(
    tmp_path: Path, key: str, value: Any
) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), SOURCES["strokes"](), folder)
    made = manifest_of(folder)
    made["glyphs"]["written"][key] = value
    write_manifest(folder, made)
    found = verify_stress_set(folder, sample=60).differences
    assert found[0].startswith("manifest.json: its strokes, written again, have another digest")
    assert any("not what the recipe renders" in line for line in found[1:])


def test_pictures_that_were_exchanged_with_every_digest_are_not_what_was_pinned(
    tmp_path: Path,
) -> None:
    """Whoever writes nominal anew can't make the digest of the glyphs fit, unless it too is new."""
    folder, other = tmp_path / "set", tmp_path / "other"
    write_stress_set(recipe(), pictures(), folder)
    images = pictures()
    images.images[:] = images.images[::-1]
    write_stress_set(recipe(), images, other)
    made, theirs = manifest_of(folder), manifest_of(other)
    made["cells"][0] = theirs["cells"][0]
    write_manifest(folder, made)
    (folder / "cells" / "nominal.npz").write_bytes((other / "cells" / "nominal.npz").read_bytes())
    found = verify_stress_set(folder).differences
    assert found[0] == "nominal: its pictures aren't the glyphs that their digest pins"
    assert any(line.startswith("04-blur+1px: glyph") for line in found)


def test_labels_of_another_set_are_found(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), pictures(), folder)
    made = manifest_of(folder)
    made["glyphs"]["labels_sha256"] = "0" * 64
    write_manifest(folder, made)
    found = verify_stress_set(folder, sample=0).differences
    assert len(found) == 6
    assert found[0] == "nominal: its labels aren't those that manifest.json pins"


def test_a_digest_that_was_edited_is_found(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    made = write_stress_set(recipe(), pictures(), folder)
    made["digest"] = "0" * 64
    (folder / "manifest.json").write_text(json.dumps(made))
    assert verify_stress_set(folder).differences == (
        "manifest.json: its digest isn't that of the recipe, glyphs and cells that it lists",
    )


def test_a_path_that_leads_out_of_the_folder_is_not_followed(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), pictures(), folder)
    made = manifest_of(folder)
    made["cells"][1]["files"][0]["path"] = "../../etc/passwd"
    made["sweeps"][0]["sheet"] = "/etc/passwd"
    write_manifest(folder, made)
    found = verify_stress_set(folder, sample=0).differences
    assert "../../etc/passwd: leads out of the folder" in found
    assert "/etc/passwd: leads out of the folder" in found


@pytest.mark.parametrize(
    "spoil",
    [
        lambda made: made.pop("sweeps"),
        lambda made: made["glyphs"].pop("labels_sha256"),
        lambda made: made["cells"][0].update(files=3),
        lambda made: made["cells"][0]["files"][0].update(bytes="many"),
        lambda made: made["recipe"].update(text=3),
        lambda made: made.update(cells={}),
    ],
)
def test_a_manifest_that_is_broken_is_bad_input(
    tmp_path: Path, spoil: Callable[[dict[str, Any]], object]
) -> None:
    folder = tmp_path / "set"
    made = write_stress_set(recipe(), pictures(), folder)
    spoil(made)
    (folder / "manifest.json").write_text(json.dumps(made))
    with pytest.raises(GlyphError, match="isn't the manifest of a stress set"):
        verify_stress_set(folder)


def test_strokes_of_another_make_are_not_rendered_again_and_that_is_said(tmp_path: Path) -> None:
    glyphs: Drawn = capsule((9.0, 9.0), (18.0, 18.0), 3.0, (28, 28))
    write_stress_set(recipe(), glyphs, tmp_path / "set")
    found = verify_stress_set(tmp_path / "set")
    assert (found.differences, found.rendered) == ((), 0)
    assert found.notes == (
        "the glyphs are strokes that this program can't write again; only files were looked at",
    )


def test_draws_of_a_blend_are_rendered_again_too(tmp_path: Path) -> None:
    made = write_stress_set(recipe(BLEND), write_strokes(count=30), tmp_path / "set")
    assert len(made["cells"]) == 3
    found = verify_stress_set(tmp_path / "set", sample=90)
    assert (found.differences, found.rendered) == ((), 90)


def test_a_zip_that_was_packed_anew_with_the_same_arrays_is_a_changed_file(tmp_path: Path) -> None:
    folder = tmp_path / "set"
    write_stress_set(recipe(), pictures(), folder)
    path = folder / "cells" / "nominal.npz"
    with zipfile.ZipFile(path) as held:
        members = [(name, held.read(name)) for name in reversed(held.namelist())]
    with zipfile.ZipFile(path, "w") as packed:
        for name, raw in members:
            packed.writestr(name, raw)
    (found,) = verify_stress_set(folder, sample=0).differences
    assert found.startswith("cells/nominal.npz: ")
