"""What a program wrote to its standard output, as answers."""

from __future__ import annotations

import math
import re
from io import BytesIO
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.pipe import MOST_BYTES, Pipe
from gen.recipe.spelling import quoted

MAGIC = b"\x93NUMPY"
_BETWEEN = re.compile(r"[ \t]*,[ \t]*|[ \t]+")
_NUMBER = re.compile(
    r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?|[-+]?(nan|inf|infinity)", re.IGNORECASE
)
_ALLOWED = "an npy array, or a line of text a glyph: a label, or scores parted by spaces or commas"


def read_all(data: bytes, n: int) -> Any:
    """The whole of standard output of a program that has ended.

    Raises
    ------
    ModelError
        If it is neither an npy array nor lines of text.

    Examples
    --------
    >>> read_all(b"0.5 0.5\\n1, 0\\n", 2).tolist()
    [[0.5, 0.5], [1.0, 0.0]]
    >>> read_all(b"three\\nfive\\n", 2).tolist()
    ['three', 'five']
    """
    if data.startswith(MAGIC):
        stream = BytesIO(data)
        array = _array(stream)
        if stream.read().strip():
            raise ModelError("", "the program wrote more after its array", got=_start(data[-60:]))
        return array
    if not data.strip():
        raise ModelError("", "the program answered nothing", got="no output", allowed=_ALLOWED)
    return _from_lines(data.rstrip().splitlines(), n)


def read_one(pipe: Pipe, n: int, deadline: float) -> Any:
    """One answer of a program that stays.

    Raises
    ------
    EOFError
        If its standard output ends first.
    ModelError
        If it is neither an npy array nor lines of text.
    """
    first = _exactly(pipe, 1, deadline)
    if first == MAGIC[:1]:
        return _array(_Piped(pipe, first, deadline))
    lines = [first + _line(pipe, deadline)]
    if first == b"\n":
        raise ModelError("", "a line of the answers is empty", got="line 1", allowed=_ALLOWED)
    lines += [_line(pipe, deadline) for _ in range(n - 1)]
    return _from_lines([line.rstrip() for line in lines], n)


class _Piped:
    """What has been read already, then the pipe, as numpy reads a file."""

    def __init__(self, pipe: Pipe, first: bytes, deadline: float) -> None:
        self._pipe, self._first, self._deadline = pipe, first, deadline

    def read(self, count: int) -> bytes:
        """Exactly so many bytes."""
        if count > MOST_BYTES:
            raise ValueError(f"{count} bytes")
        head, self._first = self._first[:count], self._first[count:]
        return head + _exactly(self._pipe, count - len(head), self._deadline)


def _exactly(pipe: Pipe, count: int, deadline: float) -> bytes:
    data = pipe.read(count, deadline)
    if len(data) < count:
        raise EOFError
    return data


def _line(pipe: Pipe, deadline: float) -> bytes:
    line = pipe.line(deadline)
    if not line:
        raise EOFError
    return line


def _array(stream: Any) -> NDArray[Any]:
    try:
        version = np.lib.format.read_magic(stream)
        if version == (1, 0):
            shape, fortran, dtype = np.lib.format.read_array_header_1_0(stream)
        else:
            shape, fortran, dtype = np.lib.format.read_array_header_2_0(stream)
        if dtype.hasobject:
            raise ValueError("it holds Python objects")
        count = math.prod(shape)
        if count < 0:
            raise ValueError(f"shape {shape}")
        data = stream.read(count * dtype.itemsize)
        if len(data) < count * dtype.itemsize:
            raise ValueError(f"{len(data)} bytes of {count * dtype.itemsize}")
        return np.frombuffer(data, dtype).reshape(shape, order="F" if fortran else "C")
    except EOFError:
        raise
    except ValueError as error:
        raise ModelError("", "the program's npy array can't be read", got=error) from error


def _from_lines(lines: list[bytes], n: int) -> NDArray[Any]:
    try:
        texts = [line.decode("utf-8").strip() for line in lines]
    except UnicodeDecodeError:
        raise ModelError(
            "", "the program's answer is neither an npy array nor text", got=_start(lines[0])
        ) from None
    texts[0] = texts[0].removeprefix("\ufeff")  # some languages begin UTF-8 with this mark
    if len(texts) != n:
        raise ModelError(
            "",
            "the model gave a wrong number of answers",
            got=f"{len(texts)} lines, the first {quoted(texts[0])}",
            allowed=f"{n}, one a glyph",
        )
    if "" in texts:
        empty = f"line {texts.index('') + 1}"
        raise ModelError("", "a line of the answers is empty", got=empty, allowed=_ALLOWED)
    parted = [_BETWEEN.split(text) for text in texts]
    numbers = [all(_NUMBER.fullmatch(part) for part in parts) for parts in parted]
    if len(parted[0]) == 1 or not numbers[0]:
        return _labels(texts)
    for place, parts in enumerate(parted):
        if len(parts) != len(parted[0]) or not numbers[place]:
            raise ModelError(
                "",
                "a line of the answers is unlike the first",
                got=f"line {place + 1}: {quoted(texts[place])}",
                allowed=f"{len(parted[0])} scores",
            )
    return np.array([[float(part) for part in parts] for parts in parted])


def _labels(texts: list[str]) -> NDArray[Any]:
    """Names as they are written; whole numbers stay names until nothing is called so."""
    fractions = any(not text.lstrip("+-").isdecimal() for text in texts)
    if fractions and all(_NUMBER.fullmatch(text) for text in texts):
        return np.array([float(text) for text in texts])
    return np.array(texts)


def _start(data: bytes) -> str:
    return quoted(data[:60].decode("utf-8", "replace"))
