"""Files of a folder that can't be read: left out, counted and named.

One broken file in hundreds is no reason to read none. It is one when nothing is left, or
nothing of a class, since the set would then not be the one that was meant.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from gen.core.errors import GlyphError
from gen.core.plain_text import printable

_NAMED = 12


@dataclass
class LeftOut:
    """What was left out of a folder so far.

    Attributes
    ----------
    folder
        The folder that names are told from.
    what
        What its files are, as "pictures".
    errors
        Why, by the path of each.

    Examples
    --------
    >>> left = LeftOut(Path("tags"), "pictures")
    >>> left.add(Path("tags/pear/0.png"), GlyphError("tags/pear/0.png", "not a picture"))
    >>> left.notes(300)
    ['1 of 300 pictures left out, not a picture: pear/0.png']
    """

    folder: Path
    what: str
    errors: dict[Path, GlyphError] = field(default_factory=dict)

    def add(self, path: Path, error: GlyphError) -> None:
        """One more."""
        self.errors[path] = error

    def notes(self, total: int) -> list[str]:
        """A line for each reason, with the names of its first dozen files."""
        by_fact: dict[str, list[str]] = {}
        for path, error in self.errors.items():
            by_fact.setdefault(error.fact, []).append(self._name(path))
        return [
            f"{len(names):,} of {total:,} {self.what} left out, {fact}: {_listed(names)}"
            for fact, names in by_fact.items()
        ]

    def none_left(self, where: str, of: str = "") -> GlyphError:
        """The error where no file is left: its own if there was one, else the first and how many.

        Parameters
        ----------
        where
            The folder, for the error.
        of
            What none is left of, as " of class pear".
        """
        errors = list(self.errors.items())
        if len(errors) == 1:
            return errors[0][1]
        first, why = errors[0]
        return GlyphError(
            where,
            f"none of {len(errors):,} {self.what}{of} can be read",
            got=f"{self._name(first)}: {why.fact}, and so on",
            hint=why.hint,
        )

    def within(self, paths: list[Path]) -> LeftOut:
        """Those of some paths only."""
        kept = {path: self.errors[path] for path in paths if path in self.errors}
        return LeftOut(self.folder, self.what, kept)

    def _name(self, path: Path) -> str:
        try:
            return printable(path.relative_to(self.folder).as_posix())
        except ValueError:
            return printable(path.name)


def _listed(names: list[str]) -> str:
    more = len(names) - _NAMED
    return ", ".join(names[:_NAMED]) + (f" and {more:,} more" if more > 0 else "")
