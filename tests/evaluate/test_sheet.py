"""The answer sheet where it is too large for memory."""

from __future__ import annotations

import os

import numpy as np
import pytest

from gen.core.errors import InkdriftError
from gen.evaluate import sheet as sheet_module
from gen.evaluate.answers import Answers
from gen.evaluate.sheet import Record, Sheet


def filled() -> Sheet:
    labels = np.arange(40) % 3
    made = Sheet(["nominal", "moved"], labels, writers=None, classes=("a", "b", "c"))
    given = np.eye(3)[labels] * 0.7 + 0.1
    for name in made.cells:
        answers = Answers(given.argmax(axis=1), given.max(axis=1), given)
        made.fill(name, np.arange(40), answers, ink_lost=np.zeros(40))
    return made


def test_a_sheet_in_a_file_holds_what_a_sheet_in_memory_holds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    in_memory = filled()
    monkeypatch.setattr(sheet_module, "IN_MEMORY_BYTES", 10)
    in_file = filled()
    assert isinstance(in_file._answered, np.memmap)
    for name in in_memory.cells:
        one, other = in_memory.row(name), in_file.row(name)
        np.testing.assert_array_equal(one.answered, other.answered)
        np.testing.assert_array_equal(one.squared, other.squared)
    np.testing.assert_array_equal(in_memory.right(["moved"]), in_file.right(["moved"]))


@pytest.mark.skipif(not hasattr(os, "posix_fallocate"), reason="needs posix_fallocate")
def test_a_full_disk_is_an_error_before_anything_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(descriptor: int, start: int, length: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(sheet_module, "IN_MEMORY_BYTES", 10)
    monkeypatch.setattr(os, "posix_fallocate", full)
    with pytest.raises(InkdriftError, match=r"(?s)no room for the answers.*No space left"):
        filled()


def test_records_agree_that_say_the_same_up_to_the_last_bits() -> None:
    said, shares, lost = np.array([0, 1, 2], np.int16), np.full((3, 3), 0.5, np.float32), np.ones(3)
    record = Record(said, shares, lost)
    assert record.agrees(Record(said, shares + np.float32(1e-7), 0 * lost))
    assert not record.agrees(Record(said, shares + np.float32(0.01), lost))
    assert not record.agrees(Record(said[::-1], shares, lost))
    assert not record.agrees(Record(said, None, lost))
    assert Record(said, None, lost).agrees(Record(said, None, lost))
    assert not Record(said, None, lost).agrees(Record(said[::-1], None, lost))
