"""Plants faults in open digits and counts how often a diagnosis names the right one first.

    python tests/bench/faults.py [--short] [--more] [--models NAME,...] [--kinds NAME,...]
                                 [--times N] [--trained-on]

Three readers are trained on the MNIST training pictures: a fully connected network, a
small convolutional network (needs the extra `runtimes`), and nearest neighbours on
principal components. Each fault is planted in 150 test pictures, drawn anew each time,
and the reader is diagnosed on them; with --trained-on the diagnosis is also given some
of the training pictures. A fault that leaves the reader over the floor is no fault to
it, and must be called healthy; how many those were is printed. Where nothing is wrong with
the pictures, but a quarter of the labels is, no remedy may be named either.

The faults are planted by code of its own wherever that is short, not by the renderer. With
--more the faults are those of `more_faults.py`: other kinds, amounts and directions.
"""

from __future__ import annotations

import argparse
import os
import sys
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from scipy import ndimage

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from gen import load_glyphs
from gen.diagnose.diagnose import diagnose
from gen.diagnose.operations import Operation, carry_out
from gen.diagnose.results import Diagnosis
from gen.evaluate.model import wrap_model
from gen.glyphs.base import Provenance, RasterGlyphs
from gen.perturb import PERTURBATIONS
from tests.outside.open_data import locate

GLYPHS = 150
DIGITS = tuple("0123456789")
Steps = list[tuple[str, Any, dict[str, Any]]]
Images = np.ndarray
Rng = np.random.Generator


@dataclass(frozen=True)
class Kind:
    """A fault: how it is planted, and which first remedies name it."""

    name: str
    plant: Callable[[Images, Rng], Images]
    named: Callable[[Steps], bool]
    amount: Callable[[Steps], bool] = lambda steps: True
    labels: Callable[[np.ndarray], np.ndarray] = lambda labels: labels
    handed: dict[str, float] | None = None
    code: Callable[[Images], Images] = lambda x: x
    """What code that stands before the reader does to the values that it is handed."""


def steps_of(found: Diagnosis) -> Steps:
    if not found.remedies:
        return []
    return [(s.perturbation, s.amount, dict(s.options)) for s in found.remedies[0].steps]


def has(*names: str) -> Callable[[Steps], bool]:
    """The remedy is one of these and nothing else."""
    return lambda steps: bool(steps) and {name for name, *_ in steps} <= set(names)


def every(*groups: tuple[str, ...]) -> Callable[[Steps], bool]:
    """The remedy has one of each group, and nothing from outside of them."""

    def named(steps: Steps) -> bool:
        names = {name for name, *_ in steps}
        return all(names & set(group) for group in groups) and names <= set(sum(groups, ()))

    return named


def near(name: str, wanted: float, step: float) -> Callable[[Steps], bool]:
    return lambda steps: any(n == name and abs(float(a) - wanted) <= step for n, a, _ in steps)


def moved_by(down: float, right: float, step: float = 1.0) -> Callable[[Steps], bool]:
    """The move of a remedy, a slip of rows counted as the move that it is."""

    def within(steps: Steps) -> bool:
        dy = sum(float(a) for n, a, o in steps if n == "translation" and o.get("along") == "y")
        dx = sum(float(a) for n, a, o in steps if n == "translation" and o.get("along") == "x")
        for n, a, _ in steps:
            if n == "row-slip":
                rows = round(float(a) / 28)
                dy, dx = dy + rows, dx + float(a) - 28 * rows
            if n == "placement":
                return True
        return abs(dy - down) <= step and abs(dx - right) <= step

    return within


def undone(plant: Callable[[Images, Rng], Images]) -> Callable[[Steps], bool]:
    """The remedy puts a picture without any symmetry back exactly as it was."""
    letter = np.zeros((1, 28, 28), np.uint8)
    letter[0, 4:24, 8:11] = letter[0, 4:7, 8:20] = letter[0, 13:16, 8:16] = 255  # an F

    def exactly(steps: Steps) -> bool:
        chain = tuple(
            Operation(n, a, PERTURBATIONS[n].entry.units[0].name, tuple(o.items()))
            for n, a, o in steps
        )
        planted = plant(letter, np.random.default_rng(0))
        return bool((carry_out(planted, chain) == letter).all())

    return exactly


