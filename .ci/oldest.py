"""Hold the oldest pins to the lower bounds that the project states.

python3 .ci/oldest.py pyproject.toml .ci/oldest.txt
"""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path


def main() -> int:
    """Name each bound that isn't pinned as it stands; 1 if there is one."""
    project = tomllib.loads(Path(sys.argv[1]).read_text("utf-8"))["project"]
    bounds = dict(need.split(">=") for need in project["dependencies"])
    lines = Path(sys.argv[2]).read_text("utf-8").splitlines()
    pins = dict(line.split("==") for line in lines if line and not line.startswith("#"))
    faults = []
    for name, bound in bounds.items():
        pin = pins.pop(name, "nothing")
        if not re.fullmatch(rf"{re.escape(bound)}(\.\d+)*", pin):
            faults.append(f"{name} may be as old as {bound}, but {pin} is what is tried")
    faults += [f"{name} is pinned, but isn't a dependency" for name in pins]
    for fault in faults:
        print(fault, file=sys.stderr)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
