"""Whether the figures can be trusted at all, and whether what was required is kept."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import shorten
from typing import Any

from gen.evaluate.results import Evaluation
from gen.report.finding import BATCH, FAILED, KEPT, MISSED, UNSTEADY, Finding
from gen.report.values import behaviour_values, requirement_values
from gen.report.words import listed, quoted

REASON = 160
"""The most characters of a reason that a finding repeats."""


def missed(evaluation: Evaluation) -> Iterator[Finding]:
    """Requirements of the recipe that the model doesn't keep."""
    parts = [part for part in evaluation.requirements if not part.kept]
    if not parts:
        return
    told = "; ".join(_said(part.says) for part in parts[:4])
    more = f"; and {len(parts) - 4} more" if len(parts) > 4 else ""
    of = len(evaluation.requirements)
    if len(parts) == 1:
        says = f"A requirement is missed: {told}."
    elif len(parts) == of:
        says = f"{_all(of)} requirements are missed: {told}{more}."
    else:
        says = f"{len(parts)} of {of} requirements are missed: {told}{more}."
    yield Finding(MISSED, says, {"of": of, "missed": [requirement_values(p) for p in parts]})


def kept(evaluation: Evaluation) -> Iterator[Finding]:
    """All requirements kept."""
    parts = evaluation.requirements
    if parts and all(part.kept for part in parts):
        told = "; ".join(_said(part.says) for part in parts[:4])
        more = f"; and {len(parts) - 4} more" if len(parts) > 4 else ""
        many = f"{_all(len(parts))} requirements are kept"
        what = "The requirement is kept" if len(parts) == 1 else many
        evidence = {"kept": [requirement_values(part) for part in parts]}
        yield Finding(KEPT, f"{what}: {told}{more}.", evidence)


def failed(evaluation: Evaluation) -> Iterator[Finding]:
    """Cells that the model could not answer."""
    cells = evaluation.failed
    if not cells:
        return
    names = listed([quoted(cell.cell) for cell in cells], most=4)
    reasons = list(dict.fromkeys(cell.why.rstrip(".") for cell in cells))
    # A model's own words may go on for pages; the evidence has all of them.
    why = shorten(reasons[0], REASON, placeholder=" \u2026")
    if others := len(reasons) - 1:
        why += f" (and {others} other {'reason' if others == 1 else 'reasons'})"
    what = "one cell" if len(cells) == 1 else f"{len(cells)} cells"
    it = "it is" if len(cells) == 1 else "they are"
    says = f"The model failed in {what}, {names}: {why}; {it} in no figure here."
    told = [{"cell": cell.cell, "why": cell.why} for cell in cells]
    yield Finding(FAILED, says, {"cells": told})


def asked_again(evaluation: Evaluation) -> Iterator[Finding]:
    """Answers that differ between two calls on the same batch."""
    seen = evaluation.behaviour
    if seen is None or not seen.again:
        return
    says = (
        "The model answers the same batch differently when it is asked twice, so no figure "
        "here can be had again: something in it is drawn by chance, such as dropout left on."
    )
    yield Finding(UNSTEADY, says, behaviour_values(seen) or {})


def hangs_on_batch(evaluation: Evaluation) -> Iterator[Finding]:
    """Answers that depend on what else is in the batch, or where in it."""
    seen = evaluation.behaviour
    # A model that can't repeat itself can't be held to this.
    if seen is None or seen.again or not (seen.alone or seen.elsewhere):
        return
    where = listed(
        [
            words
            for words, times in (
                ("alone", seen.alone),
                ("at another place of the batch", seen.elsewhere),
            )
            if times
        ]
    )
    says = (
        f"A mark gets another answer {where}: the answers hang on the batch, as when it is "
        "normalised by its own mean and deviation."
    )
    evidence: dict[str, Any] = behaviour_values(seen) or {}
    yield Finding(BATCH, says, evidence)


def _all(of: int) -> str:
    return "Both" if of == 2 else f"All {of}"


def _said(says: str) -> str:
    return says.rstrip(".")
