"""What an option or an argument may be; what is no such thing is refused in the project's form."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from gen.core.errors import InkdriftError

if TYPE_CHECKING:
    _OneOf = click.Choice[str]
    _FrameSize = click.ParamType[tuple[int, int]]
    _WholeNumber = click.ParamType[int]
    _Number = click.ParamType[float]
else:  # not subscriptable in older releases
    _OneOf = click.Choice
    _FrameSize = _WholeNumber = _Number = click.ParamType

_DIGITS = 9
"""The most digits of a side of a frame; python refuses to read thousands of them."""


def name_of(param: click.Parameter | None) -> str:
    """An option or an argument as it is written: "--into", "RECIPE"."""
    if param is None:
        return ""
    if isinstance(param, click.Option):
        return max(param.opts, key=len)
    return param.metavar or (param.name or "").upper()


def refused(
    param: click.Parameter | None,
    fact: str,
    value: object,
    *,
    allowed: str,
    hint: str | None = None,
) -> InkdriftError:
    """The error that a value can't be what an option or an argument wants."""
    from gen.recipe.spelling import quoted

    text = isinstance(value, str) and not _is_number(value)
    got = quoted(str(value)) if text else value
    return InkdriftError(name_of(param), fact, got=got, allowed=allowed, hint=hint)


class OneOf(_OneOf):
    """One of a few words."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The word itself."""
        from gen.recipe.spelling import nearest

        del ctx
        if value in self.choices:
            return str(value)
        near = nearest(str(value), self.choices)
        raise refused(
            param, "there is no such choice", value, allowed=", ".join(self.choices), hint=near
        )


class WholeNumber(_WholeNumber):
    """A whole number, of no less than a least one where there is any."""

    name = "N"

    def __init__(self, *, least: int | None = None) -> None:
        self.least = least

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number."""
        del ctx
        allowed = (
            "a whole number" if self.least is None else f"a whole number, {self.least} or more"
        )
        try:
            number = int(value)
        except ValueError:
            fact = "this is no whole number"
            raise refused(param, fact, value, allowed=allowed, hint=_whole(value)) from None
        if self.least is not None and number < self.least:
            raise refused(param, "the number is out of range", value, allowed=allowed)
        return number


class Number(_Number):
    """A number, never infinite or undefined, within limits where there are any.

    Parameters
    ----------
    over
        What it must be over.
    ends
        Between which it must be; both are allowed.
    """

    name = "NUMBER"

    def __init__(
        self, *, over: float | None = None, ends: tuple[float, float] | None = None
    ) -> None:
        self.over = over
        self.ends = ends

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """The number."""
        del ctx
        allowed = "a number"
        if self.over is not None:
            allowed += f" over {self.over:g}"
        if self.ends is not None:
            allowed += f" from {self.ends[0]:g} to {self.ends[1]:g}"
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            decimal = str(value).replace(",", ".", 1)
            hint = decimal if decimal != value and _is_number(decimal) else None
            raise refused(param, "this is no number", value, allowed=allowed, hint=hint)
        low, high = self.ends or (-math.inf, math.inf)
        if not low <= number <= high or (self.over is not None and number <= self.over):
            raise refused(param, "the number is out of range", value, allowed=allowed)
        return number


class FrameSize(_FrameSize):
    """A frame: "32" or "28x36", height first."""

    name = "HxW"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, int]:
        """Height and width."""
        del ctx
        if isinstance(value, tuple):
            return value
        parts = str(value).lower().split("x")
        digits = all(part.isascii() and part.isdigit() and len(part) <= _DIGITS for part in parts)
        if len(parts) > 2 or not digits:
            raise refused(
                param,
                "this is no frame",
                value,
                allowed="one side in px, or height x width",
                hint="32, or 28x36",
            )
        return int(parts[0]), int(parts[-1])


class PathName(click.Path):
    """A file or a folder by its name; what is there is looked at by those who use it."""

    def __init__(self) -> None:
        super().__init__(path_type=Path, readable=False)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path."""
        del ctx
        if value == "":
            raise refused(param, "this is no name", value, allowed="a file or a folder")
        if value == "-":
            fact = "this is read as a name, and not as standard input or output"
            raise refused(param, fact, value, allowed="a file or a folder", hint="./-")
        return Path(value)


def _whole(text: Any) -> str | None:
    """The whole number that was probably meant: 1000 for "1,000", 5 for "5.0"."""
    bare = str(text).replace(",", "")
    if not _is_number(bare):
        return None
    number = float(bare)
    return f"{int(number)}" if number.is_integer() and abs(number) < 1e15 else None


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False
