"""The pictures of a page, each held once however often it is shown."""

from __future__ import annotations

from collections.abc import Collection

from gen.report.markup import esc
from gen.report.pictures import Pixels, data_uri

PREFIX = "data:image/png;base64,"


class Album:
    """Pictures by number, in the order in which they were first asked for.

    Examples
    --------
    >>> import numpy as np
    >>> album = Album()
    >>> bare, full = np.zeros((4, 4), np.uint8), np.full((4, 4), 255, np.uint8)
    >>> album.number(bare), album.number(full), album.number(bare.copy())
    (0, 1, 0)
    """

    def __init__(self) -> None:
        self._numbers: dict[tuple[tuple[int, ...], bytes], int] = {}
        self._uris: list[str] = []
        self._printed: set[int] = set()
        self._later: set[int] = set()

    def number(self, image: Pixels) -> int:
        """Which picture it is."""
        key = image.shape, image.tobytes()
        if key not in self._numbers:
            self._numbers[key] = len(self._uris)
            self._uris.append(data_uri(image))
        return self._numbers[key]

    def chars(self, numbers: Collection[int]) -> int:
        """How much room these take on a page, in characters."""
        return sum(len(self._uris[number]) for number in set(numbers))

    def printed(self, image: Pixels) -> tuple[int, str]:
        """The number of a picture and the URI that its markup holds."""
        number = self.number(image)
        self._printed.add(number)
        return number, self._uris[number]

    def img(self, image: Pixels, words: str) -> str:
        """Markup of a picture, with words for those who don't see it."""
        number, uri = self.printed(image)
        return f'<img alt="{esc(words)}" data-picture="{number}" src="{uri}">'

    def later(self, image: Pixels) -> int:
        """The number of a picture that the script of the page may show."""
        number = self.number(image)
        self._later.add(number)
        return number

    def rest(self) -> list[str]:
        """For the script: all pictures by number, without what their URIs have in common.

        Those that it never shows are empty, and so are those that stand in the markup
        anyhow, from where it has them by their numbers.
        """
        missing = self._later - self._printed
        return [
            uri.removeprefix(PREFIX) if number in missing else ""
            for number, uri in enumerate(self._uris)
        ]
