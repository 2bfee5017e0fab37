"""How values are shown in an error, and which right word was probably meant."""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterable
from decimal import Decimal

from gen.core.plain_text import printable

_LONGEST = 60


def quoted(text: str) -> str:
    r"""Text in double quotes on one line, cut when long, with nothing a terminal would act on.

    Examples
    --------
    >>> print(quoted("two\nlines"))
    "two\nlines"
    """
    cut = text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
    return printable(json.dumps(cut, ensure_ascii=False))


def shown(value: object) -> str:
    """A value of a recipe as it is written there, or in words when it is not one amount.

    Examples
    --------
    >>> shown("px"), shown(True), shown(Decimal("0.10")), shown([1, 2])
    ('"px"', 'true', '0.10', 'a list of 2')
    """
    match value:
        case str():
            text = quoted(value)
        case bool():
            text = "true" if value else "false"
        case int() if value.bit_length() >= 200:
            # Hexadecimal whole numbers may be of any length, and printing them may not.
            text = f"a number of {value.bit_length()} bits"
        case int():
            text = str(value)
        case Decimal():
            text = str(value).lower() if value.is_finite() else str(float(value))
        case list():
            text = f"a list of {len(value)}"
        case dict():
            text = "a table"
        case _:
            text = f"{value} (a date or time)"
    return text if len(text) <= 2 * _LONGEST else text[: _LONGEST - 3] + "..."


def plain(number: Decimal | float) -> str:
    """An amount without trailing zeros.

    Examples
    --------
    >>> plain(Decimal("1.500")), plain(100.0), plain(Decimal("1e30"))
    ('1.5', '100', '1E+30')
    """
    short = Decimal(repr(number) if isinstance(number, float) else number).normalize()
    return f"{short:f}" if -9 <= short.adjusted() <= 15 else str(short)


def listed(words: Iterable[str]) -> str:
    """Words in quotes with commas between.

    Examples
    --------
    >>> listed(["px", "ratio"])
    '"px", "ratio"'
    """
    return ", ".join(quoted(word) for word in words)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant; None when no one is near.

    Case, spaces, hyphens and underscores don't count, and a short form is near
    its long one ("pixels" for "px"). Where only one word is known it is the answer.

    Examples
    --------
    >>> nearest("levles", ["levels", "note", "unit"])
    'levels'
    >>> nearest("Stroke_Width", ["stroke-width", "scale"])
    'stroke-width'
    >>> nearest("pixels", ["ratio", "px"])
    'px'
    >>> nearest("zebra", ["px", "ratio"]) is None
    True
    """
    folded = {_fold(each): each for each in known}
    asked = _fold(word)
    if len(folded) == 1 or asked in folded:
        return folded.get(asked) or next(iter(folded.values()))
    close = difflib.get_close_matches(asked, folded, n=1, cutoff=0.6)
    if close:
        return folded[close[0]]
    for each, right in folded.items():
        if len(asked) >= 2 and (each.startswith(asked) or _shortens(each, asked)):
            return right
    return None


def _shortens(short: str, word: str) -> bool:
    """Whether a few letters stand in a word in this order, the first at its beginning."""
    letters = iter(word)
    return len(short) <= 4 and word[:1] == short[:1] and all(c in letters for c in short)


def nearest_hint(word: object, known: Iterable[str]) -> str | None:
    """The nearest known word in quotes, as the "try" of an error.

    Examples
    --------
    >>> nearest_hint("blurr", ["blur", "scale"])
    '"blur"'
    """
    found = nearest(word, known) if isinstance(word, str) else None
    return None if found is None else quoted(found)


def _fold(word: str) -> str:
    return "".join(c for c in word.casefold() if c not in " -_")
