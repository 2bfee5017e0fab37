"""Every kind of fault is found by name where it is planted, and ruled out where it isn't."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from gen import check_set, load_glyphs, write_strokes
from gen.core.errors import GlyphError
from gen.diagnose.set_finding import SetFinding
from gen.diagnose.sets import CAUSES, KINDS
from tests.diagnose.planted import BESIDE, FAULTS, clean, moved, slipped, with_images


@cache
def found_in(name: str) -> tuple[SetFinding, ...]:
    kind, plant = FAULTS[name]
    del kind
    return tuple(finding for finding in check_set(plant(clean())) if finding.found)


@cache
def found_beside(name: str) -> tuple[SetFinding, ...]:
    kind, plant = BESIDE[name]
    del kind
    findings = check_set(plant(clean()), clean(seed=12))
    return tuple(finding for finding in findings if finding.found)


@pytest.mark.parametrize("name", FAULTS)
def test_a_planted_fault_is_found_by_name(name: str) -> None:
    assert FAULTS[name][0] in {finding.kind for finding in found_in(name)}


@pytest.mark.parametrize("name", BESIDE)
def test_a_fault_that_shows_beside_another_set_is_found_by_name(name: str) -> None:
    assert BESIDE[name][0] in {finding.kind for finding in found_beside(name)}


FIRST = [
    "4 px to the right",
    "order of classes",
    "axes swapped",
    "mirrored",
    "a half turn",
    "a quarter turn",
    "a 10 byte slip",
    "a slip of -16 bytes",
    "padded rows",
    "inverted",
    "blank ones",
    "a thin pen",
    "the label as a pixel",
    "two levels",
    "labels a place on",
    "labels shuffled",
    "sorted",
    "twins",
]


@pytest.mark.parametrize("name", FIRST)
def test_one_fault_alone_is_told_alone(name: str) -> None:
    assert [finding.kind for finding in found_in(name)] == [FAULTS[name][0]]


def test_nothing_is_found_in_clean_strokes() -> None:
    for seed in (11, 21, 31):
        assert [one.says for one in check_set(clean(seed=seed)) if one.found] == []
    letters = write_strokes(classes="ABCDEFGHIJKLMNOPQRSTUVWXYZ", count=520)
    assert [one.says for one in check_set(letters) if one.found] == []


def test_nothing_is_found_in_clean_strokes_beside_others() -> None:
    assert [one.says for one in check_set(clean(), clean(seed=12)) if one.found] == []


def test_nothing_is_found_in_the_open_digits(open_digits: Any) -> None:
    assert [one.says for one in check_set(open_digits.test) if one.found] == []
    assert [one.says for one in check_set(open_digits.train) if one.found] == []
    assert [one.says for one in check_set(open_digits.test, open_digits.train) if one.found] == []


def test_nothing_is_found_in_a_few_open_digits(open_digits: Any) -> None:
    """Drawn from all writers: 150 in a row are by a few, whose pens differ indeed."""
    for seed in range(4):
        drawn = np.random.default_rng(seed).permutation(len(open_digits.test))[:150]
        few = open_digits.test.take(drawn)
        assert [one.says for one in check_set(few, open_digits.train) if one.found] == []


@pytest.mark.parametrize(
    "name", ["axes swapped", "inverted", "a 10 byte slip", "labels a place on"]
)
def test_faults_in_the_open_digits_are_found_by_name(open_digits: Any, name: str) -> None:
    kind, plant = FAULTS[name]
    planted = plant(open_digits.test.take(np.arange(1000)))
    assert [finding.kind for finding in check_set(planted) if finding.found] == [kind]


def test_every_kind_is_found_or_ruled_out_in_so_many_words() -> None:
    findings = check_set(clean())
    assert {finding.kind for finding in findings} == set(KINDS) == set(CAUSES)
    for finding in findings:
        assert len(finding.says.split()) >= 5, finding.kind


def test_found_ones_come_first_and_causes_before_what_they_cause() -> None:
    planted = with_images(clean(), moved(255 - clean().images, 0, 0))
    planted = replace(planted, labels=np.roll(planted.labels, 1))
    kinds = [finding.kind for finding in check_set(planted) if finding.found]
    assert kinds == ["polarity", "labels out of step"]


@pytest.mark.parametrize("early", [5, 8, 12, 20, 23, -6, -12, 34, -36])
def test_the_slip_is_known_to_the_byte_beside_a_set_that_is_right(early: int) -> None:
    planted = with_images(clean(), slipped(clean().images, early))
    first = check_set(planted, clean(seed=12))[0]
    assert (first.kind, first.evidence["early_bytes"]) == ("container, header", early)


@pytest.mark.parametrize("early", [6, 10, 14, -6, -10])
def test_the_slip_is_known_to_a_byte_or_two_alone(early: int) -> None:
    planted = with_images(clean(), slipped(clean().images, early))
    first = check_set(planted)[0]
    assert first.kind == "container, header"
    assert abs(int(first.evidence["early_bytes"] or 0) - early) <= 2


@pytest.mark.parametrize("shift", [-3, -2, -1, 1, 2, 3])
def test_the_step_of_labels_is_known_with_its_sign(shift: int) -> None:
    """At shift s the label of the picture at i stands at i + s."""
    planted = replace(clean(), labels=np.roll(clean().labels, shift))
    (found,) = (one for one in check_set(planted) if one.found)
    assert found.evidence["shift"] == shift


def test_the_way_that_pictures_lie_is_named() -> None:
    names = {
        "axes swapped": "axes exchanged",
        "mirrored": "mirrored along x",
        "upside down": "mirrored along y",
        "a half turn": "a half turn",
        "a quarter turn": "a quarter turn anticlockwise",
    }
    for fault, way in names.items():
        (finding,) = found_in(fault)
        assert finding.evidence["way"] == way


def test_which_class_is_named_as_which_is_said() -> None:
    (finding,) = found_in("order of classes")
    assert '"3" looks like "0"' in finding.says


def test_an_idx_file_whose_header_disagrees_is_refused_and_one_that_agrees_is_told(
    tmp_path: Any,
) -> None:
    images, labels = clean().images[:200], clean().labels[:200].astype(np.uint8)
    sizes = np.array(images.shape, ">u4").tobytes()
    path = tmp_path / "tags-images-idx3-ubyte"
    (tmp_path / "tags-labels-idx1-ubyte").write_bytes(
        b"\0\0\x08\x01" + np.array([200], ">u4").tobytes() + labels.tobytes()
    )
    path.write_bytes(b"\0\0\x08\x03" + sizes + images.tobytes())
    (told,) = (one for one in check_set(load_glyphs(path)) if one.kind == "container, header")
    assert "header and size agree" in told.says
    path.write_bytes(b"\0\0\x08\x03" + sizes + images.tobytes()[:-3])
    with pytest.raises(GlyphError, match="the file ends early: 3 bytes short"):
        load_glyphs(path)


def test_a_set_without_glyphs_is_refused() -> None:
    with pytest.raises(GlyphError, match="there are no glyphs to be checked"):
        check_set(clean().take(np.arange(0)))


def test_pictures_in_both_sets_are_found_with_their_numbers() -> None:
    other = clean(seed=12)
    shared = with_images(other, np.concatenate([other.images[:-20], clean().images[40:60]]))
    (found,) = (one for one in check_set(clean(), shared) if one.found)
    assert found.kind == "leakage, split"
    assert found.evidence["in_both"] == 20
    assert "number 40 here and 580 there" in found.says
