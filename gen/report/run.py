"""What was run: the part of a report that an evaluation doesn't know."""

from __future__ import annotations

import platform
from dataclasses import dataclass, field

from gen.core.version import VERSION


def versions() -> tuple[tuple[str, str], ...]:
    """Versions of what the figures hang on, as (name, version) pairs."""
    from importlib.metadata import version

    return (
        ("inkdrift", VERSION),
        ("python", platform.python_version()),
        ("numpy", version("numpy")),
        ("scipy", version("scipy")),
    )


@dataclass(frozen=True)
class RunInfo:
    """What was run.

    Attributes
    ----------
    command
        As the person typed it; empty when called from Python.
    recipe_text
        The recipe, whole, so that a report can be run again.
    versions
        (name, version) pairs.
    """

    command: str = ""
    recipe_text: str = ""
    versions: tuple[tuple[str, str], ...] = field(default_factory=versions)
