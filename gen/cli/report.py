"""`gen report`: a model and a recipe to a report."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from gen.cli.complete import recipe_names
from gen.cli.emphasis import with_missed, with_verdict
from gen.cli.floor import check_floor
from gen.cli.kinds import Number, OneOf, PathName
from gen.cli.model_options import ModelOptions, model_from, model_options
from gen.cli.process import again, plain, shows_blocks, standard_output_kept
from gen.cli.shared_options import into_option, overwrite_option
from gen.cli.sources import Source, glyphs_from, in_a_line, source_options
from gen.cli.talk import Talk, columns, harmless, many
from gen.cli.usage import Command
from gen.core.errors import InkdriftError, ModelError, OutputError, RecipeError

if TYPE_CHECKING:
    import numpy as np

    from gen.evaluate.model import Model
    from gen.evaluate.results import Evaluation
    from gen.glyphs.base import RasterGlyphs, StrokeGlyphs
    from gen.recipe.model import Recipe
    from gen.report.object import Report

_MODELS = (".py", ".onnx")
MISSED = 1
"""Exit code when the model misses something that the recipe requires."""


@click.command(cls=Command)
@model_options
@click.argument("recipe", shell_complete=recipe_names)
@source_options
@into_option(required=True)
@click.option(
    "--floor",
    metavar="SHARE",
    type=Number(),
    default=0.9,
    show_default=True,
    help="The accuracy to keep, over 0 and at most 1: the report says how far each sweep may go "
    "before it is lost.",
)
@click.option(
    "--show-input",
    is_flag=True,
    help="Also save the exact array that the model was handed, as a picture and in numbers.",
)
@click.option(
    "--interval",
    type=OneOf(["wilson", "clopper-pearson"]),
    default="wilson",
    show_default=True,
    help="The 95 % interval of accuracies: Wilson's score interval, or Clopper and Pearson's, "
    "which is wider and never covers less.",
)
@click.option(
    "--afresh",
    is_flag=True,
    help="Ask the model about everything again. Otherwise a model whose file has not changed is "
    "not asked twice, and an interrupted run goes on where it was.",
)
@click.option(
    "--junit",
    type=PathName(),
    metavar="FILE",
    help="Also write what the recipe requires as JUnit XML, for a build server to show.",
)
@click.option("--json", "as_json", is_flag=True, help="Print report.json to standard output.")
@overwrite_option
@click.option(
    "--quiet",
    is_flag=True,
    help="Leave out notes and progress; the summary, or --json, is printed all the same.",
)
def report(
    *,
    wanted: ModelOptions,
    recipe: str,
    source: Source,
    folder: Path,
    floor: float,
    show_input: bool,
    interval: str,
    afresh: bool,
    junit: Path | None,
    as_json: bool,
    overwrite: bool,
    quiet: bool,
) -> None:
    """Score MODEL at every level of RECIPE and say what that shows.

    MODEL is path/to/file.py:name or package.module:name, a function or an object
    with predict_proba or predict; or an ONNX file, "program:COMMAND", or a TOML file
    that says which and what it expects. RECIPE is a path or the name of one that ships.
    The exit code is 1 when the model misses something that the recipe requires.

    \b
    Example:
      gen demo --into inkdrift-demo
      gen report inkdrift-demo/readers.py:slipped first-look --into slipped-report \\
          --glyphs inkdrift-demo/held-out-images-idx3-ubyte.gz --classes 0-9A-H
    """
    from gen.core.files import check_free, whole_folder
    from gen.evaluate.kept import usual_folder
    from gen.evaluate.show_input import save_input
    from gen.perturb.recipes import read_recipe
    from gen.render.plan import make_plan
    from gen.report.make import make_report
    from gen.report.write import FILES

    talk = Talk(quiet=quiet)
    check_floor(floor)
    check_free(folder, overwrite=overwrite)
    if junit is not None:
        _check_junit(junit, folder)
    _check_order(wanted.spec, recipe)
    read = read_recipe(recipe)
    if junit is not None:
        _check_required(read)
    with standard_output_kept():
        loaded = model_from(wanted)
        glyphs = glyphs_from(source, seed=read.seed)
        talk.facts("glyphs", [in_a_line(glyphs), *glyphs.provenance.notes])
        make_plan(read, glyphs.frame)  # before anything slow, what this frame can't hold
        first = _look(loaded, glyphs)
        assert loaded.look is not None
        talk.say(str(loaded.look))
        command = again(sys.argv[1:])
        with talk.progress("scoring") as told:
            made = make_report(
                loaded,
                read,
                glyphs,
                floor=floor,
                interval=interval,
                keep=usual_folder(),
                afresh=afresh,
                command=command,
                progress=told,
            )
        talk.facts("kept", made.notes)
        with whole_folder(folder, overwrite=overwrite, stale=FILES) as scratch:
            made.save(scratch)
            if show_input:
                height, width = glyphs.frame
                frame = (height, width) if loaded.expects.axes == "rows" else (width, height)
                for line in save_input(loaded.capture(first), scratch, frame=frame):
                    talk.say(line)
        if junit is not None:
            from gen.report.junit import write_junit

            write_junit(junit, made.evaluation)
    try:
        _show(made, talk, as_json=as_json)
    except BrokenPipeError:
        if all(part.kept for part in made.evaluation.requirements):
            raise
        # Whoever read the summary has gone; the build must be stopped all the same.
    talk.say(_time_split(made.evaluation.seconds))
    page, *others = [name for name in FILES if (folder / name).exists()]
    beside = ", ".join(others[:-1]) + f" and {others[-1]}"
    talk.say(f"written   {folder / page}, and beside it {beside}")
    if junit is not None:
        talk.say(f"          {junit}")
    _judge(made.evaluation, wanted.spec)


def _judge(evaluation: Evaluation, spec: str) -> None:
    """End well only when every cell was answered and everything required is kept."""
    from gen.report.kept_or_missed import missed_lines

    missed = missed_lines(evaluation)
    for line in missed:
        click.echo(with_missed(line, sys.stderr), err=True)
    if failed := evaluation.failed:
        lacking = ModelError(
            spec,
            f"the model failed in {many(len(failed), 'cell')}, which the report is without",
            got=f"{failed[0].cell}: {failed[0].why}",
        )
        if not missed:
            raise lacking
        click.echo(harmless(str(lacking)), err=True)
    if missed:
        raise click.exceptions.Exit(MISSED)


def _show(made: Report, talk: Talk, *, as_json: bool) -> None:
    """Print the summary, or report.json."""
    if as_json:
        from gen.report.document import as_text

        click.echo(as_text(made.as_dict()), nl=False)
        return
    talk.say()
    blocks = shows_blocks()
    text = made.as_text(width=columns(), blocks=blocks)
    click.echo(with_verdict(text if blocks else plain(text), sys.stdout))


def _check_order(model: str, recipe: str) -> None:
    """Refuse a recipe where the model should be, and the model where the recipe should."""
    from gen.recipe.shelf import shelf_names

    a_recipe = model in shelf_names() or model.endswith(".toml")
    a_model = recipe.endswith(_MODELS) or (":" in recipe and not Path(recipe).exists())
    if a_recipe and a_model:
        said = "this is a recipe, and the model comes before it"
        raise RecipeError(model, said, hint=f"gen report {recipe} {model}")


def _check_junit(junit: Path, folder: Path) -> None:
    """Refuse, before anything slow, what couldn't be written, and clear away an older one."""
    from gen.report.junit import make_room
    from gen.report.write import FILES

    into = junit.parent.resolve()
    if not into.is_dir() and into != folder.resolve():
        raise OutputError(str(junit), "its folder isn't there", hint="make it first")
    inside = into == folder.resolve() and junit.name in FILES
    if inside or junit.resolve() == folder.resolve():
        raise InkdriftError(
            "--junit", "the report itself goes there", got=str(junit), hint="another name"
        )
    make_room(junit)


def _check_required(recipe: Recipe) -> None:
    """Refuse JUnit XML that would say nothing."""
    if not recipe.requirements:
        raise InkdriftError(
            "--junit",
            "the recipe requires nothing, so there is nothing to write",
            got=f'the recipe "{recipe.title}"',
            hint="[[require]] in the recipe",
        )


def _look(
    model: Model, glyphs: RasterGlyphs | StrokeGlyphs
) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """Have the first look at some nominal glyphs, spread over the set, and return them."""
    from gen.evaluate.asking import Clock, first_batch
    from gen.render.engine import Renderer
    from gen.render.plan import NOMINAL, Plan

    renderer = Renderer(Plan.nominal_only(glyphs.frame), glyphs)
    images, few = first_batch(renderer, NOMINAL, glyphs, Clock())
    model.first_look(images, glyphs.labels[few], glyphs.classes)
    return images


def _time_split(seconds: tuple[tuple[str, float], ...]) -> str:
    return "time      " + ", ".join(f"{name} {spent:.1f} s" for name, spent in seconds)
