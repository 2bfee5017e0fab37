"""What the script of the page reads: words and pictures for every level and cell."""

from __future__ import annotations

from collections.abc import Sequence

from gen.evaluate.results import Evaluation
from gen.report import maps
from gen.report.album import Album
from gen.report.markup import data_block
from gen.report.shown import Shown
from gen.report.sweeps import SweepPart


def page_data(
    evaluation: Evaluation, sweeps: Sequence[SweepPart], shown: Shown, album: Album
) -> str:
    """Markup that holds it, made after all other markup of the page.

    Parameters
    ----------
    evaluation, sweeps, shown
        What the page shows.
    album
        Where its pictures are: those that stand in the markup aren't given once more.
    """
    told = [sweep.values() for sweep in sweeps]
    grids = maps.values(evaluation, shown.grids, album)
    values = {"pictures": album.rest(), "sweeps": told, "grids": grids}
    return data_block(values, ident="page-data")