def some_wrong(labels: np.ndarray) -> np.ndarray:
    """A quarter of the labels are any other class, as careless people write them."""
    rng = np.random.default_rng(5)
    other = (labels + rng.integers(1, 10, len(labels))) % 10
    return np.where(rng.random(len(labels)) < 0.25, other, labels)


def shift(dy: float, dx: float) -> Callable[[Images, Rng], Images]:
    return lambda images, _: affine(images, np.eye(2), (dy, dx))


def affine(images: Images, matrix: np.ndarray, move: tuple[float, float] = (0, 0)) -> Images:
    """Each point goes to matrix @ (y, x) about the frame's centre, plus the move; by scipy."""
    back = np.linalg.inv(matrix)
    centre = np.array([13.5, 13.5])
    offset = centre - back @ (centre + np.array(move))
    out = [
        ndimage.affine_transform(image.astype(float), back, offset, order=1, mode="grid-constant")
        for image in images
    ]
    return np.clip(np.rint(out), 0, 255).astype(np.uint8)


def turned(degrees: float) -> np.ndarray:
    c, s = np.cos(np.deg2rad(degrees)), np.sin(np.deg2rad(degrees))
    return np.array([[c, -s], [s, c]])


def small(ratio: float) -> Callable[[Images, Rng], Images]:
    """Reduced by area, as a careful program does; enlarged linearly."""

    def plant(images: Images, _: Rng) -> Images:
        if ratio > 1:
            return affine(images, np.eye(2) * ratio)
        side = round(28 * ratio)
        top = (28 - side) // 2
        out = np.zeros_like(images)
        for at, image in enumerate(images):
            little = cv2.resize(image, (side, side), interpolation=cv2.INTER_AREA)
            out[at, top : top + side, top : top + side] = little
        return out

    return plant


def pen(added_px: float) -> Callable[[Images, Rng], Images]:
    """Thinner or thicker by grey morphology on a grid four times as fine."""

    def plant(images: Images, _: Rng) -> Images:
        size = round(abs(added_px) * 4) + 1
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
        do = cv2.dilate if added_px > 0 else cv2.erode
        out = []
        for image in images:
            large = do(cv2.resize(image, (112, 112), interpolation=cv2.INTER_LINEAR), disc)
            out.append(cv2.resize(large, (28, 28), interpolation=cv2.INTER_AREA))
        return np.stack(out)

    return plant


def anywhere(images: Images, rng: Rng) -> Images:
    """Each mark whole px elsewhere, as far as its frame has room."""
    out = np.zeros_like(images)
    for at, image in enumerate(images):
        rows, columns = np.nonzero(image > 20)
        dy = rng.integers(-rows.min(), 28 - rows.max())
        dx = rng.integers(-columns.min(), 28 - columns.max())
        out[at] = np.roll(image, (dy, dx), axis=(0, 1))
    return out


def nearest(images: Images, rng: Rng) -> Images:
    """Drawn large and with a thin pen, then shrunk by taking every tenth pixel."""
    del rng
    thin = pen(-0.6)(images, np.random.default_rng(0))
    out = []
    for image in thin:
        large = cv2.resize(image, (280, 280), interpolation=cv2.INTER_CUBIC)
        out.append(((large > 110) * 255).astype(np.uint8)[5::10, 5::10])
    return np.stack(out)


