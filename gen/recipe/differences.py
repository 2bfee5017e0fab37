"""What differs between two recipes, in words: what comes of one against what comes of the other."""

from __future__ import annotations

import json
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from itertools import zip_longest
from typing import TypeVar

from gen.core.plain_text import printable
from gen.recipe.identity import named
from gen.recipe.model import Blend, Grid, Part, Recipe, Requirement, Sweep
from gen.recipe.spelling import listed, plain
from gen.recipe.wording import levels_words, part_words, requirement_words

_Thing = TypeVar("_Thing", Sweep, Grid, Blend, Part, Requirement)
_Any = TypeVar("_Any")


def differences(a: Recipe, b: Recipe) -> tuple[str, ...]:
    """Every difference, a line each; none when the two are the same recipe.

    Sweeps, grids, blends and requirements are held against one another by what they are
    known by, wherever they stand. How something is written makes no difference: a list
    and a range of the same levels are one, and so are a default and nothing.

    Parameters
    ----------
    a, b
        The recipes, which the lines call A and B.

    Examples
    --------
    >>> from gen import parse_recipe
    >>> first = 'title = "Focus"\\n[[sweep]]\\nperturbation = "blur"\\nunit = "px"\\n'
    >>> differences(parse_recipe(first + "levels = [0, 1, 2]"),
    ...             parse_recipe(first + "levels = [0, 1, 3]"))
    ('blur: levels 0 to 2 by 1 px in A, 0, 1, 3 px in B',)
    """
    return (
        *_tops(a, b),
        *_matched("sweeps", a.sweeps, b.sweeps, _sweep_key, _sweep),
        *_matched("grids", a.grids, b.grids, _grid_key, _grid),
        *_matched("blends", a.blends, b.blends, lambda blend: blend.title, _blend),
        *_matched("requirements", a.requirements, b.requirements, _require_key, _requirement),
    )


def _tops(a: Recipe, b: Recipe) -> Iterator[str]:
    yield from _either("title", _text(a.title), _text(b.title))
    yield from _note("note", a.note, b.note)
    yield from _either("seed", str(a.seed), str(b.seed))
    for key in ("scan_dpi", "glyph_height_px"):
        values = (getattr(recipe.ruler, key) for recipe in (a, b))
        yield from _either(key, *("none" if each is None else plain(each) for each in values))


def _either(what: str, in_a: str, in_b: str) -> Iterator[str]:
    if in_a != in_b:
        yield f"{what}: {in_a} in A, {in_b} in B"


def _note(what: str, in_a: str, in_b: str) -> Iterator[str]:
    """Notes may be long, so they are not repeated."""
    if in_a != in_b:
        only = "A" if in_a and not in_b else "B" if in_b and not in_a else None
        yield f"{what}: {'another text in B' if only is None else f'only in {only}'}"


def _matched(
    plural: str,
    in_a: Sequence[_Thing],
    in_b: Sequence[_Thing],
    known_by: Callable[[_Thing], Hashable],
    differs: Callable[[_Thing | None, _Thing | None], Iterator[str]],
) -> Iterator[str]:
    """Things of one kind, each against the one that is known by the same."""
    groups: dict[Hashable, tuple[list[_Thing], list[_Thing]]] = {}
    for side, things in enumerate((in_a, in_b)):
        for thing in things:
            groups.setdefault(known_by(thing), ([], []))[side].append(thing)
    for ours, theirs in groups.values():
        for one, other in zip_longest(ours, theirs):
            yield from differs(one, other)
    # What is in one of them alone has been said, and is no matter of order.
    common = {key: min(map(len, both)) for key, both in groups.items()}
    orders = [_first(map(known_by, things), common) for things in (in_a, in_b)]
    if orders[0] != orders[1]:
        yield f"the {plural} stand in another order"


def _first(keys: Iterable[Hashable], most: Mapping[Hashable, int]) -> list[Hashable]:
    """Keys in their order, each no more often than so many times."""
    left = dict(most)
    kept = []
    for key in keys:
        if left[key]:
            left[key] -= 1
            kept.append(key)
    return kept


def _sweep_key(sweep: Sweep | Part) -> Hashable:
    return sweep.perturbation, sweep.options


