"""`gen measure`: what drawings show, and in what they differ from others."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from gen.cli.complete import sources
from gen.cli.emphasis import with_verdict
from gen.cli.fit_options import Fitting, fitting_options
from gen.cli.kinds import FrameSize
from gen.cli.process import again, plain, shows_blocks
from gen.cli.shared_options import (
    classes_option,
    count_option,
    ink_option,
    into_option,
    labels_option,
    overwrite_option,
)
from gen.cli.sources import Source, check_second, in_a_line, is_made, pair_from
from gen.cli.talk import Talk, columns
from gen.cli.usage import Command


@click.command(cls=Command)
@click.argument("source", shell_complete=sources)
@click.option(
    "--against",
    metavar="SOURCE",
    shell_complete=sources,
    help="Another set to hold it against, such as the one a model was trained on.",
)
@labels_option()
@labels_option("The same of the other set.", name="--against-labels")
@classes_option(of=" of both")
@ink_option()
@ink_option("The same of the other set.", name="--against-ink")
@count_option("How many glyphs of each to use, drawn evenly over the classes. All when left out.")
@click.option(
    "--frame",
    metavar="HxW",
    type=FrameSize(),
    help="Frame in px of built-in strokes, pens and fonts, of what --fit fits, and of rows of "
    "numbers. That of the other set, or 28x28, when left out; rows are square.",
)
@fitting_options
@into_option("Folder to write measure.html and measure.json into; it appears whole or not at all.")
@click.option("--json", "as_json", is_flag=True, help="Print measure.json to standard output.")
@overwrite_option
@click.option("--quiet", is_flag=True, help="Leave out notes; tables, or --json, are printed.")
def measure(
    *,
    source: str,
    against: str | None,
    labels: Path | None,
    against_labels: Path | None,
    classes: str | None,
    ink: str,
    against_ink: str,
    count: int | None,
    frame: tuple[int, int] | None,
    fitting: Fitting,
    folder: Path | None,
    as_json: bool,
    overwrite: bool,
    quiet: bool,
) -> None:
    """Measure SOURCE: where its ink lies, how wide, slanted, sharp and faint it is.

    SOURCE is an IDX file or a table with one picture a row, an npz file, a folder of
    pictures with a folder a class, InkML or SVG, a font, or "strokes" for the built-in
    ones; what --fit and the like say is said of it, and not of the other set. It is also
    looked over for all that goes wrong in practice, from rows that wrap to labels out of
    step, before anything is trained on it.

    \b
    Example:
      gen demo --into inkdrift-demo
      gen measure inkdrift-demo/held-out-images-idx3-ubyte.gz --classes 0-9A-H --into measured
    """
    from gen.core.files import check_free, whole_folder

    talk = Talk(quiet=quiet)
    if folder is not None:
        check_free(folder, overwrite=overwrite)
    check_second(
        against is not None,
        {"--against-labels": against_labels is not None, "--against-ink": against_ink != "auto"},
        what="other set",
        option="--against",
    )
    here, beside = _frames(source, against, frame, fitting)
    told = Source(source, labels, classes, ink, count, here, fitting)
    other = None
    if against is not None:
        other = Source(against, against_labels, classes, against_ink, count, beside)
    glyphs, others = pair_from(told, other)
    talk.facts("glyphs", [in_a_line(glyphs), *glyphs.provenance.notes])
    if others is not None:
        talk.facts("against", [in_a_line(others), *others.provenance.notes])
    from gen.report.measure_document import as_json as as_document
    from gen.report.measure_set import measure_set
    from gen.report.run import RunInfo

    run = RunInfo(command=again(sys.argv[1:]))
    with talk.progress("measuring") as told_parts:
        made = measure_set(glyphs, others, run=run, progress=told_parts)
    if folder is not None:
        with whole_folder(folder, overwrite=overwrite) as scratch:
            made.save(scratch)
    if as_json:
        click.echo(as_document(made), nl=False)
    else:
        talk.say()
        text = made.as_text(width=columns())
        click.echo(with_verdict(text if shows_blocks() else plain(text), sys.stdout))
    if folder is not None:
        talk.say(f"written   {folder / 'measure.html'}, and measure.json beside it")


def _frames(
    source: str, against: str | None, frame: tuple[int, int] | None, fitting: Fitting
) -> tuple[tuple[int, int] | None, tuple[int, int] | None]:
    """What a frame is said of: SOURCE, or the built-in strokes beside it."""
    beside = frame if against is not None and is_made(against) else None
    of_strokes = beside is not None and not is_made(source) and fitting.fit is None
    return None if of_strokes else frame, beside
