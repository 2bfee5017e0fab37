"""Pictures of different sizes, which become a set once they are fitted into one frame."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.fit import Fit, Fitted, fit_pictures
from gen.glyphs.left_out import LeftOut
from gen.glyphs.picture import Picture, read_picture
from gen.glyphs.polarity import Votes, decided, ink_votes, laid_on, wants_white

KEPT_BYTES = 256 << 20
"""Decoded pictures that are kept for the second look; more are decoded twice."""


class Pictures:
    """Pictures on disk, each looked at once, and read again when they are fitted.

    Parameters
    ----------
    paths
        A file each.
    left
        Where those that can't be read are put.

    Attributes
    ----------
    paths
        The files that can.
    """

    def __init__(self, paths: Sequence[Path], left: LeftOut) -> None:
        self.paths: tuple[Path, ...] = ()
        self._done: Counter[str] = Counter()
        self._kept: dict[int, Picture] = {}
        self._bytes, self._paper = 0, 255
        self._sides = [(1 << 62, 0), (1 << 62, 0)]
        self._votes, self._clear, paper = Votes(0, 0, 0), list[int](), 0
        read: list[Path] = []
        for path in paths:
            try:
                picture = read_picture(path)
            except GlyphError as error:
                left.add(path, error)
                continue
            self._keep(len(read), picture)
            self._done.update(picture.done)
            self._measured(picture.grey.shape)
            if picture.alpha is None:
                self._votes += ink_votes(picture.grey[None])
            else:
                self._clear.append(len(read))
                paper += wants_white(picture.grey, picture.alpha)
            read.append(path)
        self.paths = tuple(read)
        self._paper = 255 if paper >= 0 else 0

    def __len__(self) -> int:
        return len(self.paths)

    def __getitem__(self, place: int) -> Picture:
        if place in self._kept:
            return self._kept[place]
        return read_picture(self.paths[place])

    def settled(self, ink: str) -> tuple[str, str, tuple[str, ...]]:
        """What the ink is, a line that says so, and what was done.

        Parameters
        ----------
        ink
            "auto", "bright" or "dark".
        """
        votes, done = self._votes, Counter(self._done)
        for place in self._clear:
            votes += ink_votes(self.opaque(place)[None])
        shown, note = decided(votes, ink)
        transparent = done.pop("transparency", 0)
        notes = [f"{n:,} of {len(self):,} pictures: {what}" for what, n in done.items()]
        if transparent:
            laid = f"transparency laid on {'white' if self._paper else 'black'}"
            notes.append(f"{transparent:,} of {len(self):,} pictures: {laid}")
        return shown, note, tuple(notes)

    def opaque(self, place: int) -> Pixels:
        """A picture as it shows on its paper, (H, W), uint8."""
        picture = self[place]
        if picture.alpha is None:
            return picture.grey
        return laid_on(picture.grey, picture.alpha, self._paper)

    def fitted(self, fit: Fit, shown: str) -> Iterator[Fitted]:
        """Each in the frame, ink bright, whichever way it is shown."""
        for place in range(len(self)):
            grey = self.opaque(place)
            yield fit_pictures((255 - grey if shown == "dark" else grey)[None], fit)

    @property
    def sizes(self) -> str:
        """From which size to which those that were looked at are, in words."""
        (low_y, high_y), (low_x, high_x) = self._sides
        smallest, largest = f"{low_y:,} x {low_x:,}", f"{high_y:,} x {high_x:,}"
        return f"{smallest} px" if smallest == largest else f"{smallest} to {largest} px"

    def _keep(self, place: int, picture: Picture) -> None:
        size = picture.grey.nbytes * (1 if picture.alpha is None else 2)
        if self._bytes + size <= KEPT_BYTES:
            self._kept[place] = picture
            self._bytes += size

    def _measured(self, shape: tuple[int, ...]) -> None:
        self._sides = [
            (min(low, side), max(high, side))
            for (low, high), side in zip(self._sides, shape, strict=True)
        ]
