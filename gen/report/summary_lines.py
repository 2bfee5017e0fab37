"""Requirements, grids, blends and marks of no class, a line each for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from gen.evaluate.results import Evaluation, Judged
from gen.report.sureness import SURE_FROM, kind_words, labels_only
from gen.report.together import costliest, worst_cell
from gen.report.words import amount, interval_words, listed, measured, percent


def summary_lines(evaluation: Evaluation) -> Iterator[tuple[str, str]]:
    """Pairs of a heading of at most nine characters and what is said under it.

    Parameters
    ----------
    evaluation
        A scored model; what wasn't asked gives no line.
    """
    for part in evaluation.requirements:
        yield "required", f"{'kept' if part.kept else 'missed'}: {part.says}{_judged(part)}"
    for blend in evaluation.blends:
        most = costliest(blend)
        said = f"{blend.title}: {interval_words(blend.accuracy)}"
        if most is not None and most.share is not None:
            said += f"; {most.title} {measured(most.share)} of the loss"
        yield "forecast", said
    for grid in evaluation.grids:
        worst = worst_cell(grid)
        if worst is not None:
            down, across, point = worst
            where = f"{amount(grid.down, down)} and {amount(grid.across, across)}"
            yield "grid", f"{grid.title}: worst {interval_words(point.accuracy)} at {where}"
    if evaluation.foreign:
        yield "no class", strangers_words(evaluation)


def strangers_words(evaluation: Evaluation) -> str:
    """How often marks of no class are named, and when to decline."""
    marks = evaluation.foreign
    if labels_only(evaluation):
        kinds = listed([kind_words(kind) for kind in marks])
        return f"labels only: a class is named for {kinds} too"
    parts = [f"{measured(kind.named.value)} of {kind_words(kind)}" for kind in marks]
    said = f"named with a confidence of {percent(SURE_FROM)} or more: {listed(parts)}"
    part = evaluation.declining
    if part is not None:
        said += (
            f"; declining answers under {part.threshold:.3g} would turn away "
            f"{measured(part.foreign_declined.value)} of them, and "
            f"{measured(part.own_declined.value)} of real marks"
        )
    return said


def _judged(part: Judged) -> str:
    if part.value is None:
        return f" ({part.why or 'nothing could be scored'})"
    why = f"; {part.why}" if part.why else ""
    return f" ({part.judged_on} {measured(part.value)}{why})"
