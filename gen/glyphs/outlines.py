"""Sources that are no pictures: pens that were followed, and fonts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from gen.core.errors import GlyphError
from gen.glyphs.base import RasterGlyphs, StrokeGlyphs
from gen.glyphs.fit import Fit
from gen.glyphs.folder import FOLDERS
from gen.glyphs.outline_rule import RULES
from gen.glyphs.read import is_dir

_HEAD = 1 << 16
_LOOKED_AT = 16


def outline_kind(path: Path) -> str | None:
    """ "pens" or "fonts" if a file, or the first known one of a folder, is such; else None.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.NamedTemporaryFile(suffix=".svg") as tag:
    ...     _ = Path(tag.name).write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    ...     outline_kind(Path(tag.name))
    'pens'
    """
    from gen.glyphs.fonts import looks_like_font
    from gen.glyphs.pens import holds_pens, looks_like_inkml, looks_like_svg
    from gen.glyphs.stream import first_bytes

    if is_dir(path):
        try:
            if holds_pens(path):
                return "pens"
            files = sorted(one for one in path.iterdir() if one.is_file() and one.name[:1] != ".")
            for one in files[:_LOOKED_AT]:
                with suppress(GlyphError):
                    if looks_like_font(first_bytes(one, 4)):
                        return "fonts"
            return None
        except (GlyphError, OSError):
            return None  # whoever reads the folder says what is wrong with it
    head = first_bytes(path, _HEAD)
    if looks_like_inkml(head) or looks_like_svg(head):
        return "pens"
    return "fonts" if looks_like_font(head) else None


def read_outlines(
    path: Path,
    kind: str,
    *,
    fit: Fit | None,
    frame: tuple[int, int] | None,
    classes: str | Sequence[str] | None,
    labels: Any,
    ink: str,
    folders: str = "class",
) -> RasterGlyphs | StrokeGlyphs:
    """Read pen files as strokes, or set characters from fonts.

    Parameters
    ----------
    path
        A file or a folder.
    kind
        "pens" or "fonts".
    fit
        How marks are put into the frame; by their boxes, 20 of 28 px, when left out. "As
        drawn" is the page of pen files, and the line of a font. Strokes of pen files may have
        a width of their own.
    frame
        (H, W) in px when there is no fit; 28 x 28 when left out.
    classes
        Which classes; of fonts, which characters, 0 to 9 when left out.
    labels
        Of pen files, the label of each file that states none, by its name; of fonts none.
    ink
        "auto": these are no pictures, and show ink in no way.
    folders
        What sub-folders of pen files stand for; those of fonts stand for nothing.

    Raises
    ------
    GlyphError
        If something can't be read, or is said of what these don't have.
    """
    rule = fit or Fit(RULES[0], frame or (28, 28))
    what = "pen files" if kind == "pens" else "fonts"
    if ink != "auto":
        raise GlyphError("ink", f"this is how pictures show ink, and {what} are no pictures")
    if rule.ink_from != 1:
        raise GlyphError("ink from", f"this is a grey of pictures, and {what} are no pictures")
    if rule.rule not in RULES:
        raise GlyphError(
            "fit",
            f"{what} are laid exactly, and not by whole px",
            got=rule.rule,
            allowed=", ".join(RULES),
        )
    page = kind == "pens" and rule.rule == "as drawn"
    if page and (rule.box_px is not None or rule.margin_px is not None):
        raise GlyphError("fit", "the page of a pen file fills the frame, without box or margin")
    if rule.box_px is not None and rule.box_px > min(rule.frame):
        raise GlyphError(
            "fit",
            f"the box of {what} can't be longer than the shorter side of the frame",
            got=f"{rule.box_px:g} px",
            allowed=f"up to {min(rule.frame)} px",
            hint="a margin fills a frame that isn't square",
        )
    if folders not in FOLDERS:
        allowed = ", ".join(FOLDERS)
        raise GlyphError("folders", "folders can't be read so", got=repr(folders), allowed=allowed)
    if kind == "fonts":
        if folders != "class":
            raise GlyphError("folders", "each font is a writer, and its characters are classes")
        if labels is not None:
            raise GlyphError("labels", "the characters of a font are their own labels")
        if rule.stroke != "scaled":
            raise GlyphError("stroke", "a font has outlines and no pen whose width could be set")
        from gen.glyphs.fonts import write_font

        return write_font(
            path,
            classes=classes or "0-9",
            frame=rule.frame,
            fit=rule.rule,
            side_px=rule.box_px,
            margin_px=rule.margin_px,
        )
    if labels is not None and not isinstance(labels, Mapping):
        raise GlyphError(
            "labels",
            "pen files state their labels themselves, or are in folders named so",
            hint="labels={'hook.svg': 'J'} in Python, for files that don't",
        )
    if rule.stroke == "kept":
        raise GlyphError(
            "stroke",
            "a pen has no width in px that could be kept",
            allowed="scaled, or a width in px",
        )
    from gen.glyphs.pens import read_pens

    return read_pens(
        path,
        frame=rule.frame,
        fit=rule.rule,
        side_px=rule.box_px,
        margin_px=rule.margin_px,
        pen_px=None if rule.stroke == "scaled" else float(rule.stroke),
        classes=classes,
        labels=labels,
        folders=folders,
    )
