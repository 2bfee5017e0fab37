"""A linear network as an ONNX file, written byte by byte, so that no library is needed.

Field numbers are those of onnx.proto (ONNX 1.23, github.com/onnx/onnx); what is written
passes `onnx.checker.check_model` of that version (tests/outside/test_networks.py).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

_FLOAT = 1


def linear_network(weights: NDArray[np.float32], *, batch: int | None = None) -> bytes:
    """A network that multiplies flat pictures with weights of shape (H*W, C).

    `batch` is the size of the batch that the file states; any when left out.
    """
    size, classes = weights.shape
    node = _text(1, "x") + _text(1, "weights") + _text(2, "scores") + _text(4, "MatMul")
    tensor = (
        b"".join(_number(1, n) for n in weights.shape)
        + _number(2, _FLOAT)
        + _text(8, "weights")
        + _bytes(9, weights.astype("<f4").tobytes())
    )
    graph = (
        _bytes(1, node)
        + _text(2, "linear")
        + _bytes(5, tensor)
        + _bytes(11, _value("x", (batch, size)))
        + _bytes(12, _value("scores", (batch, classes)))
    )
    opset = _text(1, "") + _number(2, 13)
    return _number(1, 8) + _bytes(7, graph) + _bytes(8, opset)


def _value(name: str, shape: tuple[Any, ...]) -> bytes:
    sizes = b"".join(
        _bytes(1, _text(2, "n") if size is None else _number(1, size)) for size in shape
    )
    kind = _bytes(1, _number(1, _FLOAT) + _bytes(2, sizes))
    return _text(1, name) + _bytes(2, kind)


def _number(field: int, value: int) -> bytes:
    return _varint(field << 3) + _varint(value)


def _bytes(field: int, value: bytes) -> bytes:
    return _varint(field << 3 | 2) + _varint(len(value)) + value


def _text(field: int, value: str) -> bytes:
    return _bytes(field, value.encode("utf-8"))


def _varint(value: int) -> bytes:
    out = bytearray()
    while value > 127:
        out.append(value & 127 | 128)
        value >>= 7
    out.append(value)
    return bytes(out)
