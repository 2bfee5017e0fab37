"""Options that several commands have, declared once so that they mean the same in each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

import click

from gen.cli.kinds import OneOf, PathName, WholeNumber
from gen.core.errors import GlyphError

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

WHOLE = "Folder to write; it appears whole or not at all."


def into_option(help_: str = WHOLE, **more: Any) -> Callable[[Decorated], Decorated]:
    """`--into`, which the command gets as `folder`."""
    return click.option("--into", "folder", metavar="DIR", type=PathName(), help=help_, **more)


overwrite_option = click.option(
    "--overwrite",
    is_flag=True,
    help="Write into a folder that isn't empty: what an earlier run wrote is replaced, the rest "
    "stays.",
)


def labels_option(
    help_: str = "File with the labels, when they don't come with SOURCE; of a table first or "
    "last, of a grid rows or columns, whichever has them.",
    *,
    name: str = "--labels",
) -> Callable[[Decorated], Decorated]:
    """Where the labels of a set are."""
    return click.option(name, metavar="FILE", type=PathName(), help=help_)


def ink_option(
    help_: str = "How SOURCE shows ink; auto looks and says what it saw.", *, name: str = "--ink"
) -> Callable[[Decorated], Decorated]:
    """How a set shows its ink."""
    return click.option(
        name,
        type=OneOf(["auto", "bright", "dark"]),
        default="auto",
        show_default=True,
        help=help_,
    )


def classes_option(of: str = "", more: str = "") -> Callable[[Decorated], Decorated]:
    """The names of the classes, of which set and what else may be said."""
    return click.option(
        "--classes",
        metavar="NAMES",
        help=f'Class names{of} in the order of the labels: "0-9", "A-Z", "apple,pear".{more}',
    )


def class_names(text: str) -> tuple[str, ...]:
    """The names that `--classes` gives.

    Raises
    ------
    GlyphError
        If the text is no list of names (`gen.glyphs.classes.parse_classes`).
    """
    from gen.glyphs.classes import parse_classes

    try:
        return parse_classes(text)
    except GlyphError as error:
        raise error.at("--classes") from error


def count_option(help_: str) -> Callable[[Decorated], Decorated]:
    """How many glyphs to use."""
    return click.option("--count", metavar="N", type=WholeNumber(least=1), help=help_)


def with_options(
    command: Decorated, options: Sequence[Any], gathered: Callable[..., Any], *, heading: str
) -> Decorated:
    """The command with some more options, which `gathered` hands it as one argument.

    Help shows them under a heading of their own.
    """
    gathered.__name__, gathered.__doc__ = command.__name__, command.__doc__
    gathered.__dict__.update(command.__dict__)
    wrapped: Any = gathered
    for option in reversed(options):
        wrapped = option(wrapped)
        wrapped.__click_params__[-1].heading = heading
    return wrapped  # type: ignore[no-any-return]
