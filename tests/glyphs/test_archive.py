from __future__ import annotations

import gzip
import io
import re
import tempfile
import warnings
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.core.errors import GlyphError
from gen.glyphs import archive
from gen.glyphs.load import load_glyphs

LABELS = np.array([0, 1, 2, 0, 1, 2])


def saved(path: Path, **held: Any) -> Path:
    np.savez_compressed(path, **held)
    return path


@pytest.mark.parametrize(
    ("images", "labels"),
    [
        ("images", "labels"),
        ("x", "y"),
        ("X", "y"),
        ("data", "target"),
        ("x_test", "y_test"),
        ("X_test", "y_test"),
        ("images", "target"),
        ("arr_0", "arr_1"),
        ("test_images", "test_labels"),
    ],
)
def test_pictures_and_labels_are_found_under_their_usual_names(
    tmp_path: Path, tags: np.ndarray, images: str, labels: str
) -> None:
    glyphs = load_glyphs(saved(tmp_path / "tags.npz", **{images: tags, labels: LABELS}))
    np.testing.assert_array_equal(glyphs.images, tags)
    assert glyphs.labels.tolist() == LABELS.tolist()
    assert glyphs.provenance.kind == "npz"


def test_an_archive_is_known_by_content_and_not_by_name(tmp_path: Path, tags: np.ndarray) -> None:
    path = saved(tmp_path / "tags.npz", images=tags, labels=LABELS)
    renamed = path.rename(tmp_path / "tags-idx3-ubyte")
    assert load_glyphs(renamed).provenance.kind == "npz"


def test_the_test_part_is_read_of_an_archive_with_both_and_that_is_said(
    tmp_path: Path, tags: np.ndarray
) -> None:
    path = saved(
        tmp_path / "both.npz", x_train=tags[:2], y_train=LABELS[:2], x_test=tags, y_test=LABELS
    )
    glyphs = load_glyphs(path)
    assert len(glyphs) == 6
    assert (
        "read images from 'x_test', labels from 'y_test'; not read: 'x_train', 'y_train'"
        in glyphs.provenance.notes
    )


def test_class_names_come_from_the_archive(tmp_path: Path, tags: np.ndarray) -> None:
    names = np.array(["pear", "plum", "quince"])
    glyphs = load_glyphs(saved(tmp_path / "tags.npz", images=tags, labels=LABELS, classes=names))
    assert glyphs.classes == ("pear", "plum", "quince")


def test_labels_may_be_names(tmp_path: Path, tags: np.ndarray) -> None:
    words = np.array(["plum", "pear", "plum", "pear", "10", "9"])
    glyphs = load_glyphs(saved(tmp_path / "tags.npz", images=tags, labels=words))
    assert glyphs.classes == ("9", "10", "pear", "plum")
    assert [glyphs.classes[label] for label in glyphs.labels] == words.tolist()


def test_a_label_without_a_class_is_named(tmp_path: Path, tags: np.ndarray) -> None:
    path = saved(tmp_path / "tags.npz", images=tags, labels=LABELS, classes=np.array(["a", "b"]))
    with pytest.raises(
        GlyphError, match=r"the label of picture 2 stands for no class\n.*2\n.*0 to 1"
    ):
        load_glyphs(path)


def test_missing_names_list_what_is_there(tmp_path: Path, tags: np.ndarray) -> None:
    path = saved(tmp_path / "tags.npz", pictures=tags, row=LABELS)
    with pytest.raises(GlyphError, match=r"no pictures under a known name\n.*pictures, row"):
        load_glyphs(path)


def test_an_unlabelled_archive_says_how_to_give_labels(tmp_path: Path, tags: np.ndarray) -> None:
    path = saved(tmp_path / "tags.npz", images=tags)
    with pytest.raises(GlyphError, match=r"no labels\n.*--labels FILE"):
        load_glyphs(path)
    np.save(tmp_path / "labels.npy", LABELS)
    assert load_glyphs(path, labels=tmp_path / "labels.npy").labels.tolist() == LABELS.tolist()


@pytest.mark.parametrize("role", ["images", "labels", "classes"])
def test_pickled_members_are_refused(tmp_path: Path, tags: np.ndarray, role: str) -> None:
    held: dict[str, Any] = {"images": tags, "labels": LABELS, "classes": np.array(["a", "b", "c"])}
    held[role] = np.array([object, "pear"], dtype=object)
    with pytest.raises(GlyphError, match=rf"{role}.npy: needs pickle"):
        load_glyphs(saved(tmp_path / "tags.npz", **held))


def test_a_pickled_member_that_isnt_needed_is_let_be(tmp_path: Path, tags: np.ndarray) -> None:
    held: dict[str, Any] = {"images": tags, "labels": LABELS, "frame": np.array(None)}
    assert len(load_glyphs(saved(tmp_path / "tags.npz", **held))) == 6


