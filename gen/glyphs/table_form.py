"""How a table of pictures is written: separator, header, and which column is the label."""

from __future__ import annotations

import csv
import math
from collections import Counter
from dataclasses import dataclass

from gen.core.errors import GlyphError
from gen.glyphs.lines import Numbered

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", " ": "spaces"}
LABEL_NAMES = frozenset({"label", "labels", "class", "target", "y", "digit", "letter", "character"})
PLACES = ("first", "last")
_VARIES = "as it varies over whole numbers and the other end does not"
_FEWEST = 4
_LOOKED_AT = 500
_COUNTED = 100
_MOST_HEADER = 3
_MISSING = frozenset({"", "-", "--", ".", "?", "na", "n/a", "#n/a", "none", "null", "nil"})
"""What stands where a number is missing, as well as for a class."""


@dataclass(frozen=True)
class Form:
    """What was found out from the first lines of a table.

    Attributes
    ----------
    separator
        What stands between two fields.
    decimal_comma
        Whether numbers have a comma for a point.
    header
        Number of lines to pass over before the first row.
    columns
        Fields in a row.
    label
        "first", "last", or None where no column is a label.
    notes
        What was found, a line each.
    still
        What the end without the label holds in every row, where that is why the other end
        is taken for the label: it has to be so to the end of the table. Else None.
    """

    separator: str
    decimal_comma: bool
    header: int
    columns: int
    label: str | None
    notes: tuple[str, ...]
    still: str | None = None

    def fields(self, line: str) -> list[str]:
        """The fields of a line, without quotes and spaces round them."""
        return split(line, self.separator)

    def is_number(self, field: str) -> bool:
        """Whether a field is a number as this table writes them."""
        return _is_number(field.replace(",", ".") if self.decimal_comma else field)

    def number(self, field: str) -> float:
        """The number that a field is."""
        return float(field.replace(",", ".") if self.decimal_comma else field)


def split(line: str, separator: str) -> list[str]:
    """The fields of a line."""
    if '"' in line:
        return [field.strip() for field in next(csv.reader([line], delimiter=separator))]
    if separator == " ":
        return line.split()
    return [field.strip() for field in line.split(separator)]


def separator_of(line: str) -> str | None:
    """What parts a line into four fields or more, a semicolon or tab before a comma."""
    for separator in (";", "\t", ",", " "):
        if len(split(line, separator)) >= _FEWEST:
            return separator
    return None


def form_of(
    where: str, lines: list[Numbered], frame: tuple[int, int] | None, label: str | None
) -> Form:
    """Find out how a table is written, from its first lines.

    Parameters
    ----------
    where
        The file, for errors.
    lines
        Its first lines, by number.
    frame
        (H, W) of the pictures; square ones when left out.
    label
        "first" or "last" as told; None to find out.

    Raises
    ------
    GlyphError
        If it can't be told without a guess, or fits no picture.

    Examples
    --------
    >>> rows = [(1, "label;a;b;c;d"), (2, "7;0,5;0;0;1"), (3, "2;0;0;1;0")]
    >>> form = form_of("tags.csv", rows, None, None)
    >>> form.notes
    ('columns parted by semicolons, decimal commas, 1 line of header, label first, as named',)
    """
    header, separator = _header_and_separator(where, lines)
    rows = [split(line, separator) for _, line in lines[header : header + _LOOKED_AT]]
    columns = len(rows[0])
    comma = separator != "," and any("," in field for row in rows for field in row)
    reads = Form(separator, comma, header, columns, None, ())
    names = split(lines[header - 1][1].lstrip("# "), separator) if header else []
    rows = [row for row in rows if len(row) == columns]
    place, why = _label(f"{where}:{lines[header][0]}", reads, names, rows, frame=frame, told=label)
    said = [f"columns parted by {SEPARATORS[separator]}"]
    said += ["decimal commas"] if comma else []
    said += ["no header" if not header else f"{header} line{'s' * (header > 1)} of header"]
    said += [f"label {place}, {why}" if place else "no column of labels"]
    still = None
    if why == _VARIES:
        other = {row[-1 if place == "first" else 0] for row in rows}
        still = next(iter(other)) if len(other) == 1 and reads.is_number(min(other)) else None
    return Form(separator, comma, header, columns, place, (", ".join(said),), still)


def _header_and_separator(where: str, lines: list[Numbered]) -> tuple[int, str]:
    """How many lines come before the first row, and what parts its fields."""
    for header, (_, line) in enumerate(lines[:_MOST_HEADER]):
        separator = separator_of(line)
        if separator is None and not line.startswith("#"):
            break
        if separator is not None and not _names_things(split(line, separator), lines[header + 1 :]):
            return header, separator
    raise GlyphError(
        f"{where}:{lines[0][0]}",
        "no row of numbers with something between them",
        got=repr(lines[0][1][:40]),
        allowed="numbers parted by " + ", ".join(SEPARATORS.values()),
    )


