"""Imports go one way: a room may import the rooms below it and never one above."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "gen"

# Each room with the rooms it may import. This table is the design.
MAY_IMPORT: dict[str, set[str]] = {
    "core": set(),
    "recipe": {"core"},
    "glyphs": {"core"},
    "perturb": {"core", "recipe", "glyphs"},
    "render": {"core", "recipe", "glyphs", "perturb"},
    "evaluate": {"core", "recipe", "glyphs", "perturb", "render"},
    "diagnose": {"core", "recipe", "glyphs", "perturb", "render", "evaluate"},
    "report": {"core", "recipe", "glyphs", "perturb", "render", "evaluate", "diagnose"},
    "demo": {"core", "recipe", "glyphs", "perturb", "render", "evaluate", "diagnose", "report"},
}
MAY_IMPORT["cli"] = set(MAY_IMPORT)


def imported_rooms(source: str, room: str) -> set[str]:
    """The rooms of gen that a module of one room imports, its own left out."""
    rooms = set()
    for node in ast.walk(ast.parse(source)):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "absolute imports only, so that this test can read them"
            module = node.module or ""
            names = [f"gen.{a.name}" for a in node.names] if module == "gen" else [module]
        for name in names:
            parts = name.split(".")
            if parts[0] == "gen" and len(parts) > 1:
                rooms.add(parts[1])
    return rooms - {room}


MODULES = sorted(path for path in PACKAGE.glob("*/**/*.py"))


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_room_imports_only_the_rooms_below_it(path: Path) -> None:
    room = path.relative_to(PACKAGE).parts[0]
    assert imported_rooms(path.read_text("utf-8"), room) <= MAY_IMPORT[room]


def test_the_reader_of_imports_sees_a_forbidden_one() -> None:
    assert imported_rooms("from gen.report import page\nimport gen.cli.main", "core") == {
        "report",
        "cli",
    }


def test_every_room_is_in_the_table() -> None:
    rooms = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    assert rooms == set(MAY_IMPORT)
