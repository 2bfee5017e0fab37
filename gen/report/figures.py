"""The measured figures of a finding, as a short line that stands under its sentence."""

from __future__ import annotations

from typing import Any

from gen.evaluate.results import Evaluation
from gen.report.finding import (
    ALSO,
    CHANCE,
    CLASS,
    HOLDS,
    INK,
    NARROW,
    NOTHING,
    PEAK,
    SLIGHT,
    SURE,
    UNDER,
    UNTRIED,
    Finding,
)
from gen.report.words import at, measured, place


def figures(finding: Finding, evaluation: Evaluation) -> str:
    """What was measured, in words and rounded; empty when the sentence says it all."""
    told = _LINES.get(finding.kind)
    return told(finding.evidence, evaluation) if told else ""


def _peak(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    return (
        f"{measured(evidence['accuracy_nominal'])} read rightly at nominal, "
        f"{_at(evidence, evaluation)}; {_odds(evidence['gain'])}"
    )


def _also(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    return "; ".join(f"{peak['title']}: {_at(peak, evaluation)}" for peak in evidence["peaks"])


def _at(peak: dict[str, Any], evaluation: Evaluation) -> str:
    curve = evaluation.curves[peak["curve"]]
    return f"{measured(peak['accuracy'])} {at(curve, peak['level'])}"


def _odds(gain: dict[str, Any] | None) -> str:
    if gain is None:
        return ""
    p = gain["p_holm"]
    said = "p < 0.001" if p < 0.001 else f"p = {p:.3f}"
    return (
        f"{gain['only_level']} glyphs read rightly only there, "
        f"{gain['only_nominal']} only at nominal ({said}, corrected for all levels tried)"
    )


def _share(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    return interval(evidence)


def _chance(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    return (
        f"{interval(evidence)}; a blind guess {measured(evidence['guess'])}, "
        f"the commonest class {measured(evidence['majority'])}"
    )


def _classes(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    return "; ".join(
        f"{found['class']}: {interval(found)}, the others {measured(found['others'])}"
        for found in evidence["classes"][:6]
    )


def _sure(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    parts = []
    for level in evidence["levels"][:4]:
        curve = None if level["curve"] is None else evaluation.curves[level["curve"]]
        where = "at nominal" if curve is None else place(curve, level["level"])
        parts.append(
            f"{level['wrong']} wrong of {level['n']} {where}, "
            f"mean confidence {measured(level['confidence_wrong'])}"
        )
    rest = len(evidence["levels"]) - len(parts)
    return "; ".join(parts) + (f"; and {rest} more levels" if rest else "")


def _narrow(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    return "; ".join(interval(step) for step in evidence["steps"])


def _holds(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    return f"least of {evidence['levels']} levels: {interval(evidence['least'])}"


def _ink(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    most = max(evidence["levels"], key=lambda level: level["ink_lost"])
    curve = evaluation.curves[most["curve"]]
    where = place(curve, most["level"])
    return f"{len(evidence['levels'])} levels, at most {measured(most['ink_lost'])}, {where}"


def interval(share: dict[str, Any]) -> str:
    """A share with its interval: "91.2 % (89.9 to 92.4 %)".

    Examples
    --------
    >>> interval({"accuracy": 0.5, "low": 0.4, "high": 0.6, "n": 100, "correct": 50})
    '50.0 % (40.0 to 60.0 %)'
    """
    low, high = 100 * share["low"], 100 * share["high"]
    return f"{measured(share['accuracy'])} ({low:.1f} to {high:.1f} %)"


_LINES = {
    PEAK: _peak,
    ALSO: _also,
    SLIGHT: _also,
    CHANCE: _chance,
    UNDER: _share,
    CLASS: _classes,
    SURE: _sure,
    NARROW: _narrow,
    HOLDS: _holds,
    NOTHING: _share,
    UNTRIED: _share,
    INK: _ink,
}
