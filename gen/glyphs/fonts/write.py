"""Glyphs set from fonts: each character of some classes from each font."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels, Provenance, RasterGlyphs, pixels_digest
from gen.glyphs.classes import checked_names, listed, natural_key, parse_classes
from gen.glyphs.fonts.setting import Setting, reduced, shown
from gen.glyphs.fonts.tables import looks_like_font, read_font
from gen.glyphs.outline_rule import RULES
from gen.glyphs.stream import first_bytes

_NAMED, _FILES_NAMED = 24, 3


def write_font(
    path: Path | Sequence[Path],
    *,
    classes: str | Sequence[str] = "0-9",
    frame: tuple[int, int] = (28, 28),
    fit: str = RULES[0],
    side_px: float | None = None,
    face: int = 0,
    margin_px: float | None = None,
) -> RasterGlyphs:
    """Set each character of some classes from each font.

    Parameters
    ----------
    path
        A font file, some of them, or a folder of them; each font is a writer.
    classes
        Characters, as `parse_classes` reads them ("0-9A-F") or a sequence.
    frame
        (H, W) in px.
    fit
        One of `gen.glyphs.outline_rule.RULES`, as `gen.glyphs.fonts.setting` has them.
    side_px
        Longer side of the ink's box, or the em for "as drawn", in px; 20/28 of the frame's
        shorter side when left out.
    face
        Which font of a collection.
    margin_px
        In place of `side_px`: what stays free on every side of the frame; for "as drawn" an
        em fits between.

    Returns
    -------
    RasterGlyphs
        One glyph of each character that each font has, font after font, ink bright;
        `provenance.notes` names the characters that a font doesn't have.

    Raises
    ------
    GlyphError
        If a file isn't a font that can be read, a class isn't one character, or there
        is nothing to set.

    Examples
    --------
    >>> import glob
    >>> files = sorted(map(Path, glob.glob("/usr/share/fonts/truetype/*/*Mono*.ttf")))
    >>> if files:
    ...     digits = write_font(files[0], classes="0-9")
    ...     assert digits.counts.tolist() == [1] * 10
    """
    names = _characters(classes)
    rule = Setting.of(frame, fit, side_px, margin_px)
    files, notes = _files(path)
    images: list[Pixels] = []
    labels, writers, clipped = [], [], 0
    missing: dict[str, list[str]] = {}
    blank: dict[str, list[str]] = {}
    outside: dict[str, list[str]] = {}
    for writer, file in enumerate(files):
        font = read_font(file, face=face)
        for label, name in enumerate(names):
            if not font.glyph(name):
                missing.setdefault(name, []).append(file.name)
                continue
            large = rule.set(file, font, name)
            if large is None:
                blank.setdefault(name, []).append(file.name)
                continue
            small = reduced(large.pixels, rule.times)
            if not small.any():
                outside.setdefault(name, []).append(file.name)
                continue
            images.append(small)
            labels.append(label)
            writers.append(writer)
            clipped += large.clipped
        if font.varies:
            notes.append(f"{file.name}: a variable font, set as it is by default")
    notes += _lacks("no glyph for", missing, len(files))
    notes += _lacks("no ink for", blank, len(files))
    notes += _lacks("no ink within the frame for", outside, len(files))
    name = str(path) if isinstance(path, Path) else str(files[0])
    if not images:
        raise GlyphError(name, "no character asked for has ink", got=listed(names))
    if clipped:
        notes.append(f"{clipped:,} of {len(images):,} glyphs reach out of the frame")
    pixels = np.stack(images)
    indices = np.array(labels, dtype=np.intp)
    told = f"{len(files):,} font{'s' * (len(files) != 1)}, each a writer"
    return RasterGlyphs(
        frame=rule.frame,
        labels=indices,
        classes=names,
        provenance=Provenance(
            kind="font",
            name=name,
            digest=pixels_digest(pixels, indices, names),
            notes=(rule.told(), told, *notes),
        ),
        writers=np.array(writers, dtype=np.intp),
        images=pixels,
    )


def _characters(classes: str | Sequence[str]) -> tuple[str, ...]:
    found = parse_classes(classes) if isinstance(classes, str) else tuple(map(str, classes))
    names = checked_names("classes", found)
    for name in names:
        if len(name) != 1:
            raise GlyphError(
                "classes", "a font gives one character a class", got=repr(name), allowed="such as 7"
            )
    return names


def _files(path: Path | Sequence[Path]) -> tuple[list[Path], list[str]]:
    """Font files, and a note on what else is beside them."""
    if not isinstance(path, Path):
        files = list(path)
        if not files:
            raise GlyphError("fonts", "no font was named")
        return files, []
    if not path.is_dir():
        return [path], []
    try:
        entries = sorted(path.iterdir(), key=lambda entry: natural_key(entry.name))
        seen = [one for one in entries if one.is_file() and not one.name.startswith(".")]
        files = [one for one in seen if looks_like_font(first_bytes(one, 4))]
    except OSError as cause:
        raise GlyphError(str(path), "can't be read", got=cause) from cause
    if not files:
        raise GlyphError(str(path), "there is no font in the folder", got=f"{len(seen):,} files")
    others = [one.name for one in entries if one not in files and not one.name.startswith(".")]
    if not others:
        return files, []
    few = ", ".join(others[:3]) + (" ..." if len(others) > 3 else "")
    return files, [f"{len(others):,} beside the fonts not read: {few}"]


def _lacks(what: str, which: dict[str, list[str]], fonts: int) -> list[str]:
    """A line for each character that some fonts can't set, up to two dozen."""
    notes = []
    for name, files in list(which.items())[:_NAMED]:
        few = ", ".join(files[:_FILES_NAMED]) + (" ..." if len(files) > _FILES_NAMED else "")
        notes.append(f"{what} {shown(name)} in {len(files):,} of {fonts:,} fonts: {few}")
    if len(which) > _NAMED:
        notes.append(f"{what} {len(which) - _NAMED:,} more characters in some fonts")
    return notes
