from __future__ import annotations

import gzip
import re
import struct
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from gen.core.errors import GlyphError
from gen.glyphs import idx
from gen.glyphs.idx import label_names, read_idx, read_idx_noted
from gen.glyphs.load import load_glyphs
from gen.glyphs.mapped import mapping_of

WriteIdx = Callable[..., Path]

small = arrays.arrays(np.uint8, arrays.array_shapes(min_dims=1, max_dims=3, max_side=6))


def as_idx(values: np.ndarray) -> bytes:
    sizes = b"".join(int(size).to_bytes(4, "big") for size in values.shape)
    return bytes([0, 0, 8, values.ndim]) + sizes + values.tobytes()


def read_bytes(raw: bytes) -> np.ndarray:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "some-idx"
        path.write_bytes(raw)
        return read_idx(path)


@given(values=small, packed=st.booleans())
def test_what_is_written_as_idx_is_read_back(values: np.ndarray, packed: bool) -> None:
    raw = as_idx(values)
    read = read_bytes(gzip.compress(raw) if packed else raw)
    assert read.dtype == np.uint8
    np.testing.assert_array_equal(read, values)


@given(values=small, packed=st.booleans(), data=st.data())
def test_every_truncation_is_refused(values: np.ndarray, packed: bool, data: st.DataObject) -> None:
    raw = gzip.compress(as_idx(values)) if packed else as_idx(values)
    kept = data.draw(st.integers(0, len(raw) - 1))
    with pytest.raises(GlyphError, match=r"early|too short|ends within|can hold"):
        read_bytes(raw[:kept])


@given(values=small, extra=st.binary(min_size=1, max_size=40), packed=st.booleans())
def test_every_extension_is_refused(values: np.ndarray, extra: bytes, packed: bool) -> None:
    raw = as_idx(values) + extra
    with pytest.raises(GlyphError, match="goes on"):
        read_bytes(gzip.compress(raw) if packed else raw)


MAGICS = [b"", b"\0\0\x08\x03", b"PK\x03\x04", b"\x93NUMPY\x01\0", b"\x1f\x8b\x08\0", b"\x89PNG"]


@settings(max_examples=300)
@given(head=st.sampled_from(MAGICS), rest=st.binary(max_size=200))
def test_random_bytes_raise_no_other_error(head: bytes, rest: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "random"
        path.write_bytes(head + rest)
        try:
            glyphs = load_glyphs(path, labels=[0])
        except GlyphError:
            return
        assert len(glyphs) == 1


def test_three_missing_bytes_are_counted_and_explained(
    write_idx: WriteIdx, tags: np.ndarray
) -> None:
    path = write_idx("tags-idx3", tags, cut=3)
    expected = (
        f"{path}: the file ends early: 3 bytes short of what its header states\n"
        "  got       207 bytes after the header\n"
        "  allowed   6 x 7 x 5 = 210 bytes\n"
        "  try       a few bytes were lost, as when a header of 15 is written or cut for one of 16"
    )
    with pytest.raises(GlyphError, match=f"^{re.escape(expected)}$"):
        read_idx(path)


@pytest.mark.parametrize(
    ("extra", "cut", "hint"),
    [
        (b"", 70, "the last 2 of 6 pictures are missing"),
        (b"", 100, "cut short"),
        (b"\0" * 16, 0, "16 bytes are one header"),
        (b"\n", 0, "a line end was added"),
        (b"\0" * 105, 0, "3 more pictures than the header counts"),
        (b"abc", 0, "something was appended"),
    ],
)
def test_a_wrong_size_says_what_it_often_means(
    write_idx: WriteIdx, tags: np.ndarray, extra: bytes, cut: int, hint: str
) -> None:
    with pytest.raises(GlyphError, match=hint):
        read_idx(write_idx("tags-idx3", tags, extra=extra, cut=cut))


@pytest.mark.parametrize(
    ("magic", "fact"),
    [
        ("00080300", "15 bytes of header were kept of 16"),
        ("05080000", "wrong magic number"),
        ("12345678", "wrong magic number"),
        ("00000a03", "wrong magic number"),
        ("00000800", "wrong magic number"),
    ],
)
def test_a_wrong_magic_number_is_shown_and_explained(tmp_path: Path, magic: str, fact: str) -> None:
    path = tmp_path / "tags-idx3-ubyte"
    path.write_bytes(bytes.fromhex(magic) + bytes(40))
    with pytest.raises(GlyphError, match=fact):
        load_glyphs(path)


# Type codes: the MNIST page, "The IDX file format".
TYPES = {0x08: "u1", 0x09: "i1", 0x0B: "i2", 0x0C: "i4", 0x0D: "f4", 0x0E: "f8"}


def typed(values: np.ndarray, kind: int, order: str = ">", header: str = ">") -> bytes:
    """IDX of any type, by struct: nothing of the package's own."""
    magic = struct.pack(f"{header}I", kind << 8 | values.ndim)
    sizes = struct.pack(f"{header}{values.ndim}I", *values.shape)
    return magic + sizes + values.astype(order + TYPES[kind]).tobytes()


def full_of(kind: int) -> int:
    """What stands for full ink; a signed byte can't be more than 127."""
    return 127 if kind == 0x09 else 255


@pytest.mark.parametrize("kind", TYPES)
@pytest.mark.parametrize("packed", [False, True])
def test_every_type_of_the_format_is_read(tmp_path: Path, kind: int, packed: bool) -> None:
    values = np.arange(60).reshape(5, 4, 3) * 2
    raw = typed(values, kind)
    (tmp_path / "tags").write_bytes(gzip.compress(raw) if packed else raw)
    read, notes = read_idx_noted(tmp_path / "tags")
    np.testing.assert_array_equal(read, values)
    assert (read.dtype.kind, notes) == (TYPES[kind][0], ())
    glyphs = load_glyphs(tmp_path / "tags", labels=[0] * 5, ink="bright")
    np.testing.assert_array_equal(glyphs.images, np.rint(values * 255 / full_of(kind)))
    assert glyphs.provenance.values == f"0..{full_of(kind)}"


@pytest.mark.parametrize("kind", TYPES)
def test_a_large_file_of_any_type_is_left_on_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: int
) -> None:
    monkeypatch.setattr(idx, "LARGE", 8)
    for name, pack in (("plain", bytes), ("packed", gzip.compress)):
        (tmp_path / name).write_bytes(pack(typed(np.arange(60).reshape(5, 4, 3), kind)))
        read = read_idx(tmp_path / name)
        assert mapping_of(read) is not None
        np.testing.assert_array_equal(read, np.arange(60).reshape(5, 4, 3))


