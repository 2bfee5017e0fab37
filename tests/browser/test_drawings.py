"""SVG drawings, drawn by Chromium and by strokes read from them."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from selenium import webdriver

from gen.glyphs.pens import read_pens
from gen.render.coverage import draw

pytestmark = pytest.mark.browser

SIDE = 400
SHARE_OFF = 0.012  # of the ink, of edges drawn to 1/16 px in Chromium; seen 0.010
HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    f'viewBox="0 0 {SIDE} {SIDE}" width="{SIDE}" height="{SIDE}" fill="none" stroke="black" '
    'stroke-width="10" stroke-linecap="round" stroke-linejoin="round">'
)
HOOK = '<path id="l" d="M10 10v60h30"/>'
DRAWN = {
    "use": f'<defs>{HOOK}</defs><use href="#l" x="50" y="20"/>'
    '<use xlink:href="#l" transform="rotate(30 200 200) scale(2)" x="100" y="40"/>',
    "a style's transform": '<g style="transform: translate(100px, 50px) rotate(20deg) '
    f'scale(1.5)">{HOOK}</g><path style="transform: translateX(40%)" d="M10 10v60"/>',
    "an origin": '<g style="transform-origin: center; transform: rotate(.4turn)">'
    f'{HOOK}<path transform-origin="50 30" transform="rotate(70)" d="M50 30h100v20"/></g>',
    "symbols": '<symbol id="s" viewBox="0 0 20 40"><path stroke-width="2" d="M5 5h10v30"/>'
    '</symbol><use href="#s" x="40" y="30" width="200" height="100"/>'
    '<use href="#s" x="200" y="200" width="100" height="180"/><use href="#s"/>',
    "a page within": '<svg x="40" y="20" width="300" height="150" viewBox="5 0 30 30" '
    'preserveAspectRatio="xMaxYMin"><path stroke-width="1" d="M10 5h10v20"/></svg>',
    "rules in their order": '<path class="a" d="M50 50h200"/><path class="c a" d="M50 150h200"/>'
    '<path class="b a" d="M50 350h90"/><style>.b{stroke:none} .a{stroke:black; stroke-width:20;'
    "transform:scale(.9)} path.c{stroke-width:4}</style>",
    "what is hidden": '<g visibility="hidden"><path d="M50 50h200"/><path visibility="visible" '
    'd="M50 150h200"/></g><g display="none"><path id="q" d="M50 200h200"/></g>'
    '<use href="#q" y="50"/><path opacity="0" d="M50 300h200"/>',
}


@pytest.mark.parametrize("what", DRAWN)
def test_a_drawing_is_read_as_a_browser_shows_it(
    chrome: webdriver.Chrome, tmp_path: Path, what: str
) -> None:
    drawing, page = tmp_path / "tag.svg", tmp_path / "tag.html"
    drawing.write_text(f"{HEAD}{DRAWN[what]}</svg>", "utf-8")
    page.write_text(f'<body style="margin:0">{drawing.read_text("utf-8")}', "utf-8")
    chrome.set_window_size(SIDE + 100, SIDE + 300)
    chrome.get(page.as_uri())
    with Image.open(io.BytesIO(chrome.get_screenshot_as_png())) as shot:
        theirs = 255 - np.array(shot.convert("L"))[:SIDE, :SIDE].astype(int)
    tag = read_pens(drawing, label="7", fit="as drawn", frame=(SIDE, SIDE))
    ours = draw(tag.strokes(np.array([0])), (SIDE, SIDE))[0].astype(int)
    assert theirs.sum() > 255 * 500
    assert np.abs(ours - theirs).sum() < SHARE_OFF * theirs.sum()
