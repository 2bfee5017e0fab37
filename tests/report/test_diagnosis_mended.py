"""The mended glyphs: read back as they were meant, and read rightly by the model that failed."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from gen import load_glyphs
from gen.diagnose.labels import named
from gen.diagnose.operations import Operation
from gen.diagnose.results import RemedyStep
from gen.report.diagnosis_make import make_diagnosis
from gen.report.diagnosis_mended import mended_labels
from tests.report.diagnosis_support import (
    CLASSES,
    COUNT,
    MOVE,
    ORDER,
    READING,
    SHIFTED,
    drawn,
    explained,
    read,
    remedy,
)


def test_a_moved_set_comes_back_where_the_model_reads_it(tmp_path: Path) -> None:
    report = explained(remedy(MOVE))
    path = report.save(tmp_path)["mended.npz"]
    glyphs = load_glyphs(path, ink="bright")
    assert glyphs.classes == CLASSES
    # Truth by construction: the same bars drawn without the move.
    straight = drawn(0)
    np.testing.assert_array_equal(glyphs.images, straight.images)
    np.testing.assert_array_equal(glyphs.labels, straight.labels)
    assert (read(drawn().images) == drawn().labels).mean() < 0.5
    assert (read(glyphs.images) == glyphs.labels).all()


def test_polarity_is_kept_as_it_was_mended(tmp_path: Path) -> None:
    turned = RemedyStep("ink-polarity", 1.0, "times")
    path = explained(remedy(turned)).save(tmp_path)["mended.npz"]
    glyphs = load_glyphs(path, ink="bright")
    np.testing.assert_array_equal(glyphs.images, 255 - drawn().images)


def test_labels_out_of_step_are_put_back(tmp_path: Path) -> None:
    path = explained(remedy(SHIFTED)).save(tmp_path)["mended.npz"]
    glyphs = load_glyphs(path, ink="bright")
    np.testing.assert_array_equal(glyphs.labels, np.roll(drawn().labels, -1))
    np.testing.assert_array_equal(glyphs.images, drawn().images)


def test_classes_in_another_order_are_named_as_the_model_calls_them() -> None:
    # Found by the search itself in a reader that takes the first two for each other, which no
    # move or mirror of the pictures could mend.
    swapped = np.array([1, 0, 2])
    report = make_diagnosis(lambda pictures: swapped[read(pictures)], drawn(0))
    assert report.diagnosis.remedies[0].steps[0].perturbation == "class order"
    assert report.mended is not None
    np.testing.assert_array_equal(report.mended.labels, swapped[drawn(0).labels])


def test_names_made_to_mislead_are_taken_as_they_are() -> None:
    names = ('a" is "b', "b", "a")
    pairs = named(np.array([2, 0, 1]), names)
    order = Operation("class order", "as the words may be", "order", pairs)
    # The first is answered where the third is shown, and so on.
    assert mended_labels((order,), np.array([0, 1, 2]), names).tolist() == [1, 2, 0]


def test_each_name_is_said_to_be_the_models() -> None:
    told = explained(remedy(ORDER)).mended
    assert told is not None
    assert told.says.endswith("Each glyph has the name by which the model calls its class.")


def test_a_value_range_writes_no_glyphs_and_names_the_option(tmp_path: Path) -> None:
    report = explained(remedy(READING))
    assert set(report.save(tmp_path)) == {"diagnosis.html", "diagnosis.json"}
    told = report.as_dict()["mended"]
    assert (told["file"], told["options"]) == (None, ["--values 0..255"])
    assert "--values 0..255" in report.as_text()
    both = explained(remedy(MOVE, READING)).as_dict()["mended"]
    assert (both["file"], both["options"]) == ("mended.npz", ["--ink bright", "--values 0..255"])


def test_examples_were_misread_and_are_read(tmp_path: Path) -> None:
    (shown,) = explained(remedy(MOVE)).examples
    assert 1 < len(shown) <= 6
    for one in shown:
        assert one.read != one.labelled
        assert one.read_after == one.labelled == one.labelled_after
        assert CLASSES[read(one.before[None])[0]] == one.read
        assert CLASSES[read(one.after[None])[0]] == one.read_after
        assert one.pictures_change
    assert len({one.labelled for one in shown}) > 1
    assert len(drawn()) == COUNT
