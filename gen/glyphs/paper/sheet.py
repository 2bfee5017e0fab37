"""A sheet as files: one PDF of all its pages, or a numbered picture of each."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

from gen.core.errors import OutputError
from gen.core.files import cannot_write, whole_file
from gen.glyphs.paper.drawing import page_shapes
from gen.glyphs.paper.layout import Plan
from gen.glyphs.paper.pdf import letter_width, pdf_bytes

KINDS = (".pdf", ".png")


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
        Whether files of these names may be replaced.

    Raises
    ------
    GlyphError
        If a class name can't be printed, or can't be told by the code on the sheet.
    OutputError
        If the name has another ending, or a file is there or can't be written.
    """
    paths = sheet_files(plan, path)
    taken = next((one for one in paths if one.exists()), None)
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
    from gen.glyphs.paper.raster import DPI, page_picture

    _folder_of(path)
    with ExitStack() as all_pages:  # they come together, or none does
        for shapes, one in zip(pages, paths, strict=True):
            picture = page_picture(shapes, plan.size_mm)
            try:
                scratch = all_pages.enter_context(whole_file(one))
                picture.save(scratch, format="PNG", dpi=(DPI, DPI))
            except OSError as error:
                raise cannot_write(one, error) from error
    return paths


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
