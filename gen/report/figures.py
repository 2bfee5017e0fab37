"""The measured figures of a finding, as a short line that stands under its sentence."""

from __future__ import annotations

from typing import Any

from gen.evaluate.results import Evaluation
from gen.report.figure_words import declining_words, interval, requirement_figures
from gen.report.finding import (
    ALSO,
    BATCH,
    CHANCE,
    CLASS,
    CONFUSED,
    FEW,
    FIRST,
    FORECAST,
    HIDDEN_BLUR,
    HOLDS,
    INK,
    KEPT,
    MISSED,
    NARROW,
    NOTHING,
    PEAK,
    SLIGHT,
    STRANGERS,
    SURE,
    TOGETHER,
    UNDER,
    UNSTEADY,
    UNTRIED,
    Finding,
)
from gen.report.places import place
from gen.report.sureness import KINDS_IN_WORDS, SURE_FROM, labels_only
from gen.report.sweep_facts import loosely_placed, peak_range
from gen.report.words import at, count, measured, p_words, percent, quoted

_STEPS = 4


def figures(finding: Finding, evaluation: Evaluation) -> str:
    """What was measured, in words and rounded; empty when the sentence says it all."""
    told = _LINES.get(finding.kind)
    return told(finding.evidence, evaluation) if told else ""


