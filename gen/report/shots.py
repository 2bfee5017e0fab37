"""Pictures that prove: one glyph as it is and as it was changed, with what was said to each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from gen.evaluate.results import Curve, Evaluation
from gen.recipe.model import Level
from gen.report.glyph_words import read_words, sure_words
from gen.report.places import place
from gen.report.shown import Picture, Pixels, Said, Shown, ShownSweep
from gen.report.words import amount, quoted


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
    sure
        How sure the model was, where that is the point; or empty.
    """

    image: Pixels
    alt: str
    where: str
    says: str = ""
    wrong: bool = False
    sure: str = ""


def as_they_are(pictures: Iterable[Picture], *, most: int = 2, sure: bool = False) -> list[Shot]:
    """Some glyphs, each as it is shown."""
    few = list(pictures)[:most]
    return [shot(p.image, p.true, quoted(p.true), p.said, sure=sure) for p in few]


def followed(curve: Curve, sweep: ShownSweep, level: Level) -> list[Shot]:
    """A followed glyph at nominal and at a level."""
    if not sweep.followed:
        return []
    here, there = at_level(curve, curve.nominal), at_level(curve, level)
    one = sweep.followed[0]
    return [
        shot(one.images[i], one.true, level_words(curve, curve.points[i].level), one.said[i])
        for i in (here, there)
    ]


def misread_at(curve: Curve, sweep: ShownSweep, level: Level) -> list[Shot]:
    """A glyph that is misread at a level, and before; else one that is followed."""
    wrong = sweep.misread[at_level(curve, level)]
    return pair(curve, level, wrong[0]) if wrong else followed(curve, sweep, level)


def read_rightly(sweep: ShownSweep, curve: Curve, levels: Sequence[Level]) -> list[Shot]:
    """The first followed glyph that is read rightly at all of some levels; nothing without."""
    places = [at_level(curve, level) for level in levels]
    for one in sweep.followed:
        if all(one.said[i].right for i in places):
            return [
                shot(one.images[i], one.true, place(curve, level), one.said[i])
                for i, level in zip(places, levels, strict=True)
            ]
    return []


def pair(curve: Curve, level: Level, picture: Picture) -> list[Shot]:
    """A glyph at nominal and at a level."""
    return with_before(picture, level_words(curve, level))


def with_before(picture: Picture, where: str) -> list[Shot]:
    """A glyph at nominal, where that is another picture, and as it is shown."""
    there = shot(picture.image, picture.true, where, picture.said)
    if picture.before is None:
        return [there]
    if picture.before_said is not None:
        return [shot(picture.before, picture.true, "nominal", picture.before_said), there]
    return [Shot(picture.before, f"{quoted(picture.true)} at nominal", "nominal"), there]


def shot(image: Pixels, true: str, where: str, said: Said, *, sure: bool = False) -> Shot:
    """A glyph with what was said to it, and if asked for how surely."""
    told = read_words(said)
    surely = sure_words(said) if sure else ""
    return Shot(image, f"{quoted(true)} {told}", where, told, not said.right, surely)


def sweep_of(
    where: dict[str, Any], evaluation: Evaluation, shown: Shown
) -> tuple[Curve, ShownSweep | None]:
    """The curve that some evidence names, and its pictures if there are any."""
    index = where["curve"]
    curve = evaluation.curves[index]
    return curve, shown.sweeps[index] if index < len(shown.sweeps) else None


def at_level(curve: Curve, level: Level) -> int:
    """Its place among the levels."""
    return [point.level for point in curve.points].index(level)


def level_words(curve: Curve, level: Level) -> str:
    """The level, or that it is nominal."""
    return "nominal" if level == curve.nominal else amount(curve, level)
