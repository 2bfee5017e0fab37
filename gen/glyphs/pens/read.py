"""Pen files and folders of them, to one set of glyphs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from gen.core.errors import GlyphError
from gen.glyphs.classes import listed, natural_key
from gen.glyphs.left_out import LeftOut
from gen.glyphs.outline_rule import RULES
from gen.glyphs.pens.drawing import Pages
from gen.glyphs.pens.fit import PenFit
from gen.glyphs.pens.gather import Gathered
from gen.glyphs.pens.glyphs import PenGlyphs
from gen.glyphs.pens.sniff import pen_files, pen_kind
from gen.glyphs.stream import first_bytes

TRUTH = "truth"


def read_pens(
    path: Path,
    *,
    frame: tuple[int, int] = (28, 28),
    fit: str = RULES[0],
    side_px: float | None = None,
    pen_px: float | None = None,
    classes: str | Sequence[str] | None = None,
    label: str | None = None,
    labels: Mapping[str, str] | None = None,
    truth: str = TRUTH,
    folders: str = "class",
    margin_px: float | None = None,
) -> PenGlyphs:
    """Read InkML or SVG, one file or a folder of them, as strokes.

    A mark's label is the one that its file states for it; for a file that states none
    it is the name of the class folder that the file is in, or `labels`, or `label`.

    Parameters
    ----------
    path
        A file, or a folder with files in it or in sub-folders.
    frame
        (H, W) in px.
    fit
        One of `gen.glyphs.outline_rule.RULES`, as `gen.glyphs.pens.fit` has them.
    side_px
        Longer side of the ink's box in px; 20/28 of the frame's shorter side when
        left out.
    pen_px
        Width of the pen in px. When left out it is what the file states, scaled with
        the drawing, and a tenth of `side_px` where the file states none.
    classes
        The classes in their order, as `parse_classes` reads them or a sequence; marks
        of others are left out and counted. All that are found when left out.
    label
        The label of a file that states none.
    labels
        The label of each such file by its name, as {"hook.svg": "J"}.
    truth
        The type of the annotations of InkML that are labels.
    folders
        What sub-folders stand for: "class", "class/writer" or "writer/class". Who a file
        itself says that wrote counts over its folder.
    margin_px
        In place of `side_px`: what stays free on every side of the frame.

    Returns
    -------
    PenGlyphs
        `provenance.notes` says what was understood, supposed and left out.

    Raises
    ------
    GlyphError
        If a file can't be read, or has no label; or if a label is of a file that isn't
        there. Of a folder, files that can't be read are left out and named in a note,
        unless none is left, or none of a class.

    Examples
    --------
    >>> import tempfile
    >>> import numpy as np
    >>> with tempfile.TemporaryDirectory() as shed:
    ...     tag = Path(shed) / "one.svg"
    ...     _ = tag.write_text('<svg xmlns="http://www.w3.org/2000/svg" fill="none" '
    ...                        'stroke="black"><path d="M3 1V9"/></svg>')
    ...     ones = read_pens(tag, label="1", pen_px=2.0)
    >>> ones.strokes(np.array([0])).segments[0, 0].tolist()
    [[4.5, 13.5], [22.5, 13.5]]
    """
    rule = PenFit.of(frame=frame, rule=fit, side_px=side_px, pen_px=pen_px, margin_px=margin_px)
    gathered, others, left = Gathered(rule), LeftOut(path, "files"), LeftOut(path, "files")
    by_folder: dict[str | None, list[Path]] = {}
    for filed in pen_files(path, others, folders):
        by_folder.setdefault(filed.label, []).append(filed.path)
        try:
            pages = _pages(filed.path, truth)
            put = gathered.put(pages)
        except GlyphError as error:
            if not path.is_dir():
                raise
            left.add(filed.path, error)
            continue
        fallback = label if filed.label is None else filed.label
        if labels is not None:
            fallback = labels.get(filed.path.name, fallback)
        gathered.add(filed, pages, put, fallback)
    files = [one for paths in by_folder.values() for one in paths]
    _refuse_unread(path, by_folder, left)
    if labels is not None:
        _refuse_no_file(labels, files)
    left.errors.update(others.errors)
    gathered.notes += left.notes(len(files) + len(others.errors))
    return gathered.glyphs(path, classes)


def _refuse_unread(path: Path, by_folder: dict[str | None, list[Path]], left: LeftOut) -> None:
    """Refuse a set of which no file is left, or none of a class."""
    if left.errors and len(left.errors) == sum(map(len, by_folder.values())):
        raise left.none_left(str(path))
    for label, paths in by_folder.items():
        if label is not None and all(one in left.errors for one in paths):
            raise left.within(paths).none_left(str(path), f" of class {label}")


def _refuse_no_file(labels: Mapping[str, str], files: list[Path]) -> None:
    """Refuse labels of files that aren't there, which are mistyped."""
    names = sorted({one.name for one in files}, key=natural_key)
    strange = sorted(set(labels) - set(names), key=natural_key)
    if strange:
        raise GlyphError(
            "labels",
            "labels are given for files that aren't there",
            got=listed(tuple(strange)),
            allowed=listed(tuple(names)),
        )


def _pages(file: Path, truth: str) -> Pages:
    kind = pen_kind(file)
    if kind == "InkML":
        from gen.glyphs.pens.inkml import inkml_pages

        return inkml_pages(file, truth=truth)
    if kind == "SVG":
        from gen.glyphs.pens.svg import svg_pages

        return svg_pages(file)
    head = first_bytes(file, 8)
    raise GlyphError(
        str(file),
        "not a pen file",
        got=f"a file that begins {head[:4].hex(' ')}" if head else "an empty file",
        allowed="InkML or SVG",
    )
