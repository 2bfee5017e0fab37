"""Every kind of fault that practice knows, found in a set or ruled out in so many words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gen.core.errors import GlyphError
from gen.diagnose.frame import border_like_ink
from gen.diagnose.measures import pictures_of
from gen.diagnose.orientation import orientation
from gen.diagnose.set_finding import Check, Look, SetFinding, told
from gen.diagnose.set_labels import (
    blanks,
    class_counts,
    label_map,
    leakage,
    one_answer,
    order,
    out_of_step,
    table_layout,
)
from gen.diagnose.set_marks import (
    aliasing,
    placement,
    print_or_hand,
    scale_and_box,
    stroke_width,
    writers_style,
)
from gen.diagnose.set_values import (
    background,
    byte_wrap,
    depth,
    packing,
    polarity,
    value_range,
)
from gen.diagnose.wrap import row_wrap, unsheared
from gen.glyphs.base import Glyphs

_SHOWN = 600


def check_set(glyphs: Glyphs, against: Glyphs | None = None) -> tuple[SetFinding, ...]:
    """Look a set over for all that goes wrong in practice, before anything is trained on it.

    Parameters
    ----------
    glyphs
        Pictures or strokes.
    against
        A set that is right, such as the one a model was trained on. Without one, classes
        that the built-in handwriting knows are held against that.

    Returns
    -------
    tuple of SetFinding
        At least one for each kind: found ones first, those first that may cause others, then
        those ruled out and those that a set can't show, in the order of `KINDS`.

    Raises
    ------
    GlyphError
        If there are no glyphs.

    Examples
    --------
    >>> from gen import write_strokes
    >>> clean = check_set(write_strokes(classes="0123", count=200))
    >>> [finding.kind for finding in clean if finding.found]
    []
    """
    if not len(glyphs):
        raise GlyphError(glyphs.provenance.name, "there are no glyphs to be checked")
    look = _look(glyphs)
    other = None if against is None else _look(against)
    first = polarity(look.sample, border_like_ink(look.sample))
    if first.found and first.evidence["inverted"] == 1.0:
        # The rest is checked the right way round, so that one fault isn't told as ten.
        look = replace(look, images=255 - look.images)
    known = other if other is not None and set(other.classes) & set(look.classes) else None
    if known is None:
        known = _handwriting(look)
    findings = [_other_way_round(look, other) or first]
    findings += [*container(look, other, known), *packing(look, other, known)]
    look = _mended(look, findings)
    for check in _CHECKS:
        findings += check(look, other, known)
    findings += _beyond()
    return tuple(
        sorted(
            findings,
            key=lambda one: (CAUSES if one.found else KINDS).index(one.kind) - 99 * one.found,
        )
    )


def _mended(look: Look, findings: list[SetFinding]) -> Look:
    """The set with its rows put right, so that one fault isn't told as ten."""
    for finding in findings:
        early, shear = finding.evidence.get("early_bytes"), finding.evidence.get("shear_px")
        if finding.found and isinstance(early, int) and early:
            flat = look.images.reshape(len(look.images), -1)
            look = replace(look, images=np.roll(flat, -early, axis=1).reshape(look.images.shape))
        elif finding.found and isinstance(shear, int) and shear:
            look = replace(look, images=unsheared(look.images, shear))
    return look


def _other_way_round(look: Look, against: Look | None) -> SetFinding | None:
    """Sources that show ink differently, though both are read with ink bright."""
    if against is None or look.provenance.ink == against.provenance.ink:
        return None
    words = {"bright": "bright on dark paper", "dark": "dark on bright paper"}
    here, there = (words[each.provenance.ink] for each in (look, against))
    says = (
        f"ink is {here} in this source and {there} in the other: both were read as ink here, but "
        "code that feeds them to one model as they are must invert one of them"
    )
    return told("polarity", says, {"here": here, "there": there}, found=True)


def _look(glyphs: Glyphs) -> Look:
    return Look(pictures_of(glyphs), glyphs.labels, glyphs.classes, glyphs.provenance)


def _handwriting(look: Look) -> Look | None:
    """Built-in strokes of the same classes, where all of them are known by name."""
    from gen.glyphs.strokes import CLASSES, write_strokes

    if not set(look.classes) <= set(CLASSES) or min(look.images.shape[1:]) < 8:
        return None
    count = min(_SHOWN * max(1, len(look.classes) // 10), 1800)
    return _look(write_strokes(classes=look.classes, count=count, seed=5))


def container(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Pictures read a few bytes off."""
    del known
    kind = "container, header"
    same = against is not None and against.images.shape[1:] == look.images.shape[1:]
    like = against.pictures.mean if against is not None and same else None
    wrap = row_wrap(look.sample, like)
    facts = {"seam_ink": wrap.seam_ink, "seam_tie": wrap.seam_tie, "left_over": wrap.left_over}
    if wrap.found:
        size = f"{abs(wrap.early_bytes)} byte{'s' * (abs(wrap.early_bytes) != 1)}"
        about = "" if like is not None else "about "
        says = (
            "rows wrap: ink that leaves the frame on one side comes in on the other, a row on. "
            f"Pictures are read {about}{size} {'early' if wrap.early_bytes > 0 else 'late'}: a "
            "header of another length than was skipped"
        )
        return (told(kind, says, facts | {"early_bytes": wrap.early_bytes}, found=True),)
    header = (
        "; the file's header and size agree, or it would have been refused with both named"
        if look.provenance.kind == "IDX"
        else ""
    )
    return (told(kind, f"rows don't wrap: no ink goes on across the seam{header}", facts),)


def _beyond() -> list[SetFinding]:
    """What no set of pictures can show."""
    return [
        told(
            "no way to decline",
            "not a matter of the set but of the model: what it answers to marks of no class is "
            "seen with --glyphs foreign:blank, noise, scribble and others",
        ),
        told(
            "batching",
            "not a matter of the set but of the model: whether an answer changes with the batch "
            "is seen when a model is scored",
        ),
    ]


_CHECKS: tuple[Check, ...] = (
    placement,
    scale_and_box,
    label_map,
    orientation,
    value_range,
    background,
    one_answer,
    leakage,
    print_or_hand,
    blanks,
    stroke_width,
    writers_style,
    table_layout,
    byte_wrap,
    depth,
    aliasing,
    out_of_step,
    order,
    class_counts,
)

KINDS = (
    "placement",
    "scale and box",
    "label map",
    "orientation",
    "range, normalisation",
    "background, shadow",
    "container, header",
    "pixel packing",
    "polarity",
    "always one class",
    "leakage, split",
    "no way to decline",
    "print against hand",
    "transparency",
    "stroke width",
    "writer's style",
    "table layout",
    "8-bit wrap",
    "bit depth, colour mode",
    "aliasing",
    "batching",
    "labels out of step",
    "order",
    "class counts",
)
"""All kinds, the commonest in practice first, then those about labels."""

CAUSES = (
    "table layout",
    "8-bit wrap",
    "container, header",
    "pixel packing",
    "polarity",
    "orientation",
    "transparency",
    "always one class",
    "bit depth, colour mode",
    "label map",
    "labels out of step",
    "leakage, split",
    "background, shadow",
    "range, normalisation",
    "aliasing",
    "stroke width",
    "scale and box",
    "placement",
    "print against hand",
    "writer's style",
    "class counts",
    "order",
    "no way to decline",
    "batching",
)
"""The same kinds in the order in which found ones are told: what causes others comes first."""
