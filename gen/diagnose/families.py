"""The remedies that are tried: each family is one kind of change over its range.

A family starts from a coarse set of amounts and is refined round the best of them. What
undoes a perturbation is the perturbation at the opposite amount, wherever it has one.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass, replace

from gen.diagnose.operations import READING, Chain, Operation
from gen.evaluate.readings import DEVIATION, MEAN, RANGES

Amounts = tuple[float | str, ...]
_FEW = 12
_SCRAP = 0.8

_IN_WORDS = (
    "0 to 1",
    "0 to 255",
    "-1 to 1",
    f"mean {MEAN} and deviation {DEVIATION} taken out",
    "0 to 1/255",
)
READINGS: tuple[tuple[str, float, float], ...] = (
    *((words, low, high) for words, (_, low, high) in zip(_IN_WORDS, RANGES, strict=True)),
    (f"{MEAN} to {MEAN + DEVIATION:.4f}", MEAN, MEAN + DEVIATION),
    ("0.5 to 1", 0.5, 1.0),
    ("0 to 65025", 0.0, 255.0**2),
)
"""Value ranges that a model may have been trained on: in words, paper, full ink.

The last three undo what code behind the door does once too often: taking out a mean and
deviation, bringing 0 to 1 into -1 to 1, and dividing by 255 twice."""


@dataclass(frozen=True)
class Family:
    """One kind of change.

    Attributes
    ----------
    name
        What it is called: a perturbation's name, or a few words.
    coarse
        Amounts to begin with, in each of its directions; the one that changes nothing
        is not among them.
    steps
        Refinements: how far from the best so far to look, one after the other.
    make
        From amounts to the steps that do it.
    low, high
        The range of each amount; refinements outside it are left out.
    nominal
        The amount that changes nothing.
    further
        Amounts to begin with that are tried as a first step only.
    likeness
        How much better a rarer amount must do than one that is listed before it, in the
        logarithm of the probability that the true class gets.
    rank
        How much it takes for granted: 1 for one number or switch for all pictures that
        moves or mirrors them whole, 2 for one that changes how they look, 3 for a rule
        that treats every picture in its own way.
    """

    name: str
    coarse: tuple[Amounts, ...]
    make: Callable[[Amounts], Chain]
    steps: tuple[float, ...] = ()
    low: float = float("-inf")
    high: float = float("inf")
    rank: int = 2
    likeness: float = 0.0
    nominal: float = 0.0
    further: tuple[Amounts, ...] = ()

    def is_scrap(self, chain: Chain) -> bool:
        """Whether its steps in a chain change less than any amount that it begins with."""
        if not self.steps:
            return False
        least = min(max(abs(float(a) - self.nominal) for a in amounts) for amounts in self.coarse)
        names = {step.perturbation for step in self.make(self.coarse[0])}
        mine = [step for step in chain if step.perturbation in names]
        far = [abs(float(step.amount) - self.nominal) for step in mine]
        return bool(far) and max(far) < _SCRAP * least

    def begin(self, *, alone: bool) -> tuple[Amounts, ...]:
        """Amounts to begin with: all of them, or as a further step every second one."""
        if alone:
            return (*self.coarse, *self.further)
        return self.coarse if len(self.coarse) <= _FEW else self.coarse[::2]

    def near(self, amounts: Amounts, step: float) -> list[Amounts]:
        """The neighbours of some amounts, a step away in every direction."""
        numbers = [float(amount) for amount in amounts]
        out: list[Amounts] = []
        for moves in itertools.product((-step, 0.0, step), repeat=len(numbers)):
            there = tuple(round(n + m, 6) for n, m in zip(numbers, moves, strict=True))
            if any(moves) and all(self.low <= amount <= self.high for amount in there):
                out.append(there)
        return out


def families(frame: tuple[int, int]) -> tuple[Family, ...]:
    """Everything that is tried on pictures of a frame.

    Parameters
    ----------
    frame
        (H, W) in px.
    """
    height, width = frame
    reach = max(3, min(frame) * 2 // 7)
    unit = max(1.0, min(frame) / 28)
    slip = min(40, height * width - 1)
    far = min(4 * width, height * width - 1)
    square = height == width
    every = [float(d) for d in range(-reach, reach + 1)]
    moves = [(dy, dx) for dy in every for dx in every if (dy or dx) and _on_trial(dy, dx)]
    return (
        Family(
            "translation",
            tuple(moves),
            _moved,
            (1.0, 0.5),
            -float(min(frame) - 1),
            float(min(frame) - 1),
            rank=1,
        ),
        Family(
            "row slip",
            tuple((float(k),) for k in range(-slip, slip + 1) if k),
            _one("row-slip", "bytes"),
            rank=1,
            further=tuple((float(k),) for k in range(-far, far + 1) if abs(k) > slip),
        ),
        *_rows(),
        *_turned(square),
        _switch("ink polarity", Operation("ink-polarity", 1.0, "times")),
        _amounts(
            "scale",
            "scale",
            "ratio",
            (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.15, 1.3, 1.5, 1.75, 2, 2.5),
            0.1,
            0.05,
        ),
        _stretched(),
        replace(
            _amounts("rotation", "rotation", "deg", _around(60, 12), 6, 3),
            further=tuple((float(a),) for a in _around(180, 15) if abs(a) > 60),
        ),
        _amounts("slant", "slant", "deg", _around(40, 10), 5, 2.5),
        _amounts(
            "stroke width", "stroke-width", "px", [unit * k for k in _around(3, 0.75)], unit * 0.25
        ),
        _amounts("blur", "blur", "px", (0.5, 0.75, 1, 1.5, 2), 0.25),
        _amounts("sharpening", "sharpening", "px", (0.5, 0.75, 1, 1.25, 1.5, 2, 2.5, 3, 3.5), 0.25),
        _held_still(unit),
        _switch("contrast stretch", Operation("contrast stretch", 1.0, "times"), rank=2),
        _switch("paper removal", Operation("paper removal", 1.0, "times"), rank=2),
        _switch("line removal", Operation("line removal", 1.0, "times"), rank=2),
        _switch("despeckling", Operation("despeckling", 1.0, "times"), rank=3),
        _switch("upright", Operation("upright", 1.0, "times"), rank=3),
        *_laid(frame),
    )


def _on_trial(down: float, right: float) -> bool:
    """Moves along an axis px by px; slanting ones every second px."""
    return not down or not right or (down % 2 == 0 and right % 2 == 0)


def switches(found: tuple[Family, ...]) -> tuple[Family, ...]:
    """Those that are on or off: two of them may each be of no use without the other."""
    names = {"orientation", "ink polarity", "contrast stretch", "paper removal", READING}
    return tuple(family for family in found if family.name in names)


def readings(low: float, high: float) -> Family:
    """The family of other value ranges that a model may be handed.

    Parameters
    ----------
    low, high
        What it is handed now for bare paper and full ink.
    """
    others = tuple((name,) for name, *ends in READINGS if ends != [low, high])

    def make(amounts: Amounts) -> Chain:
        return (Operation(READING, amounts[0], "range"),)

    return Family(READING, others, make, rank=2, likeness=0.02)


def ends_of(reading: object) -> tuple[float, float]:
    """What bare paper and full ink become under one of `READINGS`.

    Examples
    --------
    >>> ends_of("0 to 255")
    (0.0, 255.0)
    """
    return next((low, high) for words, low, high in READINGS if words == reading)


def _moved(amounts: Amounts) -> Chain:
    down, right = (float(amount) for amount in amounts)
    steps = ((down, "y"), (right, "x"))
    return tuple(Operation("translation", a, "px", (("along", way),)) for a, way in steps if a)


def _stretched() -> Family:
    """Proportions, and with them the size: a resize that loses the one changes the other."""

    def make(amounts: Amounts) -> Chain:
        about = (("about", "frame"),)
        steps = [
            Operation(name, amount, "ratio", about)
            for name, amount in zip(("aspect", "scale"), amounts, strict=True)
        ]
        return tuple(step for step in steps if step.amount != 1.0)

    shapes, sizes = (0.4, 0.5, 0.6, 0.75, 0.87, 1.15, 1.35, 1.65, 2.0, 2.5), (0.8, 1.0, 1.25)
    coarse = tuple((shape, size) for shape in shapes for size in sizes)
    return Family("aspect", coarse, make, (0.1, 0.05), 0.3, 3.0, rank=3, nominal=1.0)


def _one(
    perturbation: str, unit: str, options: tuple[tuple[str, str], ...] = ()
) -> Callable[[Amounts], Chain]:
    def make(amounts: Amounts) -> Chain:
        return (Operation(perturbation, amounts[0], unit, options),)

    return make


def _amounts(
    name: str, perturbation: str, unit: str, coarse: object, *steps: float, rank: int = 2
) -> Family:
    about = (("about", "frame"),) if perturbation in _ABOUT else ()
    low, high = _RANGE[perturbation]
    listed = tuple((float(amount),) for amount in coarse)  # type: ignore[attr-defined]
    nominal = 1.0 if unit == "ratio" else 0.0
    make = _one(perturbation, unit, about)
    return Family(name, listed, make, steps, low, high, rank, nominal=nominal)


def _switch(name: str, operation: Operation, rank: int = 1) -> Family:
    return Family(name, ((1.0,),), lambda _: (operation,), rank=rank)


def _turned(square: bool) -> tuple[Family, ...]:
    """The ways that whole pictures can be mirrored and turned."""
    swap, half = Operation("axis-swap", 1.0, "times"), Operation("half-turn", 1.0, "times")
    across, down = (Operation("mirror", 1.0, "times", (("along", way),)) for way in "xy")
    found: dict[str, Chain] = {
        "mirrored along x": (across,),
        "mirrored along y": (down,),
        "half turn": (half,),
    }
    if square:
        found |= {
            "axes swapped": (swap,),
            "a quarter turn anticlockwise": (Operation("quarter-turns", 1.0, "quarters"),),
            "a quarter turn clockwise": (Operation("quarter-turns", 3.0, "quarters"),),
            "axes swapped and turned by a half": (swap, half),
        }
    return (
        Family(
            "orientation",
            tuple((name,) for name in found),
            lambda amounts: found[str(amounts[0])],
            rank=1,
        ),
    )


def _held_still(unit: float) -> Family:
    """Smears along a line, as of a hand, belt or camera that moved: how far, and which way."""
    ways = ("x", "30", "60", "y", "120", "150")
    coarse = tuple((unit * far, way) for far in (3.0, 5.0, 7.0, 9.0, 11.0) for way in ways)

    def make(amounts: Amounts) -> Chain:
        return (Operation("motion sharpening", amounts[0], "px", (("along", str(amounts[1])),)),)

    return Family("motion sharpening", coarse, make, rank=3)


def _rows() -> tuple[Family, ...]:
    """Rows that are stored longer or shorter than they are read, and rows that each lie further
    on than the one above."""
    few = tuple((float(k),) for k in _around(4, 1))
    return (
        Family("row length", few, _one("row length", "px"), rank=1),
        Family("row shear", few, _one("row shear", "px"), rank=1),
    )


def _laid(frame: tuple[int, int]) -> tuple[Family, ...]:
    """Rules by which marks may have been laid into their frame."""
    box = 20 * min(frame) / 28  # common practice: a box of 20 px in a frame of 28

    def rule(amounts: Amounts) -> Chain:
        options = (("box_px", None), ("margin_px", 0.0))
        return (Operation("placement", amounts[0], "rule", options),)

    def fitted(amounts: Amounts) -> Chain:
        options = (("box_px", box), ("margin_px", 0.0))
        return (Operation("placement", amounts[0], "rule", options),)

    rules = (("centre of mass",), ("box centred",), ("centre of mass, whole px",))
    return (
        Family("placement", rules, rule, rank=3),
        Family(f"fit to a box of {box:.3g} px", rules, fitted, rank=4),
    )


def _around(far: float, step: float) -> list[float]:
    count = round(far / step)
    return [k * step for k in range(-count, count + 1) if k]


_ABOUT = frozenset({"scale", "rotation", "slant"})
_RANGE = {
    "scale": (0.3, 3.0),
    "rotation": (-180.0, 180.0),
    "slant": (-50.0, 50.0),
    "stroke-width": (-8.0, 8.0),
    "blur": (0.25, 4.0),
    "sharpening": (0.25, 4.0),
}
