"""`gen compare`: reports of several models to one comparison."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from gen.cli.complete import reports_in
from gen.cli.emphasis import with_verdict
from gen.cli.kinds import PathName
from gen.cli.process import again, plain, shows_blocks
from gen.cli.shared_options import into_option, overwrite_option
from gen.cli.talk import Talk, columns
from gen.cli.usage import Command


class _Several(click.Argument):
    """An argument that is missing as long as it is given fewer than twice."""

    def process_value(self, ctx: click.Context, value: Any) -> Any:
        """Refuse none and one."""
        reports = super().process_value(ctx, value)
        if len(reports) == 1 and not ctx.resilient_parsing:
            raise click.MissingParameter(ctx=ctx, param=self, param_hint="a second REPORT")
        return reports


@click.command(cls=Command)
@click.argument(
    "reports",
    cls=_Several,
    required=True,
    metavar="REPORT REPORT [...]",
    nargs=-1,
    type=PathName(),
    shell_complete=reports_in,
)
@into_option(required=True)
@click.option("--json", "as_json", is_flag=True, help="Print compare.json to standard output.")
@overwrite_option
@click.option(
    "--quiet",
    is_flag=True,
    help="Leave out notes; the summary, or --json, is printed all the same.",
)
def compare(
    *, reports: tuple[Path, ...], folder: Path, as_json: bool, overwrite: bool, quiet: bool
) -> None:
    """Say which of several models reads better, and where.

    Each REPORT is a folder that `gen report` wrote, or its report.json: two to eight,
    of one recipe on one set of glyphs. Every glyph is compared with itself in each cell of
    sweeps, grids and blends, and every test is corrected for all that are made.

    \b
    Example:
      gen demo --into inkdrift-demo
      gen compare inkdrift-demo/report-right inkdrift-demo/report-slipped --into compared
    """
    from gen.core.files import check_free, whole_folder
    from gen.report.compare_make import compare_reports
    from gen.report.json_text import json_text

    talk = Talk(quiet=quiet)
    check_free(folder, overwrite=overwrite)
    with talk.progress("comparing") as told:
        made = compare_reports(reports, command=again(sys.argv[1:]), progress=told)
    with whole_folder(folder, overwrite=overwrite) as scratch:
        made.save(scratch)
    if as_json:
        click.echo(json_text(made.as_dict()))
    else:
        blocks = shows_blocks()
        text = made.as_text(width=columns(), blocks=blocks)
        said = text if blocks else plain(text)
        click.echo(with_verdict(said, sys.stdout), nl=False)
    talk.say(f"written   {folder / 'compare.html'}, compare.json beside it")