def test_not_a_number_is_placed(tmp_path: Path) -> None:
    images = np.zeros((4, 5, 5))
    images[2, 1, 1] = np.nan
    path = saved(tmp_path / "tags.npz", images=images, labels=LABELS[:4])
    with pytest.raises(GlyphError, match="picture 2 holds a value that isn't a finite number"):
        load_glyphs(path)


def test_sizes_over_the_limit_are_refused_before_unpacking(
    tmp_path: Path, tags: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = saved(tmp_path / "bomb.npz", images=np.zeros((100, 100, 100)), labels=LABELS)
    monkeypatch.setattr(archive, "MOST_BYTES", 1_000_000)

    def never(*_: object) -> None:
        raise AssertionError("it was unpacked")

    monkeypatch.setattr(archive, "_member", never)
    with pytest.raises(GlyphError, match=r"unpacks to more than.*\n.*8,000,\d\d\d bytes"):
        load_glyphs(path)


def test_an_array_that_states_a_false_shape_is_refused(tmp_path: Path, tags: np.ndarray) -> None:
    held = io.BytesIO()
    np.save(held, tags)
    false = held.getvalue().replace(b"(6, 7, 5)", b"(9, 9, 9)")
    path = tmp_path / "tags.npz"
    with zipfile.ZipFile(path, "w") as out:
        out.writestr("images.npy", false)
    with pytest.raises(GlyphError, match=r"isn't as long as its header states\n.*210 bytes"):
        load_glyphs(path, labels=LABELS)


def test_fortran_order_and_big_endian_arrays_are_read_alike(
    tmp_path: Path, tags: np.ndarray
) -> None:
    turned = np.asfortranarray(tags.astype(">f4"))
    glyphs = load_glyphs(saved(tmp_path / "tags.npz", images=turned, labels=LABELS))
    np.testing.assert_array_equal(glyphs.images, tags)


def test_a_gzipped_npy_says_to_unpack_it(tmp_path: Path, tags: np.ndarray) -> None:
    held = io.BytesIO()
    np.save(held, tags)
    path = tmp_path / "tags.npy.gz"
    path.write_bytes(gzip.compress(held.getvalue()))
    with pytest.raises(GlyphError, match="gunzip it"):
        load_glyphs(path, labels=LABELS)


def whole_archive() -> bytes:
    held = io.BytesIO()
    np.savez(held, images=np.eye(4, dtype=np.uint8)[None] * 255, labels=np.array([0]))
    return held.getvalue()


ARCHIVE = whole_archive()


@settings(max_examples=300)
@given(
    place=st.integers(0, len(ARCHIVE) - 1), value=st.integers(0, 255), kept=st.integers(4, 10_000)
)
def test_a_damaged_archive_raises_no_other_error(place: int, value: int, kept: int) -> None:
    damaged = bytearray(ARCHIVE)
    damaged[place] = value
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "damaged.npz"
        path.write_bytes(damaged[:kept])
        try:
            load_glyphs(path)
        except GlyphError as error:
            assert str(error).startswith(str(path))


def test_a_flipped_pixel_is_caught_by_the_checksum(tmp_path: Path) -> None:
    place = ARCHIVE.index(bytes([255, 0, 0, 0, 0, 255]))
    damaged = bytearray(ARCHIVE)
    damaged[place] = 1
    path = tmp_path / "damaged.npz"
    path.write_bytes(damaged)
    with pytest.raises(GlyphError, match=re.compile("archive is broken\n.*CRC", re.DOTALL)):
        load_glyphs(path)


def test_an_archive_says_who_wrote_what_by_name_or_number(tmp_path: Path) -> None:
    images = np.zeros((4, 8, 8), np.uint8)
    for who, expected in (
        (np.array(["Una", "Ida", "Una", "Oke"]), [2, 0, 2, 1]),
        (np.array([17, 4, 17, 900]), [17, 4, 17, 900]),
        (np.array([[3.0], [1.0], [3.0], [2.0]]), [3, 1, 3, 2]),
    ):
        np.savez(tmp_path / "tags.npz", images=images, labels=[0, 1, 0, 1], writers=who)
        glyphs = load_glyphs(tmp_path / "tags.npz")
        assert glyphs.writers is not None
        assert glyphs.writers.tolist() == expected
        assert "written by 3 people, as the source says" in glyphs.provenance.notes
        assert glyphs.take(np.array([1, 3])).writers.tolist() == [expected[1], expected[3]]


@pytest.mark.parametrize(
    ("who", "match"),
    [
        (["Una"], r"not as many writers as pictures\n.*4 pictures, 1 writers"),
        ([0.5, 1, 2, 3], "neither names nor whole numbers"),
        (np.zeros((4, 2)), r"one name or number a picture\n.*\(4, 2\)"),
    ],
)
def test_writers_that_cannot_be_are_refused(tmp_path: Path, who: object, match: str) -> None:
    images = np.zeros((4, 8, 8), np.uint8)
    np.savez(tmp_path / "tags.npz", images=images, labels=[0, 1, 0, 1], writers=np.asarray(who))
    with pytest.raises(GlyphError, match=match):
        load_glyphs(tmp_path / "tags.npz")


@pytest.mark.parametrize("order", ["C", "F"])
@pytest.mark.parametrize("suffix", ["npz", "npy"])
def test_a_large_array_is_left_on_disk_and_is_the_same(
    tmp_path: Path, tags: np.ndarray, monkeypatch: pytest.MonkeyPatch, order: Any, suffix: str
) -> None:
    path = tmp_path / f"tags.{suffix}"
    wide = np.asarray(tags, dtype=">i4", order=order)
    if suffix == "npy":
        np.save(path, wide)
    else:
        saved(path, images=wide, labels=LABELS)
    held = load_glyphs(path, labels=LABELS)
    monkeypatch.setattr(archive, "LARGE", 64)
    left = load_glyphs(path, labels=LABELS)
    np.testing.assert_array_equal(left.images, tags)
    assert left.provenance == held.provenance


@pytest.mark.parametrize("large", [False, True])
def test_a_flipped_pixel_of_a_stored_array_is_caught_however_it_is_read(
    tmp_path: Path, tags: np.ndarray, monkeypatch: pytest.MonkeyPatch, large: bool
) -> None:
    path = tmp_path / "tags.npz"
    np.savez(path, images=tags, labels=LABELS)
    raw = path.read_bytes()
    place = raw.index(tags.tobytes())
    path.write_bytes(raw[:place] + b"\x01" + raw[place + 1 :])
    if large:
        monkeypatch.setattr(archive, "LARGE", 64)
    with pytest.raises(GlyphError, match="the archive is broken"):
        load_glyphs(path)


@pytest.mark.parametrize("other", ["X", "y.npy"])
def test_two_arrays_of_one_name_are_refused_since_labels_could_be_mixed_up(
    tmp_path: Path, other: str
) -> None:
    np.savez(tmp_path / "t.npz", x=np.zeros((2, 4, 4)), y=[0, 1])
    held = io.BytesIO()
    np.save(held, np.array([1, 0]))
    with warnings.catch_warnings(), zipfile.ZipFile(tmp_path / "t.npz", "a") as archive:
        warnings.simplefilter("ignore")
        archive.writestr(other if other.endswith(".npy") else f"{other}.npy", held.getvalue())
    with pytest.raises(GlyphError, match=r"two arrays have the same name"):
        load_glyphs(tmp_path / "t.npz")


def test_a_writer_without_a_name_is_not_one_person_more(tmp_path: Path) -> None:
    images = np.zeros((3, 4, 4), np.uint8)
    np.savez(tmp_path / "t.npz", images=images, labels=[0, 1, 0], writers=["Ada", "", ""])
    with pytest.raises(GlyphError, match=r"who wrote picture 1 has no name"):
        load_glyphs(tmp_path / "t.npz")


@pytest.mark.parametrize("classes", [[1, 2, 3], [1, 0]])
def test_numbers_for_class_names_are_refused_where_labels_could_be_them_or_their_places(
    tmp_path: Path, classes: list[int]
) -> None:
    images = np.zeros((2, 4, 4), np.uint8)
    np.savez(tmp_path / "t.npz", images=images, labels=[1, 0], classes=classes)
    with pytest.raises(GlyphError, match=r"labels are these numbers or their places can't be told"):
        load_glyphs(tmp_path / "t.npz")
    np.savez(tmp_path / "t.npz", images=images, labels=[1, 0], classes=[0, 1])
    assert load_glyphs(tmp_path / "t.npz").classes == ("0", "1")


def test_a_header_that_states_to_be_gigabytes_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "tags.npy"
    path.write_bytes(b"\x93NUMPY\x02\x00" + (4_000_000_000).to_bytes(4, "little") + b"{")
    with pytest.raises(GlyphError, match=r"header is longer than any\n.*4,000,000,000 bytes"):
        load_glyphs(path, labels=[0])


def test_names_of_numbers_that_are_no_characters_are_refused(tmp_path: Path) -> None:
    names = np.frombuffer((0x7FFFFFFF).to_bytes(4, "little"), "<U1")
    np.savez(tmp_path / "tags.npz", images=np.eye(8, dtype=np.uint8)[None], labels=names)
    with pytest.raises(GlyphError, match="class names aren't text"):
        load_glyphs(tmp_path / "tags.npz")
