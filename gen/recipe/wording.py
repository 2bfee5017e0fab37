"""Levels, distributions and requirements in words, as short as they can be told apart by."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import asdict
from decimal import Decimal

from gen.recipe.catalogue import Level
from gen.recipe.drawn import Part
from gen.recipe.required import ESTIMATE, Requirement
from gen.recipe.spelling import listed, plain, quoted

_MOST_LISTED = 12


def levels_words(levels: Sequence[Level], unit: str) -> str:
    """Levels with their unit: a range where they are evenly spaced, else one by one.

    Examples
    --------
    >>> levels_words((-1.0, -0.5, 0.0, 0.5), "px")
    '-1 to 0.5 by 0.5 px'
    >>> levels_words((0.0, 0.5, 0.75), "px"), levels_words((), "px")
    ('0, 0.5, 0.75 px', 'none')
    """
    if not levels:
        return "none"
    if any(isinstance(level, str) for level in levels):
        return listed(str(level) for level in levels)
    # Through the shortest decimal, so that 0.1 to 0.3 by 0.1 is even.
    exact = [Decimal(repr(level)) for level in levels]
    steps = {after - before for before, after in itertools.pairwise(exact)}
    if len(exact) > 2 and len(steps) == 1:
        return f"{plain(exact[0])} to {plain(exact[-1])} by {plain(steps.pop())} {unit}"
    if len(exact) > _MOST_LISTED:
        return f"{len(exact)} from {plain(exact[0])} to {plain(exact[-1])} {unit}"
    return f"{', '.join(map(plain, exact))} {unit}"


def part_words(part: Part) -> str:
    """How the levels of a part of a blend are drawn.

    Examples
    --------
    >>> from gen.recipe.drawn import Normal
    >>> part_words(Part("blur", "px", Normal(1.0, 0.5), 0.25))
    'normal, mean 1, sd 0.5, in steps of 0.25 px'
    """
    words = [type(part.drawn).__name__.lower()]
    for key, value in asdict(part.drawn).items():
        if isinstance(value, tuple):
            each = (quoted(v) if isinstance(v, str) else plain(v) for v in value)
            words.append(f"{key} {' '.join(each)}")
        else:
            words.append(f"{key} {plain(value)}")
    if part.step:
        words.append(f"in steps of {plain(part.step)}")
    return f"{', '.join(words)} {part.unit}"


def requirement_words(requirement: Requirement) -> str:
    """What is asked by a requirement, and of which levels.

    Examples
    --------
    >>> requirement_words(Requirement(0.95, None, "lower end", "blur", "px", ends=(0.0, 2.0)))
    'keeps 0.95 from 0 to 2 px, judged on the lower end'
    """
    if requirement.keeps is not None:
        words = f"keeps {plain(requirement.keeps)}"
    else:
        words = "drops by no more than " + plain(requirement.drop or 0.0)
    if requirement.ends is not None:
        low, high = map(plain, requirement.ends)
        words += f" from {low} to {high} {requirement.unit}"
    elif requirement.levels:
        words += f" at {levels_words(requirement.levels, requirement.unit)}"
    if requirement.judged_on != ESTIMATE:
        words += f", judged on the {requirement.judged_on}"
    return words
