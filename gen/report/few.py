"""How little is known: too few glyphs, too few of a class, and how uneven the classes are."""

from __future__ import annotations

from collections.abc import Iterator

from gen.evaluate.results import Evaluation
from gen.report.checks import chance
from gen.report.finding import FEW, Finding
from gen.report.values import share_values
from gen.report.words import listed, measured, quoted

FEWEST = 30
FEWEST_OF_CLASS = 5


def imbalance(evaluation: Evaluation) -> tuple[float, str]:
    """How many times as many glyphs the commonest class has as the rarest, and the rarest's name.

    Of the classes that occur; 1 where there is nothing to compare.

    Returns
    -------
    tuple of (float, str)
    """
    occur = [
        (count, name)
        for count, name in zip(evaluation.counts, evaluation.classes, strict=True)
        if count
    ]
    if not occur:
        return 1.0, ""
    most = max(count for count, _ in occur)
    least, name = min(occur, key=lambda pair: pair[0])
    return most / least, name


def beside_words(evaluation: Evaluation) -> str:
    """What an accuracy is to be held against: a guess, the commonest class, and imbalance."""
    guess, majority, name = chance(evaluation)
    ratio, _ = imbalance(evaluation)
    beside = [f"a blind guess {measured(guess)}, always {quoted(name)} {measured(majority)}"]
    classes, empty = len(evaluation.classes), evaluation.counts.count(0)
    if empty:
        beside.append(f"{empty} of {classes} classes {'has' if empty == 1 else 'have'} no glyphs")
    if ratio > 1:
        rarest = "the rarest that has any" if empty else "the rarest"
        beside.append(f"the commonest class has {ratio:.3g} times the glyphs of {rarest}")
    elif not empty:
        beside.append("as many glyphs of each class")
    return "; ".join(beside)


def too_few(evaluation: Evaluation) -> Iterator[Finding]:
    """So few glyphs that the intervals say little."""
    scored = evaluation.baseline.accuracy
    if scored.n >= FEWEST:
        return
    glyphs = "glyph was" if scored.n == 1 else "glyphs were"
    says = (
        f"Only {scored.n} {glyphs} scored; with fewer than {FEWEST} no figure here is worth much."
    )
    evidence = {"fewest": FEWEST, "classes": [], **share_values(scored)}
    yield Finding(FEW, says, {**evidence, "width": scored.high - scored.low})


def is_too_few(finding: Finding) -> bool:
    """Whether a finding says that the whole set is too small, and not just a class."""
    return finding.kind == FEW and not finding.evidence["classes"]


def too_few_of_a_class(evaluation: Evaluation) -> Iterator[Finding]:
    """Classes with so few glyphs that their own figures say little."""
    if evaluation.baseline.accuracy.n < FEWEST:
        return
    scored = {each.name: each.accuracy for each in evaluation.baseline.per_class}
    rare = [
        (name, count)
        for name, count in zip(evaluation.classes, evaluation.counts, strict=True)
        if count < FEWEST_OF_CLASS
    ]
    if not rare:
        return
    names = listed([quoted(name) for name, _ in rare])
    says = (
        f"There are fewer than {FEWEST_OF_CLASS} glyphs of {names}, "
        "too few to speak of single classes."
    )
    told = []
    for name, count in rare:
        # A class without glyphs has no interval: all of 0 to 100 % is open.
        own = scored.get(name)
        width = 1.0 if own is None or not count else own.high - own.low
        told.append({"class": name, "n": count, "width": width})
    evidence = {"n": evaluation.baseline.accuracy.n, "fewest": FEWEST_OF_CLASS, "classes": told}
    yield Finding(FEW, says, evidence)