def grey_paper(level: int) -> Callable[[Images, Rng], Images]:
    return lambda images, _: (level + images.astype(int) * (255 - level) // 255).astype(np.uint8)


def noisy(images: Images, rng: Rng) -> Images:
    return np.clip(images + rng.normal(0, 60, images.shape), 0, 255).astype(np.uint8)


def slip(count: int) -> Callable[[Images, Rng], Images]:
    """Every picture read so many bytes early: rows wrap, and the stream runs on."""

    def plant(images: Images, _: Rng) -> Images:
        return np.roll(images.reshape(-1), count).reshape(images.shape)

    return plant


def both(
    first: Callable[[Images, Rng], Images], second: Callable[[Images, Rng], Images]
) -> Callable[[Images, Rng], Images]:
    return lambda images, rng: second(first(images, rng), rng)


def turn(back: Callable[[Images], Images]) -> Callable[[Images, Rng], Images]:
    return lambda images, _: np.ascontiguousarray(back(images))


MOVES = ("translation", "row-slip")
TURNS = ("axis-swap", "mirror", "half-turn", "quarter-turns")
SWAPPED = turn(lambda x: x.transpose(0, 2, 1))
SWAPPED_AND_DARK = both(SWAPPED, lambda x, _: 255 - x)
SIZES = ("scale",)


def turned_kind(name: str, back: Callable[[Images], Images]) -> Kind:
    return Kind(name, turn(back), has(*TURNS), undone(turn(back)))


def normalised_before(x: Images) -> Images:
    """So that the reader behind it is one for values with mean and deviation taken out."""
    return x * np.float32(0.3081) + np.float32(0.1307)


ORDER = np.array([3, 1, 4, 0, 5, 9, 2, 6, 8, 7])

KINDS = (
    Kind("4 px right", shift(0, 4), has(*MOVES), moved_by(0, -4)),
    Kind("5 px left", shift(0, -5), has(*MOVES), moved_by(0, 5)),
    Kind("4 px up", shift(-4, 0), has(*MOVES), moved_by(4, 0)),
    Kind("5 px down", shift(5, 0), has(*MOVES), moved_by(-5, 0)),
    Kind("slip of 3 bytes", slip(3), has(*MOVES), moved_by(0, -3)),
    Kind("slip of 8 bytes", slip(8), has(*MOVES), moved_by(0, -8)),
    Kind("slip of -4 bytes", slip(-4), has(*MOVES), moved_by(0, 4)),
    Kind("slip of 16 bytes", slip(16), has("row-slip"), near("row-slip", -16, 1)),
    Kind("slip of 30 bytes", slip(30), has(*MOVES), moved_by(-1, -2)),
    turned_kind("axes swapped", lambda x: x.transpose(0, 2, 1)),
    turned_kind("mirrored", lambda x: x[:, :, ::-1]),
    turned_kind("top to bottom", lambda x: x[:, ::-1]),
    turned_kind("half turn", lambda x: x[:, ::-1, ::-1]),
    turned_kind("quarter turn", lambda x: np.rot90(x, 1, (1, 2))),
    Kind("polarity", lambda x, _: 255 - x, has("ink-polarity")),
    Kind("divided twice", lambda x, _: x, has("value range"), handed={"high": 1 / 255}),
    Kind("not divided", lambda x, _: x, has("value range"), handed={"high": 255.0}),
    Kind("mean left out", lambda x, _: x, has("value range"), code=normalised_before),
    Kind("thin pen", pen(-2.2), has("stroke-width"), near("stroke-width", 2.2, 0.75)),
    Kind("thick pen", pen(3), has("stroke-width"), near("stroke-width", -3, 1.0)),
    Kind("small", small(0.5), has(*SIZES), near("scale", 2.0, 0.3)),
    Kind("large", small(1.5), has(*SIZES), near("scale", 1 / 1.5, 0.1)),
    Kind("not centred", anywhere, has("placement")),
    Kind(
        "stretched",
        lambda x, _: affine(x, np.diag([1.3, 0.6])),
        every(("aspect",), ("aspect", "scale")),
        near("aspect", 1.3 / 0.6, 0.5),
    ),
    Kind(
        "rotated",
        lambda x, _: affine(x, turned(35)),
        has("rotation"),
        near("rotation", -35, 6),
    ),
    Kind(
        "slanted",
        lambda x, _: affine(x, np.array([[1, 0], [-np.tan(np.deg2rad(35)), 1]])),
        has("slant", "upright"),
        lambda steps: steps[0][0] == "upright" or near("slant", -35, 6)(steps),
    ),
    Kind(
        "blurred",
        lambda x, _: np.stack([cv2.GaussianBlur(i, (0, 0), 2.2) for i in x]),
        has("sharpening"),
        near("sharpening", 2.2, 0.75),
    ),
    Kind("faint", lambda x, _: x // 6, has("contrast stretch", "paper removal")),
    Kind("grey paper", grey_paper(130), has("paper removal")),
    Kind("shrunk by nearest neighbour", nearest, has("blur", "stroke-width")),
    Kind("two grey levels", lambda x, _: ((x > 60) * 255).astype(np.uint8), has("blur")),
    Kind("noise", noisy, has("despeckling", "blur", "paper removal")),
    Kind(
        "labels shifted",
        lambda x, _: x,
        has("label shift"),
        near("label shift", -1, 0),
        labels=lambda y: np.roll(y, 1),
    ),
    Kind("class order", lambda x, _: x, has("class order"), labels=lambda y: ORDER[y]),
    Kind(
        "thin and 4 px right",
        both(pen(-2.2), shift(0, 4)),
        every(MOVES, ("stroke-width",)),
        moved_by(0, -4),
    ),
    Kind(
        "swapped and dark",
        SWAPPED_AND_DARK,
        every(TURNS, ("ink-polarity",)),
        undone(SWAPPED_AND_DARK),
    ),
    Kind(
        "small and low",
        both(small(0.6), shift(4, 0)),
        every(("scale", "placement"), (*MOVES, "placement")),
        moved_by(-4, 0, 3.0),
    ),
    Kind(
        "grey and rotated",
        both(lambda x, _: affine(x, turned(-35)), grey_paper(130)),
        every(("paper removal",), ("rotation",)),
        near("rotation", 35, 6),
    ),
    Kind("nothing", lambda x, _: x, lambda steps: not steps),
    Kind("nothing but labels", lambda x, _: x, lambda steps: not steps, labels=some_wrong),
)
NOTHING = {
    "nothing": "healthy",
    "nothing but labels": "unexplained",
    "labels of another set": "unexplained",
    "a reader of blanks": "unexplained",
}
"""What must be said where nothing that a remedy could mend is wrong."""
SHORT = ("4 px right", "axes swapped", "polarity", "thin pen", "class order", *list(NOTHING)[:2])


def fully_connected(images: Images, labels: np.ndarray) -> Any:
    from sklearn.exceptions import ConvergenceWarning
    from sklearn.neural_network import MLPClassifier

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)
        net = MLPClassifier((128,), max_iter=12, random_state=1, batch_size=128)
        return net.fit(images.reshape(len(images), -1) / np.float32(255), labels).predict_proba


def neighbours(images: Images, labels: np.ndarray) -> Any:
    """Shares of classes among the nearest 5 of 3,000, on 40 principal components."""
    from sklearn.decomposition import PCA

    flat = images[:3_000].reshape(-1, 784) / np.float32(255)
    parts = PCA(40, random_state=1).fit(flat)
    known, classes = parts.transform(flat).astype(np.float32), np.eye(10)[labels[:3_000]]
    lengths = (known**2).sum(axis=1)

    def answer(x: np.ndarray) -> np.ndarray:
        here = parts.transform(x.reshape(len(x), -1)).astype(np.float32)
        far = lengths - 2 * here @ known.T
        best = np.argpartition(far, 5, axis=1)[:, :5]
        return np.asarray(classes[best].mean(axis=1))

    return answer


def convolutional(images: Images, labels: np.ndarray) -> Any:
    import torch
    from torch import nn

    torch.manual_seed(1)
    torch.set_num_threads(1)
    net = nn.Sequential(
        nn.Conv2d(1, 12, 5), nn.ReLU(), nn.MaxPool2d(2), nn.Conv2d(12, 24, 3), nn.ReLU(),
        nn.MaxPool2d(2), nn.Flatten(), nn.Linear(600, 10),
    )  # fmt: skip
    x = torch.from_numpy(images[:, None] / np.float32(255))
    y = torch.from_numpy(labels.astype(np.int64))
    step = torch.optim.Adam(net.parameters(), 2e-3)
    for _ in range(3):
        for part in torch.randperm(len(x)).split(128):
            loss = nn.functional.cross_entropy(net(x[part]), y[part])
            step.zero_grad()
            loss.backward()
            step.step()
    net.eval()

    def answer(x: np.ndarray) -> np.ndarray:
        with torch.no_grad():
            given = net(torch.from_numpy(x.reshape(-1, 1, 28, 28).astype(np.float32)))
            return np.asarray(given.softmax(dim=1).numpy())

    return answer


MODELS = {
    "fully connected": fully_connected,
    "convolutional": convolutional,
    "neighbours": neighbours,
}


def glyphs_of(images: Images, labels: np.ndarray) -> RasterGlyphs:
    return RasterGlyphs(
        frame=(28, 28),
        labels=labels.astype(np.intp),
        classes=DIGITS,
        provenance=Provenance("array", "planted", ""),
        writers=None,
        images=images,
    )


def diagnosed(
    kind: Kind,
    place: int,
    answer: Any,
    images: Images,
    labels: np.ndarray,
    *,
    trained_on: Any,
    seed: int,
) -> tuple[Diagnosis, float]:
    """Plant the fault at a place in its list, and diagnose the reader on it."""
    rng = np.random.default_rng([seed, place])
    chosen = rng.permutation(len(images))[:GLYPHS]
    planted = kind.plant(images[chosen], rng)

    def reader(x: np.ndarray) -> Any:
        return answer(kind.code(x))

    model = wrap_model(
        reader, name="reader", expects={"layout": "flat", "dtype": "float32", **(kind.handed or {})}
    )
    start = time.perf_counter()
    found = diagnose(model, glyphs_of(planted, kind.labels(labels[chosen])), trained_on=trained_on)
    return found, time.perf_counter() - start


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--short", action="store_true")
    parser.add_argument("--more", action="store_true")
    parser.add_argument("--models", default="")
    parser.add_argument("--kinds", default="")
    parser.add_argument("--times", type=int, default=1)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--trained-on", action="store_true")
    said = parser.parse_args()
    data = locate(os.environ)
    if not data.files:
        print(f"nothing was planted: {data.reason}")
        return
    train, test = (
        load_glyphs(next(p for n, p in data.files.items() if n.startswith(f"{which}-images")))
        for which in ("train", "t10k")
    )
    size = 4_000 if said.short else 20_000
    images, labels = np.asarray(train.images[:size]), train.labels[:size]
    shown, true = np.asarray(test.images), test.labels
    trained_on = glyphs_of(images[:1000], labels[:1000]) if said.trained_on else None
    names = [n for n in said.models.split(",") if n] or list(MODELS)
    listed: tuple[Kind, ...] = KINDS
    if said.more:
        from tests.bench import more_faults

        listed = more_faults.KINDS
    kinds = [k for k in listed if k.name in (said.kinds.split(",") if said.kinds else [k.name])]
    if said.short:
        names, kinds = ["fully connected"], [k for k in kinds if k.name in SHORT]
    total: dict[str, list[int]] = {"named": [], "amount": [], "false": []}
    longest, harmless = 0.0, 0
    for name in names:
        try:
            answer = MODELS[name](images, labels)
        except ModuleNotFoundError as error:
            print(f"{name}: left out, {error}")
            continue
        for kind in kinds:
            for turn_ in range(said.times):
                found, seconds = diagnosed(
                    kind,
                    listed.index(kind),
                    answer,
                    shown,
                    true,
                    trained_on=trained_on,
                    seed=said.seed + turn_,
                )
                longest = max(longest, seconds)
                steps = steps_of(found)
                if kind.name in NOTHING:
                    good = found.verdict == NOTHING[kind.name]
                    total["false"].append(int(not good))
                elif found.verdict == "healthy":
                    good = True
                    harmless += 1
                else:
                    good = kind.named(steps)
                    total["named"].append(int(good))
                    if good:
                        total["amount"].append(int(kind.amount(steps)))
                mark = "  " if good and (found.verdict == "healthy" or kind.amount(steps)) else "! "
                told = ", ".join(f"{n} {a}" for n, a, _ in steps) or found.verdict
                after = found.remedies[0].accuracy.value if found.remedies else float("nan")
                print(
                    f"{mark}{name:<16}{kind.name:<28}{found.baseline.value:.2f} -> {after:.2f}  "
                    f"{told[:70]:<72}{seconds:5.1f} s",
                    flush=True,
                )
    for what, words in (
        ("named", "faults named first"),
        ("amount", "of those, amount within a step"),
        ("false", "alarms where nothing was wrong"),
    ):
        print(f"{words}: {sum(total[what])} of {len(total[what])}")
    print(f"faults that left the reader over the floor: {harmless}")
    print(f"the longest took {longest:.1f} s")


if __name__ == "__main__":
    main()