def _names_things(fields: list[str], following: list[Numbered]) -> bool:
    """Whether a line is a header: names, or numbers that only count the columns."""
    words = [place for place, field in enumerate(fields) if not _is_number(field.replace(",", "."))]
    if len(words) > 1 or any(fields[place].lower() in LABEL_NAMES for place in words):
        return True
    if not words:
        counted = [str(start) for start in (0, 1) if fields[0] == str(start)]
        return bool(counted) and fields == [
            str(int(counted[0]) + place) for place in range(len(fields))
        ]
    # One word: a label, unless the next line has a number there.
    after = next(iter(following), None)
    if after is None:
        return False
    below = split(after[1], separator_of(after[1]) or ",")
    return len(below) == len(fields) and _is_number(below[words[0]].replace(",", "."))


def _label(
    where: str,
    form: Form,
    names: list[str],
    rows: list[list[str]],
    *,
    frame: tuple[int, int] | None,
    told: str | None,
) -> tuple[str | None, str]:
    """Which column is the label, and how that is known."""
    columns = form.columns
    ends = {"first": 0, "last": -1}
    named = []
    if len(names) == columns:
        named = [place for place, at in ends.items() if names[at].lower() in LABEL_NAMES]
    if told is None and _fits(columns, frame):
        if named or any(not form.is_number(row[at]) for row in rows for at in ends.values()):
            raise _no_picture(where, columns, frame, "one of them being that of labels")
        return None, ""
    if not _fits(columns - 1, frame):
        raise _no_picture(where, columns, frame, "with or without one for labels")
    if told is not None:
        return told, "as told"
    if len(named) == 1:
        return named[0], "as named"
    if len(words := _holding_names(form, rows)) == 1:
        return words[0], "as it holds names"
    values = {place: {row[at] for row in rows} for place, at in ends.items()}
    whole = [
        place
        for place in PLACES
        if all(field.isascii() and field.isdigit() and int(field) < 256 for field in values[place])
    ]
    varied = [place for place in whole if len(values[place]) > 1]
    named_otherwise = len(names) == columns and not all(
        form.is_number(names[at]) for at in ends.values()
    )
    if len(varied) == 1 and not named_otherwise and _is_beside_paper(rows, varied[0], whole):
        return varied[0], _VARIES
    seen = ("neither end varied", f"only the {varied[0]} varied" if varied else "", "both varied")
    raise cannot_tell(where, columns, seen[len(varied)] + " over whole numbers")


def cannot_tell(where: str, columns: int, seen: str) -> GlyphError:
    """The error for a table of which either end could be the label."""
    return GlyphError(
        where,
        "whether the label comes first or last can't be told",
        got=f"{columns} columns, {seen}",
        hint='say so (--labels first or --labels last; labels="first" in Python)',
    )


def _holding_names(form: Form, rows: list[list[str]]) -> list[str]:
    """The ends that hold names, and not merely numbers of which some are missing."""
    found = []
    for place, at in (("first", 0), ("last", -1)):
        words = [row[at] for row in rows if not form.is_number(row[at])]
        if not {word.lower() for word in words} <= _MISSING or len(words) == len(rows) > 0:
            found.append(place)
    return found


def _is_beside_paper(rows: list[list[str]], place: str, whole: list[str]) -> bool:
    """Whether an end that varies is a label, and not a corner of the picture.

    A corner of a picture is much like the pixel beside it, and one that is constant is paper.
    A table sorted by its labels has a label that is constant for long.
    """
    at, inner = (0, 1) if place == "first" else (-1, -2)
    count = len(rows)
    if [row[at] for row in rows] in (
        [str(start + number) for number in range(count)] for start in (0, 1)
    ):
        return False  # it only counts the rows
    if 3 * sum(row[at] == row[inner] for row in rows) > 2 * count:
        return False
    if len(whole) == 1:
        return True  # the other end holds fractions
    other = {row[-1 if place == "first" else 0] for row in rows}
    inside = Counter(field for row in rows[:_COUNTED] for field in row[1:-1])
    (paper, often), total = inside.most_common(1)[0], sum(inside.values())
    return other == {paper} and 4 * often >= total


def _fits(count: int, frame: tuple[int, int] | None) -> bool:
    if frame is not None:
        return count == frame[0] * frame[1]
    return count > 1 and math.isqrt(count) ** 2 == count


def _no_picture(where: str, count: int, frame: tuple[int, int] | None, more: str) -> GlyphError:
    side = math.isqrt(count)
    near = f"such as {side * side} of {side} x {side} px or {side * side + 1} with a label"
    wanted = f"{frame[0]} x {frame[1]} = {frame[0] * frame[1]}" if frame else "a square number"
    return GlyphError(
        where,
        f"the columns don't make a picture, {more}",
        got=f"{count} columns",
        allowed=f"{wanted}, and one more for a label" + ("" if frame else f"; {near}"),
        hint="say the frame if pictures aren't square (--frame HxW); leave out a column that "
        "only counts rows",
    )


def _is_number(field: str) -> bool:
    try:
        float(field)
    except ValueError:
        return False
    return "_" not in field and field.isascii()
