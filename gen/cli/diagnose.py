"""`gen diagnose`: why a model fails on some drawings, and what would mend it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from gen.cli.complete import sources
from gen.cli.emphasis import with_verdict
from gen.cli.fit_options import Fitting, fitting_options
from gen.cli.floor import check_floor
from gen.cli.kinds import FrameSize, Number
from gen.cli.model_options import ModelOptions, model_from, model_options
from gen.cli.process import again, plain, quoted, shows_blocks, standard_output_kept
from gen.cli.shared_options import (
    classes_option,
    count_option,
    ink_option,
    into_option,
    labels_option,
    overwrite_option,
)
from gen.cli.sources import FOREIGN, KINDS, Source, check_second, in_a_line, pair_from
from gen.cli.talk import Talk, columns
from gen.cli.usage import Command
from gen.core.errors import GlyphError

if TYPE_CHECKING:
    from gen.report.diagnosis_make import DiagnosisReport
    from gen.report.diagnosis_mended import Mended

UNEXPLAINED = 1
"""Exit code when something is wrong and no remedy was found, or too few glyphs can tell."""
_ANSWERED = {"healthy", "explained"}


@click.command(cls=Command)
@model_options
@click.option(
    "--glyphs",
    metavar="SOURCE",
    shell_complete=sources,
    required=True,
    help=f"The drawings that the model should read, with their labels. {KINDS}; or "
    '"strokes", built-in ones. 50 to 300 are enough.',
)
@labels_option()
@classes_option()
@ink_option()
@count_option(
    "How many glyphs to use, drawn evenly over the classes. All when left out, which alone "
    "can show labels out of step."
)
@click.option(
    "--frame",
    metavar="HxW",
    type=FrameSize(),
    help="Frame in px of what --fit fits, of pens, fonts and rows of numbers.",
)
@fitting_options
@click.option(
    "--trained-on",
    metavar="SOURCE",
    shell_complete=sources,
    help="What the model was trained on, to say what differs.",
)
@labels_option("The labels of that, when they don't lie beside it.", name="--trained-labels")
@ink_option("How that shows ink.", name="--trained-ink")
@click.option(
    "--floor",
    metavar="SHARE",
    type=Number(),
    default=0.9,
    show_default=True,
    help="The accuracy from which on nothing is called wrong, over 0 and at most 1.",
)
@into_option(
    "Folder to write diagnosis.html and diagnosis.json into, and mended.npz, the glyphs with "
    "the first remedy applied; it appears whole or not at all."
)
@click.option("--json", "as_json", is_flag=True, help="Print diagnosis.json to standard output.")
@overwrite_option
@click.option(
    "--quiet",
    is_flag=True,
    help="Leave out notes and progress; the answer, or --json, is printed all the same.",
)
def diagnose(
    *,
    wanted: ModelOptions,
    glyphs: str,
    labels: Path | None,
    classes: str | None,
    ink: str,
    count: int | None,
    frame: tuple[int, int] | None,
    fitting: Fitting,
    trained_on: str | None,
    trained_labels: Path | None,
    trained_ink: str,
    floor: float,
    folder: Path | None,
    as_json: bool,
    overwrite: bool,
    quiet: bool,
) -> None:
    """Say why MODEL fails on some drawings, and which change gives accuracy back.

    MODEL is path/to/file.py:name or package.module:name, a function or an object
    with predict_proba or predict; or an ONNX file, "program:COMMAND", or a TOML file
    that says which and what it expects. Every remedy is chosen on some of the drawings
    and judged on the others. The exit code is 0 when nothing is wrong or it is explained,
    1 when no remedy is found or there are too few glyphs to say, 2 for bad input.

    \b
    Example:
      gen demo --into inkdrift-demo
      gen diagnose inkdrift-demo/readers.py:slipped --into why \\
          --glyphs inkdrift-demo/held-out-images-idx3-ubyte.gz --classes 0-9A-H
    """
    from gen.core.files import check_free, whole_folder
    from gen.report.diagnosis_make import make_diagnosis
    from gen.report.diagnosis_mended import MENDED

    talk = Talk(quiet=quiet)
    _check(glyphs, floor, trained_on, trained_labels, trained_ink)
    if folder is not None:
        check_free(folder, overwrite=overwrite)
    told = Source(glyphs, labels, classes, ink, count, frame, fitting)
    other = None
    if trained_on is not None:
        other = Source(trained_on, trained_labels, classes, trained_ink, None, None)
    with standard_output_kept():
        model = model_from(wanted)
        drawings, training = pair_from(told, other)
        talk.facts("glyphs", [in_a_line(drawings), *drawings.provenance.notes])
        if training is not None:
            talk.facts("training", [in_a_line(training), *training.provenance.notes])
        with talk.progress("searching") as progress:
            made = make_diagnosis(
                model,
                drawings,
                trained_on=training,
                floor=floor,
                command=again(sys.argv[1:]),
                progress=progress,
            )
        talk.say(str(model.look))
        if folder is not None:
            # Glyphs that an earlier answer mended are not those of this one.
            with whole_folder(folder, overwrite=overwrite, stale=(MENDED,)) as scratch:
                made.save(scratch)
    try:
        _show(made, talk, as_json=as_json)
    except BrokenPipeError:
        if made.verdict in _ANSWERED:
            raise
        # Whoever read the answer has gone; the exit code must say it all the same.
    if folder is not None:
        talk.say(f"written   {folder / 'diagnosis.html'}, diagnosis.json beside it")
        if made.mended is not None and made.mended.images is not None:
            talk.say(f"to try    {_to_try(made.mended, folder)}")
    if made.verdict not in _ANSWERED:
        raise click.exceptions.Exit(UNEXPLAINED)


def _to_try(mended: Mended, folder: Path) -> str:
    glyphs = quoted(str(folder / "mended.npz"))
    return f"the same command or gen report with --glyphs {glyphs} {' '.join(mended.options)}"


def _show(made: DiagnosisReport, talk: Talk, *, as_json: bool) -> None:
    """Print the answer, or diagnosis.json."""
    if as_json:
        from gen.report.json_text import json_text

        click.echo(json_text(made.as_dict()))
        return
    talk.say()
    blocks = shows_blocks()
    text = made.as_text(width=columns(), blocks=blocks)
    click.echo(with_verdict(text if blocks else plain(text), sys.stdout), nl=False)


def _check(
    glyphs: str, floor: float, trained_on: str | None, labels: Path | None, ink: str
) -> None:
    """Refuse, before anything slow, what makes no sense."""
    if glyphs.startswith(FOREIGN):
        raise GlyphError(
            "--glyphs",
            "marks of no class have no label that a model could get right",
            got=glyphs,
            hint="gen report, which says what a model answers to them",
        )
    check_floor(floor)
    check_second(
        trained_on is not None,
        {"--trained-labels": labels is not None, "--trained-ink": ink != "auto"},
        what="training set",
        option="--trained-on",
    )
