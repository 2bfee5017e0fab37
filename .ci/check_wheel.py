"""Hold a wheel to what must be in it, and to nothing that mustn't.

python3 .ci/check_wheel.py inkdrift-0.1-py3-none-any.whl
"""

from __future__ import annotations

import sys
import zipfile

NEEDED = (
    "gen/py.typed",
    "gen/recipe/recipe.schema.json",
    "gen/recipe/shipped/first-look.toml",
    "gen/report/report.schema.json",
    "gen/report/page.js",
    "gen/report/panel.js",
    "gen/report/sweep.js",
    "gen/report/grid.js",
    "gen/report/start.js",
    "gen/report/style.css",
)


def main() -> int:
    """Name what is missing or strange; 1 if anything is."""
    with zipfile.ZipFile(sys.argv[1]) as wheel:
        names = set(wheel.namelist())
    faults = [f"lacks {name}" for name in NEEDED if name not in names]
    tops = {name.split("/")[0] for name in names}
    strange = sorted(top for top in tops if top != "gen" and not top.endswith(".dist-info"))
    faults += [f"has {top}, which is no part of the package" for top in strange]
    for fault in faults:
        print(f"{sys.argv[1]}: {fault}", file=sys.stderr)
    if not faults:
        print(f"{sys.argv[1]}: {len(names)} files, with schemas, recipes, style and py.typed")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
