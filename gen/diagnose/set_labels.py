"""Checks of labels, order, splits, and of pictures that are the same or empty."""

from __future__ import annotations

import numpy as np

from gen.diagnose.duplicates import across, near_duplicates
from gen.diagnose.neighbours import agreement, votes
from gen.diagnose.orientation import ORIENTATIONS, best_way
from gen.diagnose.set_finding import Look, SetFinding, one_or_none, told

_READ = 0.15
"""Share of glyphs by which another naming must read better."""
_SHIFTS = (-3, -2, -1, 0, 1, 2, 3)
_STEP, _CLEAR = 0.15, 0.25
_UNEVEN, _UNEVEN_SURE = 3.0, 6.0
"""Ratio of the largest class to the smallest; and by how many roots of the mean count they
must differ, which a fair draw hardly does."""
_SAME_SHARE, _MOSTLY = 0.001, 0.5


def label_map(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Classes named in another order, or by labels that start elsewhere."""
    del against
    kind, found = "label map", []
    as_text = _sorted_as_text(look.classes)
    if as_text:
        says = f"class names are sorted as text, not as numbers: {as_text}"
        found.append(told(kind, says, {"order": as_text}, found=True))
    if known is None:
        says = "can't be told: no other set of these classes to hold it against (--against)"
        return one_or_none(kind, found, says)
    # Laid the same way first: a picture that is turned isn't misnamed.
    shapes = ORIENTATIONS[best_way(look, known)](known.shapes)
    said = votes(look.shapes, shapes, known.labels[known.few], len(known.classes))
    names = {name: place for place, name in enumerate(known.classes)}
    theirs = np.array([names.get(name, -1) for name in look.classes])
    own = look.labels[look.few]
    table = np.zeros((len(look.classes), len(known.classes)), np.intp)
    np.add.at(table, (own, said), 1)
    total = max(len(own), 1)
    straight = sum(int(table[i, j]) for i, j in enumerate(theirs) if j >= 0) / total
    from scipy.optimize import linear_sum_assignment

    rows, columns = linear_sum_assignment(-table)
    best = int(table[rows, columns].sum()) / total
    facts = {"as_named": straight, "named_otherwise": best}
    if best > straight + _READ:
        swaps = [
            f'"{look.classes[i]}" looks like "{known.classes[j]}"'
            for i, j in zip(rows, columns, strict=True)
            if j != theirs[i] and table[i, j] > table[i].sum() / 2
        ]
        if swaps:
            says = f"classes are named in another order: {'; '.join(swaps[:12])}"
            found.append(told(kind, says, facts, found=True))
    out = f"classes are named as they look: {100 * straight:.0f} % of glyphs look like their class"
    if not found and straight < 2 / max(len(look.classes), 2) and best < straight + _READ:
        out = "can't be told: glyphs look like their class no more often than by chance"
    return one_or_none(kind, found, out, facts)


def _sorted_as_text(names: tuple[str, ...]) -> str:
    """The names, when all are numbers and in the order of text but not of numbers."""
    if not all(name.isascii() and name.isdigit() for name in names):
        return ""
    wrong = list(names) == sorted(names) and [int(n) for n in names] != sorted(map(int, names))
    return ", ".join(names[:12]) if wrong else ""


def out_of_step(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Labels that belong to the picture before or after, or to none."""
    del against, known
    kind = "labels out of step"
    counts = np.bincount(look.labels, minlength=len(look.classes))
    chance = float(((counts / max(len(look.labels), 1)) ** 2).sum())
    if len(look.few) < 30 or (counts > 0).sum() < 2:
        return (told(kind, "can't be told: too few glyphs or classes"),)
    if _different(look) < _MOSTLY:
        return (told(kind, "can't be told: too few pictures differ from one another"),)
    shares = agreement(look.shapes, look.few, look.labels, _SHIFTS)
    now, best = float(shares[_SHIFTS.index(0)]), int(np.argmax(shares))
    facts = {"agreement": now, "chance": chance}
    if shares[best] > now + _STEP:
        shift = _SHIFTS[best]
        size = f"{abs(shift)} place{'s' * (abs(shift) != 1)}"
        says = (
            f"labels are out of step with pictures by {size}: the label of a picture stands "
            f"{size} {'after' if shift > 0 else 'before'} it. Neighbours agree in "
            f"{100 * shares[best]:.0f} % there, in {100 * now:.0f} % as they are"
        )
        return (told(kind, says, facts | {"shift": shift}, found=True),)
    if now < chance + _CLEAR * (1 - chance):
        says = (
            f"labels have little to do with pictures: those most alike carry the same label in "
            f"{100 * now:.0f} %, by chance it would be {100 * chance:.0f} %. Labels were shuffled, "
            "or are another set's"
        )
        return (told(kind, says, facts | {"shift": 0}, found=True),)
    says = (
        f"labels go with their pictures: those most alike carry the same label in "
        f"{100 * now:.0f} %, by chance it would be {100 * chance:.0f} %"
    )
    return (told(kind, says, facts),)


def order(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Glyphs that lie class by class."""
    del against, known
    changes = int((np.diff(look.labels) != 0).sum())
    present = int((np.bincount(look.labels, minlength=1) > 0).sum())
    facts = {"changes": changes, "classes": present}
    if present > 1 and len(look.labels) > 5 * present and changes < 2 * present:
        says = (
            "glyphs are sorted by class: a split or a batch cut without shuffling holds some "
            "classes only"
        )
        return (told("order", says, facts, found=True),)
    return (told("order", "glyphs aren't sorted by class", facts),)


def class_counts(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Classes that are missing, or far more often there than others."""
    del known
    kind, found = "class counts", []
    counts = np.bincount(look.labels, minlength=len(look.classes))
    none = [name for name, count in zip(look.classes, counts, strict=True) if not count]
    some = counts[counts > 0]
    ratio = float(some.max() / some.min()) if len(some) else float("nan")
    facts = {"most": int(counts.max()), "least": int(counts.min()), "ratio": ratio}
    if none:
        says = f"no glyph of {', '.join(none[:12])}: labels that begin at 1, or a class forgotten"
        found.append(told(kind, says, facts, found=True))
    if against is not None:
        other = set(against.classes)
        if set(look.classes) != other:
            odd = ", ".join(sorted(set(look.classes) ^ other)[:12])
            says = f"the two sets don't have the same classes: {odd} in one only"
            found.append(told(kind, says, facts, found=True))
    sure = _UNEVEN_SURE * float(np.sqrt(some.mean())) if len(some) else 0.0
    if ratio > _UNEVEN and some.max() - some.min() > sure:
        says = f"classes are uneven: {counts.max():,} glyphs of one, {some.min():,} of another"
        found.append(told(kind, says, facts, found=True))
    least, most = int(counts.min()), int(counts.max())
    many = f"between {least:,} and {most:,}" if least < most else f"{least:,}"
    out = f"each class has {many} glyphs"
    return one_or_none(kind, found, out, facts)


def leakage(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """The same picture twice, in one set or in both."""
    del known
    kind, found = "leakage, split", []
    pairs = near_duplicates(look.images)
    twice = len(np.unique(pairs)) if len(pairs) else 0
    odd = int((look.labels[pairs[:, 0]] != look.labels[pairs[:, 1]]).sum()) if len(pairs) else 0
    facts = {"inside": twice, "with_other_labels": odd}
    if twice > max(2, 2 * _SAME_SHARE * len(look.images)):
        first, second = pairs[0]
        says = (
            f"{twice:,} pictures have a twin in the set, numbers {first} and {second} among them"
            + (f"; {odd:,} pairs carry different labels" if odd else "")
            + ": split so, they would be in training and test alike"
        )
        found.append(told(kind, says, facts, found=True))
    out = f"{twice:,} pictures have a twin in the set"
    if against is not None:
        shared = across(look.images, against.images)
        both = len(np.unique(shared[:, 0])) if len(shared) else 0
        facts["in_both"] = both
        if both > max(1, _SAME_SHARE * len(look.images)):
            says = (
                f"{both:,} of {len(look.images):,} pictures are in both sets, number "
                f"{shared[0, 0]} here and {shared[0, 1]} there among them: a score on them says "
                "nothing of new marks"
            )
            found.append(told(kind, says, facts, found=True))
        out += f", {both:,} are in both sets"
    return one_or_none(kind, found, out, facts)


def blanks(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Pictures of one even tone, which transparent paper and empty arrays give."""
    del against, known
    flat = look.images.reshape(len(look.images), -1)
    even = flat.max(axis=1) == flat.min(axis=1)
    number = int(even.sum())
    facts = {"blank": number, "of": len(even)}
    if number:
        says = (
            f"{number:,} of {len(even):,} pictures are of one even tone, number "
            f"{int(np.flatnonzero(even)[0])} the first: nothing was drawn, or black ink on "
            "transparent paper was read without its transparency"
        )
        return (told("transparency", says, facts, found=True),)
    says = "no picture is of one even tone, as black ink on transparent paper becomes"
    return (told("transparency", says, facts),)


def one_answer(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Pictures that hardly differ, so that any model gives one answer."""
    del against, known
    kind = "always one class"
    different = _different(look)
    facts = {"different": different}
    if different < _MOSTLY and len(look.few) > 3:
        says = (
            f"only {100 * different:.0f} % of pictures differ from one another: any model would "
            "say the same of all"
        )
        return (told(kind, says, facts, found=True),)
    says = (
        f"pictures differ from one another ({100 * different:.0f} %), so one answer for all would "
        "be the model's or its preprocessing's doing"
    )
    return (told(kind, says, facts),)


def _different(look: Look) -> float:
    """Share of pictures that are not the same as another, byte for byte."""
    few = look.images[look.few].reshape(len(look.few), -1)
    return len(np.unique(few, axis=0)) / max(len(few), 1)


def table_layout(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """A table whose label column was read as a pixel."""
    del against, known
    kind = "table layout"
    flat = look.images.reshape(len(look.images), -1)
    present = np.unique(look.labels)
    for place, word in ((0, "first"), (flat.shape[1] - 1, "last")):
        column = flat[:, place]
        by_class = [column[look.labels == label] for label in present]
        fixed = all(len(np.unique(values)) == 1 for values in by_class if len(values) > 1)
        tones = len({int(values[0]) for values in by_class})
        if fixed and len(present) > 1 and tones == len(present):
            says = (
                f"the {word} pixel tells the class of every picture: the table's column of labels "
                "was read as a pixel"
            )
            return (told(kind, says, {"pixel": place}, found=True),)
    return (told(kind, "neither the first nor the last pixel tells the class"),)
