"""Colours that mean something differ for people who see fewer of them.

Outside: Chromium's own emulation of what they see, and CIEDE2000 as scikit-image has it
(G. Sharma, W. Wu, E. N. Dalal, Color Research & Application 30 (2005) 21-30).
"""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage.color import deltaE_ciede2000, rgb2lab

from tests.browser.opened import Opened
from tests.browser.pages import Written

pytestmark = pytest.mark.browser

PageOf = Callable[..., Path]
EYES = ("none", "protanopia", "deuteranopia", "tritanopia")
LEAST_DIFFERENCE = 20.0  # about ten times what is just seen side by side
SIDE_PX = 10


def seen(opened: Opened, colours: tuple[str, ...], eyes: str) -> np.ndarray:
    """What somebody with such eyes sees of some colours, sRGB of shape (n, 3), 0 to 255."""
    boxes = "".join(
        f'<rect x="{n * SIDE_PX}" width="{SIDE_PX}" height="{SIDE_PX}" fill="{colour}"/>'
        for n, colour in enumerate(colours)
    )
    # Through the page's own style sheet, so that variables are those of the page.
    opened.script(
        "const s = document.createElementNS('http://www.w3.org/2000/svg', 'svg');"
        "for (const [k, v] of Object.entries({id: 'swatches', width: 400, height: 10}))"
        " s.setAttribute(k, v);"
        "s.innerHTML = arguments[0]; document.body.replaceChildren(s);"
        "s.style.cssText = 'position: fixed; left: 0; top: 0'",
        boxes,
    )
    run = opened.driver.execute_cdp_cmd
    run("Emulation.setEmulatedVisionDeficiency", {"type": eyes})
    shot = base64.b64decode(run("Page.captureScreenshot", {})["data"])
    run("Emulation.setEmulatedVisionDeficiency", {"type": "none"})
    pixels = np.asarray(Image.open(io.BytesIO(shot)).convert("RGB"))
    middle = SIDE_PX // 2
    return pixels[middle, middle : len(colours) * SIDE_PX : SIDE_PX]


def apart(colours: np.ndarray) -> float:
    """The least difference between two of them, CIEDE2000."""
    lab = rgb2lab(colours[None] / 255)[0]
    return min(
        float(deltaE_ciede2000(lab[i], lab[j]))
        for i in range(len(lab))
        for j in range(i + 1, len(lab))
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("eyes", EYES)
def test_what_is_kept_what_is_off_and_ink_differ_for_everybody(
    opened: Opened, written: Written, eyes: str, scheme: str
) -> None:
    opened.open(written.page("report"), scheme=scheme)
    assert apart(seen(opened, ("var(--kept)", "var(--off)", "var(--ink)"), eyes)) > LEAST_DIFFERENCE


# What the check above has to see


def test_red_and_green_that_look_alike_to_some_are_seen(opened: Opened, page_of: PageOf) -> None:
    red_and_green = ("#a05a2c", "#6b7a1e")
    opened.open(page_of(""))
    assert apart(seen(opened, red_and_green, "none")) > LEAST_DIFFERENCE
    assert apart(seen(opened, red_and_green, "deuteranopia")) < LEAST_DIFFERENCE
