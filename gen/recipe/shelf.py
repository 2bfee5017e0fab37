"""Recipes that ship, found by bare name from a wheel and from a checkout."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import Any

from gen.core.errors import RecipeError
from gen.recipe.spelling import nearest, nearest_hint, quoted

_SUFFIX = ".toml"


def shelf_folder() -> Path:
    """The folder that the shipped recipes are in.

    In an installed package it lies beside this file; in a checkout it is the
    top-level folder `recipes`.

    Raises
    ------
    RecipeError
        If neither is there: the package was not built whole.
    """
    shipped = Path(__file__).parent / "shipped"
    if shipped.is_dir():
        return shipped
    checkout = Path(__file__).parents[2]
    # A folder `recipes` beside an installed package could be anybody's.
    if (checkout / "pyproject.toml").is_file() and (checkout / "recipes").is_dir():
        return checkout / "recipes"
    raise RecipeError(str(shipped), "the recipes that ship are missing", hint="install again")


def shelf_names() -> tuple[str, ...]:
    """The names of the shipped recipes, sorted.

    Examples
    --------
    >>> "first-look" in shelf_names()
    True
    """
    return tuple(sorted(path.stem for path in shelf_folder().glob(f"*{_SUFFIX}")))


def shelf_file(name: str) -> Path:
    """The file of a recipe that ships, by its name.

    Examples
    --------
    >>> shelf_file("first-look").name
    'first-look.toml'
    """
    return shelf_folder() / f"{name}{_SUFFIX}"


def shelf_titles() -> dict[str, str]:
    """Each shipped recipe's title by its name, sorted by name.

    Examples
    --------
    >>> shelf_titles()["first-look"]
    'A first look'
    """
    return {name: str(told["title"]) for name, told in _shelved().items()}


def _shelved() -> dict[str, dict[str, Any]]:
    return {name: tomllib.loads(shelf_file(name).read_text("utf-8")) for name in shelf_names()}


def shelf_notes() -> dict[str, str]:
    """What each recipe that ships asks, by name: its note, or its title where it has none.

    Examples
    --------
    >>> shelf_notes()["worn-pen"]
    'Tips that are worn, spread or dry: from which pen to which is the model safe?'
    """
    return {name: str(told.get("note") or told["title"]) for name, told in _shelved().items()}


def find_recipe(name_or_path: str | os.PathLike[str]) -> Path:
    """The file of a recipe that is named by path or, if it ships, by bare name.

    What has a suffix or a separator, or is a file here, is a path. Everything
    else is a name on the shelf.

    Raises
    ------
    RecipeError
        If there is no such file, or no such name: what ships is listed.

    Examples
    --------
    >>> find_recipe("first-look").name
    'first-look.toml'
    """
    asked = os.fspath(name_or_path)
    names = shelf_names()
    path = Path(asked)
    if path.is_file() or (asked and path.is_dir() and asked not in names):
        return path
    if path.suffix or any(mark and mark in asked for mark in (os.sep, os.altsep)):
        if path.exists():
            return path
        known = (*names, *(f"{name}{_SUFFIX}" for name in names))
        # The endings are alike, and would make any two names look near.
        near = nearest(path.stem, [Path(name).stem for name in beside(path)])
        hint = None if near is None else quoted(str(path.with_name(near + _SUFFIX)))
        if path.name in known:
            hint = quoted(path.stem)
        raise RecipeError(asked, absent(path), hint=hint)
    if asked in names:
        return shelf_file(asked)
    raise RecipeError(
        "",
        f"no recipe that ships is called {quoted(asked)}",
        allowed=", ".join(names) + ", or the path of a TOML file",
        hint=nearest_hint(asked, (*names, *beside(path))) if asked else None,
    )


def absent(path: Path) -> str:
    """What is wrong with a file that isn't there."""
    return "this link leads to no file" if path.is_symlink() else "there is no such file"


def beside(path: Path) -> tuple[str, ...]:
    """Names of the TOML files where a file was looked for."""
    try:
        found = path.parent.glob(f"*{_SUFFIX}")
        return tuple(sorted(near.name for near in found if near.is_file()))
    except OSError:
        return ()
