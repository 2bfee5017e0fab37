"""Tables: what is found out is stated, and what can't be is asked for."""

from __future__ import annotations

import gzip
import resource
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs import mapped, pile
from gen.glyphs.base import RasterGlyphs
from gen.glyphs.load import load_glyphs

LABELS = [3, 1, 4, 1, 5, 2, 0]
NEAR_BYTE = 1  # a value of 0..1 written with three digits may round to the next byte


@pytest.fixture
def marks() -> np.ndarray:
    """Seven pictures of 6 x 6 px with bright ink, bare at the edge."""
    rng = np.random.default_rng(3)
    images = np.zeros((7, 6, 6), np.uint8)
    images[:, 1:5, 1:5] = rng.integers(0, 256, (7, 4, 4))
    images[:, 2, 2] = 255
    return images


def rows(
    images: np.ndarray, labels: list[object] | None, *, place: str = "first", by: str = ","
) -> list[str]:
    made = []
    for number, image in enumerate(images):
        fields = [str(value) for value in image.reshape(-1)]
        if labels is not None:
            fields.insert(0 if place == "first" else len(fields), str(labels[number]))
        made.append(by.join(fields))
    return made


def table(path: Path, lines: list[str], end: str = "\n") -> Path:
    path.write_text(end.join(lines) + end, "utf-8", newline="")
    return path


def only_note(glyphs: RasterGlyphs) -> str:
    return glyphs.provenance.notes[0]


@pytest.mark.parametrize("place", ["first", "last"])
@pytest.mark.parametrize("by", [",", ";", "\t", " "])
def test_a_table_is_read_whichever_way_it_is_parted_and_says_where_labels_are(
    tmp_path: Path, marks: np.ndarray, place: str, by: str
) -> None:
    lines = rows(marks, list(LABELS), place=place, by=by)
    glyphs = load_glyphs(table(tmp_path / "tags.csv", lines))
    np.testing.assert_array_equal(glyphs.images, marks)
    assert glyphs.labels.tolist() == LABELS
    assert only_note(glyphs).endswith(
        f"no header, label {place}, as it varies over whole numbers and the other end does not"
    )
    assert "rows of 36 values understood as 6 x 6 px" in glyphs.provenance.notes
    assert (glyphs.provenance.kind, glyphs.provenance.values) == ("table", "0..255")


@pytest.mark.parametrize(
    ("header", "found"),
    [
        ("label," + ",".join(f"pixel{n}" for n in range(36)), "label first, as named"),
        ("# made in the shed", "label first, as it varies"),
        (",".join(str(n) for n in range(37)), "label first, as it varies"),
        ("digit," + ",".join(str(n) for n in range(36)), "label first, as named"),
    ],
)
def test_a_header_is_passed_over_and_said(
    tmp_path: Path, marks: np.ndarray, header: str, found: str
) -> None:
    glyphs = load_glyphs(table(tmp_path / "t.csv", [header, *rows(marks, list(LABELS))]))
    assert len(glyphs) == 7
    assert f"1 line of header, {found}" in only_note(glyphs)


def test_names_are_labels_wherever_they_stand(tmp_path: Path, marks: np.ndarray) -> None:
    names = ["pear", "plum", "fig", "pear", "fig", "plum", "pear"]
    for place in ("first", "last"):
        path = table(tmp_path / "t.csv", rows(marks, list(names), place=place))
        glyphs = load_glyphs(path)
        assert glyphs.classes == ("fig", "pear", "plum")
        assert glyphs.labels.tolist() == [1, 2, 0, 1, 0, 2, 1]
        assert f"label {place}, as it holds names" in only_note(glyphs)


def test_quotes_bom_line_ends_and_blank_lines_of_a_spreadsheet_do_no_harm(
    tmp_path: Path, marks: np.ndarray
) -> None:
    lines = [",".join(f'"{field}"' for field in line.split(",")) for line in rows(marks, [*LABELS])]
    lines[0] = "\ufeff" + lines[0]
    lines[3:3] = ["", "  "]
    glyphs = load_glyphs(table(tmp_path / "t.csv", lines, "\r\n"))
    np.testing.assert_array_equal(glyphs.images, marks)
    assert glyphs.labels.tolist() == LABELS


