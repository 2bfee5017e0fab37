"""Figures in words that more than one part of a report says."""

from __future__ import annotations

from typing import Any

from gen.evaluate.results import Evaluation
from gen.recipe.model import Level
from gen.report.places import place
from gen.report.words import measured, percent, points


def interval(share: dict[str, Any]) -> str:
    """A share with its interval: "91.2 % (89.9 to 92.4 %)".

    Examples
    --------
    >>> interval({"accuracy": 0.5, "low": 0.4, "high": 0.6, "n": 100, "correct": 50})
    '50.0 % (40.0 to 60.0 %)'
    """
    low, high = 100 * share["low"], 100 * share["high"]
    return f"{measured(share['accuracy'])} ({low:.1f} to {high:.1f} %)"


def worst_place(level: Level | None, curve: int | None, evaluation: Evaluation) -> str:
    """Where a requirement does worst: "at -2 px along x (left)"; empty where it has no levels.

    Parameters
    ----------
    level
        Its worst level; None of a blend.
    curve
        Which curve of the evaluation that is a level of; None of nominal itself.
    evaluation
        The scored model.
    """
    if level is None or curve is None:
        return ""
    swept = evaluation.curves[curve]
    return "at nominal" if level == swept.nominal else place(swept, level)


def requirement_figures(part: dict[str, Any], evaluation: Evaluation) -> str:
    """What a requirement was judged on.

    "worst at -2 px along x (left): 91.0 % (89.0 to 92.6 %), asked 95 %"
    """
    if part["accuracy"] is None or part["value"] is None:
        return part["why"] or "nothing could be scored"
    where = worst_place(part["level"], part["curve"], evaluation)
    said = f"worst {where}: " if where else ""
    said += interval(part["accuracy"])
    drop, on_end = part["difference"], part["judged_on"] == "lower end"
    if drop is not None:
        said += f", {points(drop['value'])} from nominal"
        said += f" ({points(drop['low'])} at the lower end)" if on_end else ""
    elif on_end:
        said += f", lower end {measured(part['value'])}"
    # Nominal less a drop is measured, and nobody's round figure.
    said += f", asked {percent(part['least']) if drop is None else measured(part['least'])}"
    return f"{said}; {part['why']}" if part["why"] else said


def declining_words(declining: dict[str, Any]) -> str:
    """When to decline and what it costs, from the plain values of it."""
    said = (
        f"declining answers under a confidence of {declining['threshold']:.3g} would turn away "
        f"{measured(declining['foreign_declined']['accuracy'])} of them, and "
        f"{measured(declining['own_declined']['accuracy'])} of real marks"
    )
    accuracy = declining["accuracy"]
    if accuracy is not None:
        said += f"; of the real marks left {measured(accuracy['accuracy'])} are read rightly"
    return said
