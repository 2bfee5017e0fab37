"""A glyph as it is and where it breaks, side by side in characters, for the leading findings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from gen.evaluate.results import Curve, Evaluation
from gen.recipe.model import Level
from gen.report.drawn import drawn
from gen.report.finding import Finding
from gen.report.glyph_words import read_words
from gen.report.shown import Followed, Pixels, Said, Shown, ShownSweep
from gen.report.terminal import wrapped
from gen.report.words import amount, quoted

MOST_PAIRS = 2
MOST_COLUMNS = 20
"""Of one glyph: seven of the usual 28 px are then shown by five, which keeps strokes apart."""
_LEAST_COLUMNS = 16  # with less, pairs stand below each other and not side by side
GAP = 2


@dataclass(frozen=True)
class Pair:
    """One glyph twice: at nominal and at another level of a sweep.

    Attributes
    ----------
    curve, level
        The sweep, and the level other than nominal.
    true
        The glyph's class.
    before, there
        Its pictures, ndarray of shape (H, W), uint8, ink bright.
    said_before, said_there
        What the model said to them.
    """

    curve: Curve
    level: Level
    true: str
    before: Pixels
    there: Pixels
    said_before: Said
    said_there: Said


def pairs_of(
    evaluation: Evaluation, findings: Iterable[Finding], shown: Shown, most: int = MOST_PAIRS
) -> tuple[Pair, ...]:
    """What shows best how the sweeps of the leading findings break.

    Where accuracy peaks off nominal it is a glyph that the peak alone reads. Else it is the
    first followed glyph that is read rightly at nominal and misread somewhere, at the first
    level on the way out where it is; or, when there is none, the first followed glyph
    at the worst level. Where no finding is about a sweep, the one that loses most is shown.

    Parameters
    ----------
    evaluation, findings
        What was scored, and what it says, the most important first.
    shown
        The pictures to choose from.
    most
        How many pairs at most.
    """
    told = [curve for finding in findings for curve in finding.curves]
    if not told and evaluation.curves:
        told = [min(range(len(evaluation.curves)), key=lambda i: _worst(evaluation.curves[i]))]
    pairs = []
    for index in dict.fromkeys(told):
        pair = _pair(evaluation.curves[index], shown.sweeps[index])
        if pair is not None:
            pairs.append(pair)
        if len(pairs) == most:
            break
    return tuple(pairs)


def pair_lines(pairs: tuple[Pair, ...], *, width: int, blocks: bool) -> list[str]:
    """The pairs as lines: side by side where there is room, else one below the other.

    Parameters
    ----------
    pairs
        What is shown.
    width
        Columns of the terminal, at least 40.
    blocks
        Whether block characters may be used.
    """
    abreast = len(pairs)
    if abreast > 1 and _columns(width, abreast) < _LEAST_COLUMNS:
        abreast = 1
    lines: list[str] = []
    for start in range(0, len(pairs), max(1, abreast)):
        if start:
            lines.append("")
        lines += _row(pairs[start : start + abreast], width, _columns(width, abreast), blocks)
    return lines


def _columns(width: int, abreast: int) -> int:
    glyphs = 2 * abreast
    return min(MOST_COLUMNS, (width - GAP * (glyphs - 1)) // glyphs) if abreast else 0


def _row(pairs: tuple[Pair, ...], width: int, columns: int, blocks: bool) -> list[str]:
    """Heading, pictures and captions of some pairs, in columns."""
    both = 2 * columns + GAP
    room = both if len(pairs) > 1 else width
    heads = [wrapped(f"{quoted(pair.true)}, {pair.curve.title}", room) for pair in pairs]
    pictures, captions = [], []
    for pair in pairs:
        for image, where, said in (
            (pair.before, "nominal", pair.said_before),
            (pair.there, amount(pair.curve, pair.level), pair.said_there),
        ):
            pictures.append(drawn(image, columns, blocks))
            captions.append([*wrapped(f"{where},", columns), *wrapped(read_words(said), columns)])
    return [
        *side_by_side(heads, both),
        "",
        *without_margins(side_by_side(pictures, columns)),
        "",
        *side_by_side(captions, columns),
    ]


def without_margins(lines: Iterable[str]) -> list[str]:
    """Lines without the bare paper that all of them have above and below."""
    kept = list(lines)
    while len(kept) > 1 and not kept[0]:
        del kept[0]
    while len(kept) > 1 and not kept[-1]:
        del kept[-1]
    return kept


def side_by_side(blocks: list[list[str]], columns: int) -> Iterator[str]:
    """Blocks of lines beside each other, each so many columns wide."""
    high = max(map(len, blocks))
    for line in range(high):
        parts = [block[line] if line < len(block) else "" for block in blocks]
        yield (" " * GAP).join(f"{part:<{columns}}" for part in parts).rstrip()


def _pair(curve: Curve, sweep: ShownSweep) -> Pair | None:
    levels = [point.level for point in curve.points]
    if curve.nominal not in levels or len(levels) < 2:
        return None
    if curve.peak.off_nominal and sweep.gained:
        gained = sweep.gained[0]
        if gained.before is not None and gained.before_said is not None:
            return Pair(
                curve,
                curve.peak.level,
                gained.true,
                gained.before,
                gained.image,
                gained.before_said,
                gained.said,
            )
    nominal = levels.index(curve.nominal)
    # On the way out: the nearest level first, to whichever side.
    way = sorted(set(range(len(levels))) - {nominal}, key=lambda i: (abs(i - nominal), i))
    for one in sweep.followed:
        if one.said[nominal].right:
            for place in way:
                if not one.said[place].right:
                    return _of(curve, one, nominal, place)
    if not sweep.followed:
        return None
    worst = min(way, key=lambda i: curve.points[i].accuracy.value)
    return _of(curve, sweep.followed[0], nominal, worst)


def _of(curve: Curve, one: Followed, nominal: int, place: int) -> Pair:
    return Pair(
        curve,
        curve.points[place].level,
        one.true,
        one.images[nominal],
        one.images[place],
        one.said[nominal],
        one.said[place],
    )


def _worst(curve: Curve) -> float:
    return min(point.accuracy.value for point in curve.points)
