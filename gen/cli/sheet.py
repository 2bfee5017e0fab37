"""`gen sheet`: a sheet to write on."""

from __future__ import annotations

from pathlib import Path

import click

from gen.cli.kinds import OneOf, PathName, WholeNumber
from gen.cli.shared_options import class_names
from gen.cli.talk import Talk, many
from gen.cli.usage import Command


@click.command(cls=Command)
@click.option(
    "--classes",
    metavar="NAMES",
    required=True,
    help='What to write, in the order of the labels: "0-9", "A-Z", "apple,pear".',
)
@click.option(
    "--per-class",
    metavar="N",
    type=WholeNumber(least=1),
    default=10,
    show_default=True,
    help="Boxes for each class.",
)
@click.option(
    "--paper",
    type=OneOf(["A4", "Letter"]),
    default="A4",
    show_default=True,
    help="What it is printed on.",
)
@click.option(
    "--order",
    type=OneOf(["turns", "blocks"]),
    default="turns",
    show_default=True,
    help="turns: each class once, then each again, since a mark written ten times in a row "
    "becomes a copy of itself; blocks: all boxes of a class, then all of the next.",
)
@click.option(
    "--into",
    "path",
    metavar="FILE",
    type=PathName(),
    required=True,
    help="File to write, .pdf or .png; pictures of several pages are numbered.",
)
@click.option(
    "--overwrite",
    is_flag=True,
    help="Replace the file when there is one; numbered pictures that are left of a longer sheet "
    "are taken away.",
)
@click.option("--quiet", is_flag=True, help="Say nothing but errors.")
def sheet(
    *,
    classes: str,
    per_class: int,
    paper: str,
    order: str,
    path: Path,
    overwrite: bool,
    quiet: bool,
) -> None:
    """Draw a sheet with a box for each mark, to be printed and written on.

    Print it at its true size (100 %). What `gen collect` has to know is in the code that
    is printed on each page, so that a photograph is enough.

    \b
    Example:
      gen sheet --classes 0-9 --per-class 10 --into sheet.pdf
    """
    from gen.glyphs.paper.layout import Plan
    from gen.glyphs.paper.sheet import older_pages, write_sheet

    names = class_names(classes)
    plan = Plan(names, per_class, paper, order)
    older = older_pages(plan, path)
    written = write_sheet(plan, path, overwrite=overwrite)
    talk = Talk(quiet=quiet)
    talk.say(
        f"sheet     {many(plan.count, 'box', 'boxes')}, {many(len(names), 'class', 'classes')} x "
        f"{per_class}, {many(plan.pages, 'page')} of {paper}"
    )
    last = f" to {written[-1].name}" if len(written) > 1 else ""
    talk.say(f"written   {written[0]}{last}")
    if older:
        talk.say(f"away      {', '.join(one.name for one in older)}, of an earlier sheet")
    talk.say("then      gen collect PHOTO... --into DIR")
