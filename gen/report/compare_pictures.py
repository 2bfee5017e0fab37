"""The pictures that reports keep, with what every model of a comparison read in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gen.evaluate.compared import Compared
from gen.evaluate.winning import winner
from gen.report.compare_read import Scored
from gen.report.glyph_words import Seen
from gen.report.names import isolated, upright
from gen.report.shown import Pixels

_ROOM = 4


@dataclass(frozen=True, eq=False)
class ReadMark:
    """One glyph in one cell.

    Attributes
    ----------
    cell, glyph
        Name of the cell, and index of the glyph in its set.
    true
        Its class.
    image
        ndarray of shape (H, W), uint8, ink bright.
    answers
        The class that each model named; None where it gave no answer.
    """

    cell: str
    glyph: int
    true: str
    image: Pixels
    answers: tuple[str | None, ...]

    @property
    def seen(self) -> Seen:
        """As a chart takes it; what was read stands for each model by itself."""
        return Seen(self.image, "", "")

    def right(self, model: int) -> bool:
        """Whether a model reads it rightly."""
        return self.answers[model] == self.true

    def short(self, model: int) -> str:
        """What fits under a small picture: the class that a model named."""
        answer = self.answers[model]
        if answer is None:
            return "\u2013"
        name = upright(answer)
        return isolated(name if len(name) <= _ROOM else f"{name[: _ROOM - 1]}\u2026")


class Pictured:
    """Glyphs in cells, of all reports together: the same recipe makes the same pictures of them.

    Parameters
    ----------
    models
        What is compared.
    """

    def __init__(self, models: Sequence[Scored]) -> None:
        self._answered = [one.answered for one in models]
        self._row = [{cell: row for row, cell in enumerate(a.cells)} for a in self._answered]
        images = {place: image for one in reversed(models) for place, image in one.pictures.items()}
        self.marks: dict[str, dict[int, ReadMark]] = {}
        for (cell, glyph), image in images.items():
            places = [self._at(model, glyph) for model in range(len(models))]
            if None in places:
                continue  # not among the glyphs that are compared
            answers = tuple(self._answer(model, cell, glyph) for model in range(len(models)))
            true = self._answered[0].classes[self._answered[0].labels[places[0]]]
            self.marks.setdefault(cell, {})[glyph] = ReadMark(cell, glyph, true, image, answers)

    def parted(self, cell: str, first: int, second: int) -> list[ReadMark]:
        """Marks of a cell that the first model reads and the second misreads, a class once first.

        Parameters
        ----------
        cell
            Its name.
        first, second
            Two models, by place.
        """
        found = [
            mark
            for mark in self.marks.get(cell, {}).values()
            if mark.right(first) and not mark.right(second) and mark.answers[second] is not None
        ]
        first_of = {mark.true: mark for mark in reversed(found)}
        fresh = [mark for mark in found if first_of[mark.true] is mark]
        return fresh + [mark for mark in found if first_of[mark.true] is not mark]

    def through(self, compared: Compared, cells: Sequence[str]) -> tuple[ReadMark, ...]:
        """One glyph in all cells of a sweep or a grid, or nothing.

        Of the glyphs that have a picture in each it is the one that shows most of what was
        found: read by the better model of a pair, and not by the other.

        Parameters
        ----------
        compared
            What was found.
        cells
            Names of the cells, in which the marks come.
        """
        held = [self.marks.get(cell, {}) for cell in cells]
        told = {cell: compared.cell(cell).differences for cell in set(cells)}
        best: tuple[int, tuple[ReadMark, ...]] = (0, ())
        for glyph in held[0]:
            if not all(glyph in marks for marks in held):
                continue
            marks = tuple(each[glyph] for each in held)
            shows = 0
            for mark in marks:
                for difference in told[mark.cell]:
                    one = winner(difference)
                    if one is not None:
                        other = difference.first + difference.second - one
                        shows += mark.right(one) - mark.right(other)
            if not best[1] or shows > best[0]:
                best = shows, marks
        return best[1]

    def _at(self, model: int, glyph: int) -> int | None:
        indices = self._answered[model].indices
        place = int(np.searchsorted(indices, glyph))
        return place if place < len(indices) and indices[place] == glyph else None

    def _answer(self, model: int, cell: str, glyph: int) -> str | None:
        row, place = self._row[model].get(cell), self._at(model, glyph)
        if row is None or place is None:
            return None
        answered = self._answered[model]
        return answered.classes[int(answered.answers[row, place])]


def better_in(compared: Compared, first: int, second: int) -> set[str]:
    """Names of the cells in which the first model is better than the second."""
    return {
        cell.cell
        for cell in compared.cells
        for one in cell.differences
        if {one.first, one.second} == {first, second} and winner(one) == first
    }
