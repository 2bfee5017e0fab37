"""The picture that proves a finding, beside its sentence."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from gen.evaluate.results import Curve, Evaluation
from gen.recipe.model import Level
from gen.report.album import Album
from gen.report.finding import (
    ALSO,
    CHANCE,
    CLASS,
    CONFUSED,
    FIRST,
    FORECAST,
    HIDDEN_BLUR,
    INK,
    MISSED,
    NARROW,
    PEAK,
    SLIGHT,
    STRANGERS,
    SURE,
    TOGETHER,
    UNDER,
    Finding,
)
from gen.report.glyph_words import captioned, read_words, sure_words
from gen.report.shown import Picture, Pixels, Said, Shown, ShownSweep
from gen.report.sureness import KINDS_IN_WORDS
from gen.report.words import amount, measured, quoted


@dataclass(frozen=True)
class Shot:
    """One picture of a proof.

    Attributes
    ----------
    image
        ndarray of shape (H, W), uint8, ink bright.
    alt
        What it shows.
    where
        Where it is from: "nominal", "+4 px".
    says
        What came of it; or empty.
    wrong
        Whether it was misread.
    """

    image: Pixels
    alt: str
    where: str
    says: str = ""
    wrong: bool = False


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
    if not shots:
        return ""
    inner = "".join(
        captioned(album, s.image, alt=s.alt, where=s.where, says=s.says, wrong=s.wrong)
        for s in shots
    )
    return f'<div class="proof">{inner}</div>'


def _peak(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """A glyph that nominal loses and the peak reads, if there is one."""
    peaks = evidence["peaks"]
    # Where peaks are told one by one each has its level; a leading one has it itself.
    where = peaks[0] if "level" in peaks[0] else evidence
    curve, sweep = _sweep(where, evaluation, shown)
    if sweep is None:
        return []
    if sweep.gained:
        return _pair(curve, where["level"], sweep.gained[0])
    return _followed(curve, sweep, where["level"])


def _followed(curve: Curve, sweep: ShownSweep, level: Level) -> list[Shot]:
    """A followed glyph at nominal and at a level."""
    if not sweep.followed:
        return []
    here, there = _at(curve, curve.nominal), _at(curve, level)
    one = sweep.followed[0]
    return [
        _shot(one.images[i], one.true, _place(curve, curve.points[i].level), one.said[i])
        for i in (here, there)
    ]


def _misread_at(curve: Curve, sweep: ShownSweep, level: Level) -> list[Shot]:
    """A glyph that is misread at a level, and before; else one that is followed."""
    wrong = sweep.misread[_at(curve, level)]
    return _pair(curve, level, wrong[0]) if wrong else _followed(curve, sweep, level)


def _pair(curve: Curve, level: Level, picture: Picture, *, sure: bool = False) -> list[Shot]:
    return _with_before(picture, _place(curve, level), sure=sure)


def _with_before(picture: Picture, where: str, *, sure: bool = False) -> list[Shot]:
    """A glyph at nominal, where that is another picture, and as it is shown."""
    there = _shot(picture.image, picture.true, where, picture.said, sure=sure)
    if picture.before is None:
        return [there]
    if picture.before_said is not None:
        return [_shot(picture.before, picture.true, "nominal", picture.before_said), there]
    return [Shot(picture.before, f"{quoted(picture.true)} at nominal", "nominal"), there]


def _level_of(
    key: str, best: Callable[[Any], float] | None = None
) -> Callable[[dict[str, Any], Evaluation, Shown], list[Shot]]:
    """A proof by what is misread at one of the levels that a finding lists."""

    def found(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
        where = max(evidence[key], key=best) if best else evidence[key][0]
        curve, sweep = _sweep(where, evaluation, shown)
        return [] if sweep is None else _misread_at(curve, sweep, where["level"])

    return found


def _of_class(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """A misread glyph of the class, and for a pair one that was read as the other."""
    for where in evidence["sweeps"]:
        curve, sweep = _sweep(where, evaluation, shown)
        if sweep is None:
            continue
        true, answered = where.get("class", where.get("true")), where.get("answered")
        told = _at(curve, where["level"])
        for i in sorted(range(len(curve.points)), key=lambda i: abs(i - told)):
            for picture in sweep.misread[i]:
                if picture.true == true and answered in (None, picture.said.answered):
                    return _pair(curve, curve.points[i].level, picture)
    return []


def _weak(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    del evaluation
    names = {found["class"] for found in evidence["classes"]}
    return _nominal(picture for picture in shown.at_nominal if picture.true in names)


def _lost(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """Not the surest: those prove something else."""
    del evidence, evaluation
    return _nominal(shown.at_nominal[2:4] or shown.at_nominal)


def _sure(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """What was misread most surely, where it begins."""
    where = evidence["begins"][0]
    if where["curve"] is None:
        return _nominal(shown.at_nominal, sure=True)
    curve, sweep = _sweep(where, evaluation, shown)
    wrong = () if sweep is None else sweep.misread[_at(curve, where["level"])]
    if not wrong:
        return []
    surest = max(wrong, key=lambda picture: picture.said.confidence or 0.0)
    return _pair(curve, where["level"], surest, sure=True)


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
    return _with_before(picture, f"{amount(grid.down, down)}, {amount(grid.across, across)}")


def _forecast(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    del evaluation
    number = evidence["blends"][0]["blend"]
    if number >= len(shown.blends):
        return []
    wrong = [picture for picture in shown.blends[number].drawn if not picture.said.right]
    return _with_before(wrong[0], "as it may come") if wrong else []


def _missed(evidence: dict[str, Any], evaluation: Evaluation, shown: Shown) -> list[Shot]:
    """A requirement names its sweep by its title, and the level that does worst."""
    for part in evidence["missed"]:
        named = [
            index
            for index, curve in enumerate(evaluation.curves)
            if part["says"].startswith(f"{curve.title} ")
            and any(point.level == part["level"] for point in curve.points)
        ]
        if len(named) == 1 and named[0] < len(shown.sweeps):
            curve, sweep = evaluation.curves[named[0]], shown.sweeps[named[0]]
            return _misread_at(curve, sweep, part["level"])
    return []


def _nominal(pictures: Iterable[Picture], *, sure: bool = False) -> list[Shot]:
    return [_shot(p.image, p.true, quoted(p.true), p.said, sure=sure) for p in list(pictures)[:2]]


def _shot(image: Pixels, true: str, where: str, said: Said, *, sure: bool = False) -> Shot:
    told = read_words(said)
    if sure and said.confidence is not None:
        told = f"{told}, {sure_words(said)}"
    return Shot(image, f"{quoted(true)} {read_words(said)}", where, told, not said.right)


def _sweep(
    where: dict[str, Any], evaluation: Evaluation, shown: Shown
) -> tuple[Curve, ShownSweep | None]:
    index = where["curve"]
    curve = evaluation.curves[index]
    return curve, shown.sweeps[index] if index < len(shown.sweeps) else None


def _at(curve: Curve, level: Level) -> int:
    return [point.level for point in curve.points].index(level)


def _place(curve: Curve, level: Level) -> str:
    return "nominal" if level == curve.nominal else amount(curve, level)


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
}
