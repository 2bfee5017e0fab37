"""What is wrong and what to change, told from the remedy that works."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from gen.diagnose.operations import CLASS_ORDER, LABEL_SHIFT, READING, Chain, Operation

TRAINING = "training code"
PREPROCESSING = "preprocessing of the drawings"
DRAWINGS = "the drawings"
LABELS = "the labels"
HANDING = "what the model is handed"


@dataclass(frozen=True)
class Told:
    """A fault in words: what is wrong, what to change, and on which side."""

    wrong: str
    change: str
    side: str


def told(chain: Chain) -> Told:
    """A remedy in words.

    Parameters
    ----------
    chain
        Its steps.

    Examples
    --------
    >>> told((Operation("translation", -3.0, "px", (("along", "x"),)),)).wrong
    'These marks sit 3 px further right than the model was trained on.'
    """
    moves = tuple(step for step in chain if step.perturbation == "translation")
    parts = [_moves(moves)] if moves else []
    parts += [_SAYS[step.perturbation](step) for step in chain if step not in moves]
    if len(parts) == 1:
        return parts[0]
    # Faults happen in the opposite order to that in which they are mended.
    first, *also = parts[::-1]
    wrong = " ".join([first.wrong, *(f"Also, {_lower(part.wrong)}" for part in also)])
    mend, *then = parts
    change = " ".join([mend.change, *(f"Then {_lower(part.change)}" for part in then)])
    return Told(wrong, change, mend.side)


def title(chain: Chain) -> str:
    """A remedy in a few words: "translation of -3 px along x"."""
    return ", then ".join(_title(step) for step in chain) or "nothing"


def _lower(sentence: str) -> str:
    return sentence[0].lower() + sentence[1:]


def _title(step: Operation) -> str:
    if isinstance(step.amount, str):
        return f"{step.perturbation} ({step.amount})"
    if step.unit == "times" or step.perturbation in {"paper removal", "upright"}:
        along = dict(step.options).get("along")
        return step.perturbation + (f" along {along}" if along else "")
    along = str(dict(step.options).get("along") or "")
    where = f" along {along}" if along else ""
    if along and along[-1].isdigit():
        where += " deg"
    sign = "+" if step.amount > 0 and step.unit in {"px", "deg", "bytes", "places"} else ""
    unit = f" {step.unit}" if step.unit not in {"ratio", "times"} else ""
    return f"{step.perturbation} {sign}{step.amount:g}{unit}{where}"


def _moves(steps: tuple[Operation, ...]) -> Told:
    by = {str(dict(step.options).get("along")): float(step.amount) for step in steps}
    down, right = by.get("y", 0.0), by.get("x", 0.0)
    off = []
    if right:
        off.append(f"{abs(right):g} px further {'left' if right > 0 else 'right'}")
    if down:
        off.append(f"{abs(down):g} px {'higher' if down > 0 else 'lower'}")
    back = []
    if right:
        back.append(f"{abs(right):g} px {'right' if right > 0 else 'left'}")
    if down:
        back.append(f"{abs(down):g} px {'down' if down > 0 else 'up'}")
    return Told(
        f"These marks sit {' and '.join(off)} than the model was trained on.",
        f"Move them {' and '.join(back)} before the model sees them, or centre marks by one and "
        "the same rule in training and in use; if training files were decoded by hand, look for "
        "a header taken for longer or shorter than it is.",
        PREPROCESSING,
    )


def _row_slip(step: Operation) -> Told:
    amount = float(step.amount)
    early = "early" if amount < 0 else "late"
    size = f"{abs(amount):g} byte{'s' * (abs(amount) != 1)}"
    return Told(
        f"The pictures are read {size} too {early}, so that rows wrap.",
        f"Begin reading {size} {'later' if amount < 0 else 'earlier'}: compare the file's header "
        "with its size. If it is these files that are read rightly, it was the training files "
        "that were not, and they must be decoded again and the model trained anew.",
        PREPROCESSING,
    )


def _switch(wrong: str, change: str, side: str = PREPROCESSING) -> Callable[[Operation], Told]:
    return lambda step: Told(wrong, change, side)


def _mirror(step: Operation) -> Told:
    way = dict(step.options).get("along", "x")
    what = "left and right" if way == "x" else "top and bottom"
    return Told(
        f"The pictures are mirrored: {what} are exchanged.",
        f"Exchange {what} when these pictures are read, as for files whose rows are stored "
        f"{'backwards' if way == 'x' else 'from the bottom up'}.",
        PREPROCESSING,
    )


def _quarters(step: Operation) -> Told:
    once = float(step.amount) == 1
    way = "clockwise" if once else "anticlockwise"
    back = "anticlockwise" if once else "clockwise"
    return Told(
        f"The pictures are turned by a quarter {way}.",
        f"Turn them by a quarter {back}: look for an orientation tag that was ignored, or axes "
        "swapped and mirrored in reading.",
        PREPROCESSING,
    )


def _ratio(less: str, more: str, change: str, side: str) -> Callable[[Operation], Told]:
    def say(step: Operation) -> Told:
        ratio = float(step.amount)
        wrong = more if ratio < 1 else less  # what is mended by reducing was too large
        return Told(wrong.format(by=f"{1 / ratio:.2g}"), change.format(by=f"{ratio:g}"), side)

    return say


def _signed(
    positive: str, negative: str, change: tuple[str, str], side: str
) -> Callable[[Operation], Told]:
    """Words for a remedy of a positive amount, and of a negative one."""

    def say(step: Operation) -> Told:
        amount = float(step.amount)
        size = f"{abs(amount):g}"
        wrong, mend = (positive, change[0]) if amount > 0 else (negative, change[1])
        return Told(wrong.format(by=size), mend.format(by=size), side)

    return say


def _smeared(step: Operation) -> Told:
    along = str(dict(step.options)["along"])
    way = {"x": "from side to side", "y": "up and down"}.get(along, "aslant")
    return Told(
        f"These pictures are smeared {way} by about {float(step.amount):g} px, as by a hand, "
        "camera or belt that moved.",
        "Hold still or expose more briefly, undo the smear, or train on pictures smeared so.",
        DRAWINGS,
    )


def _rows(positive: str, negative: str) -> Callable[[Operation], Told]:
    def say(step: Operation) -> Told:
        amount = float(step.amount)
        return Told(
            (positive if amount > 0 else negative).format(by=f"{abs(amount):g}"),
            "Read rows of the length that they are stored with: look for rows padded to a "
            "multiple of 4 bytes, and for width and height exchanged.",
            PREPROCESSING,
        )

    return say


def _placement(step: Operation) -> Told:
    box = dict(step.options).get("box_px")
    rule = f"the rule \u201c{step.amount}\u201d"
    if box is None:
        return Told(
            "These marks do not lie where the training marks do: each is somewhere else.",
            f"Lay every mark by {rule} before the model sees it.",
            PREPROCESSING,
        )
    return Told(
        "These marks differ from the training marks in size and place, each in its own way.",
        f"Fit every mark to a box of {float(box):.3g} px, proportions kept, and lay it by {rule}.",
        PREPROCESSING,
    )


def _reading(step: Operation) -> Told:
    return Told(
        "The model is handed values in another range than it was trained on.",
        f"Hand it values of {step.amount}: look for a division by 255 that is done twice or "
        "not at all, and for a mean and deviation that only one side takes out.",
        HANDING,
    )


def _label_shift(step: Operation) -> Told:
    amount = float(step.amount)
    places = f"{abs(amount):g} place{'s' * (abs(amount) != 1)}"
    return Told(
        f"Labels and pictures are out of step by {places}.",
        f"Move the labels {places} {'down' if amount > 0 else 'up'} the list: look for a header "
        "of the label file that is taken for longer or shorter, or a first sample that was lost.",
        LABELS,
    )


def _class_order(step: Operation) -> Told:
    return Told(
        f"The classes are named in another order: the model's {step.amount}."
        if str(step.amount).startswith('"')
        else f"The classes are named in another order: {step.amount}.",
        "Name the classes in the order in which the model was trained: look for labels counted "
        "from 1, or folder names sorted as text (1, 10, 2).",
        LABELS,
    )


_SAYS: dict[str, Callable[[Operation], Told]] = {
    "row-slip": _row_slip,
    "axis-swap": _switch(
        "Rows and columns are exchanged: these pictures lie on their side, mirrored.",
        "Read them column by column, or exchange the two axes of the array.",
    ),
    "mirror": _mirror,
    "half-turn": _switch(
        "The pictures are upside down.",
        "Turn them by a half: look for rows read from the bottom up and backwards.",
    ),
    "quarter-turns": _quarters,
    "ink-polarity": _switch(
        "Ink and paper are exchanged: the model was trained on the other polarity.",
        "Turn the values round (255 less each) before the model sees them, or say so with "
        "--ink or --takes-ink.",
    ),
    "scale": _ratio(
        "These marks are smaller than the training marks: {by} times their size.",
        "These marks are larger than the training marks: {by} times their size.",
        "Make them {by} times the size, or fit marks to the box that the training marks fill.",
        PREPROCESSING,
    ),
    "aspect": _ratio(
        "These marks are too narrow for their height: their proportions were lost.",
        "These marks are too wide for their height: their proportions were lost.",
        "Make width over height {by} times what it is: resize crops with their proportions kept.",
        PREPROCESSING,
    ),
    "rotation": _signed(
        "These marks are turned clockwise by about {by} degrees.",
        "These marks are turned anticlockwise by about {by} degrees.",
        (
            "Turn them {by} degrees anticlockwise: straighten the sheet or the camera.",
            "Turn them {by} degrees clockwise: straighten the sheet or the camera.",
        ),
        DRAWINGS,
    ),
    "slant": _signed(
        "These marks lean about {by} degrees further to the left than the training marks.",
        "These marks lean about {by} degrees further to the right than the training marks.",
        (
            "Set them upright by {by} degrees, or train on hands that lean so.",
            "Set them upright by {by} degrees, or train on hands that lean so.",
        ),
        DRAWINGS,
    ),
    "stroke-width": _signed(
        "These strokes are about {by} px thinner than those that the model was trained on.",
        "These strokes are about {by} px thicker than those that the model was trained on.",
        (
            "Widen strokes by {by} px, write with a broader pen, or train on thinner strokes.",
            "Narrow strokes by {by} px, write with a finer pen, or train on thicker strokes.",
        ),
        DRAWINGS,
    ),
    "blur": _signed(
        "These pictures are harder at the edges than the training pictures: shrunk without "
        "averaging, or cut to few grey levels.",
        "",
        ("Soften them by {by} px, or shrink drawings by averaging over area.", ""),
        PREPROCESSING,
    ),
    "sharpening": _signed(
        "These pictures are blurred by about {by} px more than the training pictures.",
        "",
        ("Focus, or sharpen by {by} px; or train on pictures as soft as these.", ""),
        DRAWINGS,
    ),
    "motion sharpening": _smeared,
    "row length": _rows(
        "Rows are stored {by} px longer than they are read, so that each lies further right than "
        "the one above.",
        "Rows are stored {by} px shorter than they are read, so that each lies further left than "
        "the one above.",
    ),
    "row shear": _rows(
        "Each row lies {by} px further left than the one above.",
        "Each row lies {by} px further right than the one above.",
    ),
    "line removal": _switch(
        "There are lines right across these pictures, as of ruled paper or the edge of a box, "
        "which the training pictures have not.",
        "Take the lines out before the model sees them, cut inside the box, or write on plain "
        "paper.",
    ),
    "contrast stretch": _switch(
        "The ink of these marks is fainter than the training marks'.",
        "Stretch each picture so that its darkest ink is full ink.",
    ),
    "paper removal": _switch(
        "The paper of these pictures is grey or unevenly lit, where the model knows bare paper.",
        "Take the paper's level away from each picture before the model sees it.",
    ),
    "despeckling": _switch(
        "There are specks or noise on these pictures that the training pictures have not.",
        "Take specks out with a median of 3 x 3 px.",
    ),
    "upright": _switch(
        "These marks lean, each in its own way, more than the training marks do.",
        "Set each mark upright by its own slant, on both sides.",
        DRAWINGS,
    ),
    "placement": _placement,
    READING: _reading,
    LABEL_SHIFT: _label_shift,
    CLASS_ORDER: _class_order,
}
