"""What a shell completes: recipes, perturbations, sources of glyphs, models."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator
from pathlib import Path

import click
from click.shell_completion import CompletionItem

from gen.core.errors import InkdriftError

PATH = "path"
"""The kind of an item that is a file or a folder that is there."""
STROKES = "strokes"
FOREIGN = (
    "foreign:blank",
    "foreign:noise",
    "foreign:scribble",
    "foreign:two marks",
    "foreign:strangers",
)
"""Sources that are no files; listed here so that a key press loads no arrays."""

Items = list[CompletionItem]


def perturbation_names(ctx: click.Context, param: click.Parameter, incomplete: str) -> Items:
    """Every perturbation: the schema that ships names them, and reading it is quick."""
    del ctx, param
    schema = json.loads((_beside_recipes() / "recipe.schema.json").read_text("utf-8"))
    names = schema["$defs"]["a sweep"]["properties"]["perturbation"]["enum"]
    return _starting(names, incomplete)


def recipe_names(ctx: click.Context, param: click.Parameter, incomplete: str) -> Items:
    """Recipes that ship, with their titles, and TOML files."""
    del ctx, param
    from gen.recipe.shelf import shelf_titles

    try:
        titles = shelf_titles()
    except InkdriftError:
        titles = {}
    items = [
        CompletionItem(name, help=title)
        for name, title in titles.items()
        if name.startswith(incomplete)
    ]
    return items + list(paths_from(incomplete, (".toml",)))


def sources(ctx: click.Context, param: click.Parameter, incomplete: str) -> Items:
    """Files and folders, and the sources that are made here."""
    del ctx, param
    return _starting((STROKES, *FOREIGN), incomplete) + list(paths_from(incomplete))


def models(ctx: click.Context, param: click.Parameter, incomplete: str) -> Items:
    """Files that hold a model; behind the colon, what a Python file defines."""
    del ctx, param
    file, colon, name = incomplete.rpartition(":")
    if colon:
        return _starting((f"{file}:{each}" for each in _defined(file)), f"{file}:{name}")
    return list(paths_from(incomplete, (".py", ".onnx", ".toml")))


def reports_in(ctx: click.Context, param: click.Parameter, incomplete: str) -> Items:
    """Folders, and files as `gen report` names them."""
    del ctx, param
    return list(paths_from(incomplete, (".json",)))


def _beside_recipes() -> Path:
    import gen.recipe

    return Path(gen.recipe.__file__).parent


def _starting(names: Iterable[str], incomplete: str) -> Items:
    return [CompletionItem(name) for name in names if name.startswith(incomplete)]


def paths_from(
    incomplete: str, suffixes: tuple[str, ...] | None = None
) -> Iterator[CompletionItem]:
    """Folders, and files with one of these suffixes, that begin so; folders end in a slash."""
    typed, start = os.path.split(incomplete)
    before = incomplete.removesuffix(start)
    try:
        folder = Path(typed).expanduser()
        inside = sorted(os.scandir(folder), key=lambda one: one.name)
    except (OSError, RuntimeError, ValueError):  # no such folder, no such person, no path
        return
    for one in inside:
        hidden = one.name.startswith(".") and not start.startswith(".")
        if hidden or not one.name.startswith(start):
            continue
        path = before + one.name
        if one.is_dir():
            yield CompletionItem(path + os.sep, type=PATH)
        elif suffixes is None or one.name.endswith(suffixes):
            yield CompletionItem(path, type=PATH)


def _defined(file: str) -> list[str]:
    """Names that a Python file defines at its top, without running it."""
    import ast

    try:
        tree = ast.parse(Path(file).expanduser().read_bytes())
    except (OSError, RuntimeError, SyntaxError, ValueError):
        return []
    names: list[str] = []
    for node in tree.body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            names.append(node.name)
        elif isinstance(node, (ast.Assign, ast.AnnAssign)):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names += [each.id for each in targets if isinstance(each, ast.Name)]
    return [name for name in dict.fromkeys(names) if not name.startswith("_")]
