"""Whether a set lies as another does: turned, mirrored, or with its axes exchanged."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from gen.diagnose.features import Features
from gen.diagnose.neighbours import votes
from gen.diagnose.set_finding import Fact, Look, SetFinding, told
from gen.glyphs.base import Whole

_Way = Callable[[Features], Features]
ORIENTATIONS: Mapping[str, _Way] = {
    "as it is": lambda a: a,
    "mirrored along x": lambda a: a[:, :, ::-1],
    "mirrored along y": lambda a: a[:, ::-1],
    "a half turn": lambda a: a[:, ::-1, ::-1],
    "axes exchanged": lambda a: a.swapaxes(1, 2),
    "a quarter turn anticlockwise": lambda a: np.rot90(a, 1, (1, 2)),
    "a quarter turn clockwise": lambda a: np.rot90(a, 3, (1, 2)),
    "axes exchanged and a half turn": lambda a: a.swapaxes(1, 2)[:, ::-1, ::-1],
}
"""The eight ways in which whole pixels can lie: what was done to a picture, by name."""
_BETTER = 0.12
_LIKELIER = 0.03
"""Mean likeness by which another way must be better, whatever the labels say."""
_READS = 0.4
"""Share of glyphs that must look like their class the right way round."""


def readings(
    shapes: Features, labels: Whole, known: Look, classes: tuple[str, ...]
) -> dict[str, tuple[float, float]]:
    """How well shapes read against another set's that is laid each way.

    Returns
    -------
    For each orientation the share that look like their own class, and the mean likeness.
    """
    own = known.labels[known.few]
    names = {name: place for place, name in enumerate(known.classes)}
    theirs = np.array([names.get(name, -1) for name in classes])[labels]
    out = {}
    for name, way in ORIENTATIONS.items():
        laid = np.ascontiguousarray(way(known.shapes))
        likeness = shapes.reshape(len(shapes), -1) @ laid.reshape(len(laid), -1).T
        said = votes(shapes, laid, own, len(known.classes))
        out[name] = (float((said == theirs).mean()), float(likeness.max(axis=1).mean()))
    return out


def best_way(look: Look, known: Look) -> str:
    """The orientation in which a set reads best against another; as it is, unless clearly."""
    read = readings(look.shapes, look.labels[look.few], known, look.classes)
    best = max(read, key=lambda name: sum(read[name]))
    likelier = read[best][1] > read["as it is"][1] + _LIKELIER
    return best if likelier else "as it is"


def orientation(look: Look, against: Look | None, known: Look | None) -> tuple[SetFinding, ...]:
    """Pictures that lie another way than those they are held against."""
    kind = "orientation"
    if known is None:
        says = (
            "can't be told without a set that lies right (--against): look at the mean picture "
            "of each class beside its name"
        )
        return (told(kind, says),)
    read = readings(look.shapes, look.labels[look.few], known, look.classes)
    # Labels may be wrong as well, so likeness has a say: the best by both.
    best = max(read, key=lambda name: read[name][0] + read[name][1])
    straight = read["as it is"]
    whose = "built-in handwriting" if against is None else "the other set"
    facts: dict[str, Fact] = {"as_it_is": straight[0], "best": read[best][0], "way": best}
    better = read[best][0] > straight[0] + _BETTER and read[best][0] > _READS
    if best != "as it is" and better:
        says = (
            f"pictures lie another way than {whose}: {best}. "
            f"{100 * read[best][0]:.0f} % look like their class so, "
            f"{100 * straight[0]:.0f} % as they are"
        )
        return (told(kind, says, facts, found=True),)
    if straight[0] < _READS and best == "as it is":
        says = (
            f"no orientation reads well against {whose}: {100 * straight[0]:.0f} % look like "
            "their class as they are, and no more in any other way"
        )
        return (told(kind, says, facts),)
    says = (
        f"pictures lie as {whose} does: {100 * straight[0]:.0f} % look like their class, and no "
        "other way reads better"
    )
    return (told(kind, says, facts),)
