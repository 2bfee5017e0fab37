"""Clean sets, and every fault planted in them by arithmetic on pixels alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Provenance, RasterGlyphs
from gen.glyphs.strokes import write_strokes
from gen.render.pictures import nominal_pictures

Labels = NDArray[np.intp]


@cache
def clean(count: int = 600, seed: int = 11) -> RasterGlyphs:
    """Built-in digits as pictures, in no order."""
    drawn = write_strokes(count=count, seed=seed)
    mixed = np.random.default_rng(seed).permutation(count)
    return RasterGlyphs(
        drawn.frame,
        drawn.labels[mixed],
        drawn.classes,
        Provenance("array", "clean", "0" * 64),
        None,
        nominal_pictures(drawn)[mixed],
    )


def with_images(glyphs: RasterGlyphs, images: NDArray[np.generic]) -> RasterGlyphs:
    """The same glyphs with other pictures."""
    whole = np.ascontiguousarray(np.clip(np.rint(images), 0, 255).astype(np.uint8))
    return replace(glyphs, images=whole, frame=(whole.shape[1], whole.shape[2]))


def with_labels(glyphs: RasterGlyphs, labels: NDArray[np.integer]) -> RasterGlyphs:
    """The same pictures with other labels."""
    return replace(glyphs, labels=labels.astype(np.intp))


def moved(images: Pixels, dy: int, dx: int) -> Pixels:
    """Moved by whole px; what leaves the frame is lost, and bare paper follows."""
    room = np.pad(images, ((0, 0), (8, 8), (8, 8)))
    return room[:, 8 - dy : room.shape[1] - 8 - dy, 8 - dx : room.shape[2] - 8 - dx]


def slipped(images: Pixels, early: int) -> Pixels:
    flat = images.reshape(len(images), -1)
    return np.roll(flat, early, axis=1).reshape(images.shape)


def sheared(images: Pixels, step: int) -> Pixels:
    rows = [np.roll(images[:, y], step * y, axis=1) for y in range(images.shape[1])]
    return np.stack(rows, axis=1)


def shrunk(images: Pixels, side: int) -> Pixels:
    """Every mark at side / 28 of its size, averaged over areas, in the middle."""
    from PIL import Image

    out = np.zeros_like(images)
    at = (images.shape[1] - side) // 2
    for place, image in enumerate(images):
        small = Image.fromarray(image).resize((side, side), Image.Resampling.BOX)
        out[place, at : at + side, at : at + side] = np.asarray(small)
    return out


def square_boxes(images: Pixels) -> Pixels:
    """Each mark's box stretched to 22 x 22 px, its aspect lost."""
    from PIL import Image

    out = np.zeros_like(images)
    for place, image in enumerate(images):
        rows, columns = (
            np.nonzero(image.max(axis=1) > 127)[0],
            np.nonzero(image.max(axis=0) > 127)[0],
        )
        part = image[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        out[place, 3:25, 3:25] = np.asarray(
            Image.fromarray(part).resize((22, 22), Image.Resampling.BILINEAR)
        )
    return out


def thinned_by_nearest(glyphs: RasterGlyphs) -> RasterGlyphs:
    """Thin strokes on a large canvas, shrunk by taking every tenth pixel."""
    from gen.glyphs.base import Strokes
    from gen.render.coverage import draw

    drawn = write_strokes(count=len(glyphs), seed=11, frame=(280, 280))
    strokes = drawn.strokes(np.arange(len(glyphs)))
    large = draw(Strokes(strokes.segments, np.full_like(strokes.width_px, 8.0)), (280, 280))
    small = np.where(large[:, 5::10, 5::10] > 127, 255, 0)
    return replace(with_images(glyphs, small), labels=drawn.labels)


def with_pen(glyphs: RasterGlyphs, width_px: float) -> RasterGlyphs:
    from gen.glyphs.base import Strokes
    from gen.render.coverage import draw

    drawn = write_strokes(count=len(glyphs), seed=11)
    strokes = drawn.strokes(np.arange(len(glyphs)))
    images = draw(Strokes(strokes.segments, np.full_like(strokes.width_px, width_px)), (28, 28))
    return replace(with_images(glyphs, images), labels=drawn.labels)


def printed(glyphs: RasterGlyphs) -> RasterGlyphs:
    """One mark a class, again and again, moved by fractions of a px: as a font would."""
    from gen.render.blur import blur

    first = np.array([np.flatnonzero(glyphs.labels == c)[0] for c in range(10)])
    images = glyphs.images[first][glyphs.labels]
    rng = np.random.default_rng(3)
    for place, image in enumerate(images):
        dy, dx = rng.uniform(0, 1, 2)
        soft = (1 - dy) * image + dy * np.roll(image, 1, axis=0)
        images[place] = np.rint((1 - dx) * soft + dx * np.roll(soft, 1, axis=1))
    return with_images(glyphs, blur(images, 0.3))


def wrapped_noise(images: Pixels) -> Pixels:
    noise = np.random.default_rng(5).normal(0, 12, images.shape)
    return (images.astype(np.int64) + np.rint(noise).astype(np.int64)).astype(np.uint8)


def noisy(images: Pixels, sigma: float) -> NDArray[np.float64]:
    return images + np.random.default_rng(5).normal(0, sigma, images.shape)


def ramp(images: Pixels, grey: float) -> NDArray[np.float64]:
    """A shadow that grows from left to right."""
    shade = np.linspace(0, grey, images.shape[2])
    return images * (1 - shade / 255) + shade


def over_paper(images: Pixels, grey: float) -> NDArray[np.float64]:
    return images * (1 - grey / 255) + grey


def ruled(images: Pixels) -> Pixels:
    out = images.copy()
    out[:, 22] = np.maximum(out[:, 22], 120)
    return out


def each_row_stretched(images: Pixels) -> NDArray[np.float64]:
    most = images.max(axis=2, keepdims=True).astype(float)
    return np.where(most > 0, images * (255 / np.maximum(most, 1)), 0)


def colours_as_pixels(images: Pixels) -> Pixels:
    """Three equal channels a pixel, of which the first rows fill the picture."""
    wide = np.repeat(images[:, 5:15], 3, axis=2).reshape(len(images), -1)
    return wide[:, : 28 * 28].reshape(-1, 28, 28)


def label_as_pixel(glyphs: RasterGlyphs) -> Pixels:
    out = glyphs.images.copy()
    out[:, 0, 0] = glyphs.labels
    return out


def some_blank(images: Pixels) -> Pixels:
    out = images.copy()
    out[::20] = 0
    return out


def half_inverted(images: Pixels) -> Pixels:
    out = images.copy()
    out[::3] = 255 - out[::3]
    return out


def scattered(images: Pixels) -> Pixels:
    small = shrunk(images, 14)
    rng = np.random.default_rng(8)
    return np.stack([np.roll(one, rng.integers(-7, 8, 2), (0, 1)) for one in small])


def twins(glyphs: RasterGlyphs) -> RasterGlyphs:
    out = glyphs.images.copy()
    out[300:360] = np.minimum(out[:60].astype(int) + 1, 255)
    labels = glyphs.labels.copy()
    labels[300:360] = labels[:60]
    return with_labels(with_images(glyphs, out), labels)


def one_class_turned(glyphs: RasterGlyphs) -> RasterGlyphs:
    """The fours lie on their backs, and nothing else does."""
    out = glyphs.images.copy()
    four = glyphs.labels == 4
    out[four] = np.rot90(out[four], 1, (1, 2))
    return with_images(glyphs, out)


def few_sixes(glyphs: RasterGlyphs) -> RasterGlyphs:
    return glyphs.take(np.flatnonzero((glyphs.labels != 6) | (np.arange(len(glyphs)) % 12 == 0)))


def between(images: Pixels) -> NDArray[np.float64]:
    """Half way between one and two px to the left."""
    return (moved(images, 0, -1).astype(float) + moved(images, 0, -2)) / 2


Plant = Callable[[RasterGlyphs], RasterGlyphs]


def on_images(change: Callable[[Pixels], NDArray[np.generic]]) -> Plant:
    return lambda glyphs: with_images(glyphs, change(glyphs.images))


FAULTS: dict[str, tuple[str, Plant]] = {
    "4 px to the right": ("placement", on_images(lambda a: moved(a, 0, 4))),
    "3 px down": ("placement", on_images(lambda a: moved(a, 3, 0))),
    "a 2 byte slip": ("placement", on_images(lambda a: slipped(a, 2))),
    "anywhere": ("placement", on_images(scattered)),
    "small": ("scale and box", on_images(lambda a: shrunk(a, 14))),
    "aspect lost": ("scale and box", on_images(square_boxes)),
    "order of classes": ("label map", lambda g: with_labels(g, (g.labels + 3) % 10)),
    "names sorted as text": (
        "label map",
        lambda g: replace(g, classes=("0", "1", "10", "2", "3", "4", "5", "6", "7", "8")),
    ),
    "axes swapped": ("orientation", on_images(lambda a: a.swapaxes(1, 2))),
    "mirrored": ("orientation", on_images(lambda a: a[:, :, ::-1])),
    "upside down": ("orientation", on_images(lambda a: a[:, ::-1])),
    "a half turn": ("orientation", on_images(lambda a: a[:, ::-1, ::-1])),
    "a quarter turn": ("orientation", on_images(lambda a: np.rot90(a, 1, (1, 2)))),
    "divided again": ("range, normalisation", on_images(lambda a: a / 4)),
    "paper lifted": ("range, normalisation", on_images(lambda a: over_paper(a, 60))),
    "rows stretched": ("range, normalisation", on_images(each_row_stretched)),
    "grey paper": ("background, shadow", on_images(lambda a: over_paper(a, 60))),
    "a shadow": ("background, shadow", on_images(lambda a: ramp(a, 80))),
    "noise": ("background, shadow", on_images(lambda a: noisy(over_paper(a, 60), 15))),
    "ruled paper": ("background, shadow", on_images(ruled)),
    "a 10 byte slip": ("container, header", on_images(lambda a: slipped(a, 10))),
    "a slip of -16 bytes": ("container, header", on_images(lambda a: slipped(a, -16))),
    "padded rows": ("pixel packing", on_images(lambda a: sheared(a, 2))),
    "colours as pixels": ("pixel packing", on_images(colours_as_pixels)),
    "few bits": ("pixel packing", on_images(lambda a: a // 8 * 8)),
    "inverted": ("polarity", on_images(lambda a: 255 - a)),
    "some inverted": ("polarity", on_images(half_inverted)),
    "all one picture": ("always one class", on_images(lambda a: np.repeat(a[:1], len(a), 0))),
    "twins": ("leakage, split", twins),
    "print": ("print against hand", printed),
    "blank ones": ("transparency", on_images(some_blank)),
    "a thin pen": ("stroke width", lambda g: with_pen(g, 1.0)),
    "a thick pen": ("stroke width", lambda g: with_pen(g, 6.0)),
    "the label as a pixel": ("table layout", lambda g: with_images(g, label_as_pixel(g))),
    "wrapped noise": ("8-bit wrap", on_images(wrapped_noise)),
    "two levels": ("bit depth, colour mode", on_images(lambda a: np.where(a > 127, 255, 0))),
    "clipped": ("bit depth, colour mode", on_images(lambda a: np.minimum(a * 30.0, 255))),
    "broken strokes": ("aliasing", thinned_by_nearest),
    "labels a place on": ("labels out of step", lambda g: with_labels(g, np.roll(g.labels, 1))),
    "labels 2 places back": ("labels out of step", lambda g: with_labels(g, np.roll(g.labels, -2))),
    "labels shuffled": (
        "labels out of step",
        lambda g: with_labels(g, np.random.default_rng(2).permutation(g.labels)),
    ),
    "sorted": ("order", lambda g: g.take(np.argsort(g.labels, kind="stable"))),
    "a class forgotten": ("class counts", lambda g: g.take(np.flatnonzero(g.labels != 6))),
    "uneven": (
        "class counts",
        few_sixes,
    ),
}
"""Each fault with the kind that must name it."""

BESIDE: dict[str, tuple[str, Plant]] = {
    "1.5 px to the left": (
        "placement",
        on_images(between),
    ),
    "a fifth smaller": ("scale and box", on_images(lambda a: shrunk(a, 22))),
    "a pen 1 px wider": ("stroke width", lambda g: with_pen(g, 3.7)),
    "print": ("print against hand", printed),
    "one class in another style": ("writer's style", one_class_turned),
    "a 6 byte slip": ("container, header", on_images(lambda a: slipped(a, 6))),
    "classes in another order": ("label map", lambda g: with_labels(g, (9 - g.labels))),
    "mirrored": ("orientation", on_images(lambda a: a[:, :, ::-1])),
    "broken strokes": ("aliasing", thinned_by_nearest),
    "dark ink": ("polarity", lambda g: replace(g, provenance=replace(g.provenance, ink="dark"))),
}
"""Faults that show beside a set that has none of them."""
