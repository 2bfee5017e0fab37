"""The demo: two readers that look equally good, and a report that tells them apart."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from pathlib import Path

import numpy as np

from gen.core.files import whole_folder
from gen.demo.crate_tags import CLASSES, HEADER_BYTES, TagFiles, decode, made_tags
from gen.demo.reader import Reader, train
from gen.evaluate.model import wrap_model
from gen.glyphs.base import RasterGlyphs, Whole
from gen.glyphs.load import load_glyphs
from gen.perturb.recipes import read_recipe
from gen.recipe.model import Recipe
from gen.render.stress_set import write_stress_set
from gen.report.make import make_report
from gen.report.object import Report
from gen.report.words import range_words

RECIPE = "first-look"
SLIP_BYTES = 4
_PHYSICAL = ("stroke-width", "scale", "rotation", "translation", "blur")
HELD_OUT = "held-out-images-idx3-ubyte.gz"
_READERS = '''"""The two readers of the demo, to be plugged into `gen report`.

    gen report readers.py:slipped first-look --glyphs held-out-images-idx3-ubyte.gz \\\\
        --classes 0-9A-H --into my-report
"""

from pathlib import Path

from gen.demo.reader import Reader

HERE = Path(__file__).resolve().parent
right = Reader.load(HERE / "right.npz")
slipped = Reader.load(HERE / "slipped.npz")
'''

Say = Callable[[str], None]
Told = Callable[[int, int], None]
During = Callable[[str], AbstractContextManager[Told]]
"""What stands round a piece of work of that name, and is told of parts done and parts in all."""


def _silently(label: str) -> AbstractContextManager[Told]:
    del label
    return nullcontext(lambda done, total: None)


def tell(folder: Path, *, overwrite: bool, say: Say, during: During = _silently) -> None:
    """Make the tags, train both readers, report on both, and write it all into a folder.

    Parameters
    ----------
    folder
        Where to; it appears whole or not at all.
    overwrite
        Whether it may hold something already.
    say
        Called with each paragraph of the story as it happens.
    during
        Shows how far each longer piece of work is.

    Raises
    ------
    OutputError
        If the folder can't be written.
    """
    told: list[str] = []

    def aloud(paragraph: str) -> None:
        told.append(paragraph)
        say(paragraph)

    with whole_folder(folder, overwrite=overwrite) as scratch:
        _tell(scratch, aloud, during)
        (scratch / "story.txt").write_bytes(("\n\n".join(told) + "\n").encode("utf-8"))


def _tell(scratch: Path, say: Say, during: During) -> None:
    training, held_out = made_tags()
    held_out.save(scratch, "held-out")
    glyphs = _held_out(scratch)
    say(
        "In an orchard co-operative's packing shed, pickers ink a digit or a letter on each "
        "crate tag,\nand a camera over the belt cuts it out, 32 x 32 px. "
        f"{len(training.answers):,} tags are there to train a\nreader on, and "
        f"{len(held_out.answers):,} are held out. All of it is invented."
    )
    readers = {"right": HEADER_BYTES, "slipped": HEADER_BYTES - SLIP_BYTES}
    scores = {}
    for name, skip in readers.items():
        with during(f"training the {name} reader") as told:
            reader = _trained(training, skip, told)
        reader.save(scratch / f"{name}.npz")
        scores[name] = _accuracy(Reader.load(scratch / f"{name}.npz"), held_out, skip)
    (scratch / "readers.py").write_text(_READERS, encoding="utf-8", newline="\n")
    say(
        "Two readers are trained on them, alike but for one thing: the decoder of the second "
        f"starts\n{SLIP_BYTES} bytes early, in the training file and in the held-out file. Each is "
        "scored on the held-out\ntags as its own decoder reads them:\n\n"
        + "\n".join(f"  {name:8} {share:.1%}" for name, share in scores.items())
        + "\n\nNothing here says that one of them will fail on the belt."
    )
    recipe = read_recipe(RECIPE)
    few = glyphs.take(_one_of_each(glyphs))
    with during("rendering") as told:
        write_stress_set(recipe, few, scratch / "stress-set", progress=told)
    for name in readers:
        with during(f"scoring the {name} reader") as told:
            report = _report(scratch, name, recipe, glyphs, told)
        report.save(_made(scratch / f"report-{name}"))
        say(_what_it_says(name, report))
    say(
        "Look at report-slipped/report.html and at the pictures in stress-set/sheets; readers.py\n"
        "shows how the readers were plugged in."
    )


def _held_out(scratch: Path) -> RasterGlyphs:
    """The held-out tags, through the same door as anybody's IDX file."""
    loaded = load_glyphs(scratch / HELD_OUT, classes=CLASSES)
    assert isinstance(loaded, RasterGlyphs)
    return replace(loaded, provenance=replace(loaded.provenance, name=HELD_OUT))


def _trained(files: TagFiles, skip: int, told: Told) -> Reader:
    pictures = decode(files.images, skip=skip)
    return train(pictures, files.answers, len(CLASSES), progress=told)


def _accuracy(reader: Reader, files: TagFiles, skip: int) -> float:
    answers = reader.predict_proba(decode(files.images, skip=skip)).argmax(axis=1)
    return float((answers == files.answers).sum()) / len(answers)


def _one_of_each(glyphs: RasterGlyphs) -> Whole:
    return np.array([int(np.flatnonzero(glyphs.labels == c)[0]) for c in range(len(CLASSES))])


def _report(scratch: Path, name: str, recipe: Recipe, glyphs: RasterGlyphs, told: Told) -> Report:
    reader = Reader.load(scratch / f"{name}.npz")
    report = make_report(
        wrap_model(reader, name=f"readers.py:{name}"),
        recipe,
        glyphs,
        command=(
            f"gen report readers.py:{name} {RECIPE} --glyphs {HELD_OUT} --classes 0-9A-H "
            f"--into report-{name}"
        ),
        progress=told,
    )
    # Times are of this machine and this hour; all else is the same at every run.
    return replace(report, evaluation=replace(report.evaluation, seconds=()))


def _made(folder: Path) -> Path:
    folder.mkdir()
    return folder


def _what_it_says(name: str, report: Report) -> str:
    baseline = report.evaluation.baseline.accuracy
    said = [f"  - {finding.says}" for finding in report.findings[:3]]
    if baseline.value >= report.evaluation.floor:
        said += ["  It keeps 90 % of the tags right within:"] + [
            f"    {curve.title:24}{range_words(curve, curve.tolerance)}"
            for curve in report.evaluation.curves
            if curve.perturbation in _PHYSICAL
        ]
    return (
        f"gen report on the {name} reader, given the held-out tags as they are: "
        f"{baseline.value:.1%}\n({report.verdict.rstrip('.').lower()})\n" + "\n".join(said)
    )
