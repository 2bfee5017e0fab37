"""Memory does not grow with the number of glyphs; tests/bench/memory.py shows it for a million."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.render.stress_support import ROOT, environment

GROWTH_MB = 12
"""Labels are 8 bytes a glyph, 0.8 MB for 100,000 more, and are copied a few times."""


def peak_mb(source: str, count: int, into: Path) -> float:
    """The largest resident set of a process that writes a set of two cells."""
    done = subprocess.run(
        [
            *(sys.executable, str(ROOT / "tests" / "bench" / "memory.py"), "--source", source),
            *("--glyphs", str(count), "--levels", "1", "--into", str(into), "--format", "idx"),
        ],
        env=environment(),
        capture_output=True,
        text=True,
        check=True,
    )
    found = re.search(r"peak +([\d.]+) MB", done.stdout)
    assert found is not None, done.stdout
    return float(found[1])


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="the peak is read where Linux keeps it")
@pytest.mark.parametrize("source", ["idx", "dark idx", "idx.gz"])
def test_twice_the_pictures_need_no_more_memory(tmp_path: Path, source: str) -> None:
    few, many = (peak_mb(source, count, tmp_path) for count in (100_000, 200_000))
    # 100,000 pictures of 28 x 28 px are 78 MB.
    assert many < few + GROWTH_MB
    assert many < 300


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="the peak is read where Linux keeps it")
def test_four_times_the_strokes_need_no_more_memory(tmp_path: Path) -> None:
    few, many = (peak_mb("strokes", count, tmp_path) for count in (5_000, 20_000))
    # 15,000 pictures of 28 x 28 px are 11.8 MB, for each cell.
    assert many < few + 6
    assert many < 300


@pytest.mark.skipif(sys.platform != "linux", reason="the peak is read where Linux keeps it")
def test_the_measure_sees_memory_that_is_held() -> None:
    code = (
        "import runpy, sys\n"
        f"peak = runpy.run_path({str(ROOT / 'tests' / 'bench' / 'memory.py')!r})['peak_mb']\n"
        "before = peak()\nheld = bytearray(b'1') * 50_000_000\nprint(peak() - before)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment()
    )
    assert float(done.stdout) > 45
