"""Glyphs set from fonts: each character of some classes from each font."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels, Provenance, RasterGlyphs, pixels_digest
from gen.glyphs.classes import checked_names, listed, natural_key, parse_classes
from gen.glyphs.fonts.setting import Setting, reduced, shown
from gen.glyphs.fonts.tables import Font, looks_like_font, read_font
from gen.glyphs.left_out import LeftOut
from gen.glyphs.outline_rule import RULES
from gen.glyphs.stream import file_digest, first_bytes

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
        A font file, some of them, or a folder of them; each font is a writer, and a copy of
        one is left out. So is what can't be read of a folder, which a note names.
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
    folder = path if isinstance(path, Path) else None
    left = LeftOut(folder or Path(), "fonts")
    files, notes = _files(path, left)
    total = len(files)
    fonts: list[_Set] = []
    held: dict[bytes, Path] = {}
    for file in files:
        try:
            digest = file_digest(file)
            if digest in held:
                notes.append(f"{file.name}: a copy of {held[digest].name}, set once")
                total -= 1
                continue
            one = _set(rule, file, read_font(file, face=face), names)
        except GlyphError as error:
            if folder is None or not folder.is_dir():
                raise
            left.add(file, error)
            continue
        held[digest] = file
        fonts.append(one)
        if one.varies:
            notes.append(f"{file.name}: a variable font, set as it is by default")
    if not fonts:
        raise left.none_left(str(path))
    notes += left.notes(total)
    lacking = (("glyph", "missing"), ("ink", "blank"), ("ink within the frame", "outside"))
    for what, which in lacking:
        notes += _lacks(f"no {what} for", which, fonts)
    images = [image for one in fonts for image in one.images]
    labels = [label for one in fonts for label in one.labels]
    writers = np.repeat(np.arange(len(fonts)), [len(one.images) for one in fonts])
    clipped = sum(one.clipped for one in fonts)
    name = str(path) if isinstance(path, Path) else str(files[0])
    if not images:
        raise GlyphError(name, "no character asked for has ink", got=listed(names))
    if clipped:
        notes.append(f"{clipped:,} of {len(images):,} glyphs reach out of the frame")
    pixels = np.stack(images)
    indices = np.array(labels, dtype=np.intp)
    told = f"{len(fonts):,} font{'s' * (len(fonts) != 1)}, each a writer"
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
        writers=writers.astype(np.intp),
        images=pixels,
    )


@dataclass
class _Set:
    """What one font gave: pictures with their labels, and the characters that it lacks."""

    name: str
    varies: bool
    images: list[Pixels] = field(default_factory=list)
    labels: list[int] = field(default_factory=list)
    clipped: int = 0
    lacks: dict[str, list[str]] = field(default_factory=dict)


def _set(rule: Setting, file: Path, font: Font, names: tuple[str, ...]) -> _Set:
    """Each character from one font."""
    done = _Set(file.name, font.varies)
    for label, name in enumerate(names):
        if not font.glyph(name):
            done.lacks.setdefault("missing", []).append(name)
            continue
        large = rule.set(file, font, name)
        if large is None:
            done.lacks.setdefault("blank", []).append(name)
            continue
        small = reduced(large.pixels, rule.times)
        if not small.any():
            done.lacks.setdefault("outside", []).append(name)
            continue
        done.images.append(small)
        done.labels.append(label)
        done.clipped += large.clipped
    return done


def _characters(classes: str | Sequence[str]) -> tuple[str, ...]:
    found = parse_classes(classes) if isinstance(classes, str) else tuple(map(str, classes))
    names = checked_names("classes", found)
    for name in names:
        if len(name) != 1:
            raise GlyphError(
                "classes", "a font gives one character a class", got=repr(name), allowed="such as 7"
            )
    return names


def _files(path: Path | Sequence[Path], left: LeftOut) -> tuple[list[Path], list[str]]:
    """Font files, and a note on what else is beside them; what can't be read is put aside."""
    if not isinstance(path, Path):
        files = list(path)
        if not files:
            raise GlyphError("fonts", "no font was named")
        return files, []
    if not path.is_dir():
        return [path], []
    try:
        entries = sorted(path.iterdir(), key=lambda entry: natural_key(entry.name))
    except OSError as cause:
        raise GlyphError(str(path), "can't be read", got=cause) from cause
    shown = [one for one in entries if not one.name.startswith(".")]
    fonts: list[Path] = []
    others: list[Path] = []
    for one in shown:
        try:
            font = one.is_file() and looks_like_font(first_bytes(one, 4))
        except GlyphError as error:
            left.add(one, error)
            continue
        (fonts if font else others).append(one)
    if not fonts:
        raise GlyphError(str(path), "there is no font in the folder", got=f"{len(shown):,} files")
    if not others:
        return fonts, []
    few = ", ".join(one.name for one in others[:3]) + (" ..." if len(others) > 3 else "")
    return fonts, [f"{len(others):,} beside the fonts not read: {few}"]


def _lacks(what: str, which: str, fonts: list[_Set]) -> list[str]:
    """A line for each character that some fonts can't set, up to two dozen."""
    lacking: dict[str, list[str]] = {}
    for font in fonts:
        for name in font.lacks.get(which, ()):
            lacking.setdefault(name, []).append(font.name)
    notes = []
    for name, files in list(lacking.items())[:_NAMED]:
        few = ", ".join(files[:_FILES_NAMED]) + (" ..." if len(files) > _FILES_NAMED else "")
        notes.append(f"{what} {shown(name)} in {len(files):,} of {len(fonts):,} fonts: {few}")
    if len(lacking) > _NAMED:
        notes.append(f"{what} {len(lacking) - _NAMED:,} more characters in some fonts")
    return notes
