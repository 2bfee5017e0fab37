"""Pages of rectangles, lines and words as a PDF that prints at its true size.

Format: ISO 32000-1:2008. Words are set in Helvetica, one of the fonts that every reader
has (9.6.2.2), in WinAnsiEncoding (annex D). No date and no name is written, so the same
sheet has the same bytes every day.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence

from gen.core.errors import GlyphError
from gen.glyphs.paper.drawing import Block, Line, Shape, Words

POINT_MM = 25.4 / 72
_REPLACED = str.maketrans({"\\": r"\\", "(": r"\(", ")": r"\)"})
# Widths of Helvetica, 1/1000 of its size, from " " to "~": Adobe Core 14 AFM files, from memory.
_WIDTHS = (
    *(278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278),
    *(556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556),
    *(1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778),
    *(667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556),
    *(333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556),
    *(556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584),
)


def pdf_bytes(pages: Sequence[Sequence[Shape]], size_mm: tuple[float, float]) -> bytes:
    """A PDF of some pages of one size.

    Parameters
    ----------
    pages
        What is on each.
    size_mm
        Width and height of the paper.

    Raises
    ------
    GlyphError
        If a word holds a letter that the font lacks.

    Examples
    --------
    >>> pdf_bytes([[Words(10, 10, "7", 12)]], (100.0, 50.0))[:8]
    b'%PDF-1.4'
    """
    wide, high = (side / POINT_MM for side in size_mm)
    first = 4
    kids = " ".join(f"{first + 2 * number} 0 R" for number in range(len(pages)))
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} >>".encode(),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
    ]
    for number, shapes in enumerate(pages):
        drawn = zlib.compress(_content(shapes, size_mm[1]), 9)
        objects.append(
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {wide:.4f} {high:.4f}] /Resources "
            f"<< /Font << /F 3 0 R >> >> /Contents {first + 2 * number + 1} 0 R >>".encode()
        )
        objects.append(
            b"<< /Length %d /Filter /FlateDecode >>\nstream\n%b\nendstream" % (len(drawn), drawn)
        )
    return _assembled(objects)


def _assembled(objects: list[bytes]) -> bytes:
    out = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    places = []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n%b\nendobj\n" % (number, body)
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer\n<< /Size %d /Root 1 0 R >>\n" % (len(objects) + 1)
    out += b"startxref\n%d\n%%%%EOF\n" % start
    return bytes(out)


def _content(shapes: Sequence[Shape], high_mm: float) -> bytes:
    """Operators of one page, with y turned upwards and points made of mm."""
    lines = [f"{1 / POINT_MM:.8f} 0 0 {1 / POINT_MM:.8f} 0 0 cm"]
    for shape in shapes:
        grey = f"{1 - shape.darkness:.3f}"
        if isinstance(shape, Block):
            low = high_mm - shape.y_mm - shape.height_mm
            lines.append(
                f"{grey} g {shape.x_mm:.4f} {low:.4f} {shape.width_mm:.4f} "
                f"{shape.height_mm:.4f} re f"
            )
        elif isinstance(shape, Line):
            (x0, y0), (x1, y1) = shape.start_mm, shape.end_mm
            lines.append(
                f"{grey} G {shape.width_mm:.4f} w {x0:.4f} {high_mm - y0:.4f} m "
                f"{x1:.4f} {high_mm - y1:.4f} l S"
            )
        else:
            lines.append(_words(shape, grey, high_mm))
    return "\n".join(lines).encode("cp1252")


def _words(words: Words, grey: str, high_mm: float) -> str:
    size = words.size_pt * POINT_MM
    width = sum(map(letter_width, words.text)) / 1000 * size
    if words.most_mm is not None and width > words.most_mm:
        size, width = size * words.most_mm / width, words.most_mm
    x = words.x_mm - {"left": 0.0, "middle": 0.5, "right": 1.0}[words.at] * width
    return (
        f"{grey} g BT /F {size:.4f} Tf {x:.4f} {high_mm - words.baseline_mm:.4f} Td "
        f"({words.text.translate(_REPLACED)}) Tj ET"
    )


def letter_width(letter: str) -> int:
    """Width of a letter, 1/1000 of its size.

    Raises
    ------
    GlyphError
        If the standard fonts don't have it.

    Examples
    --------
    >>> letter_width("7")
    556
    """
    try:
        letter.encode("cp1252")
    except UnicodeEncodeError:
        raise GlyphError(
            "sheet",
            "a class name holds a letter that can't be printed on a sheet: standard fonts lack it",
            got=repr(letter),
            allowed="letters of Western European languages (Windows-1252)",
            hint="a name in these letters; it is only printed over the boxes",
        ) from None
    place = ord(letter) - 32
    return _WIDTHS[place] if 0 <= place < len(_WIDTHS) else 556