@pytest.mark.parametrize("kind", TYPES)
def test_a_file_written_least_byte_first_is_recognised_and_said(tmp_path: Path, kind: int) -> None:
    values = np.arange(60).reshape(5, 4, 3)
    (tmp_path / "tags").write_bytes(typed(values, kind, "<", "<"))
    (tmp_path / "labels").write_bytes(typed(np.array([0, 1, 2, 1, 0]), kind, "<", "<"))
    glyphs = load_glyphs(tmp_path / "tags", labels=tmp_path / "labels", ink="bright")
    np.testing.assert_array_equal(glyphs.images, np.rint(values * 255 / full_of(kind)))
    assert glyphs.labels.tolist() == [0, 1, 2, 1, 0]
    said = [note for note in glyphs.provenance.notes if "header written least byte first" in note]
    assert len(said) == 2


@pytest.mark.parametrize("kind", [0x0B, 0x0C, 0x0D, 0x0E])
@pytest.mark.parametrize("scale", [1, 255])
def test_numbers_alone_written_least_byte_first_are_recognised_and_said(
    tmp_path: Path, kind: int, scale: int
) -> None:
    values = np.linspace(0, 1, 60).reshape(5, 4, 3) * scale
    (tmp_path / "tags").write_bytes(typed(values, kind, "<", ">"))
    read, notes = read_idx_noted(tmp_path / "tags")
    np.testing.assert_array_equal(read, values.astype(TYPES[kind]))
    assert notes == ("numbers written least byte first, against the format, and read so",)


@pytest.mark.parametrize("kind", [0x0B, 0x0C])
def test_ink_of_full_darkness_alone_is_not_taken_for_negative(tmp_path: Path, kind: int) -> None:
    # 255 with its bytes the other way round is -256 of two bytes.
    values = np.array([[[0, 255], [255, 0]]])
    (tmp_path / "tags").write_bytes(typed(values, kind, "<", ">"))
    np.testing.assert_array_equal(read_idx_noted(tmp_path / "tags")[0], values)


@pytest.mark.parametrize("kind", ["f4", "f8", "i2", "i4"])
def test_a_header_turned_round_before_numbers_that_are_not_is_read_and_said(
    tmp_path: Path, kind: str
) -> None:
    code = {"f4": 13, "f8": 14, "i2": 11, "i4": 12}[kind]
    values = np.array([[[0, 200], [3, 0]]], f">{kind}")
    header = bytes([3, code, 0, 0]) + np.array(values.shape, "<u4").tobytes()
    (tmp_path / "some-idx").write_bytes(header + values.tobytes())
    got, notes = read_idx_noted(tmp_path / "some-idx")
    np.testing.assert_array_equal(got, values)
    assert len(notes) == 2
    assert "most byte first all the same" in notes[1]


def test_signed_bytes_that_have_wrapped_are_explained(tmp_path: Path) -> None:
    path = tmp_path / "tags"
    path.write_bytes(typed(np.array([[[-1, 0], [100, 3]]]), 0x09))
    with pytest.raises(GlyphError, match=r"values are negative\n.*\n.*\n.*have wrapped"):
        load_glyphs(path, labels=[0])


