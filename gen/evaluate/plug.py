"""What every kind of model that isn't a Python object has in common."""

from __future__ import annotations

from abc import ABC, abstractmethod
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from gen.core.errors import ModelError

FAILS = "the model fails"
"""The fact of an error in which a model's own words say why."""


class OverdueError(ModelError):
    """A model did not answer in time; asking it in another way would only take as long."""


class Plug(ABC):
    """A model behind a way in of its own: a network in a file, a program.

    Attributes
    ----------
    role
        What it is and how it is asked, in words.
    may_be_alone
        Whether it may take one glyph at a time and no more, so that this is tried.
    """

    role = ""
    may_be_alone = False

    @abstractmethod
    def __call__(self, handed: NDArray[Any]) -> object:
        """Answer a batch.

        Raises
        ------
        ModelError
            If it can't; `where` is empty, since the caller knows.
        """

    @abstractmethod
    def files(self) -> list[Path]:
        """The files that it consists of."""
