"""The picture that proves a finding, beside its sentence."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from gen.evaluate.results import Curve, Evaluation
from gen.recipe.model import Level
from gen.report.album import Album
from gen.report.causes import is_file_fault
from gen.report.finding import (
    ALSO,
    CHANCE,
    CLASS,
    CONFUSED,
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
    Finding,
)
from gen.report.glyph_words import captioned
from gen.report.markup import esc
from gen.report.places import place
from gen.report.shots import (
    Shot,
    as_they_are,
    at_level,
    followed,
    misread_at,
    pair,
    read_rightly,
    shot,
    sweep_of,
    with_before,
)
from gen.report.shown import Shown
from gen.report.sure_here import KEY, sure_here
from gen.report.sureness import KINDS_IN_WORDS
from gen.report.typeset import typeset
from gen.report.words import amount, inside, measured, quoted


def proof(finding: Finding, evaluation: Evaluation, shown: Shown, album: Album) -> str:
    """Pictures that show what a finding says; nothing where no picture does.

    Parameters
    ----------
    finding, evaluation
        What is said, and of what.
    shown
        The pictures to choose from.
    album
        Where the pictures of the page are.
    """
    find = _PROOFS.get(finding.kind)
    shots = find(finding.evidence, evaluation, shown) if find else []
    inner = _reliability(finding.evidence, evaluation) if finding.kind == SURE else ""
    inner += "".join(
        captioned(album, s.image, alt=s.alt, where=s.where, says=s.says, wrong=s.wrong, sure=s.sure)
        for s in shots
    )
    return f'<div class="proof">{inner}</div>' if inner else ""


def _reliability(evidence: dict[str, Any], evaluation: Evaluation) -> str:
    """Confidence held against accuracy, drawn where it begins; its bins stand further down."""
    where = evidence["begins"][0]
    name, point = "at nominal", evaluation.baseline
    if where["curve"] is not None:
        curve = evaluation.curves[where["curve"]]
        name, point = place(curve, where["level"]), curve.points[at_level(curve, where["level"])]
    here = sure_here(point, name)
    if here is None:
        return ""
    return (
        f'<figure class="reliable">{here.drawing(here.says)}<figcaption>{esc(typeset(name))}'
        f'<small>{KEY}; <a href="#confidence">in figures</a></small></figcaption></figure>'
    )


def _peak(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """A glyph that nominal loses and the peak reads, if there is one."""
    peaks = evidence["peaks"]
    # Where peaks are told one by one each has its level; a leading one has it itself.
    where = peaks[0] if "level" in peaks[0] else evidence
    curve, sweep = sweep_of(where, evaluation, shown)
    if sweep is None:
        return []
    if sweep.gained:
        return pair(curve, where["level"], sweep.gained[0])
    return followed(curve, sweep, where["level"])


def _level_of(
    key: str, best: Callable[[Any], float] | None = None
) -> Callable[[dict[str, Any], Evaluation, Shown], list[Shot]]:
    """A proof by what is misread at one of the levels that a finding lists."""

    def found(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
        where = max(evidence[key], key=best) if best else evidence[key][0]
        curve, sweep = sweep_of(where, evaluation, shown)
        return [] if sweep is None else misread_at(curve, sweep, where["level"])

    return found


def _of_class(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """A misread glyph of the class, and for a pair one that was read as the other."""
    for where in evidence["sweeps"]:
        curve, sweep = sweep_of(where, evaluation, shown)
        if sweep is None:
            continue
        true, answered = where.get("class", where.get("true")), where.get("answered")
        told = at_level(curve, where["level"])
        for i in sorted(range(len(curve.points)), key=lambda i: abs(i - told)):
            for picture in sweep.misread[i]:
                if picture.true == true and answered in (None, picture.said.answered):
                    return pair(curve, curve.points[i].level, picture)
    return []


def _weak(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    del evaluation
    names = {found["class"] for found in evidence["classes"]}
    return as_they_are(picture for picture in shown.at_nominal if picture.true in names)


def _lost(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """Not the surest: those prove something else."""
    del evidence, evaluation
    return as_they_are(shown.at_nominal[2:4] or shown.at_nominal)


def _sure(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """What was misread most surely, where it begins."""
    where = evidence["begins"][0]
    if where["curve"] is None:
        return as_they_are(shown.at_nominal, most=1, sure=True)
    curve, sweep = sweep_of(where, evaluation, shown)
    wrong = () if sweep is None else sweep.misread[at_level(curve, where["level"])]
    if not wrong:
        return []
    surest = max(wrong, key=lambda picture: picture.said.confidence or 0.0)
    there = amount(curve, where["level"])
    return [shot(surest.image, surest.true, there, surest.said, sure=True)]


def _strangers(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """The kinds that are named most."""
    del evidence
    pictured = {kind.kind: kind.images for kind in shown.strangers if len(kind.images)}
    marks = [marks for marks in evaluation.foreign if marks.kind in pictured]
    most = sorted(marks, key=lambda marks: -marks.named.value)[:2]
    return [
        Shot(
            pictured[kind.kind][0],
            KINDS_IN_WORDS.get(kind.kind, kind.kind),
            f"{measured(kind.named.value)} named",
            f"mostly {quoted(kind.commonest)}",
            wrong=True,
        )
        for kind in most
        if kind.named.value > 0
    ]


def _together(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    where = evidence["grids"][0]
    if where["grid"] >= len(shown.grids):
        return []
    grid, cells = evaluation.grids[where["grid"]], shown.grids[where["grid"]].cells
    down, across = where["down"], where["across"]
    picture = cells[grid.down.levels.index(down)][grid.across.levels.index(across)]
    if picture is None or picture.before is None:
        return []
    return with_before(picture, f"{amount(grid.down, down)}, {amount(grid.across, across)}")


def _forecast(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    del evaluation
    number = evidence["blends"][0]["blend"]
    if number >= len(shown.blends):
        return []
    wrong = [picture for picture in shown.blends[number].drawn if not picture.said.right]
    return with_before(wrong[0], "as it may come") if wrong else []


def _missed(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """What is misread at the level that does worst of the first that can be shown."""
    for part in evidence["missed"]:
        if part["curve"] is not None:
            curve, sweep = sweep_of(part, evaluation, shown)
            if sweep is not None:
                return misread_at(curve, sweep, part["level"])
        elif part["blend"] is not None:
            return _forecast({"blends": [part]}, evaluation, shown)
        elif part["level"] is not None:
            return as_they_are(shown.at_nominal)
    return []


def _kept(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """A mark that is read rightly where the first that can be shown does worst."""
    for part in evidence["kept"]:
        if part["curve"] is not None:
            curve, sweep = sweep_of(part, evaluation, shown)
            if sweep is not None:
                return read_rightly(sweep, curve, _from_nominal(curve, part["level"]))
    return []


def _holds(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """A mark that is read rightly at the level that does worst of all."""
    curve, sweep = sweep_of(evidence["least"], evaluation, shown)
    if sweep is None:
        return []
    return read_rightly(sweep, curve, _from_nominal(curve, evidence["least"]["level"]))


def _from_nominal(curve: Curve, level: Level) -> list[Level]:
    return [level] if level == curve.nominal else [curve.nominal, level]


def _at_the_edges(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """A mark as far out as a sweep keeps the floor, on both sides if there are two."""
    del evidence
    told = []
    for curve, sweep in zip(evaluation.curves, shown.sweeps, strict=False):
        if not is_file_fault(curve):
            told.append(read_rightly(sweep, curve, _kept_ends(curve)))
    return max(told, key=len, default=[])


def _kept_ends(curve: Curve) -> list[Level]:
    """On each side of nominal the furthest level that keeps the floor; of names none."""
    if isinstance(curve.nominal, str):
        return []
    kept = [float(level) for level in inside(curve, curve.tolerance)]
    below = [level for level in kept if level < curve.nominal]
    above = [level for level in kept if level > curve.nominal]
    return [*sorted(below)[:1], *sorted(above)[-1:]]


_PROOFS = {
    PEAK: _peak,
    ALSO: _peak,
    SLIGHT: _peak,
    CHANCE: _lost,
    UNDER: _lost,
    CLASS: _weak,
    SURE: _sure,
    NARROW: _level_of("steps"),
    INK: _level_of("levels", lambda level: level["ink_lost"]),
    HIDDEN_BLUR: _level_of("levels", lambda level: level["share"]),
    FIRST: _of_class,
    CONFUSED: _of_class,
    STRANGERS: _strangers,
    TOGETHER: _together,
    FORECAST: _forecast,
    MISSED: _missed,
    KEPT: _kept,
    HOLDS: _holds,
    NOTHING: _at_the_edges,
}
