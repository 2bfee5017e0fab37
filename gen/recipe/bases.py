"""Following `extends` from a recipe to the one that it extends, and on to the last."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path

from gen.core.errors import RecipeError
from gen.core.plain_text import printable
from gen.recipe.lines import find_lines
from gen.recipe.origins import Source
from gen.recipe.problems import Problems
from gen.recipe.shelf import absent, beside, shelf_file, shelf_names
from gen.recipe.source import parse_toml, read_text
from gen.recipe.spelling import nearest, nearest_hint, quoted, shown

EXTENDS = "extends"
MOST_FILES = 8
"""Recipes in a row that extend one another, the first among them."""

_SUFFIX = ".toml"
_PATH_OR_NAME = f"a relative path that ends in {_SUFFIX}, or the name of a recipe that ships"
# A drive's letter, a backslash or a home folder: what only one system or person has.
_ELSEWHERE = re.compile(r"^(/|~|[A-Za-z]:)|\\")


@dataclass(frozen=True)
class Layer:
    """One file as it was parsed, with nothing judged but `extends`."""

    data: dict[str, object]
    source: Source


def unified(text: str) -> str:
    """A text with line feeds for line ends, and without a byte order mark."""
    return text.removeprefix("\ufeff").replace("\r\n", "\n")


def read_layers(
    text: str, file: str, *, folder: str | os.PathLike[str] | None, real: str | None = None
) -> tuple[Layer, ...]:
    """A recipe, the one that it extends, and so on.

    Parameters
    ----------
    text
        The recipe's TOML, as `unified` gives it.
    file
        What errors call it.
    folder
        The folder that its relative paths start from; None when it has none.
    real
        The true path of its file, by which a circle is noticed.

    Raises
    ------
    RecipeError
        If one of them isn't there, can't be read, isn't TOML or extends itself in the end.
    """
    layers = [_layer(text, Source(file))]
    seen = [real]
    while EXTENDS in (last := layers[-1]).data:
        path = _base(last, folder)
        _hold(last, path, seen)
        seen.append(os.path.realpath(path))
        source = Source(str(path), by=tuple(reversed(last.source.chain)))
        try:
            layers.append(_layer(unified(read_text(path)), source))
        except RecipeError as error:
            raise error.at(f"{error.where}: {source.extended}") from error
        folder = path.parent
    return tuple(layers)


def _layer(text: str, source: Source) -> Layer:
    data = parse_toml(text, source.file)
    return Layer(data, Source(source.file, find_lines(text, data), source.by))


def _base(layer: Layer, folder: str | os.PathLike[str] | None) -> Path:
    """The file that a recipe extends; whether it is there is not asked yet."""
    value = layer.data[EXTENDS]
    where = str(Problems(layer.source).where((EXTENDS,)))
    if not isinstance(value, str) or not value:
        raise RecipeError(
            where, "a recipe extends one other", got=shown(value), allowed=_PATH_OR_NAME
        )
    if _ELSEWHERE.search(value):
        hint = quoted(value.replace("\\", "/")) if not _ELSEWHERE.match(value) else None
        raise RecipeError(
            where,
            "this path would not be the same for somebody else",
            got=quoted(value),
            allowed=f"{_PATH_OR_NAME}; / between folders",
            hint=hint,
        )
    if not value.endswith(_SUFFIX):
        if "/" not in value and value in shelf_names():
            return shelf_file(value)
        named = "/" not in value
        raise RecipeError(
            where,
            f"no recipe that ships is called {quoted(value)}"
            if named
            else "this isn't the path of a recipe",
            got=None if named else quoted(value),
            allowed=f"{', '.join(shelf_names())}, or a relative path that ends in {_SUFFIX}"
            if named
            else _PATH_OR_NAME,
            hint=nearest_hint(value, shelf_names()) if named else quoted(value + _SUFFIX),
        )
    if folder is None:
        stem = value.removesuffix(_SUFFIX)
        raise RecipeError(
            where,
            "a text has no folder that this path could start from",
            got=quoted(value),
            allowed="the name of a recipe that ships; a path where a folder is given",
            hint=quoted(stem)
            if stem in shelf_names()
            else 'parse_recipe(text, folder="recipes"), or read_recipe for a file',
        )
    return Path(folder, value)


def _hold(layer: Layer, path: Path, seen: list[str | None]) -> None:
    """Refuse a file that isn't there, one of the chain itself, and one too many."""
    where = str(Problems(layer.source).where((EXTENDS,)))
    chain = " extends ".join((*layer.source.chain, str(path)))
    if not path.exists():
        near = nearest(path.name, beside(path))
        if near is not None:
            near = str(Path(str(layer.data[EXTENDS])).with_name(near))
        raise RecipeError(
            where,
            absent(path),
            got=printable(chain),
            hint=quoted(path.stem) if path.stem in shelf_names() else near and quoted(near),
        )
    if not path.is_file() and not path.is_dir():  # a pipe would be waited for without end
        raise RecipeError(where, "what this extends is not a file", got=printable(chain))
    if os.path.realpath(path) in seen:
        raise RecipeError(
            where,
            "recipes extend one another in a circle",
            got=printable(chain),
            allowed="a chain that ends with a recipe that extends none",
        )
    if len(seen) >= MOST_FILES:
        raise RecipeError(
            where,
            "too many recipes in a row extend one another",
            got=printable(chain),
            allowed=f"at most {MOST_FILES}, the first among them",
        )
