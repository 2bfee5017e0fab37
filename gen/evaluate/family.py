"""All tests of one evaluation, so that they can be corrected together."""

from __future__ import annotations

from gen.evaluate.differences import Differences
from gen.evaluate.multiple import holm
from gen.evaluate.results import Difference
from gen.evaluate.sheet import Sheet
from gen.evaluate.writers import Writers


class Family:
    """Paired differences between cells, corrected by Holm's method over all that were asked.

    Parameters
    ----------
    sheet
        The answers.

    Notes
    -----
    A difference that is asked for twice (one cell in two sweeps) counts twice.

    Examples
    --------
    >>> import numpy as np
    >>> from gen.evaluate.answers import Answers
    >>> sheet = Sheet(["nominal", "turned"], np.zeros(12, int), writers=None, classes=("a", "b"))
    >>> for name, wrong in (("nominal", 0), ("turned", 10)):
    ...     said = Answers(np.arange(12) < wrong, None, None)
    ...     _ = sheet.fill(name, np.arange(12), said, ink_lost=np.zeros(12))
    >>> family = Family(sheet)
    >>> family.ask("turned", "nominal")
    >>> family.settle()
    >>> found = family.of("turned", "nominal")
    >>> f"{found.value:.3f}", found.p_holm == 2 / 1024
    ('-0.833', True)
    """

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._writers = Writers.of(sheet.writers)
        self._asked: list[tuple[str, str]] = []
        self._settled: dict[tuple[str, str], Difference] = {}

    def ask(self, here: str, before: str) -> None:
        """Put the difference of one cell from another into the family."""
        self._asked.append((here, before))

    def settle(self) -> None:
        """Work all of them out."""
        pairs = dict.fromkeys(self._asked)
        place = {pair: at for at, pair in enumerate(pairs)}
        rows = (self._sheet.right(pair) for pair in pairs)
        found = Differences.of(((now, then) for now, then in rows), self._writers)
        corrected = holm(found.p_values[[place[pair] for pair in self._asked]])
        # Equal p-values are corrected alike, so that it doesn't matter which of them is taken.
        p_holm = dict(zip(self._asked, corrected.tolist(), strict=True))
        for pair, at in place.items():
            self._settled[pair] = Difference(
                value=float(found.value[at]),
                low=float(found.low[at]),
                high=float(found.high[at]),
                only_nominal=int(found.only_second[at]),
                only_level=int(found.only_first[at]),
                p_value=float(found.p_values[at]),
                p_holm=p_holm[pair],
                method=found.method,
            )

    def of(self, here: str, before: str) -> Difference:
        """The difference of one cell from another, once all are settled."""
        return self._settled[here, before]
