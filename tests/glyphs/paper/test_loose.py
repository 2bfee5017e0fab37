"""Loose marks: found, put together, ordered, and named through a table."""

from __future__ import annotations

import csv
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from gen.core.errors import GlyphError, OutputError
from gen.glyphs.paper.loose import find_marks
from gen.glyphs.paper.loose_set import cut_loose, label_loose
from gen.glyphs.paper.reading_order import reading_order
from gen.glyphs.strokes import write_strokes
from gen.render.coverage import draw
from tests.glyphs.paper.conftest import Save

Grey = NDArray[np.uint8]
CLASSES = "ACKMNOSU"  # written without lifting far: one piece each, or pieces that touch
SIDE, ROWS, COLUMNS = 90, 5, 8


def page_of_marks(slope_deg: float = 0.0, shadow: float = 0.4) -> tuple[Grey, Grey, NDArray]:
    """Marks in lines on shaded, noisy paper; the ink of each, and where its frame is."""
    rng = np.random.default_rng(5)
    glyphs = write_strokes(classes=CLASSES, count=ROWS * COLUMNS, frame=(SIDE, SIDE), seed=2)
    images = draw(glyphs.strokes(np.arange(len(glyphs))), (SIDE, SIDE))
    ink = np.zeros((1300, 1500))
    places = []
    for index, image in enumerate(images):
        row, column = divmod(index, COLUMNS)
        x = 110 + column * 160 + int(rng.integers(-15, 16))
        y = 200 + row * 190 + int(rng.integers(-8, 9) + np.tan(np.deg2rad(slope_deg)) * x)
        places.append((y, x))
        ink[y : y + SIDE, x : x + SIDE] = np.maximum(ink[y : y + SIDE, x : x + SIDE], image)
    light = 220 * (1 - shadow * np.linspace(0, 1, 1500))
    seen = light * (1 - 0.8 * ink / 255) + rng.normal(0, 2.5, ink.shape)
    return np.clip(np.round(seen), 0, 255).astype(np.uint8), images, np.array(places)


@pytest.mark.parametrize("slope_deg", [0.0, 4.0, -5.0])
def test_marks_come_in_reading_order_and_where_they_are(slope_deg: float) -> None:
    grey, images, places = page_of_marks(slope_deg)
    found = find_marks("photo", grey)
    assert len(found.marks) == len(images)
    assert [mark.line for mark in found.marks] == np.repeat(range(1, ROWS + 1), COLUMNS).tolist()
    for mark, image, (y, x) in zip(found.marks, images, places, strict=True):
        rows, columns = np.nonzero(image > 128)
        assert abs(mark.top - (y + rows.min())) <= 2
        assert abs(mark.left - (x + columns.min())) <= 2
        assert abs(mark.height - np.ptp(rows)) <= 4
        share = mark.ink.sum() / (0.8 * image.sum())
        assert abs(share - 1) < 0.05


def drawn(*strokes: tuple[tuple[int, int], tuple[int, int]]) -> Grey:
    page = np.full((600, 800), 230, np.uint8)
    for start, end in strokes:
        cv2.line(page, start, end, 40, 6, cv2.LINE_AA)
    return page


