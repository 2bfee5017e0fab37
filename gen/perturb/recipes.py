"""Reading recipes, held to the perturbations that there are."""

from __future__ import annotations

import os

from gen.perturb import CATALOGUE
from gen.recipe import reader
from gen.recipe.model import Recipe
from gen.recipe.shelf import find_recipe


def read_recipe(name_or_path: str | os.PathLike[str]) -> Recipe:
    """Read a recipe by its path, or by the bare name of one that ships.

    Raises
    ------
    RecipeError
        If there is none, or something in it can't be read; every problem is named.

    Examples
    --------
    >>> read_recipe("first-look").sweeps[0].unit
    'px'
    """
    return reader.read_recipe(find_recipe(name_or_path), CATALOGUE)


def parse_recipe(text: str, *, folder: str | os.PathLike[str] | None = None) -> Recipe:
    """Read a recipe from its text.

    Parameters
    ----------
    text
        TOML.
    folder
        Where the relative path of a recipe that it extends starts from; without one,
        only recipes that ship can be extended, by name.

    Raises
    ------
    RecipeError
        If something in it can't be read; every problem is named with its line.

    Examples
    --------
    >>> parse_recipe('title = "Nothing yet"').sweeps
    ()
    """
    return reader.parse_recipe(text, CATALOGUE, folder=folder)
