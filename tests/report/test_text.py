"""The summary in the terminal, held to whole pages that were read by a person."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from gen.report.findings import find
from gen.report.run import RunInfo
from gen.report.text import BLOCKS, as_text, small_curve

EXPECTED = Path(__file__).with_name("expected")
RUN = RunInfo("gen report tags.py:read first-look --into out")


@pytest.mark.parametrize(
    ("name", "width", "blocks"),
    [
        ("slipped", 100, True),
        ("slipped", 60, False),
        ("healthy", 100, True),
        ("healthy", 60, True),
        ("thorough", 80, True),
        ("thorough", 57, False),
    ],
)
def test_the_summary_reads_as_it_was_approved(
    planted: ModuleType, name: str, width: int, blocks: bool
) -> None:
    made = getattr(planted, name)()
    text = as_text(made, find(made), RUN, width=width, blocks=blocks)
    assert text == (EXPECTED / f"{name}-{width}.txt").read_text("utf-8")


@pytest.mark.parametrize("width", [40, 57, 80, 132])
@pytest.mark.parametrize("name", ["healthy", "slipped", "fragile", "few", "guessing", "thorough"])
def test_no_line_is_longer_than_the_terminal_is_wide(
    planted: ModuleType, name: str, width: int
) -> None:
    made = replace(getattr(planted, name)(), model="m" * 300, left_out=("a glyph without ink",) * 3)
    text = as_text(made, find(made), RUN, width=width)
    assert max(len(line) for line in text.splitlines()) <= width


def test_ascii_is_enough_when_blocks_cannot_be_shown(planted: ModuleType) -> None:
    made = planted.slipped()
    text = as_text(made, find(made), RUN, blocks=False)
    assert not set(text) & set(BLOCKS)


def test_a_small_curve_has_a_character_for_each_level(planted: ModuleType) -> None:
    curve = planted.along_x(lambda level: 1.0 if level == 0 else 0.0)
    assert small_curve(curve) == BLOCKS[0] * 8 + BLOCKS[-1] + BLOCKS[0] * 8


def test_names_cannot_move_the_cursor(planted: ModuleType) -> None:
    bad = "tags\x1b[2J\r\n\x07.py"
    made = replace(planted.guessing(), model=bad, glyphs=bad, recipe=bad, left_out=(bad,))
    classes = tuple(f"{name}\x1b[31m" for name in made.classes)
    made = replace(made, classes=classes, counts=(3, *[100] * 9))
    whole = planted.thorough()
    made = replace(
        made,
        requirements=(replace(planted.judged(False), says=bad),),
        blends=(replace(planted.depot_camera(), title=bad),),
        grids=(replace(whole.grids[0], title=bad),),
        foreign=tuple(replace(kind, kind=bad) for kind in planted.strangers()),
        failed=tuple(replace(cell, cell=bad, why=bad) for cell in whole.failed),
        resampled=bad,
    )
    text = as_text(made, find(made), RunInfo(bad))
    assert all(character == "\n" or character.isprintable() for character in text)
