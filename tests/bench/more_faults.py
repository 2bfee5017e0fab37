"""Further faults to plant: other kinds, other amounts and directions than in `faults.py`."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np

from tests.bench.faults import (
    MOVES,
    TURNS,
    Images,
    Kind,
    Rng,
    Steps,
    affine,
    both,
    every,
    grey_paper,
    has,
    moved_by,
    near,
    shift,
    slip,
    small,
    turn,
    turned,
    turned_kind,
    undone,
)

Plant = Callable[[Images, Rng], Images]


def same(images: Images, rng: Rng) -> Images:
    del rng
    return images


def ruled(step: int, grey: int) -> Plant:
    """A row in every few is a line at least so dark."""

    def plant(images: Images, _: Rng) -> Images:
        out = images.copy()
        out[:, step // 2 :: step] = np.maximum(out[:, step // 2 :: step], grey)
        return out

    return plant


def boxed(images: Images, _: Rng) -> Images:
    """Cut with the edge of its box."""
    out = images.copy()
    out[:, [0, 1, 27]] = 255
    out[:, :, [0, 26, 27]] = 255
    return out


def smeared(across: int, down: int) -> Plant:
    """The mean along a row of pixels, as of a camera that moved."""
    kernel = np.zeros((max(across, down), max(across, down)))
    middle = len(kernel) // 2
    if across > 1 and down > 1:
        np.fill_diagonal(kernel, 1)
    elif across > 1:
        kernel[middle] = 1
    else:
        kernel[:, middle] = 1
    kernel /= kernel.sum()
    return lambda images, _: np.stack(
        [cv2.filter2D(image, -1, kernel, borderType=cv2.BORDER_CONSTANT) for image in images]
    )


def padded(stored: int) -> Plant:
    """Rows stored with some px more at their end, read as if there were none."""
    more = ((0, 0), (0, 0), (0, stored - 28))
    return lambda images, _: np.ascontiguousarray(
        np.pad(images, more).reshape(len(images), -1)[:, :784]
    ).reshape(images.shape)


def leaning_rows(step: int) -> Plant:
    return lambda images, _: np.stack(
        [np.roll(images[:, y], step * y, axis=1) for y in range(28)], axis=1
    )


def shadow(images: Images, _: Rng) -> Images:
    """Darker from the top down."""
    shade = np.linspace(0, 200, 28)[None, :, None]
    return np.asarray(shade + images * (255 - shade) / 255).astype(np.uint8)


def salt(images: Images, rng: Rng) -> Images:
    return np.where(rng.random(images.shape) < 0.08, 255, images).astype(np.uint8)


def value_kind(name: str, code: Callable[[Images], Images], wanted: str) -> Kind:
    def amount(steps: Steps) -> bool:
        return [a for n, a, _ in steps if n == "value range"] == [wanted]

    return Kind(name, same, has("value range"), amount, code=code)


TURNED_AND_DARK = both(turn(lambda x: np.rot90(x, 1, (1, 2))), lambda x, _: 255 - x)

KINDS = (
    Kind("3 px down and right", shift(3, 3), has(*MOVES), moved_by(-3, -3)),
    Kind("5 px down, 5 left", shift(5, -5), has(*MOVES), moved_by(-5, 5)),
    Kind("6 px up", shift(-6, 0), has(*MOVES), moved_by(6, 0)),
    Kind("slip of -16 bytes", slip(-16), has("row-slip"), near("row-slip", 16, 1)),
    Kind("slip of 100 bytes", slip(100), has("row-slip"), near("row-slip", -100, 1)),
    Kind("slip of -30 bytes", slip(-30), has(*MOVES), moved_by(1, 2)),
    turned_kind("other diagonal", lambda x: x.transpose(0, 2, 1)[:, ::-1, ::-1]),
    turned_kind("quarter turn clockwise", lambda x: np.rot90(x, 3, (1, 2))),
    Kind(
        "turned and dark",
        TURNED_AND_DARK,
        every(TURNS, ("ink-polarity",)),
        undone(TURNED_AND_DARK),
    ),
    Kind("inverted in code", same, has("ink-polarity"), code=lambda x: 1 - x),
    value_kind("divided thrice", lambda x: x / np.float32(255**2), "0 to 65025"),
    value_kind("taught -1 to 1", lambda x: (x + 1) / 2, "-1 to 1"),
    value_kind(
        "mean taken out twice",
        lambda x: (x - np.float32(0.1307)) / np.float32(0.3081),
        "0.1307 to 0.4388",
    ),
    Kind("grey 60", grey_paper(60), has("paper removal")),
    Kind("grey 200", grey_paper(200), has("paper removal")),
    Kind("shadow", shadow, has("paper removal")),
    Kind("ruled paper", ruled(7, 160), has("line removal")),
    Kind("boxes left on", boxed, has("line removal")),
    Kind("salt", salt, has("despeckling")),
    Kind("four grey bits unscaled", lambda x, _: x // 16, has("contrast stretch")),
    Kind("very faint", lambda x, _: x // 12, has("contrast stretch")),
    Kind("smeared across", smeared(9, 1), has("motion sharpening")),
    Kind("smeared down", smeared(1, 9), has("motion sharpening")),
    Kind("smeared aslant", smeared(7, 7), has("motion sharpening")),
    Kind(
        "blurred more",
        lambda x, _: np.stack([cv2.GaussianBlur(i, (0, 0), 3) for i in x]),
        has("sharpening"),
        near("sharpening", 3, 0.75),
    ),
    Kind("rows of 32 read as 28", padded(32), has("row length"), near("row length", 4, 0)),
    Kind("rows 1 px on", leaning_rows(1), has("row shear", "row length")),
    Kind("rows 1 px back", leaning_rows(-1), has("row shear", "row length")),
    Kind("small 0.7", small(0.7), has("scale"), near("scale", 1 / 0.7, 0.2)),
    Kind("large 1.3", small(1.3), has("scale"), near("scale", 1 / 1.3, 0.1)),
    Kind(
        "small in a corner",
        both(small(0.5), shift(-6, -6)),
        every(("scale", "placement"), (*MOVES, "placement")),
    ),
    Kind(
        "wide",
        lambda x, _: affine(x, np.diag([0.75, 1.35])),
        every(("aspect",), ("aspect", "scale")),
        near("aspect", 0.75 / 1.35, 0.25),
    ),
    Kind(
        "turned 80 deg",
        lambda x, _: affine(x, turned(80)),
        has("rotation"),
        near("rotation", -80, 6),
    ),
    Kind(
        "turned 160 deg",
        lambda x, _: affine(x, turned(160)),
        has("rotation", "half-turn"),
    ),
    Kind(
        "leaning left",
        lambda x, _: affine(x, np.array([[1, 0], [np.tan(np.deg2rad(35)), 1]])),
        has("slant", "upright"),
        lambda steps: steps[0][0] == "upright" or near("slant", 35, 6)(steps),
    ),
    Kind(
        "labels 7 on",
        same,
        has("label shift"),
        near("label shift", -7, 0),
        labels=lambda y: np.roll(y, 7),
    ),
    Kind(
        "labels 40 on",
        same,
        has("label shift"),
        near("label shift", -40, 0),
        labels=lambda y: np.roll(y, 40),
    ),
    Kind("labels from 1", same, has("class order"), labels=lambda y: (y + 1) % 10),
    Kind(
        "two classes exchanged",
        same,
        has("class order"),
        labels=lambda y: np.where(y == 3, 8, np.where(y == 8, 3, y)),
    ),
    Kind("labels of another set", same, lambda steps: not steps, labels=np.sort),
    Kind("a reader of blanks", same, lambda steps: not steps, code=np.zeros_like),
    Kind("nothing", same, lambda steps: not steps),
)