def _peak(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    return (
        f"{measured(evidence['accuracy_nominal'])} read rightly at nominal, with nothing changed, "
        f"and {_at(evidence, evaluation)}; {_odds(evidence['gain'])}"
        f"{_anywhere(evidence, evaluation)}"
    )


def _anywhere(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    curve = evaluation.curves[evidence["curve"]]
    if not loosely_placed(curve):
        return ""
    return f"; chance leaves the peak anywhere {peak_range(curve)}"


def _also(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    return "; ".join(f"{peak['title']}: {_at(peak, evaluation)}" for peak in evidence["peaks"])


def _at(peak: dict[str, Any], evaluation: Evaluation) -> str:
    curve = evaluation.curves[peak["curve"]]
    return f"{measured(peak['accuracy'])} {at(curve, peak['level'])}"


def _odds(gain: dict[str, Any] | None) -> str:
    if gain is None:
        return ""
    return (
        f"{count(gain['only_level'])} glyphs read rightly only there, "
        f"{count(gain['only_nominal'])} only at nominal "
        f"({p_words(gain['p_holm'])}, corrected for all levels tried)"
    )


def _share(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    return f"read rightly with nothing changed: {interval(evidence)}"


def _under(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    return f"read rightly: {interval(evidence)}"


def _chance(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    return (
        f"{interval(evidence)}; a blind guess {measured(evidence['guess'])}, "
        f"the commonest class {measured(evidence['majority'])}"
    )


def _classes(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    return "; ".join(
        f"{quoted(found['class'])}: {interval(found)}, the others {measured(found['others'])}"
        for found in evidence["classes"][:6]
    )


def _sure(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    parts = []
    for level in evidence["begins"][:2]:
        curve = None if level["curve"] is None else evaluation.curves[level["curve"]]
        where = "at nominal" if curve is None else place(curve, level["level"])
        said = f"{where}: {count(level['wrong'])} of {count(level['n'])} wrong"
        if level["confidence"] is not None:
            said += f", mean confidence {measured(level['confidence'])}"
        if level["confidence_wrong"] is not None:
            said += f", where wrong {measured(level['confidence_wrong'])}"
        if level["ece"] is not None:
            said += f", calibration error {measured(level['ece'])}"
        parts.append(said)
    rest = len(evidence["levels"]) - len(parts)
    return "; ".join(parts) + (f"; and {rest} more levels" if rest else "")


def _strangers(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    parts = []
    for kind in evidence["kinds"]:
        words = KINDS_IN_WORDS.get(kind["kind"], kind["kind"])
        parts.append(f"{words} {measured(kind['named']['accuracy'])}")
    sure = "" if labels_only(evaluation) else f" with a confidence of {percent(SURE_FROM)} or more"
    said = f"named{sure}: {', '.join(parts)}"
    declining = evidence["declining"]
    if declining is None:
        return said
    return f"{said}; {declining_words(declining)}"


def _few(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    if evidence["classes"]:
        return "; ".join(
            f"{quoted(found['class'])}: {found['n']}, an interval "
            f"{100 * found['width']:.0f} points wide"
            for found in evidence["classes"][:6]
        )
    return f"{interval(evidence)}: {_open_words(evidence)}"


_HALF_A_POINT = 0.005


def _open_words(share: dict[str, Any]) -> str:
    """How far off the true accuracy may lie: "the true accuracy may be 16 points lower"."""
    below, above = share["accuracy"] - share["low"], share["high"] - share["accuracy"]
    ends = [
        f"{100 * off:.0f} points {way}"
        for off, way in ((below, "lower"), (above, "higher"))
        if off >= _HALF_A_POINT
    ]
    return f"the true accuracy may be {' or '.join(ends)}"


def _missed(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    return "; ".join(requirement_figures(part, evaluation) for part in evidence["missed"][:4])


def _kept(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    return "; ".join(requirement_figures(part, evaluation) for part in evidence["kept"][:4])


def _again(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    changed = [
        f"{count(evidence[key])} {words}"
        for key, words in (
            ("again", "when asked twice"),
            ("alone", "alone"),
            ("elsewhere", "elsewhere in the batch"),
        )
        if evidence[key]
    ]
    said = f"of {count(evidence['n'])} glyphs another answer for {', '.join(changed)}"
    largest = evidence["largest"]
    return said + ("" if largest is None else f"; largest change of a confidence {largest:.3g}")


def _forecast(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    parts = []
    for blend in evidence["blends"][:4]:
        split = ", ".join(
            f"{part['title']} {measured(part['share'])}"
            for part in sorted(blend["parts"], key=lambda part: -(part["share"] or 0.0))[:3]
            if part["share"] is not None
        )
        said = f"{blend['title']}: {interval(blend['accuracy'])}"
        parts.append(said + (f"; the loss: {split}" if split else ""))
    return "; ".join(parts)


def _together(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    parts = []
    for found in evidence["grids"][:3]:
        grid = evaluation.grids[found["grid"]]
        parts.append(
            f"{measured(found['both']['accuracy'])} with both, "
            f"{measured(found['down_alone']['accuracy'])} with {grid.down.title} alone, "
            f"{measured(found['across_alone']['accuracy'])} with {grid.across.title} alone "
            f"({100 * found['more']:.1f} points more than both drops added up)"
        )
    return "; ".join(parts)


def _first(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    return "; ".join(
        f"{quoted(found['class'])} {at(evaluation.curves[found['curve']], found['level'])}: "
        f"{interval(found)}, the others {measured(found['others'])}"
        for found in evidence["sweeps"][:4]
    )


def _confused(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    return "; ".join(
        f"{quoted(found['true'])} as {quoted(found['answered'])}, {measured(found['accuracy'])} of "
        f"{count(found['n'])} {at(evaluation.curves[found['curve']], found['level'])}"
        for found in evidence["sweeps"][:4]
    )


def _hidden_blur(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    most = max(evidence["levels"], key=lambda level: level["share"])
    curve = evaluation.curves[most["curve"]]
    return (
        f"{_levels(evidence)}; most {place(curve, most['level'])}: a blur of "
        f"{most['sigma_px']:.2g} px, {measured(most['share'])} of the drop"
    )


def _narrow(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    told = [
        f"{place(evaluation.curves[step['curve']], step['level'])}: {interval(step)}"
        for step in evidence["steps"][:_STEPS]
    ]
    rest = len(evidence["steps"]) - len(told)
    return "; ".join(told) + (f"; and {rest} more" if rest else "")


def _holds(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    del evaluation
    of = f"least of {evidence['levels']} levels" if evidence["levels"] > 1 else "the one level"
    return f"{of}: {interval(evidence['least'])}"


def _levels(evidence: dict[str, Any]) -> str:
    n = len(evidence["levels"])
    return "1 level" if n == 1 else f"{count(n)} levels"


def _ink(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    most = max(evidence["levels"], key=lambda level: level["ink_lost"])
    curve = evaluation.curves[most["curve"]]
    where = place(curve, most["level"])
    return f"{_levels(evidence)}, at most {measured(most['ink_lost'])}, {where}"


_LINES = {
    PEAK: _peak,
    ALSO: _also,
    SLIGHT: _also,
    CHANCE: _chance,
    UNDER: _under,
    CLASS: _classes,
    SURE: _sure,
    NARROW: _narrow,
    HOLDS: _holds,
    NOTHING: _share,
    UNTRIED: _share,
    INK: _ink,
    STRANGERS: _strangers,
    FEW: _few,
    MISSED: _missed,
    KEPT: _kept,
    UNSTEADY: _again,
    BATCH: _again,
    FORECAST: _forecast,
    TOGETHER: _together,
    FIRST: _first,
    CONFUSED: _confused,
    HIDDEN_BLUR: _hidden_blur,
}
