"""How far measuring has come is said in pictures."""

from __future__ import annotations

import pytest

from gen import write_strokes
from gen.report.measure_set import measure_set


@pytest.mark.parametrize("beside", [0, 40])
def test_progress_is_half_when_all_is_measured_and_whole_when_all_is_looked_over(
    beside: int,
) -> None:
    told: list[tuple[int, int]] = []
    against = write_strokes(count=beside, seed=2) if beside else None
    measure_set(write_strokes(count=60, seed=1), against, progress=lambda *way: told.append(way))
    glyphs = 60 + beside
    assert {total for _, total in told} == {2 * glyphs}
    done = [done for done, _ in told]
    assert done == sorted(done)
    assert done[-2:] == [glyphs, 2 * glyphs]
