"""Print one of README's set-up commands, exactly as it is written there.

python3 .ci/readme_command.py README.md 1
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "docs"))

from blocks import fenced_blocks


def main() -> int:
    """Find the command; 1 and a reason if README hasn't got it."""
    document, number = Path(sys.argv[1]), int(sys.argv[2])
    found = [
        block.text
        for block in fenced_blocks(document.read_text("utf-8"))
        if block.language == "sh" and block.is_set_up
    ]
    if len(found) < number:
        print(f"{document}: {len(found)} set-up commands, no number {number}", file=sys.stderr)
        return 1
    command = found[number - 1]
    if len(command.splitlines()) != 1:
        print(f"{document}: command {number} is not one line:\n{command}", file=sys.stderr)
        return 1
    sys.stdout.write(command)
    return 0


if __name__ == "__main__":
    sys.exit(main())
