"""Hold one run of the demo to another: what was decided, drawn and said is the same.

    python .ci/same_demo.py demo_output inkdrift-demo

Pictures are compared after decoding, for compressors differ between versions: arrays,
grey levels and weights must be equal byte for byte, and so must every figure and
sentence. Only the versions of the libraries may differ, and the name of the folder.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import io
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

EMBEDDED = re.compile(r"data:image/png;base64,([A-Za-z0-9+/=]+)")


def differences(expected: Path, found: Path) -> list[str]:
    """One line for each file that differs; none if they are the same.

    Parameters
    ----------
    expected, found
        Folders that `gen demo` wrote.
    """
    sides = [{p.relative_to(f) for p in f.rglob("*") if p.is_file()} for f in (expected, found)]
    faults = [f"{name}: missing" for name in sorted(sides[0] - sides[1])]
    faults += [f"{name}: not expected" for name in sorted(sides[1] - sides[0])]
    for name in sorted(sides[0] & sides[1]):
        fault = _fault(expected / name, found / name, expected, found)
        if fault is not None:
            faults.append(f"{name}: {fault}")
    return faults


def _fault(one: Path, other: Path, expected: Path, found: Path) -> str | None:
    if one.name == "story.txt":
        # Its last paragraph names files by the folder that was asked for.
        return _text_fault(*(p.read_text("utf-8").replace(f"{f.name}/", "") for p, f in
                             ((one, expected), (other, found))))  # fmt: skip
    compare = BY_NAME.get(one.name) or BY_SUFFIX.get(one.suffix, _bytes_fault)
    return compare(one, other)


def _bytes_fault(one: Path, other: Path) -> str | None:
    try:
        return _text_fault(one.read_bytes().decode("utf-8"), other.read_bytes().decode("utf-8"))
    except UnicodeDecodeError:
        return None if one.read_bytes() == other.read_bytes() else "bytes differ"


def _text_fault(one: str, other: str) -> str | None:
    if one == other:
        return None
    lines = zip([*one.splitlines(), ""], [*other.splitlines(), ""], strict=False)
    for number, (a, b) in enumerate(lines, 1):
        if a != b:
            at = next((i for i, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), 0)
            shown = slice(max(0, at - 40), at + 60)
            return f"line {number}: {a[shown]!r} became {b[shown]!r}"
    return "line ends or length differ"


def _arrays_fault(one: Path, other: Path) -> str | None:
    with np.load(one) as a, np.load(other) as b:
        if sorted(a.files) != sorted(b.files):
            return f"holds {sorted(b.files)} in place of {sorted(a.files)}"
        for name in a.files:
            x, y = a[name], b[name]
            if x.dtype != y.dtype or x.shape != y.shape:
                return f"{name} is {y.dtype} {y.shape} in place of {x.dtype} {x.shape}"
            if x.tobytes() != y.tobytes():
                return f"{int((x != y).sum())} of {x.size} values of {name} differ"
    return None


def _unpacked_fault(one: Path, other: Path) -> str | None:
    same = gzip.decompress(one.read_bytes()) == gzip.decompress(other.read_bytes())
    return None if same else "unpacked bytes differ"


def _picture_fault(one: Path, other: Path) -> str | None:
    same = _pixels_digest(one.read_bytes()) == _pixels_digest(other.read_bytes())
    return None if same else "pixels differ"


def _pixels_digest(png: bytes) -> str:
    with Image.open(io.BytesIO(png)) as picture:
        told = f"{picture.mode} {picture.size} ".encode() + picture.convert("RGBA").tobytes()
    return hashlib.sha256(told).hexdigest()


def _report_fault(one: Path, other: Path) -> str | None:
    a, b = (json.loads(path.read_text("utf-8")) for path in (one, other))
    if a.pop("versions").keys() != b.pop("versions").keys():
        return "versions of other things are named"
    return _text_fault(*(json.dumps(each, indent=1, ensure_ascii=False) for each in (a, b)))


def _page_fault(one: Path, other: Path) -> str | None:
    return _text_fault(*(_settled_page(path) for path in (one, other)))


def _settled_page(path: Path) -> str:
    """A page with its pictures as digests of their pixels, and its libraries' versions left out."""
    beside = json.loads(path.with_suffix(".json").read_text("utf-8"))
    text = EMBEDDED.sub(
        lambda found: _pixels_digest(base64.b64decode(found[1])), path.read_text("utf-8")
    )
    for name, version in beside["versions"].items():
        text = text.replace(f"{name} {version}", f"{name} (version)")
    return text


Comparison = Callable[[Path, Path], str | None]
BY_NAME: dict[str, Comparison] = {"report.json": _report_fault, "report.html": _page_fault}
BY_SUFFIX: dict[str, Comparison] = {
    ".npz": _arrays_fault,
    ".gz": _unpacked_fault,
    ".png": _picture_fault,
}


def main() -> int:
    """Compare two folders; 1 and a line for each difference if they aren't the same."""
    expected, found = (Path(argument) for argument in sys.argv[1:3])
    for folder in (expected, found):
        if not folder.is_dir():
            print(f"{folder}: there is no such folder", file=sys.stderr)
            return 1
    faults = differences(expected, found)
    for fault in faults:
        print(fault, file=sys.stderr)
    if faults:
        print(f"{len(faults)} files differ from {expected}", file=sys.stderr)
        return 1
    count = sum(path.is_file() for path in expected.rglob("*"))
    print(f"{count} files, all the same")
    return 0


if __name__ == "__main__":
    sys.exit(main())
