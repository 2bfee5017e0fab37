"""XML read as it comes, with nothing in it believed.

Elements are handed over as they start and end; nothing is built, so how they nest costs
no recursion. Nothing outside the file is ever opened. A DOCTYPE line is passed over,
because many harmless drawings have one, but entities that are declared, and names of
entities that aren't, end the reading: there is no use for them in a drawing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Protocol
from xml.parsers import expat

from gen.core.errors import GlyphError
from gen.glyphs.stream import opened, read_up_to

MOST_FILE_BYTES = 32 << 20
MOST_DEPTH = 256
MOST_ELEMENTS = 1 << 18

_COMMENT = re.compile(rb"<!--.*?-->|<!\[CDATA\[.*?\]\]>", re.DOTALL)
_ENTITY = re.compile(rb"&(?!(?:amp|lt|gt|quot|apos);|#)[\w.:-]*;?")
_CUT_SHORT = ("no element found", "unclosed token", "unclosed CDATA section")
_GAP = " "  # between namespace and name; neither may hold one


class Handler(Protocol):
    """What is done as elements come."""

    def start(self, name: str, attributes: dict[str, str], line: int) -> None:
        """An element begins; names are "namespace name"."""

    def text(self, text: str) -> None:
        """Some text inside the element that is open."""

    def end(self, name: str) -> None:
        """The element that is open ends."""


def read_markup(path: Path, handler: Handler) -> tuple[str, ...]:
    """Read an XML file, plain or gzipped, up to 32 MiB unpacked.

    Returns
    -------
    tuple of str
        Phrases for what was passed over.

    Raises
    ------
    GlyphError
        If it can't be read, is no well-formed XML, nests too deep, or has entities.
    """
    with opened(path) as file:
        body = read_up_to(file.stream, MOST_FILE_BYTES + 1)
    where = str(path)
    if not body:
        raise GlyphError(where, "the file is empty")
    if len(body) > MOST_FILE_BYTES:
        raise GlyphError(
            where,
            "the file is far larger than drawings are",
            got=f"over {MOST_FILE_BYTES:,} bytes",
            allowed=f"up to {MOST_FILE_BYTES:,} bytes",
        )
    passed: list[str] = []
    parser = _parser(where, handler, passed)
    with _told(where, parser):
        parser.Parse(body, True)
    if passed:
        _refuse_unknown(where, body)
    return tuple(passed)


def _refuse_unknown(where: str, body: bytearray) -> None:
    """Refuse names of entities that a DOCTYPE elsewhere may declare.

    Where there is one, a parser drops such names from attributes without a word.
    """
    found = _ENTITY.search(_COMMENT.sub(b"", body))
    if found is not None:
        raise GlyphError(where, "an entity that nothing declares", got=ascii(found[0].decode()))


def _parser(where: str, handler: Handler, passed: list[str]) -> expat.XMLParserType:
    parser = expat.ParserCreate(namespace_separator=_GAP)
    parser.buffer_text = True
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    depth = elements = 0

    def place() -> str:
        return f"{where}:{parser.CurrentLineNumber}"

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth, elements
        depth += 1
        elements += 1
        if elements > MOST_ELEMENTS:
            raise GlyphError(
                place(),
                "the file has more elements than drawings have",
                allowed=f"{MOST_ELEMENTS:,}",
                hint="part it into several files",
            )
        if depth > MOST_DEPTH:
            raise GlyphError(
                place(), "elements nest too deep", allowed=f"{MOST_DEPTH} within one another"
            )
        handler.start(name, attributes, parser.CurrentLineNumber)

    def end(name: str) -> None:
        nonlocal depth
        depth -= 1
        handler.end(name)

    def doctype(name: str, system: str | None, public: str | None, inner: int) -> None:
        passed.append("DOCTYPE not followed")

    def entity(name: str, *rest: object) -> None:
        raise GlyphError(
            place(),
            "the file declares an entity, which no drawing needs",
            got=repr(name),
            hint="take the declaration out, or export the drawing as plain XML",
        )

    def unknown(name: str, *rest: object) -> None:
        raise GlyphError(place(), "an entity that nothing declares", got=f"&{name};")

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = handler.text
    parser.StartDoctypeDeclHandler = doctype
    parser.EntityDeclHandler = entity
    parser.SkippedEntityHandler = unknown
    return parser


@contextmanager
def _told(where: str, parser: expat.XMLParserType) -> Iterator[None]:
    """The parser's own errors as those of the package."""
    try:
        yield
    except expat.ExpatError as cause:
        said = expat.ErrorString(cause.code)
        raise GlyphError(
            f"{where}:{cause.lineno}",
            "the file isn't well-formed XML",
            got=f"{said}, column {cause.offset + 1}",
            hint="was the file cut short? copy it again" if said in _CUT_SHORT else None,
        ) from cause
    except (ValueError, LookupError) as cause:
        raise GlyphError(
            f"{where}:{parser.CurrentLineNumber}",
            "the encoding that the file states isn't known",
            got=cause,
            hint="save it as UTF-8",
        ) from cause


def root_name(head: bytes) -> str | None:
    """The name of the first element, "namespace name" or a bare name, if `head` is XML.

    Examples
    --------
    >>> root_name(b'<?xml version="1.0"?><!-- by noon --><svg xmlns="http://www.w3.org/2000/svg">')
    'http://www.w3.org/2000/svg svg'
    >>> root_name(b"ink on paper") is None
    True
    """
    if not re.match(rb"\s*<|\xef\xbb\xbf\s*<|\xfe\xff\0<|\xff\xfe<\0", head):
        return None
    seen: list[str] = []
    parser = expat.ParserCreate(namespace_separator=_GAP)
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    parser.StartElementHandler = lambda name, attributes: seen.append(name)
    # What was seen before a fault still counts.
    with suppress(expat.ExpatError, ValueError, LookupError):
        parser.Parse(head, False)
    return seen[0] if seen else None
