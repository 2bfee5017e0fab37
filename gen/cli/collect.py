"""`gen collect`: marks out of photographs of paper."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from gen.cli.kinds import Number, PathName
from gen.cli.shared_options import into_option, labels_option, overwrite_option
from gen.cli.talk import Talk, harmless, many
from gen.cli.usage import Command
from gen.core.errors import InkdriftError
from gen.core.plain_text import printable

INCOMPLETE = 1
"""Exit code when a set was written, but a photograph couldn't be read."""


@click.command(cls=Command)
@click.argument("photos", nargs=-1, required=True, type=PathName())
@into_option(required=True)
@click.option(
    "--writer",
    "writers",
    metavar="NAME",
    multiple=True,
    help="Who wrote: once for all photos, or once for each in the same order. Left out, each "
    "photo has a writer of its own, named as its file.",
)
@click.option(
    "--sheet",
    "line",
    metavar="LINE",
    help='The line at the foot of the page, "inkdrift-sheet/...", for photos on which its code '
    "can't be read.",
)
@click.option(
    "--loose",
    is_flag=True,
    help="The photos show no sheet but separate marks on plain paper: cut them in reading order "
    "and write them with a table to name them in.",
)
@labels_option("With --loose: the table, filled in; a labelled set is written.")
@click.option(
    "--join",
    metavar="SHARE",
    type=Number(ends=(0, 1)),
    help="With --loose: pieces of ink closer than this share of a mark's size are one mark. 0.12 "
    "when left out.",
)
@overwrite_option
@click.option("--quiet", is_flag=True, help="Say nothing but errors.")
def collect(
    *,
    photos: tuple[Path, ...],
    folder: Path,
    writers: tuple[str, ...],
    line: str | None,
    loose: bool,
    labels: Path | None,
    join: float | None,
    overwrite: bool,
    quiet: bool,
) -> None:
    """Cut the marks out of PHOTOS, photographs or scans of filled sheets (`gen sheet`).

    A page may be turned, tilted, bent, shaded, or have a corner hidden. Boxes that are
    empty, crossed out, covered, or written over their edge are left out and counted; DIR
    gets a picture of each page that shows which. What is cut is as large as on the finest
    photo and as dark as its ink. The photos are never changed. A photo that can't be read
    is told and left out; the command then ends with 1.

    \b
    Example:
      gen collect belt-one.jpg belt-two.jpg --into drawings
      gen report my_model.py:model first-look --glyphs drawings/glyphs.npz --into report
    """
    from gen.core.files import check_free

    _check(loose, {"--labels": labels is not None, "--join": join is not None}, line)
    check_free(folder, overwrite=overwrite)
    talk = Talk(quiet=quiet)
    if loose:
        _collect_loose(photos, folder, writers, labels, join, overwrite=overwrite, talk=talk)
        return
    from gen.glyphs.paper.collected import collect_photos

    with talk.progress("reading photos") as progress:
        got = collect_photos(
            photos,
            folder,
            writers=writers,
            told=line,
            overwrite=overwrite,
            progress=progress,
        )
    lines = [f"{photo.name}: {told}" for photo, told in zip(got.photos, got.told, strict=True)]
    talk.facts("pages", lines)
    talk.facts("note", list(got.notes))
    counts = dict(got.counts)
    kept = counts.pop("kept")
    left = "".join(f", {count:,} {state}" for state, count in counts.items())
    people = len({photo.writer for photo in got.photos})
    talk.say(
        f"marks     {many(kept, 'mark')} by {many(people, 'writer')}, "
        f"{got.side_px} x {got.side_px} px{left}"
    )
    talk.say(f"written   {folder / 'glyphs.npz'}, boxes.csv, and a picture of each page in check")
    talk.say(_then(folder))
    for error in got.failures:
        click.echo(harmless(str(error)), err=True)
    if got.failures:
        click.echo(
            f"{len(got.failures)} of {many(len(photos), 'photo')} couldn't be read; the set holds "
            "the others",
            err=True,
        )
        raise click.exceptions.Exit(INCOMPLETE)


def _check(loose: bool, given: Mapping[str, bool], line: str | None) -> None:
    """Refuse options that go with the other kind of photograph."""
    for option, there in given.items():
        if there and not loose:
            fact = "this is for loose marks; the boxes of a sheet are named by its code"
            raise InkdriftError(option, fact, hint=f"--loose as well, or leave {option} out")
    if loose and line is not None:
        raise InkdriftError(
            "--sheet", "loose marks are on no sheet", hint="leave --sheet or --loose out"
        )


def _collect_loose(
    photos: tuple[Path, ...],
    folder: Path,
    writers: tuple[str, ...],
    labels: Path | None,
    join: float | None,
    *,
    overwrite: bool,
    talk: Talk,
) -> None:
    from gen.glyphs.paper.loose import JOIN
    from gen.glyphs.paper.loose_set import cut_loose, label_loose

    gap = JOIN if join is None else join
    if labels is None:
        if writers:
            fact = "who wrote is told with the filled table"
            raise InkdriftError("--writer", fact, hint="--labels labels.csv as well")
        with talk.progress("reading photos") as progress:
            got = cut_loose(photos, folder, join=gap, overwrite=overwrite, progress=progress)
        talk.facts("marks", list(got.told))
        talk.say(f"written   {folder / 'labels.csv'}, pictures in contact and marks")
        talk.say(
            'then      fill in the column "class" and give the same command with '
            "--labels and another --into"
        )
        return
    with talk.progress("reading photos") as progress:
        got = label_loose(
            photos,
            folder,
            labels=labels,
            writers=writers,
            join=gap,
            overwrite=overwrite,
            progress=progress,
        )
    talk.facts("marks", list(got.told))
    counted = ", ".join(f"{printable(name)}: {count:,}" for name, count in got.counts.items())
    talk.say(f"classes   {counted}")
    left = f", {many(got.unnamed, 'mark')} without a class left out" if got.unnamed else ""
    named = sum(got.counts.values())
    talk.say(f"set       {many(named, 'mark')}, {got.side_px} x {got.side_px} px{left}")
    talk.say(f"written   {folder / 'glyphs.npz'}")
    talk.say(_then(folder))


def _then(folder: Path) -> str:
    """What is done with a set; its marks are of the photo's resolution, so a rule is needed."""
    return (
        f"then      gen report MODEL RECIPE --glyphs {folder / 'glyphs.npz'} --fit RULE --into DIR"
    )
