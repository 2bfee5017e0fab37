"""What comes of a recipe and of those that it extends.

A key at the top replaces that of the base; `title` is never taken over. A table
replaces those of the base that are the same thing (`gen.recipe.identity`) and stands
where the first of them stood; one that is new comes last. What `leave_out` names is
taken out of the base first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from gen.recipe.bases import EXTENDS, Layer
from gen.recipe.catalogue import Catalogue
from gen.recipe.identity import KEYS
from gen.recipe.leaving import LEAVE_OUT, left_out
from gen.recipe.lines import Path
from gen.recipe.origins import Placed, Places
from gen.recipe.problems import Problems

_OWN = (EXTENDS, LEAVE_OUT)
"""Keys that say how a recipe extends, and are no part of what comes of it."""


@dataclass
class _Merged:
    """What has come of the files so far, each value with where it was written."""

    tops: dict[str, Placed]
    lists: dict[str, list[Placed]]


def merged(layers: Sequence[Layer], catalogue: Catalogue) -> tuple[dict[str, object], Problems]:
    """The recipe that comes of some files, as plain values.

    Parameters
    ----------
    layers
        The recipe that was asked for, the one that it extends, and so on.
    catalogue
        The perturbations that exist.

    Returns
    -------
    tuple of what the recipe says, without `extends` and `leave_out`, and the problems
    found so far, which know where everything was written.
    """
    so_far = _Merged({}, {})
    found: list[Problems] = []
    for layer in reversed(layers):
        problems = Problems(layer.source)
        if LEAVE_OUT in layer.data:
            gone = left_out(layer, so_far.lists, catalogue, problems)
            so_far.lists = {
                kind: [each for each in placed if id(each) not in gone]
                for kind, placed in so_far.lists.items()
            }
        so_far = _over(so_far, layer, catalogue)
        found.append(problems)
    data: dict[str, object] = {key: placed.value for key, placed in so_far.tops.items()}
    places: dict[Path, Placed] = {(key,): placed for key, placed in so_far.tops.items()}
    for kind, listed in so_far.lists.items():
        data[kind] = [placed.value for placed in listed]
        places |= {(kind, number): placed for number, placed in enumerate(listed)}
    judged = Problems(Places(layers[0].source, places))
    for problems in found:
        judged.take(problems)
    return data, judged


def _over(base: _Merged, layer: Layer, catalogue: Catalogue) -> _Merged:
    """A base with what one file says over it."""
    tops = {key: placed for key, placed in base.tops.items() if key != "title"}
    lists = dict(base.lists)
    for key, value in layer.data.items():
        if key in _OWN:
            continue
        if key in KEYS and isinstance(value, list):
            own = [Placed(each, layer.source, (key, n)) for n, each in enumerate(value)]
            lists[key] = _replaced(lists.get(key, []), own, key, catalogue)
            tops.pop(key, None)
        else:
            # A list of tables that is none is left to the reader, which says so.
            lists.pop(key, None)
            tops[key] = Placed(value, layer.source, (key,))
    return _Merged(tops, lists)


def _replaced(
    base: Sequence[Placed], own: Sequence[Placed], kind: str, catalogue: Catalogue
) -> list[Placed]:
    """Tables of one kind, those of the base replaced by the ones that are the same thing."""
    if not base:
        return list(own)
    groups: dict[Any, list[Placed]] = {}
    for each in own:
        key = KEYS[kind](each.value, catalogue)
        groups.setdefault(id(each) if key is None else key, []).append(each)
    result: list[Placed] = []
    used: set[Any] = set()
    for each in base:
        key = KEYS[kind](each.value, catalogue)
        if key is None or key not in groups:
            result.append(each)
        elif key not in used:
            used.add(key)
            result += groups[key]
    for key, group in groups.items():
        if key not in used:
            result += group
    return result
