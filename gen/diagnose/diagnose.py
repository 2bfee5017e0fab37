"""Why does a model fail on these glyphs, and what gives accuracy back?"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from gen.core.errors import GlyphError
from gen.diagnose.answer import (
    answer,
    explains,
    healthy,
    one_class,
    symptoms,
    too_few,
    training_reads_otherwise,
)
from gen.diagnose.differences import differences
from gen.diagnose.evidence import Evidence
from gen.diagnose.families import families, readings, switches
from gen.diagnose.fits import Fit, halves
from gen.diagnose.judge import Ranked, nearest, rank
from gen.diagnose.labels import Labels
from gen.diagnose.measures import LEAST_SIDE_PX
from gen.diagnose.operations import READING
from gen.diagnose.results import Diagnosis, Remedy, RemedyStep
from gen.diagnose.search import GOOD_ENOUGH, Search
from gen.diagnose.sets import check_set
from gen.diagnose.sitting import expected, variations
from gen.diagnose.words import TRAINING, title, told
from gen.diagnose.workbench import Workbench
from gen.evaluate.first_look import FIRST_LOOK
from gen.evaluate.intervals import proportions
from gen.evaluate.model import wrap_model
from gen.glyphs.base import Glyphs, Pixels, RasterGlyphs, Whole
from gen.glyphs.subset import spread_over

FEWEST = 20
"""With fewer glyphs nothing is said."""
MOST = 600
"""Of more glyphs so many are looked at, spread over the set: enough to be sure of any fault."""
_SHOWN = 5  # remedies that are told
_HELPLESS = 0.02  # a remedy that gives back less is ruled out in so many words


def diagnose(
    model: object,
    glyphs: Glyphs,
    *,
    trained_on: Glyphs | None = None,
    floor: float = 0.9,
    progress: Callable[[int, int], None] | None = None,
) -> Diagnosis:
    """Say why a model fails on some glyphs, and which change gives accuracy back.

    Parameters
    ----------
    model
        What `load_model` gives, or any function or object that answers for pictures.
    glyphs
        Labelled glyphs that the model should read: 50 to 300 of a person's own drawings.
    trained_on
        Some of the glyphs that it was trained on, in the same frame.
    floor
        The accuracy from which on nothing is called wrong.
    progress
        Called with (fits of a remedy done, fits in all as far as can be said).

    Returns
    -------
    Diagnosis

    Raises
    ------
    ModelError
        If the model fails on the glyphs as they are.
    GlyphError
        If there are no glyphs, a side is under 4 px, or the training glyphs have another frame.

    Examples
    --------
    A reader of two bars, and bars that lie three px further right:

    >>> import numpy as np
    >>> from gen.glyphs.base import Provenance, RasterGlyphs
    >>> images = np.zeros((60, 8, 16), np.uint8)
    >>> images[::2, 2:6, 5] = images[1::2, 2:6, 11] = 255
    >>> bars = RasterGlyphs(frame=(8, 16), labels=np.arange(60) % 2, classes=("left", "right"),
    ...     provenance=Provenance("array", "bars", ""), writers=None, images=images)
    >>> def read(x):
    ...     return np.where(x[:, :, 8].any(axis=1), 1, np.where(x[:, :, 2].any(axis=1), 0, 1))
    >>> found = diagnose(read, bars)
    >>> found.verdict, [(s.perturbation, s.amount) for s in found.remedies[0].steps]
    ('explained', [('translation', -3.0)])
    """
    start = time.perf_counter()
    images, chosen = _pictures(glyphs)
    true = glyphs.labels[chosen]
    asked = wrap_model(model)
    if asked.look is None or asked.classes != glyphs.classes:
        few = spread_over(len(true), FIRST_LOOK)
        asked.first_look(images[few], true[few], glyphs.classes)
    bench = Workbench(asked, images, true)
    writers = None if glyphs.writers is None else glyphs.writers[chosen]
    evidence = Evidence(bench, None if trained_on is None else _pictures(trained_on)[0])
    search = Search(bench, halves(true, writers), evidence.may_follow, progress)
    (baseline,) = proportions(int(search.nothing.right.sum()), len(true))
    told_of = Diagnosis(
        verdict="too few glyphs",
        baseline=baseline,
        remedies=(),
        says=(),
        ruled_out=(),
        tried=0,
        model=asked.name,
        glyphs=f"{glyphs.provenance.kind} {glyphs.provenance.name}",
        floor=floor,
    )
    if trained_on is not None and (
        trained_on.frame != glyphs.frame or trained_on.classes != glyphs.classes
    ):
        high, wide = glyphs.frame
        raise GlyphError(
            trained_on.provenance.name,
            "the training glyphs have another frame or other classes than the glyphs",
            got=f"{trained_on.frame[0]} x {trained_on.frame[1]} px, {len(trained_on.classes)} "
            "classes",
            allowed=f"{high} x {wide} px, {len(glyphs.classes)} classes",
        )
    if len(true) < FEWEST:
        return replace(told_of, says=(too_few(len(true), FEWEST),))
    if baseline.value >= floor:
        return replace(told_of, verdict="healthy", says=(healthy(baseline),))
    if len(np.unique(true)) == 1:
        return replace(told_of, says=(one_class(len(true), glyphs.classes[true[0]]),))
    expects = asked.expects
    every = (*families(glyphs.frame), readings(expects.bottom, expects.top))
    found = evidence.narrowed(every)
    labels = Labels(search, glyphs.labels, chosen, glyphs.classes)
    others = labels.fits(switches(found))
    # Where labels alone explain it, chains of changes to pictures aren't worth their time.
    settled = max(fit.accuracy for fit in others) >= GOOD_ENOUGH
    best = search.search(found, switches(found), most=1 if settled else 3)
    lost = [fit for fit in labels.tried if not any(fit is other for other in others)]
    ranked = rank(search, best, others, evidence, lost)
    remedies = tuple(_remedy(each, search, evidence) for each in ranked[:_SHOWN])
    checks = check_set(_as_seen(glyphs, images, chosen), trained_on)
    told_of = replace(
        told_of,
        verdict="explained" if explains(remedies, baseline, floor) else "unexplained",
        remedies=remedies,
        says=answer(
            remedies,
            baseline,
            floor,
            lead=ranked[0] if ranked else None,
            near=None if ranked else nearest(search, others, evidence),
            seen=symptoms(bench.trial().answered, true, glyphs.classes, checks),
        ),
        ruled_out=_ruled_out(search, others, ranked),
        tried=bench.asked,
        checks=checks,
    )
    if trained_on is not None:
        told_of = _beside_training(told_of, bench, evidence, trained_on)
    if progress is not None:
        progress(len(search.tried), len(search.tried))
    return replace(told_of, seconds=time.perf_counter() - start)


def _beside_training(
    told_of: Diagnosis, bench: Workbench, evidence: Evidence, trained_on: Glyphs
) -> Diagnosis:
    """What differs from the training pictures, and what that alone lets one expect."""
    taught, chosen = _pictures(trained_on)
    known = trained_on.labels[chosen]
    there = evidence.training
    assert there is not None, "training pictures were given"
    found = differences(evidence.seen, there)
    told = expected(bench.model, found, taught, known, told_of.baseline)
    nominal = float((bench.model.answer(taught).labels == known).mean())
    vary = variations(told, evidence.seen, there, nominal=nominal)
    says = told_of.says
    if vary and told_of.verdict == "unexplained":
        says = (*says, f"What differs most and costs the model most: {vary[0].says}")
    told_of = replace(told_of, differences=found, expected=told, variations=vary, says=says)
    # Rows that wrap put ink on both sides, so that the centre of it tells nothing.
    return told_of if evidence.rows_wrap else training_reads_otherwise(told_of, found)


def _as_seen(glyphs: Glyphs, images: Pixels, chosen: Whole) -> RasterGlyphs:
    """The glyphs that were looked at, as pictures."""
    return RasterGlyphs(
        frame=glyphs.frame,
        labels=glyphs.labels[chosen],
        classes=glyphs.classes,
        provenance=glyphs.provenance,
        writers=None if glyphs.writers is None else glyphs.writers[chosen],
        images=images,
    )


def _pictures(glyphs: Glyphs) -> tuple[Pixels, Whole]:
    """Nominal pictures of the glyphs that have ink, not more than are needed."""
    from gen.render.pictures import nominal_pictures

    if not len(glyphs):
        raise GlyphError(glyphs.provenance.name, "there are no glyphs", got="0")
    high, wide = glyphs.frame
    if min(high, wide) < LEAST_SIDE_PX:
        raise GlyphError(
            glyphs.provenance.name,
            "pictures of this size show too little to say why",
            got=f"{high} x {wide} px",
            allowed=f"sides of at least {LEAST_SIDE_PX} px",
        )
    chosen = spread_over(len(glyphs), MOST)
    images = nominal_pictures(glyphs, indices=chosen)
    inked = images.any(axis=(1, 2))
    if not inked.any():
        raise GlyphError(
            glyphs.provenance.name,
            "there is no glyph with ink",
            got=f"{len(chosen)} glyphs",
            hint="is the ink polarity right?",
        )
    return images[inked], chosen[inked]


def _remedy(ranked: Ranked, search: Search, evidence: Evidence) -> Remedy:
    fit = ranked.fit
    words = told(fit.whole)
    (accuracy,) = proportions(int(fit.right.sum()), len(fit.right))
    slips = any(step.perturbation == "row-slip" for step in fit.whole)
    # A slip that these pictures don't show was in the training files.
    side = TRAINING if slips and not evidence.rows_wrap else words.side
    return Remedy(
        steps=tuple(
            RemedyStep(step.perturbation, step.amount, step.unit, step.options)
            for step in fit.whole
        ),
        accuracy=accuracy,
        gain=accuracy.value - search.nothing.accuracy,
        p_value=ranked.p_holm,
        wrong=words.wrong,
        change=words.change,
        side=side,
        equally=tuple(title(chain) for chain in ranked.equally),
    )


def _ruled_out(search: Search, others: Sequence[Fit], ranked: Sequence[Ranked]) -> tuple[str, ...]:
    """Families of one step that give next to nothing back."""
    base = search.nothing.accuracy
    alone: dict[str, Fit] = {}
    for fit in (*search.tried, *others):
        if len(fit.families) == 1:
            alone.setdefault(fit.families[0].name, fit)
    helping = {each.fit.families[0].name for each in ranked}
    return tuple(
        "another value range" if name == READING else name
        for name, fit in alone.items()
        if name not in helping and fit.accuracy - base < _HELPLESS
    )
