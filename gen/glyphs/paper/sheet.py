"""A sheet as files: one PDF of all its pages, or a numbered picture of each."""

from __future__ import annotations

import re
from contextlib import ExitStack
from pathlib import Path

from gen.core.errors import OutputError
from gen.core.files import cannot_write, whole_file
from gen.glyphs.paper.drawing import page_shapes
from gen.glyphs.paper.layout import Plan
from gen.glyphs.paper.pdf import letter_width, pdf_bytes

KINDS = (".pdf", ".png")
_MARK = ("Software", "Inkdrift sheet")
"""What is written into a picture of a page, so that it is known again."""


def write_sheet(plan: Plan, path: Path, *, overwrite: bool = False) -> tuple[Path, ...]:
    """Write a sheet, and give the files that were written.

    Parameters
    ----------
    plan
        The sheet.
    path
        A name that ends with .pdf or .png. Pictures of several pages get a number before
        the ending: sheet-1.png, sheet-2.png.
    overwrite
        Whether files of these names may be replaced. Numbered pictures that an earlier
        and longer sheet of this name left are then taken away.

    Raises
    ------
    GlyphError
        If a class name can't be printed, or can't be told by the code on the sheet.
    OutputError
        If the name has another ending, a file is there or can't be written, or a page
        of an earlier sheet can't be taken away.
    """
    paths = sheet_files(plan, path)
    older = older_pages(plan, path)
    taken = next((one for one in (*paths, *older) if one.exists()), None)
    if taken is not None and not overwrite:
        raise OutputError(
            str(taken), "there is a file already", hint="another name, or --overwrite to replace it"
        )
    for letter in "".join(plan.classes):
        letter_width(letter)  # a picture would show a letter that its font lacks as a box
    pages = [page_shapes(plan, page) for page in range(1, plan.pages + 1)]
    if path.suffix.lower() == ".pdf":
        drawn = pdf_bytes(pages, plan.size_mm)
        _folder_of(path)
        with whole_file(path) as scratch:
            scratch.write_bytes(drawn)
        return paths
    from PIL.PngImagePlugin import PngInfo

    from gen.glyphs.paper.raster import DPI, page_picture

    _folder_of(path)
    ours = PngInfo()
    ours.add_text(*_MARK)
    with ExitStack() as all_pages:  # they come together, or none does
        for shapes, one in zip(pages, paths, strict=True):
            picture = page_picture(shapes, plan.size_mm)
            try:
                scratch = all_pages.enter_context(whole_file(one))
                picture.save(scratch, format="PNG", dpi=(DPI, DPI), pnginfo=ours)
            except OSError as error:
                raise cannot_write(one, error) from error
    for one in older:
        _take_away(one)
    return paths


def older_pages(plan: Plan, path: Path) -> tuple[Path, ...]:
    """Pictures of an earlier sheet of this name that are no pages of this one.

    They would be printed with the others, and their code is that of another sheet. A
    picture of such a name that `write_sheet` didn't make is none of them.
    """
    if path.suffix.lower() != ".png" or not path.parent.is_dir():
        return ()
    paths = sheet_files(plan, path)
    name = re.compile(re.escape(path.stem) + r"(-[1-9]\d*)?" + re.escape(path.suffix))
    beside = sorted(path.parent.iterdir())
    others = (one for one in beside if name.fullmatch(one.name) and one not in paths)
    return tuple(one for one in others if _ours(one))


def _ours(file: Path) -> bool:
    """Whether a picture is a page that was written here."""
    from PIL import Image

    key, value = _MARK
    try:
        with Image.open(file, formats=("PNG",)) as picture:
            return picture.info.get(key) == value
    except (OSError, ValueError):  # no picture, or none that can be read
        return False


def _take_away(file: Path) -> None:
    try:
        file.unlink()
    except OSError as error:
        raise OutputError(
            str(file),
            "this page of an earlier sheet can't be taken away",
            got=error.strerror,
            hint="take it away, so that it isn't printed with the others",
        ) from error


def sheet_files(plan: Plan, path: Path) -> tuple[Path, ...]:
    """Names of the files that a sheet would be written to.

    Examples
    --------
    >>> from pathlib import PurePosixPath
    >>> [str(one) for one in sheet_files(Plan(tuple("01"), 60), PurePosixPath("a/sheet.png"))]
    ['a/sheet-1.png', 'a/sheet-2.png']
    """
    kind = path.suffix.lower()
    if kind not in KINDS:
        raise OutputError(
            str(path), "a sheet is a PDF or a picture", allowed="a name that ends with .pdf or .png"
        )
    if kind == ".pdf" or plan.pages == 1:
        return (path,)
    return tuple(path.with_name(f"{path.stem}-{n}{path.suffix}") for n in range(1, plan.pages + 1))


def _folder_of(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise cannot_write(path, error) from error
