"""Say how long `gen --help` takes. It is told and not judged: machines differ.

python .ci/start_up.py path/to/gen
"""

from __future__ import annotations

import subprocess
import sys
import time

ROUNDS = 7


def main() -> None:
    """Run it a few times; the quickest is the least disturbed by others."""
    took = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        subprocess.run([sys.argv[1], "--help"], check=True, stdout=subprocess.DEVNULL)
        took.append(time.perf_counter() - began)
    print(f"gen --help: {min(took):.2f} s at best of {ROUNDS}, {max(took):.2f} s at worst")


if __name__ == "__main__":
    main()
