"""A network in an ONNX file, run by OpenCV's own reader."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.plug import FAILS, Plug
from gen.recipe.spelling import listed, nearest, quoted

SUFFIX = ".onnx"

_WORDS = re.compile(r"error: \(-?\d+:(?P<kind>[^)]*)\)\s*(?P<words>.*)", re.DOTALL)
_PATH = re.compile(r"OpenCV\([\d.a-z-]+\) \S+:\d+: ")
_GIVEN = re.compile(r"(CV_\w+) given, (CV_\w+) expected")
_DTYPES = {"CV_8UC1": "uint8", "CV_32FC1": "float32", "CV_64FC1": "float64"}
_LONGEST = 160


class OnnxNet(Plug):
    """A network that is handed arrays and gives its scores.

    Parameters
    ----------
    path
        The file. Weights that lie in files beside it are read from there.
    output
        Which of several outputs; the first when left out.
    spec
        As it was named, for errors.

    Raises
    ------
    ModelError
        If there is no such file or output, or OpenCV can't read it.

    Notes
    -----
    Files that were exported for one glyph at a time are run so: OpenCV runs many of them
    on larger batches all the same, and refuses others.

    References
    ----------
    ONNX, https://onnx.ai/onnx/repo-docs/IR.html
    """

    may_be_alone = True

    def __init__(self, path: Path, *, output: str | None, spec: str) -> None:
        import cv2

        _check_file(path, spec)
        self.path = path
        try:
            with _silence():
                self._net = cv2.dnn.readNetFromONNX(str(path))
                names = tuple(self._net.getUnconnectedOutLayersNames())
        except cv2.error as error:
            raise ModelError(
                spec,
                "OpenCV can't read this as an ONNX file",
                got=_said(error),
                hint=_read_hint(path),
            ) from error
        if output is not None and output not in names:
            near = nearest(output, names)
            raise ModelError(
                spec,
                "the network has no such output",
                got=quoted(output),
                allowed=listed(names),
                hint=quoted(near) if near else None,
            )
        self._output = output or names[0]
        self.role = f"ONNX, run by OpenCV {cv2.__version__}"
        if len(names) > 1:
            others = listed(name for name in names if name != self._output)
            self.role += f"; output {quoted(self._output)}, and not {others}"

    def __call__(self, handed: NDArray[Any]) -> object:
        """Run the network forward."""
        import cv2

        # OpenCV would take the last axis of an array of three for its channels.
        mat: Any = cv2.Mat
        blob = mat(handed, wrap_channels=False) if handed.ndim == 3 else handed
        try:
            with _silence():
                self._net.setInput(blob)
                # A copy: OpenCV may use the same memory for the next batch.
                return np.array(self._net.forward(self._output))
        except cv2.error as error:
            raise ModelError("", FAILS, got=_said(error), hint=_dtype_hint(error)) from error

    def files(self) -> list[Path]:
        """The file, and its weights where they lie beside it."""
        return [self.path, *weights_beside(self.path)]


def weights_beside(path: Path) -> list[Path]:
    """Files beside an ONNX file that exporters put weights into.

    Examples
    --------
    >>> weights_beside(Path("no such folder/reader.onnx"))
    []
    """
    names = (f"{path.name}.data", f"{path.name}_data", f"{path.stem}.data")
    return [path.with_name(name) for name in names if path.with_name(name).is_file()]


def _check_file(path: Path, spec: str) -> None:
    if path.is_file():
        if any("\ud800" <= character <= "\udfff" for character in str(path)):
            # OpenCV doesn't refuse such a name: it ends the process.
            raise ModelError(
                spec,
                "OpenCV can't open a file whose path is no text",
                got=ascii(str(path)),
                hint="a name of letters that can be shown, for the file and its folders",
            )
        return
    known = [p.name for p in path.parent.glob(f"*{SUFFIX}")] if path.parent.is_dir() else []
    near = nearest(path.name, known)
    raise ModelError(
        spec,
        "there is no such file" if not path.exists() else "this is not a file",
        got=path,
        hint=f'"{path.with_name(near)}"' if near else "the path from this folder",
    )


def _said(error: Exception) -> str:
    """OpenCV's words in one line, without where in its source it found fault."""
    text = _PATH.sub("", " ".join(str(error).split()))
    found = _WORDS.search(text)
    if found is not None:
        kind, words = found["kind"], found["words"].lstrip("> ")
        text = f"{kind}: {words}" if words else kind
    text = text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
    return f"OpenCV: {text}"


def _read_hint(path: Path) -> str:
    if weights_beside(path):
        return "export it with its weights inside the file; older OpenCV reads no others"
    return "export it again, with a lower opset; some operations are unknown to OpenCV"


def _dtype_hint(error: Exception) -> str | None:
    found = _GIVEN.search(str(error))
    wanted = _DTYPES.get(found[2]) if found else None
    return f'dtype = "{wanted}", or --dtype {wanted}' if wanted else None


@contextlib.contextmanager
def _silence() -> Iterator[None]:
    """Keep OpenCV from writing about every layout that doesn't fit; its errors say it too."""
    import cv2

    logging: Any = getattr(getattr(cv2, "utils", None), "logging", None)
    house: Any = logging if logging is not None else cv2
    if not hasattr(house, "setLogLevel"):
        yield
        return
    before = house.getLogLevel()
    house.setLogLevel(0)
    try:
        yield
    finally:
        house.setLogLevel(before)
