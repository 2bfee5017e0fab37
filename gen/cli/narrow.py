"""Help on a terminal of few columns, for which click would still write lines of 50."""

from __future__ import annotations

import shutil
from collections.abc import Iterable

import click

NARROW = 52
"""Columns below which help is written another way."""
_LEAST = 20
_FIRST_COLUMN = 12


class NarrowFormatter(click.HelpFormatter):
    """Long names stand on a line of their own, so that what they mean has room under them."""

    def write_dl(
        self, rows: Iterable[tuple[str, str]], col_max: int = _FIRST_COLUMN, col_spacing: int = 2
    ) -> None:
        """Names and meanings."""
        super().write_dl(list(rows), col_max, col_spacing)


def width_of_help() -> int | None:
    """Columns for help where there are few; None where click's own way serves."""
    columns = shutil.get_terminal_size((80, 24)).columns
    narrow = columns < NARROW
    click.Context.formatter_class = NarrowFormatter if narrow else click.HelpFormatter
    if not narrow:
        return None
    return max(columns, _LEAST)
