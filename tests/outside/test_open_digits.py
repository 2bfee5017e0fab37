"""What is published of two open sets of digits, read through the loader.

MNIST: Y. LeCun, C. Cortes, C. J. C. Burges, "The MNIST database of handwritten
digits". Small digits: E. Alpaydin, C. Kaynak, "Optical recognition of
handwritten digits", UCI Machine Learning Repository (1998), as scikit-learn
bundles them.
"""

from __future__ import annotations

import gzip
import hashlib
import struct
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gen.glyphs.idx import read_idx
from gen.glyphs.load import load_glyphs

FLOAT64_SUM = 1e-12  # means of up to 47 million values, summed in whole numbers first

mnist = pytest.mark.open_data


def mean_and_std(images: np.ndarray) -> tuple[float, float]:
    """Mean and population deviation over 0..1, from an exact histogram."""
    counts = np.bincount(images.reshape(-1), minlength=256)
    levels = np.arange(256)
    total = int(counts.sum())
    first, second = int((counts * levels).sum()), int((counts * levels**2).sum())
    mean = first / total
    return mean / 255, (second / total - mean**2) ** 0.5 / 255


def struct_idx(path: Path) -> tuple[tuple[int, ...], bytes]:
    """An IDX reader that shares nothing with the package's own."""
    raw = gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()
    zero, kind, dims = struct.unpack(">HBB", raw[:4])
    assert (zero, kind) == (0, 8)
    shape = struct.unpack(f">{dims}I", raw[4 : 4 + 4 * dims])
    return shape, raw[4 + 4 * dims :]


# Class counts and first labels: stated by many readers of the files, and recomputed.
@mnist
@pytest.mark.parametrize(
    ("part", "counts", "first"),
    [
        (
            "test",
            [980, 1135, 1032, 1010, 982, 892, 958, 1028, 974, 1009],
            [7, 2, 1, 0, 4, 1, 4, 9, 5, 9],
        ),
        (
            "train",
            [5923, 6742, 5958, 6131, 5842, 5421, 5918, 6265, 5851, 5949],
            [5, 0, 4, 1, 9, 2, 1, 3, 1, 4],
        ),
    ],
)
def test_class_counts_and_first_labels_are_the_published_ones(
    open_digits: Any, part: str, counts: list[int], first: list[int]
) -> None:
    glyphs = getattr(open_digits, part)
    assert glyphs.counts.tolist() == counts
    assert glyphs.labels[:10].tolist() == first
    assert glyphs.classes == tuple("0123456789")
    assert glyphs.frame == (28, 28)


# The usual normalising constants .1307 and .3081 to more digits, recomputed in whole
# numbers from the files.
@mnist
@pytest.mark.parametrize(
    ("part", "mean", "std"),
    [
        ("train", 0.1306604762738429, 0.30810780385646264),
        ("test", 0.13251460584233696, 0.3104802479305351),
    ],
)
def test_pixel_mean_and_deviation_are_the_known_ones(
    open_digits: Any, part: str, mean: float, std: float
) -> None:
    seen = mean_and_std(getattr(open_digits, part).images)
    np.testing.assert_allclose(seen, (mean, std), rtol=0, atol=FLOAT64_SUM)


# "The original black and white images were size normalized to fit in a 20x20 pixel box
# while preserving their aspect ratio" (the MNIST page); the exceptions were counted.
@mnist
@pytest.mark.parametrize(("part", "twenty", "nineteen"), [("test", 9997, 3), ("train", 59987, 13)])
def test_the_longer_side_of_the_ink_is_twenty_pixels(
    open_digits: Any, part: str, twenty: int, nineteen: int
) -> None:
    inked = getattr(open_digits, part).images > 0

    def extent(lines: np.ndarray) -> np.ndarray:
        return lines.shape[1] - lines[:, ::-1].argmax(axis=1) - lines.argmax(axis=1)

    longer = np.maximum(extent(inked.any(axis=2)), extent(inked.any(axis=1)))
    assert int((longer == 20).sum()) == twenty
    assert int((longer == 19).sum()) == nineteen
    assert twenty + nineteen == len(longer)


# "the images were centered in a 28x28 image by computing the center of mass of the
# pixels" (the MNIST page): by whole pixels, onto index 14 and not onto 13.5. Ranges
# were measured on the files.
@mnist
@pytest.mark.parametrize(
    ("part", "rows", "columns"),
    [
        ("test", (13.5000, 14.4999), (13.5000, 14.4999)),
        ("train", (13.480, 14.49998), (13.4936, 14.49998)),
    ],
)
def test_the_centre_of_mass_lies_within_half_a_pixel_of_index_14(
    open_digits: Any, part: str, rows: tuple[float, float], columns: tuple[float, float]
) -> None:
    images = getattr(open_digits, part).images
    along_y = images.sum(axis=2, dtype=np.int64)
    along_x = images.sum(axis=1, dtype=np.int64)
    mass = along_y.sum(axis=1)
    index = np.arange(28)
    printed = 5e-4  # the published ranges have three to five decimals
    for lines, (low, high) in ((along_y, rows), (along_x, columns)):
        centre = (lines * index).sum(axis=1) / mass
        assert centre.min() == pytest.approx(low, abs=printed)
        assert centre.max() == pytest.approx(high, abs=printed)