def test_a_dot_belongs_to_the_mark_that_is_nearest_to_it() -> None:
    stems = [((x, 200), (x, 260)) for x in (200, 300, 400)]
    dots = [((x, 175), (x, 176)) for x in (200, 300)]
    found = find_marks("photo", drawn(*stems, *dots))
    assert [(mark.left // 100, mark.height > 80) for mark in found.marks] == [
        (1, True),
        (2, True),
        (3, False),
    ]


def test_a_dot_that_is_far_from_all_marks_is_a_mark() -> None:
    stems = [((x, 200), (x, 260)) for x in (200, 300)]
    found = find_marks("photo", drawn(*stems, ((500, 230), (500, 231))))
    assert len(found.marks) == 3


@pytest.mark.parametrize(("gap_px", "marks"), [(4, 1), (30, 2)])
def test_an_interrupted_stroke_is_one_mark_and_two_strokes_are_two(gap_px: int, marks: int) -> None:
    # Round ends reach 3 px farther than the points.
    pieces = (((200, 100), (200, 160)), ((200, 166 + gap_px), (200, 230)))
    other = ((400, 100), (400, 170))
    assert len(find_marks("photo", drawn(*pieces, other)).marks) == marks + 1


STEMS = [((x, 200), (x, 290)) for x in (100, 160, 220)]
UNDER = [((300, 230), (370, 232)), ((303, 262), (368, 259))]
SIGNS = {
    "an equals sign": (UNDER, 1),
    "three bars": ([*UNDER, ((300, 288), (372, 290))], 1),
    "a sign of division": ([UNDER[0], ((335, 205), (335, 206)), ((335, 257), (335, 258))], 1),
    "a colon": ([((335, 225), (335, 226)), ((335, 262), (335, 263))], 1),
    "a mark of exclamation": ([((335, 200), (335, 260)), ((335, 284), (335, 285))], 1),
    "two lines of minus signs": ([UNDER[0], ((300, 300), (370, 300))], 2),
    "bars of unlike length": ([((290, 230), (420, 230)), ((330, 258), (380, 258))], 2),
    "bars side by side": ([UNDER[0], ((392, 235), (450, 235))], 2),
    "a bar over a stem": ([UNDER[0], ((335, 258), (335, 320))], 2),
    "full stops in two lines": ([((335, 225), (335, 226)), ((335, 320), (335, 321))], 2),
    "two stops in a row": ([((335, 285), (335, 286)), ((385, 285), (385, 286))], 2),
}


@pytest.mark.parametrize("what", SIGNS)
def test_signs_of_several_strokes_one_above_the_other_are_one_mark(what: str) -> None:
    strokes, marks = SIGNS[what]
    assert len(find_marks("photo", drawn(*STEMS, *strokes)).marks) == len(STEMS) + marks


def test_specks_and_what_is_cut_or_too_large_is_left_out_and_counted() -> None:
    page = drawn(((200, 200), (200, 260)), ((300, 200), (340, 260)), ((0, 300), (60, 330)))
    cv2.line(page, (20, 500), (780, 500), 40, 6)
    page[100, 100] = 0
    found = find_marks("photo", page)
    assert (len(found.marks), found.specks, found.large, found.cut) == (2, 1, 1, 1)


def test_a_mark_holds_nothing_of_its_neighbour() -> None:
    page = drawn(((200, 200), (240, 300)), ((225, 200), (265, 300)))
    one, other = find_marks("photo", page).marks
    alone = find_marks("photo", drawn(((200, 200), (240, 300)), ((500, 200), (540, 300)))).marks[0]
    assert np.abs(one.ink.astype(int) - alone.ink).max() <= 12
    assert abs(int(one.ink.sum()) - int(other.ink.sum())) < 0.02 * one.ink.sum()


@pytest.mark.parametrize("page", [np.full((300, 300), 220, np.uint8), np.zeros((90, 90), np.uint8)])
def test_a_page_without_marks_is_told(page: Grey) -> None:
    with pytest.raises(GlyphError, match=r"no ink on this page|too much ink"):
        find_marks("photo", page)


def test_a_photograph_of_noise_is_refused() -> None:
    noise = np.random.default_rng(0).integers(0, 256, (400, 400)).astype(np.uint8)
    with pytest.raises(GlyphError, match=r"too much ink for a page of marks"):
        find_marks("photo", noise)


def test_lines_are_found_however_far_they_slope_up_to_ten_degrees() -> None:
    x, y = np.meshgrid(np.arange(12) * 60.0, np.arange(6) * 90.0)
    for slope_deg in (-9, -4, 0, 6, 9):
        flat = np.stack([x, y + np.tan(np.deg2rad(slope_deg)) * x], axis=-1).reshape(-1, 2)
        mixed = np.random.default_rng(1).permutation(72)
        lines = reading_order(flat[mixed], 40.0)
        assert np.concatenate([mixed[line] for line in lines]).tolist() == list(range(72))


def filled_table(folder: Path, classes: list[str], **how: str) -> Path:
    """The table with its classes filled in, saved as some spreadsheet does."""
    with (folder / "labels.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    path = folder.parent / "filled.csv"
    with path.open("w", encoding=how.get("encoding", "utf-8"), newline="") as stream:
        table = csv.DictWriter(stream, list(rows[0]), delimiter=how.get("between", ","))
        table.writeheader()
        for row, name in zip(rows, classes, strict=True):
            table.writerow({**row, "class": name})
    return path


@pytest.mark.parametrize("how", [{}, {"between": ";", "encoding": "utf-8-sig"}])
def test_marks_that_were_named_become_a_labelled_set(
    save: Save, tmp_path: Path, how: dict[str, str]
) -> None:
    grey, images, _ = page_of_marks()
    photo = save("anna.png", grey)
    assert cut_loose([photo], tmp_path / "cut").marks == len(images)
    names = [CLASSES[at % len(CLASSES)] for at in range(len(images))]
    names[3] = ""
    table = filled_table(tmp_path / "cut", names, **how)
    got = label_loose([photo], tmp_path / "set", labels=table)
    assert (sum(got.counts.values()), got.unnamed) == (len(images) - 1, 1)
    with np.load(tmp_path / "set" / "glyphs.npz") as held:
        assert [str(held["classes"][at]) for at in held["labels"]] == names[:3] + names[4:]
        assert set(held["writers"].tolist()) == {"anna"}
        assert held["numbers"].tolist() == [*range(1, 4), *range(5, len(images) + 1)]
    assert len(list((tmp_path / "cut" / "marks").iterdir())) == len(images)
    assert (tmp_path / "cut" / "contact" / "01 anna.png").is_file()


def test_a_table_of_another_photograph_is_refused(save: Save, tmp_path: Path) -> None:
    photo = save("anna.png", page_of_marks()[0])
    cut_loose([photo], tmp_path / "cut")
    table = filled_table(tmp_path / "cut", ["A"] * ROWS * COLUMNS)
    other = save("anna.png", page_of_marks(2.0)[0])
    with pytest.raises(GlyphError, match=r"another photograph, or of another cut(.|\n)*_px"):
        label_loose([other], tmp_path / "set", labels=table)
    assert not (tmp_path / "set").exists()


@pytest.mark.parametrize(
    ("change", "match"),
    [
        (lambda text: "", r'no column "number"\n +got +an empty file'),
        (lambda text: text.replace("class", "klass"), 'no column "class"'),
        (lambda text: text.replace("line,", "class,"), 'the column "class" twice'),
        (lambda text: text + text.splitlines()[1] + "\n", "mark 1 comes twice"),
        (lambda text: text.rsplit("\n", 2)[0] + "\n", "marks are missing from the table"),
        (lambda text: text.replace("\n2,", "\n99,", 1), "no mark of this number"),
        (lambda text: text, "no mark has a class"),
        (lambda text: text + '"', "the table is broken"),
    ],
)
def test_a_table_that_cant_be_meant_is_refused(
    save: Save, tmp_path: Path, change: object, match: str
) -> None:
    assert callable(change)
    photo = save("anna.png", page_of_marks()[0])
    cut_loose([photo], tmp_path / "cut")
    table = tmp_path / "filled.csv"
    table.write_text(change((tmp_path / "cut" / "labels.csv").read_text("utf-8")), "utf-8")
    with pytest.raises(GlyphError, match=match):
        label_loose([photo], tmp_path / "set", labels=table)


def test_a_table_that_is_filled_in_is_never_replaced(save: Save, tmp_path: Path) -> None:
    photo, cut = save("anna.png", page_of_marks()[0]), tmp_path / "cut"
    cut_loose([photo], cut)
    cut_loose([photo], cut, overwrite=True)
    filled = (cut / "labels.csv").read_text("utf-8").replace("\n1,,", "\n1,A,")
    (cut / "labels.csv").write_text(filled, "utf-8")
    with pytest.raises(OutputError, match=r"labels.csv: the table there is filled in"):
        cut_loose([photo], cut, overwrite=True)
    assert (cut / "labels.csv").read_text("utf-8") == filled


def test_a_table_that_is_no_text_is_refused(save: Save, tmp_path: Path) -> None:
    photo = save("anna.png", page_of_marks()[0])
    (tmp_path / "filled.csv").write_bytes(b"number,class\n1,\xe4\n")
    with pytest.raises(GlyphError, match="isn't UTF-8"):
        label_loose([photo], tmp_path / "set", labels=tmp_path / "filled.csv")
