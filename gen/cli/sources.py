"""The options that say which glyphs, the same for every command that takes some."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from gen.cli.complete import sources
from gen.cli.fit_options import PLAIN, Fitting, fitting_options
from gen.cli.kinds import FrameSize
from gen.cli.shared_options import (
    class_names,
    classes_option,
    count_option,
    ink_option,
    labels_option,
    with_options,
)
from gen.cli.talk import many
from gen.core.errors import GlyphError, InkdriftError
from gen.core.plain_text import printable

if TYPE_CHECKING:
    from gen.glyphs.base import RasterGlyphs, StrokeGlyphs

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

STROKES = "strokes"
"""The name of the built-in handwriting where a source is named."""
FOREIGN = "foreign:"
"""What stands before a kind of marks of no class."""
KINDS = (
    "An IDX file or a table with one picture a row (gzipped or not), an npz file, a folder of "
    "pictures with a folder a class, one picture with a grid, InkML or SVG, or a font"
)
"""What a source can be, for the help of every option that names one."""
_ARGUMENTS = frozenset({"frame", "fit", "grid", "folders", "ink", "ink from", "labels", "stroke"})
"""Places in errors that are options here."""
_STROKE_COUNT = 1000
_FEW = 12


@dataclass(frozen=True)
class Source:
    """What the options say about the glyphs."""

    glyphs: str
    labels: Path | None
    classes: str | None
    ink: str
    count: int | None
    frame: tuple[int, int] | None
    fitting: Fitting = PLAIN


def source_options(command: Decorated) -> Decorated:
    """Add the options; the command gets them as one argument, `source`."""
    options = (
        click.option(
            "--glyphs",
            metavar="SOURCE",
            default=STROKES,
            shell_complete=sources,
            help=f"{KINDS}; or foreign:KIND, marks of no class (blank, noise, scribble, "
            '"two marks", strangers). Built-in strokes when left out.',
        ),
        labels_option(),
        classes_option(more=" Of built-in strokes and fonts, which characters."),
        ink_option("How the source shows ink; auto looks and says what it saw."),
        count_option(
            "How many glyphs to use, drawn evenly over the classes. All of a source when "
            f"left out; {_STROKE_COUNT:,} of the built-in strokes."
        ),
        click.option(
            "--frame",
            metavar="HxW",
            type=FrameSize(),
            help="Frame in px of built-in strokes, pens and fonts, of what --fit fits, and of "
            "rows of numbers. 28x28 when left out; rows are square.",
        ),
    )

    def gathered(**arguments: Any) -> Any:
        names = ("glyphs", "labels", "classes", "ink", "count", "frame", "fitting")
        said = {name: arguments.pop(name) for name in names}
        return command(source=Source(**said), **arguments)

    return fitting_options(with_options(command, options, gathered, heading="Glyphs"))


def glyphs_from(source: Source, *, seed: int, blanks: bool = False) -> RasterGlyphs | StrokeGlyphs:
    """Load or make the glyphs that the options name; blanks are left out and noted.

    Parameters
    ----------
    source
        What the options say.
    seed
        Of the recipe: the built-in strokes are written with it, and a draw of
        fewer glyphs is made with it.
    blanks
        Whether glyphs without ink are kept.

    Raises
    ------
    GlyphError
        If the source can't be read, or an option doesn't go with it.
    """
    classes = None if source.classes is None else class_names(source.classes)
    kind = source.glyphs.removeprefix(FOREIGN)
    if source.glyphs == STROKES or kind != source.glyphs:
        if source.labels is not None:
            raise GlyphError(
                "--labels",
                "the built-in strokes have labels of their own",
                hint="--glyphs SOURCE as well, or leave --labels out",
            )
        if source.ink != "auto":
            raise GlyphError(
                "--ink",
                "this says how pictures show their ink, and the built-in strokes are no pictures",
                hint="leave --ink out",
            )
        if option := source.fitting.given():
            raise GlyphError(
                option,
                "this is for what people drew, and the built-in strokes are made to their frame",
                hint=f"--glyphs SOURCE as well, or leave {option} out",
            )
        count, frame = source.count or _STROKE_COUNT, source.frame or (28, 28)
        known = classes or tuple("0123456789")
        if kind != source.glyphs:
            from gen.glyphs.foreign import foreign_glyphs

            return foreign_glyphs(kind, count=count, frame=frame, seed=seed, known=known)
        from gen.glyphs.strokes import write_strokes

        return write_strokes(classes=known, count=count, frame=frame, seed=seed)
    from gen.glyphs.base import RasterGlyphs
    from gen.glyphs.subset import sample, without_blanks

    inked = _loaded(source, classes)
    if isinstance(inked, RasterGlyphs) and not blanks:
        # Blanks are noted in the provenance of what is left.
        inked = without_blanks(inked)[0]
    if source.count is None:
        return inked
    if source.count > len(inked):
        note = f"--count {source.count:,} is more than there are; all {len(inked):,} are used"
        told = replace(inked.provenance, notes=(*inked.provenance.notes, note))
        return replace(inked, provenance=told)
    return sample(inked, source.count, seed=seed)


def _loaded(source: Source, classes: tuple[str, ...] | None) -> RasterGlyphs | StrokeGlyphs:
    """Load a source; what is wrong with an option is said of the option."""
    from gen.glyphs.load import load_glyphs

    try:
        fit = source.fitting.rule(source.frame)
        return load_glyphs(
            source.glyphs,
            labels=source.labels,
            classes=classes,
            ink=source.ink,
            fit=fit,
            frame=source.frame,
            folders=source.fitting.folders,
            grid=source.fitting.grid,
        )
    except GlyphError as error:
        if error.where not in _ARGUMENTS:
            raise
        raise error.at("--" + error.where.replace(" ", "-")) from error


def pair_from(
    told: Source, other: Source | None, *, seeds: tuple[int, int] = (0, 1)
) -> tuple[RasterGlyphs | StrokeGlyphs, RasterGlyphs | StrokeGlyphs | None]:
    """Load two sets that are held against each other, blanks and all.

    Built-in strokes come in the frame and with the classes of the set beside them.

    Parameters
    ----------
    told, other
        What the options say of either; None for no second one.
    seeds
        Of built-in strokes: two sets of them are two draws, not one twice.

    Raises
    ------
    GlyphError
        If either can't be read.
    """
    if other is not None and is_made(told.glyphs) and not is_made(other.glyphs):
        others = glyphs_from(other, seed=seeds[1], blanks=True)
        told = replace(told, frame=told.frame or others.frame, classes=_beside(told, others))
        return glyphs_from(told, seed=seeds[0]), others
    glyphs = glyphs_from(told, seed=seeds[0], blanks=True)
    if other is None:
        return glyphs, None
    if is_made(other.glyphs):
        other = replace(other, frame=other.frame or glyphs.frame, classes=_beside(other, glyphs))
    return glyphs, glyphs_from(other, seed=seeds[1], blanks=True)


def check_second(named: bool, given: Mapping[str, bool], *, what: str, option: str) -> None:
    """Refuse options of a second set when none is named.

    Parameters
    ----------
    named
        Whether one is.
    given
        The options of that set, and whether they are given.
    what, option
        What that set is, and the option that names it.

    Raises
    ------
    InkdriftError
        At the first that is given for nothing.

    Examples
    --------
    >>> check_second(True, {"--against-ink": True}, what="other set", option="--against")
    """
    for each, said in given.items():
        if said and not named:
            fact = f"there is no {what} that this could be of"
            raise InkdriftError(each, fact, hint=f"{option} SOURCE as well")


def is_made(source: str) -> bool:
    """Whether a source is drawn here and read from no file."""
    return source == STROKES or source.startswith(FOREIGN)


def _beside(made: Source, beside: RasterGlyphs | StrokeGlyphs) -> str | None:
    """The classes to write: those of the set beside, where any hand writes them."""
    from gen.glyphs.strokes import CLASSES

    known = set(beside.classes) <= set(CLASSES)
    return made.classes or (",".join(beside.classes) if known else None)


def in_a_line(glyphs: RasterGlyphs | StrokeGlyphs) -> str:
    """What the glyphs are, in one line."""
    high, wide = glyphs.frame
    classes = glyphs.classes
    source = glyphs.provenance
    made = source.kind == "strokes"
    place = "built-in strokes" if made else f"{source.kind} {printable(source.name)}"
    few = classes if len(classes) <= _FEW else (*classes[: _FEW - 2], "...", classes[-1])
    seen = f", {source.ink} ink, values {source.values}" if source.values else ""
    if glyphs.writers is not None and not made:
        seen += f", {many(len(set(glyphs.writers.tolist())), 'writer')}"
    return (
        f"{many(len(glyphs), 'glyph')} of {many(len(classes), 'class', 'classes')} "
        f"({printable(' '.join(few))}), "
        f"{high} x {wide} px, {place}{seen}"
    )
