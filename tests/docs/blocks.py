"""The fenced code blocks of a document, and what the comment above each asks for."""

from __future__ import annotations

import re
from dataclasses import dataclass

_FENCE = re.compile(r"^```(?P<language>[\w-]*)[ \t]*$")
_NOTE = re.compile(r"^<!--\s*(?P<note>.*?)\s*-->$")
_SET_UP = "python3 -m venv"


@dataclass(frozen=True)
class Block:
    """A fenced block.

    `note` is the comment on the line above, or empty; `line` is where the block's
    first line of code stands in its document.
    """

    language: str
    text: str
    note: str
    line: int

    @property
    def is_set_up(self) -> bool:
        """Whether it makes an environment, which `.ci/run` does on a clean machine."""
        return self.text.startswith(_SET_UP)


def fenced_blocks(text: str) -> list[Block]:
    """Every fenced block, in order; a fence that is never closed is an error."""
    blocks = []
    lines = text.splitlines()
    number = 0
    while number < len(lines):
        opening = _FENCE.match(lines[number])
        if opening is None:
            if lines[number].lstrip().startswith("```"):
                raise ValueError(f"line {number + 1}: a fence that isn't understood")
            number += 1
            continue
        above = next((line for line in reversed(lines[:number]) if line.strip()), "")
        noted = _NOTE.match(above.strip())
        start = number + 1
        end = next((i for i in range(start, len(lines)) if lines[i] == "```"), None)
        if end is None:
            raise ValueError(f"line {number + 1}: a fence that is never closed")
        code = "".join(f"{line}\n" for line in lines[start:end])
        blocks.append(Block(opening["language"], code, noted["note"] if noted else "", start + 1))
        number = end + 1
    return blocks
