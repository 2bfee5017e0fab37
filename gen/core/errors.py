"""One family of errors, one shape: where, what, got, allowed, try."""

from __future__ import annotations

from collections.abc import Iterable
from copy import copy
from typing import Any, Self


class InkdriftError(Exception):
    """Something the caller gave can't be used, said so that they can mend it.

    Parameters
    ----------
    where
        The place: a file with its line, a sweep, an option, a cell.
    fact
        What is wrong, as a sentence without a full stop.
    got, allowed, hint
        The value as it was written, the limit, and what to do next. Each is
        left out of the text when it is not given.

    Examples
    --------
    >>> print(InkdriftError("tags.idx", "the file ends early", got="40 bytes",
    ...                     allowed="56 bytes", hint="copy it again"))
    tags.idx: the file ends early
      got       40 bytes
      allowed   56 bytes
      try       copy it again
    """

    exit_code = 2

    def __init__(
        self,
        where: str,
        fact: str,
        *,
        got: object = None,
        allowed: object = None,
        hint: str | None = None,
    ) -> None:
        self.where = where
        self.fact = fact
        self.got = got
        self.allowed = allowed
        self.hint = hint
        super().__init__(self._text())

    def at(self, where: str) -> Self:
        """Give the same error, said of another place.

        Examples
        --------
        >>> print(GlyphError("labels", "the file ends early", got="9 bytes").at("--labels"))
        --labels: the file ends early
          got       9 bytes
        """
        moved = copy(self)
        moved.where = where
        moved.args = (moved._text(),)
        return moved

    def __reduce__(self) -> tuple[Any, ...]:
        """As it was, from another process too: an error must not be lost on its way home."""
        return _rebuilt, (type(self), self.args, self.__dict__.copy())

    def _text(self) -> str:
        lines = [f"{self.where}: {self.fact}" if self.where else self.fact]
        for title, value in (("got", self.got), ("allowed", self.allowed), ("try", self.hint)):
            if value is not None:
                lines.append(f"  {title:<10}{value}")
        return "\n".join(lines)


def _rebuilt(
    kind: type[InkdriftError], args: tuple[Any, ...], said: dict[str, Any]
) -> InkdriftError:
    error = kind.__new__(kind, *args)
    error.__dict__.update(said)
    return error


class RecipeError(InkdriftError):
    """A recipe can't be read, or asks for what doesn't exist."""


class LevelError(InkdriftError):
    """A level is outside the range of its perturbation, or not a level at all."""


class GlyphError(InkdriftError):
    """A source of glyphs can't be read, or holds something that isn't a glyph."""


class ModelError(InkdriftError):
    """A model can't be loaded, or answers with something that isn't an answer."""


class OutputError(InkdriftError):
    """What was asked for can't be written where it was asked for."""


class CombinedError(InkdriftError):
    """Every problem of one file at once, so that it is mended in one go.

    Examples
    --------
    >>> two = CombinedError([InkdriftError("a", "is wrong"), InkdriftError("b", "is too")])
    >>> print(two)
    a: is wrong
    b: is too
    """

    def __init__(self, errors: Iterable[InkdriftError]) -> None:
        self.errors = tuple(errors)
        first = self.errors[0]
        super().__init__(first.where, first.fact)

    def _text(self) -> str:
        return "\n".join(str(error) for error in self.errors)
