"""Where each part of a recipe was written, when several files make it up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from gen.recipe.lines import Path


@dataclass(frozen=True)
class Source:
    """One file of those that make up a recipe.

    Attributes
    ----------
    file
        The file as the reader of the errors knows it.
    lines
        The line of each path in it; paths that it lacks have no line.
    by
        The files that extend it: the one that names it first, then that one's, and so on.
    """

    file: str
    lines: Mapping[Path, int] = field(default_factory=dict)
    by: tuple[str, ...] = ()

    @property
    def extended(self) -> str:
        """By which files it is extended, in words; empty for the recipe that was asked for.

        Examples
        --------
        >>> Source("base.toml", by=("drift.toml", "night.toml")).extended
        'extended by drift.toml, extended by night.toml'
        """
        return ", ".join(f"extended by {file}" for file in self.by)

    @property
    def chain(self) -> tuple[str, ...]:
        """The files from the recipe that was asked for to this one."""
        return (*reversed(self.by), self.file)


@dataclass(frozen=True)
class Placed:
    """A value of a recipe with the file that says it, and the way to it in that file."""

    value: object
    source: Source
    path: Path


class Places:
    """From the way to a value in what comes of all files to its place in one of them.

    Parameters
    ----------
    asked
        The file of the recipe that was asked for, in which whatever has no place stands.
    placed
        The values that have one, by the way to them.
    """

    def __init__(self, asked: Source, placed: Mapping[Path, Placed] | None = None) -> None:
        self.asked = asked
        self.placed = dict(placed or {})

    def find(self, path: Path) -> tuple[Source, Path]:
        """The file that says it, and the way to it there."""
        for length in (2, 1):
            near = self.placed.get(path[:length]) if len(path) >= length else None
            if near is not None:
                return near.source, (*near.path, *path[length:])
        return self.asked, path