def test_a_quoted_name_may_hold_the_separator(tmp_path: Path, marks: np.ndarray) -> None:
    names = ['"pear, ripe"', "plum"] * 3 + ["plum"]
    glyphs = load_glyphs(table(tmp_path / "t.csv", rows(marks, list(names), place="last")))
    assert glyphs.classes == ("pear, ripe", "plum")


def test_decimal_commas_are_read_and_said(tmp_path: Path, marks: np.ndarray) -> None:
    shares = np.char.replace(np.char.mod("%.3f", marks / 255.0), ".", ",")
    glyphs = load_glyphs(table(tmp_path / "t.csv", rows(shares, list(LABELS), by=";")))
    assert np.abs(glyphs.images.astype(int) - marks).max() <= NEAR_BYTE
    assert "semicolons, decimal commas" in only_note(glyphs)
    assert glyphs.provenance.values == "0..1"


def test_a_gzipped_table_is_the_same(tmp_path: Path, marks: np.ndarray) -> None:
    plain = table(tmp_path / "t.csv", rows(marks, list(LABELS)))
    (tmp_path / "t.csv.gz").write_bytes(gzip.compress(plain.read_bytes()))
    packed = load_glyphs(tmp_path / "t.csv.gz")
    assert packed.provenance.digest == load_glyphs(plain).provenance.digest


def test_a_table_is_known_by_its_look_without_its_name(tmp_path: Path, marks: np.ndarray) -> None:
    assert len(load_glyphs(table(tmp_path / "tags.data", rows(marks, list(LABELS))))) == 7


def test_pictures_that_are_not_square_need_their_frame_stated(
    tmp_path: Path, marks: np.ndarray
) -> None:
    path = table(tmp_path / "t.csv", rows(marks[:, :5], list(LABELS)))
    assert load_glyphs(path, frame=(5, 6)).frame == (5, 6)
    with pytest.raises(
        GlyphError, match=r"don't make a picture.*\n.*31 columns\n.*\n.*--frame HxW"
    ):
        load_glyphs(path)
    with pytest.raises(GlyphError, match=r"31 columns\n.*6 x 5 = 30|31 columns\n.*4 x 6 = 24"):
        load_glyphs(path, frame=(4, 6))


def test_a_named_column_of_labels_is_never_taken_for_a_pixel(
    tmp_path: Path, marks: np.ndarray
) -> None:
    # 6 x 4 px and a label are 25 columns, which would be 5 x 5.
    narrow = rows(marks[:, :, 1:5], list(LABELS))
    header = "label," + ",".join(f"p{n}" for n in range(24))
    with pytest.raises(GlyphError, match=r"t\.csv:2: .*one of them being that of labels"):
        load_glyphs(table(tmp_path / "t.csv", [header, *narrow]))
    with pytest.raises(GlyphError, match="the pictures have no labels"):
        load_glyphs(table(tmp_path / "u.csv", narrow))


@pytest.mark.parametrize("both", [0, 200])
def test_a_label_that_could_be_at_either_end_is_asked_for_and_not_guessed(
    tmp_path: Path, marks: np.ndarray, both: int
) -> None:
    marks[::2, -1, -1] = both
    labels = LABELS if both else [7] * 7
    path = table(tmp_path / "t.csv", rows(marks, list(labels)))
    with pytest.raises(GlyphError, match=r"first or last can't be told\n.*37 columns"):
        load_glyphs(path)
    told = load_glyphs(path, labels="first")
    assert told.labels.tolist() == labels
    assert "label first, as told" in only_note(told)
    np.testing.assert_array_equal(told.images, marks)


def test_labels_of_a_table_may_be_in_a_file_of_their_own(tmp_path: Path, marks: np.ndarray) -> None:
    path = table(tmp_path / "t.csv", rows(marks, None))
    names = ["label", "a", "b", "a", "b", "a", "b", "b"]
    glyphs = load_glyphs(path, labels=table(tmp_path / "names.txt", names))
    assert glyphs.labels.tolist() == [0, 1, 0, 1, 0, 1, 1]
    assert any("without its header 'label'" in note for note in glyphs.provenance.notes)
    assert "no column of labels" in only_note(glyphs)


