"""`gen sheet`: a sheet in a file, or one clear error and no file."""

from __future__ import annotations

import errno
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from gen.core.errors import OutputError
from gen.glyphs.paper.layout import Plan
from gen.glyphs.paper.sheet import write_sheet
from tests.cli.support import Ended, Shed

Called = Callable[..., Ended]


def test_a_sheet_is_one_pdf_of_all_its_pages(shed: Shed, called: Called) -> None:
    ended = called("sheet", "--classes", "0-9", "--per-class", "20", "--into", "tags/sheet.pdf")
    assert ended == Ended(
        0,
        "",
        "sheet     200 boxes, 10 classes x 20, 2 pages of A4\n"
        "written   tags/sheet.pdf\n"
        "then      gen collect PHOTO... --into DIR\n",
    )
    written = (shed.folder / "tags" / "sheet.pdf").read_bytes()
    assert written.startswith(b"%PDF-1.4")
    assert b"/Count 2" in written


def test_the_same_sheet_has_the_same_bytes(shed: Shed, called: Called) -> None:
    for name in ("a.pdf", "b.pdf"):
        assert called("sheet", "--classes", "AB", "--into", name, "--quiet").err == ""
    assert (shed.folder / "a.pdf").read_bytes() == (shed.folder / "b.pdf").read_bytes()


def test_pictures_of_several_pages_are_numbered_and_print_at_their_size(
    shed: Shed, called: Called
) -> None:
    arguments = ("sheet", "--classes", "AB", "--per-class", "51", "--paper", "Letter")
    assert called(*arguments, "--into", "sheet.png").code == 0
    assert {"sheet-1.png", "sheet-2.png"} <= shed.names()
    with Image.open(shed.folder / "sheet-2.png") as page:
        inches = [side / dots for side, dots in zip(page.size, page.info["dpi"], strict=True)]
    assert inches == pytest.approx([8.5, 11.0], abs=0.01)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--classes", "9-0", "--into", "a.pdf"), '--classes: "9-0" is not a range'),
        (("--classes", "AB", "--into", "a.gif"), "a.gif: a sheet is a PDF or a picture"),
        (("--classes", "AB", "--into", "small.toml/a.pdf"), "can't be written"),
        (("--classes", "АБ", "--into", "a.pdf"), "a letter that can't be printed"),
        (("--classes", "АБ", "--into", "a.png"), "a letter that can't be printed"),
        (("--classes", "AB", "--per-class", "9999", "--into", "a.pdf"), "1 to 20 pages"),
    ],
)
def test_what_cant_be_a_sheet_is_one_clear_error_and_no_file(
    shed: Shed, called: Called, arguments: tuple[str, ...], says: str
) -> None:
    before = shed.names()
    ended = called("sheet", *arguments)
    assert (ended.code, ended.out) == (2, "")
    assert says in ended.err
    assert shed.names() == before


def test_a_file_that_is_there_is_replaced_only_when_asked(shed: Shed, called: Called) -> None:
    (shed.folder / "a.pdf").write_text("12 crates")
    ended = called("sheet", "--classes", "AB", "--into", "a.pdf")
    assert ended.code == 2
    assert "there is a file already" in ended.err
    assert (shed.folder / "a.pdf").read_text() == "12 crates"
    assert called("sheet", "--classes", "AB", "--into", "a.pdf", "--overwrite").code == 0


def test_pages_that_are_left_of_a_longer_sheet_go_and_nobody_elses(
    shed: Shed, called: Called
) -> None:
    arguments = ("sheet", "--classes", "AB", "--into", "sheet.png", "--per-class")
    assert called(*arguments, "140").code == 0
    pages = {f"sheet-{number}.png" for number in (1, 2, 3)}
    assert pages <= shed.names()
    theirs = ["sheet-4.png", "sheet-x.png", "sheet-02.png", "sheet-5.png", "crate.png"]
    Image.new("L", (8, 8)).save(shed.folder / theirs[0])
    for name in theirs[1:]:
        (shed.folder / name).write_text("12 crates")
    # A shorter one would leave the last page beside it: no less of a file that is there.
    refused = called(*arguments, "80")
    assert (refused.code, refused.out) == (2, "")
    ended = called(*arguments, "80", "--overwrite")
    assert ended.code == 0
    assert "\naway      sheet-3.png, of an earlier sheet\n" in ended.err
    assert shed.names() >= {"sheet-1.png", "sheet-2.png", *theirs}
    assert "sheet-3.png" not in shed.names()
    refused = called(*arguments, "10")
    assert refused == Ended(
        2,
        "",
        "sheet-1.png: there is a file already\n"
        "  try       another name, or --overwrite to replace it\n",
    )
    assert called(*arguments, "10", "--overwrite").code == 0
    left = {name for name in shed.names() if name.endswith(".png")}
    assert left == {"sheet.png", *theirs}


def test_pages_come_together_or_none_does(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    save, calls = Image.Image.save, []

    def full_disk(picture: Image.Image, *args: Any, **how: Any) -> None:
        calls.append(picture)
        if len(calls) == 2:
            raise OSError(errno.ENOSPC, "No space left on device")
        save(picture, *args, **how)

    monkeypatch.setattr(Image.Image, "save", full_disk)
    with pytest.raises(OutputError, match=r"sheet-2.png: can't be written\n.*No space left"):
        write_sheet(Plan(tuple("01"), 60), tmp_path / "sheet.png")
    assert list(tmp_path.iterdir()) == []
