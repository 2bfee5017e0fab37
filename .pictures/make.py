"""Make the picture of a report that README shows, from the demo's own page.

    python .pictures/make.py [PAGE]

It needs the extra `test` and Chromium with its driver. The window is 1200 px wide; the
picture is the top of the page down to the end of its findings, and under it the sweep that
the first of them is about.
"""

from __future__ import annotations

import base64
import io
import json
import sys
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.browser.opened import Opened, found, started  # noqa: E402

PAGE = ROOT / "demo_output" / "report-slipped" / "report.html"
PICTURE = Path(__file__).with_name("report.png")
WIDTH_PX = 1200
MARGIN_PX = 28
MOST_BYTES = 250_000
COLOURS = 256


def parts(opened: Opened, page: Path) -> list[tuple[int, int]]:
    """From where to where the parts go that are shown, in px from the top of the page."""
    told = json.loads(page.with_suffix(".json").read_text("utf-8"))["findings"][0]["evidence"]
    boxes = opened.script(
        "return [...arguments].map(id => {"
        " const part = document.getElementById(id), end = part.querySelector('.body') ?? part;"
        " return [part.getBoundingClientRect().top + scrollY,"
        " end.getBoundingClientRect().bottom + scrollY]; })",
        "findings",
        f"sweep-{told.get('curve', 0) + 1}",
    )
    (_, findings), (top, bottom) = boxes
    return [(0, round(findings) + MARGIN_PX), (round(top), round(bottom) + MARGIN_PX)]


def taken(opened: Opened, top: int, bottom: int) -> Image.Image:
    """One part of the page."""
    clip = {"x": 0, "y": top, "width": WIDTH_PX, "height": bottom - top, "scale": 1}
    shot = opened.driver.execute_cdp_cmd(
        "Page.captureScreenshot", {"clip": clip, "captureBeyondViewport": True}
    )
    return Image.open(io.BytesIO(base64.b64decode(shot["data"]))).convert("RGB")


def main() -> None:
    """Open the page, take the parts, put them under each other and save them."""
    where = found()
    if where is None:
        sys.exit("no Chromium with its driver: apt-get install chromium chromium-driver")
    page = Path(sys.argv[1]) if len(sys.argv) > 1 else PAGE
    driver = started(*where)
    try:
        opened = Opened(driver).open(page, width_px=WIDTH_PX)
        taken_parts = [taken(opened, top, bottom) for top, bottom in parts(opened, page)]
    finally:
        driver.quit()
    height = sum(part.height for part in taken_parts)
    whole = Image.new("RGB", (WIDTH_PX, height), taken_parts[0].getpixel((2, 2)))
    y = 0
    for part in taken_parts:
        whole.paste(part, (0, y))
        y += part.height
    # The few coloured px have to keep their colour among so many grey ones.
    few = whole.quantize(COLOURS, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
    few.save(PICTURE, optimize=True)
    size = PICTURE.stat().st_size
    print(f"{PICTURE.relative_to(ROOT)}: {WIDTH_PX} x {height} px, {size:,} bytes")
    if size > MOST_BYTES:
        sys.exit(f"more than {MOST_BYTES:,} bytes")


if __name__ == "__main__":
    main()