@mnist
def test_the_mean_centre_of_mass_of_the_test_digits_is_the_measured_one(open_digits: Any) -> None:
    images = open_digits.test.images.astype(np.int64)
    index = np.arange(28)
    mass = images.sum(axis=(1, 2))
    rows = (images.sum(axis=2) * index).sum(axis=1) / mass
    columns = (images.sum(axis=1) * index).sum(axis=1) / mass
    np.testing.assert_allclose((rows.mean(), columns.mean()), (13.9931, 14.0078), atol=5e-5)


@mnist
@pytest.mark.parametrize("name", ["t10k-images-idx3-ubyte", "t10k-labels-idx1-ubyte"])
def test_an_independent_reader_gets_the_same_bytes(open_digits: Any, name: str) -> None:
    path = open_digits.files[name]
    shape, body = struct_idx(path)
    read = read_idx(path)
    assert read.shape == shape
    assert read.tobytes() == body


@mnist
def test_plain_and_gzipped_files_give_the_same_glyphs(open_digits: Any, tmp_path: Path) -> None:
    for name in ("t10k-images-idx3-ubyte", "t10k-labels-idx1-ubyte"):
        path = open_digits.files[name]
        raw = path.read_bytes()
        (tmp_path / name).write_bytes(gzip.decompress(raw) if path.suffix == ".gz" else raw)
    plain = load_glyphs(tmp_path / "t10k-images-idx3-ubyte")
    assert plain.provenance.digest == open_digits.test.provenance.digest


@mnist
def test_ink_is_found_bright_and_the_other_way_round_when_inverted(open_digits: Any) -> None:
    test = open_digits.test
    assert test.provenance.ink == "bright"
    assert "10,000 of 10,000" in test.provenance.notes[-1]
    again = load_glyphs(255 - test.images, labels=test.labels)
    assert again.provenance.ink == "dark"
    np.testing.assert_array_equal(again.images, test.images)


def small_digits() -> Any:
    from sklearn.datasets import load_digits

    return load_digits()


def test_small_digits_through_npz_are_the_published_ones(tmp_path: Path) -> None:
    digits = small_digits()
    path = tmp_path / "digits.npz"
    np.savez_compressed(path, data=digits.data, target=digits.target)
    glyphs = load_glyphs(path)
    assert glyphs.frame == (8, 8)
    assert glyphs.counts.tolist() == [178, 182, 177, 183, 181, 182, 181, 179, 174, 180]
    assert glyphs.labels[:10].tolist() == list(range(10))
    assert "values 0 to 16 understood as 0..16, scaled to 0..255" in glyphs.provenance.notes
    assert glyphs.provenance.ink == "bright"


def test_scaling_small_digits_loses_nothing(tmp_path: Path) -> None:
    digits = small_digits()
    path = tmp_path / "digits.npz"
    np.savez(path, images=digits.images, target=digits.target)
    back = np.rint(load_glyphs(path).images / (255 / 16)).astype(np.uint8)
    # Sum, and SHA-256 of the bytes, of scikit-learn's bundled file; recomputed.
    assert int(back.sum()) == 561718
    assert (
        hashlib.sha256(back.tobytes()).hexdigest()
        == "8f26b2bd9d135c256808f68f14fdabddde6d9c7f869ae419704b051f0f14b3b3"
    )
    assert np.flatnonzero(~back.reshape(1797, 64).any(axis=0)).tolist() == [0, 32, 39]


def test_small_digits_survive_a_folder_of_png_as_dark_ink(tmp_path: Path) -> None:
    from PIL import Image

    digits = small_digits()
    pixels = np.rint(digits.images * (255 / 16)).astype(np.uint8)
    for place in range(500):
        folder = tmp_path / str(digits.target[place])
        folder.mkdir(exist_ok=True)
        Image.fromarray(255 - pixels[place]).save(folder / f"{place}.png")
    glyphs = load_glyphs(tmp_path)
    order = np.argsort(digits.target[:500], kind="stable")
    assert glyphs.provenance.ink == "dark"
    np.testing.assert_array_equal(glyphs.images, pixels[order])
    np.testing.assert_array_equal(glyphs.labels, digits.target[order])


def test_grey_of_a_colour_picture_agrees_with_opencv(tmp_path: Path) -> None:
    import cv2
    from PIL import Image

    from gen.glyphs.picture import read_picture

    rng = np.random.Generator(np.random.Philox(7))
    colours = rng.integers(0, 256, size=(64, 64, 3), dtype=np.uint8)
    path = tmp_path / "colours.png"
    Image.fromarray(colours).save(path)
    theirs = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    assert theirs is not None
    ours = read_picture(path).grey
    # Both use the weights of ITU-R BT.601; each rounds in its own fixed point.
    one_level = 1
    assert np.abs(ours.astype(int) - theirs.astype(int)).max() <= one_level
    exact = colours @ np.array([0.299, 0.587, 0.114])
    assert np.abs(ours - exact).max() <= one_level