@pytest.mark.parametrize(
    ("line", "match"),
    [
        ("3," + ",".join(["0"] * 35), r"t\.csv:4: the row isn't as long.*\n.*36 columns\n.*37 col"),
        ("3," + ",".join(["0"] * 37), r"t\.csv:4: the row isn't as long.*\n.*38 columns\n.*37 col"),
        ("3," + ",".join(["0"] * 35 + ["x"]), r"t\.csv:4: column 37 holds no number\n.*'x'"),
        ("3," + ",".join(["0"] * 35 + [""]), r"t\.csv:4: column 37 holds no number\n.*''"),
        ("3," + ",".join(["0"] * 35 + ["1_0"]), r"t\.csv:4: column 37 holds no number"),
        ("3," + ",".join(["0"] * 35 + ["nan"]), r"picture 2 holds a value that isn't a finite"),
        ("3," + ",".join(["0"] * 35 + ["-9"]), r"values are negative\n.*-9 to 255"),
        ("300," + ",".join(["0"] * 36), r"the label of picture 2 stands for no class\n.*300"),
        ("3," + ",".join(["0"] * 35 + ["\0"]), r"t\.csv:4: this is no text"),
    ],
    ids=["short", "long", "word", "empty", "underline", "nan", "negative", "label", "zero byte"],
)
def test_a_row_that_cannot_be_is_named_by_its_line(
    tmp_path: Path, marks: np.ndarray, line: str, match: str
) -> None:
    lines = rows(marks, list(LABELS))
    lines[2:2] = ["", line]  # blank lines count: the bad one is the fourth
    with pytest.raises(GlyphError, match=match):
        load_glyphs(table(tmp_path / "t.csv", lines), labels="first")


@pytest.mark.parametrize(
    ("raw", "match"),
    [
        (b"", "the file is empty"),
        (b"\n \n\n", "the file is empty"),
        ("7,0,0,0,1\n".encode("utf-16"), "the text is UTF-16"),
        (b"7,0,0,0,1\n7,0,0,0,\xff\n", r"t\.csv:2: the text isn't UTF-8"),
        (b"label,pixel\n1,0\n", r"t\.csv:1: no row of numbers"),
        (b"picked in the rain\n", r"t\.csv:1: no row of numbers"),
        (b"\x89PNG\r\n\x1a\n" + bytes(20), r"one picture has no label\n.*PNG"),
        (b"[[0, 1, 2, 3], [0, 1, 2, 3]]", r"holds no number|no row|don't make a picture"),
    ],
)
def test_what_is_no_table_of_pictures_says_so(tmp_path: Path, raw: bytes, match: str) -> None:
    (tmp_path / "t.csv").write_bytes(raw)
    with pytest.raises(GlyphError, match=match):
        load_glyphs(tmp_path / "t.csv")


