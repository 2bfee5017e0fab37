"""Peak memory of a stress set of a million glyphs: built-in strokes, and an IDX file.

    python tests/bench/memory.py                      # 1,000,000 glyphs, 3 levels
    python tests/bench/memory.py --glyphs 50000

Each case runs in a process of its own, and the figure is that process's largest
resident set: VmHWM of /proc/self/status on Linux (fresh after exec, unlike ru_maxrss,
which takes over its parent's), ru_maxrss elsewhere. It counts pages of mapped files
while they are in memory, so nothing is hidden there.
"""

from __future__ import annotations

import argparse
import resource
import shutil
import struct
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

RECIPE = """
title = "Three levels"
[[sweep]]
perturbation = "translation"
unit = "px"
along = "x"
levels = [{levels}]
"""
SOURCES = ("strokes", "idx", "idx.gz", "dark idx")


def peak_mb() -> float:
    """The largest resident set of this process so far, in MB (10**6 bytes)."""
    try:
        lines = Path("/proc/self/status").read_text("ascii").splitlines()
        (line,) = (line for line in lines if line.startswith("VmHWM:"))
        return int(line.split()[1]) * 1024 / 1e6
    except (OSError, ValueError):
        unit = 1 if sys.platform == "darwin" else 1024
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e6


def write_idx(folder: Path, count: int, *, dark: bool = False, gzipped: bool = False) -> Path:
    """An IDX file of marks that differ, with its labels, written a piece at a time."""
    import gzip

    path = folder / f"crates-images-idx3-ubyte{'.gz' if gzipped else ''}"
    marks = np.zeros((1000, 28, 28), np.uint8)
    for number in range(len(marks)):
        top, left = 4 + number % 7, 4 + number // 7 % 11
        marks[number, top : top + 12, left : left + 1 + number % 5] = 128 + number % 128
    if dark:
        marks = 255 - marks
    with gzip.open(path, "wb", compresslevel=1) if gzipped else path.open("wb") as stream:
        stream.write(struct.pack(">4B3I", 0, 0, 8, 3, count, 28, 28))
        for start in range(0, count, len(marks)):
            stream.write(marks[: min(len(marks), count - start)].data)
    labels = (np.arange(count) % 10).astype(np.uint8).tobytes()
    plain = folder / "crates-labels-idx1-ubyte"
    plain.write_bytes(struct.pack(">4BI", 0, 0, 8, 1, count) + labels)
    return path


def case(source: str, count: int, folder: Path, *, levels: int, kind: str, workers: int) -> None:
    """One case, in this process; prints its figures."""
    from gen import load_glyphs, parse_recipe, write_strokes
    from gen.glyphs.subset import without_blanks
    from gen.render.stress_set import write_stress_set

    recipe = parse_recipe(RECIPE.format(levels=", ".join(f"{n + 0.5}" for n in range(levels))))
    began = time.perf_counter()
    glyphs = (
        write_strokes(count=count)
        if source == "strokes"
        else without_blanks(load_glyphs(next(folder.glob("crates-images*"))))[0]
    )
    loaded = time.perf_counter()
    made = write_stress_set(recipe, glyphs, folder / "out", kind=kind, workers=workers)
    spent = time.perf_counter() - loaded
    hired = ""
    if workers > 1:
        unit = 1 if sys.platform == "darwin" else 1024
        largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * unit / 1e6
        hired = f" and {largest:.1f} MB in a worker"
    pictures = len(made["cells"]) * count
    print(
        f"{source:<9} {count:>9,} glyphs x {len(made['cells'])} cells as {kind}, "
        f"{workers} worker{'s' * (workers != 1)}: peak {peak_mb():6.1f} MB{hired}, read in "
        f"{loaded - began:5.1f} s, written in {spent:6.1f} s, {pictures / spent:>9,.0f} pictures/s",
        flush=True,
    )


def main() -> int:
    """All cases, or one of them in this process."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--glyphs", type=int, default=1_000_000)
    parser.add_argument("--levels", type=int, default=3)
    parser.add_argument("--format", default="npz", choices=("npz", "idx", "png"))
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--source", action="append", choices=SOURCES)
    parser.add_argument("--into", type=Path, help="a folder on the disk to use")
    parser.add_argument("--here", action="store_true", help=argparse.SUPPRESS)
    said = parser.parse_args()
    sources = said.source or list(SOURCES)
    if said.here:
        how = {"levels": said.levels, "kind": said.format, "workers": said.workers}
        case(sources[0], said.glyphs, said.into, **how)
        return 0
    for source in sources:
        folder = Path(tempfile.mkdtemp(dir=said.into))
        try:
            if source != "strokes":
                write_idx(
                    folder, said.glyphs, dark=source == "dark idx", gzipped=source == "idx.gz"
                )
            options = [("--glyphs", said.glyphs), ("--levels", said.levels)]
            options += [("--format", said.format), ("--workers", said.workers)]
            options += [("--source", source), ("--into", folder)]
            flat = [str(word) for option in options for word in option]
            subprocess.run([sys.executable, __file__, "--here", *flat], check=True)
        finally:
            shutil.rmtree(folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())
