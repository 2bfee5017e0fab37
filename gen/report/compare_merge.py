"""Reports put together: short names of their models, and the sweeps, grids and blends of all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from gen.evaluate.compared import BlendOfCells, GridOfCells, SweepOfCells
from gen.recipe.model import Level
from gen.report.compare_read import Scored


def named(models: Sequence[Scored]) -> tuple[Scored, ...]:
    """The same under short names: without folders, if they differ without.

    Those that are called alike are told apart: by folder, by path, by number.
    """
    names = [one.name for one in models]
    bare = [name if " " in name else name.rpartition("/")[2] or name for name in names]
    if len(set(bare)) == len(set(names)):
        names = bare
    plain = names
    folders = [Path(one.report).resolve().name if one.report else "" for one in models]
    for more in (folders, [one.report for one in models], [str(n + 1) for n in range(len(models))]):
        times = Counter(names)
        names = [
            f"{plain[at]} ({more[at]})" if times[name] > 1 and more[at] else name
            for at, name in enumerate(names)
        ]
    return tuple(replace(one, name=name) for one, name in zip(models, names, strict=True))


def merged_sweeps(models: Sequence[Scored]) -> tuple[SweepOfCells, ...]:
    """The sweeps of all reports: a level that one model failed at stands in another's."""
    found: dict[Any, dict[str, Level]] = {}
    for one in models:
        times: Counter[Any] = Counter()
        for sweep in one.sweeps:
            side = replace(sweep.side, levels=())
            times[side] += 1
            levels = found.setdefault((side, times[side]), {})
            for cell, level in zip(sweep.cells, sweep.side.levels, strict=True):
                levels.setdefault(cell, level)
    out = []
    for (side, _), levels in found.items():
        pairs = list(levels.items())
        if all(not isinstance(level, str) for level in levels.values()):
            pairs.sort(key=lambda pair: float(pair[1]))
        whole = replace(side, levels=tuple(level for _, level in pairs))
        out.append(SweepOfCells(whole, tuple(cell for cell, _ in pairs)))
    return tuple(out)


def merged_grids(models: Sequence[Scored]) -> tuple[GridOfCells, ...]:
    """The grids of all reports, each once."""
    return tuple(dict.fromkeys(grid for one in models for grid in one.grids))


def merged_blends(models: Sequence[Scored]) -> tuple[BlendOfCells, ...]:
    """The blends of all reports: a draw that one model failed at stands in another's."""
    found: dict[tuple[str, str], dict[str, None]] = {}
    for one in models:
        for blend in one.blends:
            key = blend.title, blend.cells[0]
            found.setdefault(key, {}).update(dict.fromkeys(blend.cells))
    return tuple(BlendOfCells(title, tuple(cells)) for (title, _), cells in found.items())
