"""answers.npz: what is written comes back, in the same bytes; hostile files are refused."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from gen.core.errors import InkdriftError, OutputError
from gen.evaluate.sheet import Record, Sheet
from gen.report.answers_file import read_answers, write_answers

CELLS = ("nominal", "01-blur+1px", "01-blur+2px")
CLASSES = ("pear", "plum", "<b>quince</b>")


def sheet(
    rng: np.random.Generator,
    *,
    classes: tuple[str, ...] = CLASSES,
    count: int = 40,
    writers: bool = True,
) -> Sheet:
    """Answers at random, two glyphs not scored, the last cell failed."""
    labels = rng.integers(0, len(classes), count)
    filled = Sheet(
        CELLS, labels, writers=np.arange(count) // 4 if writers else None, classes=classes
    )
    for cell in CELLS:
        said = rng.integers(0, len(classes), count).astype(np.int16)
        filled.put(cell, np.arange(count), Record(said, None, np.zeros(count)))
    filled.leave_out(np.array([3, 17]))
    filled.fail(CELLS[2], "ValueError: the lamp went out")
    return filled


def written(path: Path, seed: int = 5) -> Path:
    made = sheet(np.random.default_rng(seed))
    return write_answers(path, made, glyphs_digest="a1", recipe_digest="b2")


@pytest.mark.parametrize("count", [3, 255, 256, 300])
def test_answers_come_back_as_they_were_given(count: int, tmp_path: Path) -> None:
    classes = tuple(f"class {n}" for n in range(count))
    made = sheet(np.random.default_rng(count), classes=classes, count=400)
    path = write_answers(tmp_path / "answers.npz", made, glyphs_digest="a1", recipe_digest="b2")
    read = read_answers(path)
    assert (read.glyphs_digest, read.recipe_digest) == ("a1", "b2")
    assert (read.classes, read.cells) == (classes, CELLS[:2])
    assert read.failed == ((CELLS[2], "ValueError: the lamp went out"),)
    assert read.answers.dtype == read.labels.dtype == (np.uint8 if count <= 255 else np.uint16)
    kept = np.delete(np.arange(400), [3, 17])
    np.testing.assert_array_equal(read.indices, kept)
    np.testing.assert_array_equal(read.writers, kept // 4)
    for cell in read.cells:
        np.testing.assert_array_equal(read.right(cell, read.indices), made.row(cell).right)
    np.testing.assert_array_equal(read.answers[1], made.row(CELLS[1]).answered)


def test_right_takes_a_part_of_the_glyphs(tmp_path: Path) -> None:
    made = sheet(np.random.default_rng(2))
    read = read_answers(write_answers(tmp_path / "a", made, glyphs_digest="", recipe_digest=""))
    some = np.array([0, 4, 30])
    expected = made.row("nominal").right[np.searchsorted(read.indices, some)]
    np.testing.assert_array_equal(read.right("nominal", some), expected)


def test_unknown_writers_stay_unknown(tmp_path: Path) -> None:
    made = sheet(np.random.default_rng(1), writers=False)
    path = write_answers(tmp_path / "answers.npz", made, glyphs_digest="", recipe_digest="")
    assert read_answers(path).writers is None


def test_the_same_answers_give_the_same_bytes(tmp_path: Path) -> None:
    first, again = written(tmp_path / "1.npz"), written(tmp_path / "2.npz")
    assert first.read_bytes() == again.read_bytes()
    assert first.read_bytes() != written(tmp_path / "3.npz", seed=6).read_bytes()
    with zipfile.ZipFile(first) as archive:
        assert {member.date_time for member in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_numpy_alone_reads_it_without_pickle(tmp_path: Path) -> None:
    with np.load(written(tmp_path / "answers.npz"), allow_pickle=False) as read:
        assert read["answers"].shape == (2, 38)
        assert read["answers"].dtype == np.uint8
        assert read["classes"].tolist() == list(CLASSES)
        assert str(read["glyphs_digest"]) == "a1"


def test_a_folder_that_is_not_there_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"can't be written(.|\n)*No such file"):
        written(tmp_path / "none" / "answers.npz")


# Hostile and broken files


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9, 0.999])
def test_a_file_cut_short_is_one_clear_error(share: float, tmp_path: Path) -> None:
    path = written(tmp_path / "answers.npz")
    whole = path.read_bytes()
    path.write_bytes(whole[: int(share * len(whole))])
    with pytest.raises(InkdriftError, match=r"answers\.npz: the archive is broken"):
        read_answers(path)


def test_a_file_that_is_not_there_is_one_clear_error(tmp_path: Path) -> None:
    with pytest.raises(InkdriftError, match=r"can't be read(.|\n)*No such file"):
        read_answers(tmp_path / "answers.npz")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(data=st.data())
def test_no_flipped_byte_does_anything_but_an_error_of_ours(
    data: st.DataObject, tmp_path: Path
) -> None:
    path = written(tmp_path / "answers.npz")
    bent = bytearray(path.read_bytes())
    bent[data.draw(st.integers(0, len(bent) - 1))] ^= data.draw(st.integers(1, 255))
    path.write_bytes(bent)
    try:
        read_answers(path)  # a byte of a date, say, changes nothing
    except InkdriftError as error:
        assert str(error).startswith(str(path))


def arrays(path: Path) -> dict[str, NDArray[np.generic]]:
    with np.load(written(path)) as read:
        return dict(read)


# Each a change to what a report writes, and what must be said of it.
CHANGES: dict[str, tuple[Callable[[dict[str, NDArray[np.generic]]], object], str]] = {
    "a class that isn't there": (
        lambda a: a.update(answers=np.full((2, 38), 3, np.uint8)), "answers: .*class 3"),
    "too few answers": (
        lambda a: a.update(answers=a["answers"][:, 1:]), r"answers: .*shape \(2, 37\)"),
    "answers for no cell": (
        lambda a: a.update(answers=a["answers"][:1]), r"answers: .*shape \(1, 38\)"),
    "fractions": (lambda a: a.update(answers=np.zeros((2, 38))), "answers: .*float64"),
    "below zero": (lambda a: a.update(labels=np.full(38, -1)), "labels: .*int64"),
    "glyphs twice": (lambda a: a.update(indices=np.zeros(38, np.int64)), "indices: .*ascending"),
    "no glyphs": (
        lambda a: a.update(
            indices=np.zeros(0, np.int64), labels=np.zeros(0, np.uint8),
            answers=np.zeros((2, 0), np.uint8), writers=np.zeros(0, np.int64)),
        "indices: .*at least one"),
    "a cell twice": (lambda a: a.update(cells=np.array(["x", "x"])), "cells: .*a name twice"),
    "a cell that failed and did not": (
        lambda a: a.update(failed=np.array(["nominal"])), "failed: "),
    "writers of other glyphs": (lambda a: a.update(writers=np.arange(9)), "writers: "),
    "a digest in two": (lambda a: a.update(recipe_digest=np.array(["a", "b"])), "recipe_digest: "),
    "pickle": (lambda a: a.update(cells=np.array([{}, {}], object)), "cells: .*neither numbers"),
    "nothing of a name": (lambda a: a.pop("labels"), "no array 'labels' in it"),
}  # fmt: skip


@pytest.mark.parametrize(("change", "says"), CHANGES.values(), ids=CHANGES)
def test_what_does_not_fit_together_is_named(
    change: Callable[[dict[str, NDArray[np.generic]]], object], says: str, tmp_path: Path
) -> None:
    held = arrays(tmp_path / "answers.npz")
    change(held)
    with zipfile.ZipFile(tmp_path / "bent.npz", "w") as bent:
        for name, array in held.items():
            with bent.open(f"{name}.npy", "w") as member:
                np.lib.format.write_array(member, array)
    with pytest.raises(InkdriftError, match=f"(?s){says}"):
        read_answers(tmp_path / "bent.npz")


def test_a_stated_size_is_not_believed(tmp_path: Path) -> None:
    path = written(tmp_path / "answers.npz")
    with zipfile.ZipFile(tmp_path / "bent.npz", "w") as bent, zipfile.ZipFile(path) as archive:
        for member in archive.infolist():
            body = archive.read(member)
            assert (b"(2, 38)" in body) == (member.filename == "answers.npy")
            bent.writestr(
                member.filename, body.replace(b"(2, 38), }" + b" " * 8, b"(2, 3800000000), }")
            )
    with pytest.raises(InkdriftError, match="isn't as long as its header states"):
        read_answers(tmp_path / "bent.npz")


def test_an_archive_that_unpacks_to_too_much_is_refused_before_it_is_unpacked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = written(tmp_path / "answers.npz")
    monkeypatch.setattr("gen.report.answers_file.MOST_BYTES", 1000)
    with pytest.raises(InkdriftError, match=r"unpacks to more than it may(.|\n)*up to 1,000 bytes"):
        read_answers(path)