def test_bytes_become_fractions_where_the_first_fraction_comes_and_files_take_what_is_large(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(pile, "LARGE", 40)
    gathered = pile.Pile(3)
    parts = [np.array([[1, 2, 3]] * 5, np.uint8), np.array([[4, 5, 6]] * 10, np.uint8)]
    for part in parts:
        gathered.add(part)
    assert mapped.mapping_of(gathered.whole()) is not None
    gathered = pile.Pile(3)
    for part in (*parts, np.array([[0.5, 0, 0]]), np.array([[7, 8, 9]], np.uint8)):
        gathered.add(part)
    whole = gathered.whole()
    assert whole.dtype == np.float32
    expected = np.concatenate([*parts, [[0.5, 0, 0]], [[7, 8, 9]]])
    np.testing.assert_array_equal(whole, expected)


@pytest.mark.parametrize("place", ["first", "last"])
@pytest.mark.parametrize("noisy", [False, True])
def test_a_corner_that_varies_is_not_taken_for_the_label_of_a_table_sorted_by_labels(
    tmp_path: Path, place: str, noisy: bool
) -> None:
    rng = np.random.default_rng(8)
    images = rng.integers(0, 256, (700, 5, 5))
    if not noisy:
        images[:, 0] = images[:, -1] = 0
        images[::30, (0, -1), (0, -1)] = 9
    labels: list[object] = [number // 650 for number in range(700)]
    path = table(tmp_path / "tags.csv", rows(images, labels, place=place))
    with pytest.raises(GlyphError, match=r"whether the label comes first or last can't be told"):
        load_glyphs(path)
    assert load_glyphs(path, labels=place).labels.tolist() == labels


def test_an_end_that_is_constant_at_first_and_varies_later_takes_the_guess_back(
    tmp_path: Path,
) -> None:
    images = np.zeros((900, 5, 5), int)
    images[:, 2, 2] = 200
    images[800:, -1, -1] = 7
    path = table(tmp_path / "tags.csv", rows(images, [n % 3 for n in range(900)]))
    with pytest.raises(GlyphError, match=r"tags\.csv:801: whether the label comes first or last"):
        load_glyphs(path)


@pytest.mark.parametrize("header", [None, "id," + ",".join(f"p{n}" for n in range(36))])
def test_a_column_that_counts_rows_or_is_named_otherwise_is_not_taken_for_the_label(
    tmp_path: Path, marks: np.ndarray, header: str | None
) -> None:
    numbers: list[object] = list(range(7)) if header is None else list(LABELS)
    lines = [*([header] if header else []), *rows(marks, numbers)]
    with pytest.raises(GlyphError, match=r"whether the label comes first or last can't be told"):
        load_glyphs(table(tmp_path / "tags.csv", lines))


def test_a_pixel_that_is_missing_does_not_make_its_column_the_labels(
    tmp_path: Path, marks: np.ndarray
) -> None:
    lines = rows(marks, list(LABELS))
    lines[3] = lines[3].rpartition(",")[0] + ",NA"
    with pytest.raises(GlyphError, match=r"tags\.csv:4: column 37 holds no number"):
        load_glyphs(table(tmp_path / "tags.csv", lines))


def test_01_and_1_are_two_classes_where_both_come(tmp_path: Path, marks: np.ndarray) -> None:
    lines = rows(marks, ["01", "1", "7", "01", "1", "7", "7"])
    glyphs = load_glyphs(table(tmp_path / "tags.csv", lines), labels="first")
    assert glyphs.classes == ("01", "1", "7")
    assert glyphs.labels.tolist() == [0, 1, 2, 0, 1, 2, 2]


def test_a_table_with_idx_in_its_name_is_a_table(tmp_path: Path, marks: np.ndarray) -> None:
    path = table(tmp_path / "tags_idx.csv", rows(marks, list(LABELS)))
    assert load_glyphs(path).labels.tolist() == LABELS


@pytest.mark.parametrize("between", [";", " "])
def test_a_file_of_labels_that_also_counts_the_pictures_is_refused(
    tmp_path: Path, marks: np.ndarray, between: str
) -> None:
    path = table(tmp_path / "labels", [f"{at}{between}{of}" for at, of in enumerate(LABELS)])
    with pytest.raises(GlyphError, match=r"labels:1: labels must be one a line"):
        load_glyphs(marks, labels=path)


def test_quotes_in_a_label_are_those_of_csv(tmp_path: Path, marks: np.ndarray) -> None:
    path = table(tmp_path / "labels", ['"a ""x"""', *"bcbcbc"])
    assert load_glyphs(marks, labels=path).classes == ('a "x"', "b", "c")


# 4 MiB of text and its numbers, and 64 MiB of rows before they go to disk; seen 185 MiB over
# the import, and 188 for four times the rows.
TABLE_MIB = 256


def test_a_gzip_bomb_of_rows_is_read_in_little_memory_or_refused(tmp_path: Path) -> None:
    row = b"1," + b"0," * 783 + b"9\n"
    with gzip.open(tmp_path / "bomb.csv.gz", "wb", compresslevel=1) as packed:
        for _ in range(400):
            packed.write(row * 256)  # 160 MB of text, 80 MB of pixels
    script = (
        "import resource, sys; from gen.glyphs.load import load_glyphs;"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss;"
        "n = len(load_glyphs(sys.argv[1], labels='last'));"
        "print(n, (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "bomb.csv.gz")],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).resolve().parents[2],
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (2 << 30, 2 << 30)),
    )
    count, mib = map(int, done.stdout.split())
    assert count == 102_400
    assert mib < TABLE_MIB


def test_one_endless_line_is_refused_before_it_fills_the_memory(tmp_path: Path) -> None:
    with gzip.open(tmp_path / "line.csv.gz", "wb", compresslevel=1) as packed:
        for _ in range(40):
            packed.write(b"0," * (1 << 20))
    with pytest.raises(GlyphError, match=r"line\.csv\.gz:1: the line is longer than a picture"):
        load_glyphs(tmp_path / "line.csv.gz")
