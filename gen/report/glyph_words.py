"""What stands under and beside the picture of a glyph."""

from __future__ import annotations

from dataclasses import dataclass

from gen.report.album import Album
from gen.report.markup import esc
from gen.report.names import isolated, upright
from gen.report.shown import Followed, Picture, Pixels, Said
from gen.report.typeset import typeset
from gen.report.words import measured, quoted

_ROOM = 4


def read_words(said: Said) -> str:
    """What came of a picture: "read as “7”", or "read rightly".

    Examples
    --------
    >>> read_words(Said("7", 0.9, False)), read_words(Said("7", 0.9, True))
    ('read as “7”', 'read rightly')
    """
    return "read rightly" if said.right else f"read as {quoted(said.answered)}"


def sure_words(said: Said) -> str:
    """How sure the model was: "91.0 % sure"; empty when it gives labels only.

    Examples
    --------
    >>> sure_words(Said("7", 0.91, False)), sure_words(Said("7", None, False))
    ('91.0 % sure', '')
    """
    return "" if said.confidence is None else f"{measured(said.confidence)} sure"


def said_words(true: str, said: Said) -> str:
    """Its class, what it was read as, and how surely where that is known.

    Examples
    --------
    >>> said_words("1", Said("7", 0.91, False)), said_words("1", Said("7", None, False))
    ('“1” read as “7”, 91.0 % sure', '“1” read as “7”')
    """
    return ", ".join(filter(None, (f"{quoted(true)} {read_words(said)}", sure_words(said))))


def short_words(said: Said) -> str:
    """What fits under a small picture: "as 7" where it was misread, else nothing.

    Examples
    --------
    >>> short_words(Said("7", 0.9, False)), short_words(Said("7", 0.9, True))
    ('as 7', '')
    >>> short_words(Said("ampersand", None, False))
    'as amp…'
    """
    if said.right:
        return ""
    name = upright(said.answered)
    return f"as {isolated(name if len(name) <= _ROOM else name[: _ROOM - 1] + '…')}"


@dataclass(frozen=True)
class Seen:
    """A followed glyph at one level, as the page has it.

    Attributes
    ----------
    image
        ndarray of shape (H, W), uint8, ink bright.
    words
        Its class and what was said: "“D” read as “0”, 88.0 % sure".
    short
        What stands under it in a strip: "as 0", or nothing.
    """

    image: Pixels
    words: str
    short: str


def through(followed: Followed) -> tuple[Seen, ...]:
    """A followed glyph at all levels."""
    return tuple(
        Seen(
            image,
            typeset(said_words(followed.true, said)),
            short_words(said),
        )
        for image, said in zip(followed.images, followed.said, strict=True)
    )


def misread_pair(album: Album, picture: Picture) -> str:
    """A glyph at nominal and where it is misread, side by side, with what came of it."""
    before = ""
    if picture.before is not None:
        before = album.img(picture.before, f"{quoted(picture.true)} at nominal")
    there = album.img(picture.image, f"{quoted(picture.true)} {read_words(picture.said)}")
    return (
        f'<figure class="lost"><div>{before}{there}</div><figcaption>{lost_words(picture)}'
        "</figcaption></figure>"
    )


def lost_words(picture: Picture) -> str:
    """Markup: true class, what it was read as, how surely."""
    true, said = esc(quoted(picture.true)), picture.said
    sure = esc(typeset(sure_words(said)))
    told = f'<b>{true}</b> <span class="wrong">{esc(read_words(said))}</span>'
    return f"{told} <small>{sure}</small>" if sure else told


def captioned(
    album: Album,
    image: Pixels,
    *,
    alt: str,
    where: str,
    says: str,
    wrong: bool = False,
    sure: str = "",
) -> str:
    """A picture with where it is from, and what was said of it and how surely, underneath."""
    told = f'<span class="{"wrong" if wrong else "right"}">{esc(says)}</span>' if says else ""
    told += f"<small>{esc(typeset(sure))}</small>" if sure else ""
    return (
        f"<figure>{album.img(image, alt)}<figcaption>{esc(typeset(where))}{told}"
        "</figcaption></figure>"
    )
