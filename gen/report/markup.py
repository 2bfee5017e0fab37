"""Text into markup, escaped at one door."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterable, Mapping, Sequence

# Characters that XML has no place for, or that turn what stands beside them from right to
# left; a name may hold them all the same.
_CONTROL = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff\ud800-\udfff\u202a-\u202e\u2066\u2067]"
)


def esc(text: object) -> str:
    """Text as it may stand between tags and in quoted attributes.

    Examples
    --------
    >>> esc('<b title="x">')
    '&lt;b title=&quot;x&quot;&gt;'
    """
    return html.escape(clean(text), quote=True)


def clean(text: object) -> str:
    r"""Text without the characters that a page has no place for; not escaped.

    Examples
    --------
    >>> clean("a\x00b") == "a\ufffdb"
    True
    """
    return _CONTROL.sub("\ufffd", str(text))


def data_block(values: object, *, ident: str) -> str:
    r"""Values as JSON in a page, where no text in them can end the block or begin a tag.

    Everything outside ASCII is escaped as JSON knows it, U+2028 and U+2029 too.

    Examples
    --------
    >>> data_block(["</script>"], ident="data")
    '<script type="application/json" id="data">["\\u003c/script\\u003e"]</script>'
    """
    text = json.dumps(_cleaned(values), separators=(",", ":"), allow_nan=False)
    for mark in "<>&":
        text = text.replace(mark, f"\\u{ord(mark):04x}")
    return f'<script type="application/json" id="{esc(ident)}">{text}</script>'


def _cleaned(values: object) -> object:
    if isinstance(values, str):
        return clean(values)
    if isinstance(values, Mapping):
        return {name: _cleaned(each) for name, each in values.items()}
    if isinstance(values, list | tuple):
        return [_cleaned(each) for each in values]
    return values


def table(
    caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]], *, ident: str = ""
) -> str:
    """A table whose first column names its rows; all cells but `Markup` ones are escaped.

    It can be scrolled sideways where it is too wide, by keyboard too.
    """
    top = "".join(f'<th scope="col">{esc(head)}</th>' for head in heads)
    body = "".join(
        f'<tr><th scope="row">{_cell(row[0])}</th>'
        + "".join(f"<td>{_cell(cell)}</td>" for cell in row[1:])
        + "</tr>"
        for row in rows
    )
    named = f' id="{esc(ident)}"' if ident else ""
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{esc(caption)}">'
        f"<table{named}><caption>{esc(caption)}</caption>"
        f"<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table></div>"
    )


class Markup(str):
    """Text that is markup already."""

    __slots__ = ()


def _cell(cell: str) -> str:
    return cell if isinstance(cell, Markup) else esc(cell)
