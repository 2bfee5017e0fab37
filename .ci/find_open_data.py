"""Find or fetch the MNIST files before anything slow, by the way that the tests have.

python3 .ci/find_open_data.py
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "outside"))

import open_data


def main() -> int:
    """Name the files; 1 and the reason if they aren't to be had."""
    located = open_data.locate()
    if located.reason is not None:
        print(f"no MNIST files: {located.reason}", file=sys.stderr)
        return 1
    for path in located.files.values():
        print(path)
    return 0


if __name__ == "__main__":
    sys.exit(main())
