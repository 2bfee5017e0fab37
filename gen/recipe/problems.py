"""A file's problems, gathered while it is read and raised together."""

from __future__ import annotations

from gen.core.errors import CombinedError, RecipeError
from gen.recipe.lines import Path
from gen.recipe.model import Where
from gen.recipe.origins import Places, Source

MOST = 40
"""So many problems are shown; a file with more has one cause, not forty."""


class Problems:
    """What is wrong with one recipe.

    Parameters
    ----------
    places
        Where everything in it was written.
    """

    def __init__(self, places: Places | Source) -> None:
        self.places = Places(places) if isinstance(places, Source) else places
        self._found: list[tuple[int, int, RecipeError]] = []

    def __len__(self) -> int:
        return len(self._found)

    def where(self, path: Path, line_of: Path | None = None) -> Where:
        """The place that a path names, with the line of it or of `line_of`."""
        source, line_at = self.places.find(path if line_of is None else line_of)
        _, here = self.places.find(path)
        said = ", ".join(filter(None, (part(here), source.extended)))
        return Where(source.file, source.lines.get(line_at), said)

    def take(self, other: Problems) -> None:
        """Note all that another one has found."""
        self._found += other._found

    def add(
        self,
        path: Path,
        fact: str,
        *,
        line_of: Path | None = None,
        got: object = None,
        allowed: object = None,
        hint: str | None = None,
    ) -> None:
        """Note one problem; the parts are those of `gen.core.errors.InkdriftError`."""
        where = self.where(path, line_of)
        error = RecipeError(str(where), fact, got=got, allowed=allowed, hint=hint)
        source, _ = self.places.find(path if line_of is None else line_of)
        self._found.append((len(source.by), where.line or 0, error))

    def raise_any(self) -> None:
        """Raise what was found, file by file from the top; do nothing if it was nothing.

        Raises
        ------
        RecipeError
            If there is one problem.
        CombinedError
            If there are more.
        """
        errors = [error for *_, error in sorted(self._found, key=lambda found: found[:2])]
        if len(errors) > MOST:
            rest = len(errors) - MOST
            errors[MOST:] = [RecipeError(self.places.asked.file, f"and {rest} more of the kind")]
        if len(errors) == 1:
            raise errors[0]
        if errors:
            raise CombinedError(errors)


_NUMBERED = ("blend", "grid", "part", "require", "sweep")


def part(path: Path) -> str:
    """A path in words.

    Examples
    --------
    >>> part(("sweep", 1, "levels", 3))
    'sweep 2, levels, item 4'
    >>> part(("blend", 0, "part", 2, "step"))
    'blend 1, part 3, step'
    """
    words: list[str] = []
    for key in path:
        if isinstance(key, str):
            words.append(key)
        elif words and words[-1] in _NUMBERED:
            words[-1] += f" {key + 1}"
        else:
            words.append(f"item {key + 1}")
    return ", ".join(words)
