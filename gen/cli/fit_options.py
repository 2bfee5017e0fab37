"""The options that say how marks are brought into a frame, and how a source is laid out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import click

from gen.cli.kinds import Number, WholeNumber
from gen.cli.shared_options import with_options
from gen.core.errors import GlyphError

if TYPE_CHECKING:
    from gen.glyphs.fit import Fit

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

RULES = ("as drawn", "box centred", "centre of mass", "centre of mass, whole px")
"""Those of `gen.glyphs.fit`; listed here so that help loads no arrays."""
_NAMES = ("fit", "box", "margin", "stroke", "ink_from", "grid", "folders")


@dataclass(frozen=True)
class Fitting:
    """What the options say about frames, grids and folders."""

    fit: str | None = None
    box: float | None = None
    margin: float | None = None
    stroke: str = "scaled"
    ink_from: int | None = None
    grid: str | None = None
    folders: str = "class"

    def given(self) -> str | None:
        """The first option that was given, as it is written; None if there is none."""
        for name in _NAMES:
            if getattr(self, name) != getattr(PLAIN, name):
                return "--" + name.replace("_", "-")
        return None

    def rule(self, frame: tuple[int, int] | None) -> Fit | None:
        """The rule of fitting; None when nothing is fitted.

        Raises
        ------
        GlyphError
            If an option of fitting is given without a rule, or is out of range.
        """
        from gen.glyphs.fit import Fit

        if self.fit is None:
            for option, said in (
                ("--box", self.box is not None),
                ("--margin", self.margin is not None),
                ("--stroke", self.stroke != "scaled"),
                ("--ink-from", self.ink_from is not None),
            ):
                if said:
                    fact = "nothing is fitted, so there is nothing that this could change"
                    raise GlyphError(option, fact, hint='--fit RULE as well, such as "box centred"')
            return None
        return Fit(
            self.fit,
            frame or (28, 28),
            box_px=self.box,
            margin_px=self.margin,
            stroke=_width(self.stroke),
            ink_from=1 if self.ink_from is None else self.ink_from,
        )


PLAIN = Fitting()
"""Nothing said."""


def _width(text: str) -> str | float:
    try:
        return float(text)
    except ValueError:
        return text


def fitting_options(command: Decorated) -> Decorated:
    """Add the options; the command gets them as one argument, `fitting`."""
    options = (
        click.option(
            "--fit",
            metavar="RULE",
            help="Fit marks into the frame, aspect kept, whatever their size: "
            + ", ".join(f'"{rule}"' for rule in RULES)
            + " (as MNIST has it).",
        ),
        click.option(
            "--box",
            metavar="PX",
            type=Number(),
            help="With --fit, the longer side of a mark; 20 of 28 when left out.",
        ),
        click.option(
            "--margin",
            metavar="PX",
            type=Number(),
            help="With --fit, in place of a box: what stays free on every side.",
        ),
        click.option(
            "--stroke",
            metavar="WIDTH",
            default="scaled",
            show_default=True,
            help="With --fit: strokes scaled with the mark, kept as wide as they are, or a width "
            "in px.",
        ),
        click.option(
            "--ink-from",
            metavar="GREY",
            type=WholeNumber(),
            help="With --fit: the grey, of 255, from which on a pixel is ink; 1 when left out. "
            "What is lighter becomes bare paper.",
        ),
        click.option(
            "--grid",
            metavar="ROWSxCOLUMNS",
            help='How the glyphs of one large picture are laid: "10x20", or "10x20, gutter 2, '
            'margin 4" in px. --labels rows or columns, if each is a class.',
        ),
        click.option(
            "--folders",
            metavar="LEVELS",
            default="class",
            show_default=True,
            help="What sub-folders stand for: class, class/writer or writer/class.",
        ),
    )

    def gathered(**arguments: Any) -> Any:
        said = {name: arguments.pop(name) for name in _NAMES}
        return command(fitting=Fitting(**said), **arguments)

    return with_options(command, options, gathered, heading="Fitting marks into the frame")