def test_a_short_file_of_wide_numbers_says_how_many_pictures_it_lacks(tmp_path: Path) -> None:
    path = tmp_path / "tags"
    path.write_bytes(typed(np.zeros((5, 4, 3)), 0x0E)[: -2 * 4 * 3 * 8])
    said = r"192 bytes short.*\n.*\n.*5 x 4 x 3 x 8 = 480 bytes\n.*last 2 of 5 pictures"
    with pytest.raises(GlyphError, match=said):
        read_idx(path)


def test_a_dimension_of_zero_is_refused(write_idx: WriteIdx) -> None:
    path = write_idx("none-idx3", np.zeros((0, 28, 28), dtype=np.uint8))
    with pytest.raises(GlyphError, match=r"a dimension is zero.*\n.*\(0, 28, 28\)"):
        read_idx(path)


def test_five_dimensions_are_refused(write_idx: WriteIdx) -> None:
    with pytest.raises(GlyphError, match="too many dimensions"):
        read_idx(write_idx("deep-idx5", np.zeros((1, 1, 1, 1, 1), dtype=np.uint8)))


@pytest.mark.parametrize("packed", [False, True])
def test_a_header_that_asks_for_terabytes_is_refused_without_reading(
    tmp_path: Path, packed: bool
) -> None:
    raw = b"\0\0\x08\x03" + b"\xff" * 12 + bytes(100)
    path = tmp_path / "absurd"
    path.write_bytes(gzip.compress(raw) if packed else raw)
    with pytest.raises(GlyphError, match="asks for more than the file can hold"):
        read_idx(path)


def test_a_gzipped_header_may_not_ask_for_more_than_gzip_can_pack(tmp_path: Path) -> None:
    # Deflate packs at most 1032 to 1 (zlib, "Technical Details"): 1 GB needs a megabyte.
    path = tmp_path / "absurd.gz"
    path.write_bytes(gzip.compress(b"\0\0\x08\x01" + (10**9).to_bytes(4, "big") + bytes(100)))
    with pytest.raises(GlyphError, match="asks for more than the file can hold"):
        read_idx(path)


def test_what_gzip_packs_best_is_still_read(tmp_path: Path) -> None:
    blank = np.zeros((4000, 28, 28), dtype=np.uint8)
    path = tmp_path / "blank.gz"
    path.write_bytes(gzip.compress(as_idx(blank)))
    assert path.stat().st_size * 900 < blank.size
    np.testing.assert_array_equal(read_idx(path), blank)


def test_a_gzip_bomb_is_read_no_further_than_one_byte_past_its_header(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "bomb.gz"
    bomb = b"\0\0\x08\x01" + (1000).to_bytes(4, "big") + bytes(50_000_000)
    path.write_bytes(gzip.compress(bomb))
    asked: list[int] = []
    honest = gzip.GzipFile.read

    def counted(self: gzip.GzipFile, size: int | None = -1) -> bytes:
        asked.append(-1 if size is None else size)
        return honest(self, size)

    monkeypatch.setattr(gzip.GzipFile, "read", counted)
    with pytest.raises(GlyphError, match="goes on after the end"):
        read_idx(path)
    assert min(asked) >= 0
    assert sum(asked) == 8 + 1001


def test_a_corrupt_gzip_stream_is_refused(tmp_path: Path, tags: np.ndarray) -> None:
    raw = bytearray(gzip.compress(as_idx(tags)))
    raw[-6] ^= 0xFF  # within the checksum
    path = tmp_path / "tags.gz"
    path.write_bytes(raw)
    with pytest.raises(GlyphError, match="gzip stream is corrupt"):
        read_idx(path)


@pytest.mark.parametrize(
    ("images", "labels"),
    [
        ("t10k-images-idx3-ubyte", "t10k-labels-idx1-ubyte"),
        ("t10k-images-idx3-ubyte.gz", "t10k-labels-idx1-ubyte.gz"),
        ("t10k-images-idx3-ubyte.gz", "t10k-labels-idx1-ubyte"),
        ("t10k-images-idx3-ubyte", "t10k-labels-idx1-ubyte.gz"),
        ("t10k-images.idx3-ubyte", "t10k-labels.idx1-ubyte"),
        ("images.idx", "labels.idx"),
        ("shed.idx3", "shed.idx1"),
    ],
)
def test_labels_are_found_beside_the_images(
    tmp_path: Path, tags: np.ndarray, images: str, labels: str
) -> None:
    numbers = np.array([3, 1, 4, 1, 5, 2], dtype=np.uint8)
    for name, values in ((images, tags), (labels, numbers)):
        raw = as_idx(values)
        (tmp_path / name).write_bytes(gzip.compress(raw) if name.endswith(".gz") else raw)
    glyphs = load_glyphs(tmp_path / images)
    assert glyphs.labels.tolist() == numbers.tolist()
    assert f"labels found beside it: {labels}" in glyphs.provenance.notes


def test_no_file_is_taken_for_its_own_labels() -> None:
    for name in ("tags.idx", "tags.gz", "tags", "labels.idx", "a.idx3"):
        assert Path(name) not in label_names(Path(name))
        assert Path(f"{name}.gz") not in label_names(Path(name))