def _grid_key(grid: Grid) -> Hashable:
    return _sweep_key(grid.down), _sweep_key(grid.across)


def _require_key(requirement: Requirement) -> Hashable:
    return requirement.blend, requirement.perturbation, requirement.options


def _named(sweep: Sweep | Part) -> str:
    return named(sweep.perturbation, sweep.options)


def _text(text: str) -> str:
    """A text in quotes, whole: two that differ must not be cut to the same."""
    return printable(json.dumps(text, ensure_ascii=False))


def _levels(what: str, a: Sweep | Requirement, b: Sweep | Requirement) -> Iterator[str]:
    """Levels of one against levels of the other."""
    if (a.unit, a.levels) == (b.unit, b.levels):
        return
    words = [levels_words(each.levels, each.unit) for each in (a, b)]
    texts = any(isinstance(level, str) for level in (*a.levels, *b.levels))
    if words[0] != words[1] and not texts:
        yield f"{what} {words[0]} in A, {words[1]} in B"
        return
    told = []
    for name, levels, others in (("A", a.levels, b.levels), ("B", b.levels, a.levels)):
        if only := [level for level in levels if level not in others]:
            said = listed(map(str, only)) if texts else ", ".join(plain(float(x)) for x in only)
            told.append(f"{said} only in {name}")
    yield f"{what} {'; '.join(told) or 'in another order'}"


def _sweep(a: Sweep | None, b: Sweep | None) -> Iterator[str]:
    what = _named(_there(a, b))
    if a is None or b is None:
        yield _only(what, a, b, lambda each: f"levels {levels_words(each.levels, each.unit)}")
        return
    yield from _levels(f"{what}: levels", a, b)
    yield from _note(f"{what}, note", a.note, b.note)


def _grid(a: Grid | None, b: Grid | None) -> Iterator[str]:
    there = _there(a, b)
    what = f"grid of {_named(there.down)} by {_named(there.across)}"
    if a is None or b is None:
        yield _only(
            what, a, b, lambda each: f"{len(each.down.levels)} x {len(each.across.levels)} levels"
        )
        return
    for side in ("down", "across"):
        one, other = getattr(a, side), getattr(b, side)
        yield from _levels(f"{what}: {side}, levels", one, other)
        yield from _note(f"{what}, {side}, note", one.note, other.note)
    yield from _note(f"{what}, note", a.note, b.note)


def _blend(a: Blend | None, b: Blend | None) -> Iterator[str]:
    what = f"blend {_text(_there(a, b).title)}"
    if a is None or b is None:
        yield _only(what, a, b, lambda each: f"of {', '.join(map(_named, each.parts))}")
        return
    yield from _either(f"{what}, draws", str(a.draws), str(b.draws))
    for line in _matched("parts", a.parts, b.parts, _sweep_key, _part):
        yield f"{what}, {line}"
    yield from _note(f"{what}, note", a.note, b.note)


def _part(a: Part | None, b: Part | None) -> Iterator[str]:
    what = _named(_there(a, b))
    if a is None or b is None:
        yield _only(what, a, b, part_words)
    else:
        yield from _either(what, part_words(a), part_words(b))


def _requirement(a: Requirement | None, b: Requirement | None) -> Iterator[str]:
    there = _there(a, b)
    what = "required at nominal"
    if there.blend:
        what = f"required of blend {_text(there.blend)}"
    elif there.perturbation:
        what = f"required of {named(there.perturbation, there.options)}"
    if a is None or b is None:
        yield _only(what, a, b, requirement_words)
        return
    words = requirement_words(a), requirement_words(b)
    yield from _either(what, *words)
    if words[0] == words[1] and a.ends is None:
        yield from _levels(f"{what}: levels", a, b)
    yield from _note(f"{what}, note", a.note, b.note)


def _there(a: _Any | None, b: _Any | None) -> _Any:
    """The one of the two that there is."""
    there = b if a is None else a
    assert there is not None
    return there


def _only(what: str, a: _Any | None, b: _Any | None, words: Callable[[_Any], str]) -> str:
    return f"{what}: only in {'A' if b is None else 'B'}, {words(_there(a, b))}"
