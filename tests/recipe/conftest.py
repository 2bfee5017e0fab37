"""A small catalogue that stays as it is, so that whole messages can be compared."""

from __future__ import annotations

import pytest

from gen.recipe.model import Catalogue, Entry, Option, Unit

ABOUT = Option("about", "frame", choices=("frame", "mark"), meaning="what stays where it is")

ENTRIES = (
    Entry(
        "translation",
        "pose",
        "the mark is moved",
        (Unit("px", 0.0),),
        (Option("along", "x", choices=("x", "y"), low=-360.0, high=360.0, meaning="the way"),),
    ),
    Entry(
        "stroke-width",
        "ink",
        "the pen is wider or narrower",
        (Unit("px", 0.0, -10.0, 10.0), Unit("ratio", 1.0, 0.1, 5.0)),
    ),
    Entry("blur", "lens", "out of focus", (Unit("px", 0.0, 0.0, 16.0),)),
    Entry("rotation", "pose", "turned", (Unit("deg", 0.0, -180.0, 180.0),), (ABOUT,)),
    Entry(
        "placement",
        "pose",
        "where the mark sits",
        (Unit("rule", "as drawn", names=("as drawn", "box centred", "top left")),),
        (Option("box_px", None, low=1.0, high=4096.0, meaning="longer side of the box"),),
    ),
    Entry("scale", "pose", "larger or smaller", (Unit("ratio", 1.0, 0.1, 4.0),), (ABOUT,)),
    Entry("row-slip", "file", "a decoder starts early", (Unit("bytes", 0.0, whole=True),)),
    Entry("mirror", "file", "sides exchanged", (Unit("times", 0.0, 0.0, 1.0, whole=True),)),
    Entry("fading", "lens", "open at one end", (Unit("px", 0.0, low=0.0),)),
    Entry("paling", "lens", "open at the other end", (Unit("px", 0.0, high=9.0),)),
)


@pytest.fixture
def catalogue() -> Catalogue:
    return {entry.name: entry for entry in ENTRIES}
