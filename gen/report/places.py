"""Where in a sweep: "at +3 px along x (right)", "with strokes 1 px wider", "at JPEG quality 30"."""

from __future__ import annotations

from collections.abc import Callable

from gen.recipe.model import Level
from gen.report.words import Swept, amount, number, quoted


def place(swept: Swept, level: Level) -> str:
    """The level as a sentence has it, after "accuracy peaks" or "is read worse".

    Along x plus is right and along y plus is down; turns are anticlockwise when
    positive, and a slant leans to the right.

    Parameters
    ----------
    swept
        A curve, or a side of a grid.
    level
        One of its levels.
    """
    if isinstance(level, str):
        return f"with {swept.title} {quoted(level)}"
    if swept.unit == "times":
        if not level:
            return f"without {swept.title}"
        return f"with {_SWITCHES.get(_switch(swept), swept.title)}"
    said = _SAID.get(swept.perturbation)
    if said is not None:
        return _said(said, swept, level)
    if swept.unit == "ratio":
        return f"at {number(swept, level)} times the {swept.title}"
    return f"at {amount(swept, level)} of {swept.title}"


def _said(said: str | Callable[[Swept, float], str], swept: Swept, level: float) -> str:
    if isinstance(said, str):
        gaps = {"title": swept.title, "amount": amount(swept, level)}
        return said.format(number=number(swept, level), **gaps)
    return said(swept, level)


def _switch(swept: Swept) -> str:
    along = dict(swept.options).get("along")
    return f"{swept.perturbation} {along}" if along else swept.perturbation


def _translation(swept: Swept, level: float) -> str:
    along = dict(swept.options).get("along")
    ways = {"x": ("right", "left"), "y": ("down", "up")}.get(str(along))
    if ways is None:
        towards = along if isinstance(along, str) else f"{along or 0:g} deg"
        return f"at {amount(swept, level)} towards {towards}"
    return f"at {amount(swept, level)} along {along}{_way(level, ways)}"


def _rotation(swept: Swept, level: float) -> str:
    return f"at {amount(swept, level)} of rotation{_way(level, ('anticlockwise', 'clockwise'))}"


def _slant(swept: Swept, level: float) -> str:
    return f"at {amount(swept, level)} of slant{_way(level, ('to the right', 'to the left'))}"


def _strokes(swept: Swept, level: float) -> str:
    if swept.unit == "ratio":
        return f"with strokes {number(swept, level)} times as wide"
    if not level:
        return "with strokes as wide as they are"
    by = amount(swept, abs(level)).lstrip("+")
    return f"with strokes {by} {'wider' if level > 0 else 'narrower'}"


def _smear(swept: Swept, level: float) -> str:
    line = swept.title.removeprefix("motion blur")
    return f"at a motion blur of {amount(swept, level)}{line}"


def _patch(swept: Swept, level: float) -> str:
    of = dict(swept.options).get("patch") or "paper"
    return f"with a patch of {of} of {amount(swept, level)} over the mark"


def _shadow(swept: Swept, level: float) -> str:
    return f"in a shadow of {amount(swept, level)}{swept.title.removeprefix('shadow')}"


def _noise(swept: Swept, level: float) -> str:
    if swept.unit == "electrons":
        return f"in light that gives {amount(swept, level)}"
    return f"with noise of {amount(swept, level)}"


def _quarters(swept: Swept, level: float) -> str:
    del swept
    turns = {0: "no quarter turn", 1: "a quarter turn anticlockwise", 2: "two quarter turns"}
    turns[3] = "a quarter turn clockwise"
    return f"with {turns.get(round(level) % 4)}"


def _way(level: float, ways: tuple[str, str]) -> str:
    if level == 0:
        return ""
    return f" ({ways[0] if level > 0 else ways[1]})"


_SWITCHES = {
    "axis-swap": "rows read as columns",
    "mirror x": "left and right exchanged",
    "mirror y": "top and bottom exchanged",
    "half-turn": "a half turn",
    "ink-polarity": "ink taken for paper",
}

# A sentence with gaps does where the level only stands in it.
_SAID: dict[str, str | Callable[[Swept, float], str]] = {
    "translation": _translation,
    "rotation": _rotation,
    "slant": _slant,
    "stroke-width": _strokes,
    "dry-pen": "with {amount} of the stroke bare",
    "blur": "at a {title} of {amount}",
    "motion-blur": _smear,
    "occlusion": _patch,
    "ruled": "on paper with lines {amount} dark",
    "background": "on paper {amount} dark",
    "shadow": _shadow,
    "noise": _noise,
    "row-slip": "at a {title} of {amount}",
    "value-range": "with full ink written as {number}",
    "bit-depth": "at {amount} a pixel",
    "jpeg": "at JPEG {amount}",
    "quarter-turns": _quarters,
}
