"""Settling on the first batch what a model is handed and how its answers are read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.answers import Key, read, settle
from gen.evaluate.calling import Caller
from gen.evaluate.expect import LAYOUTS, Expectation, prepare
from gen.evaluate.plug import FAILS, OverdueError

Pixels = NDArray[np.uint8]


@dataclass(frozen=True)
class Known:
    """What is known of a model before it is asked.

    Attributes
    ----------
    name
        What it is called.
    wanted
        What it says it expects.
    source
        Who said so.
    classes, features
        Its own `classes_` and `n_features_in_`, or None.
    may_be_alone
        Whether one glyph at a time is tried when nothing else works.
    """

    name: str
    wanted: Expectation
    source: str
    classes: object
    features: object
    may_be_alone: bool


@dataclass(frozen=True)
class Settled:
    """What the first batch settled.

    Attributes
    ----------
    expects
        What the model is handed, layout included.
    raw
        Its answers.
    key
        How they are read.
    note
        How it was found.
    """

    expects: Expectation
    raw: NDArray[Any]
    key: Key
    note: str


def settle_on(images: Pixels, classes: Sequence[str], known: Known, call: Caller) -> Settled:
    """Try the layouts that are possible, in order; the first whose answers can be read is it.

    Raises
    ------
    ModelError
        If none works, or the pictures have a size that the model doesn't take.
    """
    wanted, note = known.wanted, known.source
    _check_size(images, known)
    layouts: tuple[str, ...] = LAYOUTS
    if wanted.layout is not None:
        layouts = (wanted.layout,)
    elif known.features is not None:
        layouts, note = ("flat",), f"{note}; flat, since it counts its features"
    failed: dict[str, ModelError] = {}
    for most in _batches(images, known):
        for layout in layouts:
            expects = replace(wanted, layout=layout, batch=most)
            call.most = most
            try:
                raw = call(prepare(images, expects))
                key = settle(raw, classes, known.classes, wanted)
                read(raw, key)
            except OverdueError as error:
                raise placed(error, f"{known.name}: first batch") from error.__cause__
            except ModelError as error:
                failed.setdefault(layout, error)
                continue
            if len(layouts) > 1:
                tried = [name for name in failed if name != layout]
                after = f", after {' and '.join(tried)} failed" if tried else ""
                note = f"{note}; layout found by trying{after}"
            if most != wanted.batch:
                note = f"{note}; one glyph at a time, since it took no more"
            return Settled(expects, raw, key, note)
    call.most = wanted.batch
    raise _unreadable(failed, images, known)


def _batches(images: Pixels, known: Known) -> tuple[int | None, ...]:
    alone = known.may_be_alone and known.wanted.batch is None and len(images) > 1
    return (None, 1) if alone else (known.wanted.batch,)


def _check_size(images: Pixels, known: Known) -> None:
    height, width = images.shape[1:]
    frame = known.wanted.frame
    if frame is not None and frame != (height, width):
        raise ModelError(
            known.name,
            "the model takes pictures of another size",
            got=f"{height} x {width} px",
            allowed=f"{frame[0]} x {frame[1]} px, as its frame states",
            hint=_reframed(*frame),
        )
    if known.features is not None and known.features != height * width:
        raise ModelError(
            known.name,
            "the model was trained on pictures of another size",
            got=f"{height} x {width} px, {height * width} values a glyph",
            allowed=f"{known.features} values a glyph",
            hint=_reframed(*_square(known.features)),
        )


def _square(features: object) -> tuple[int, ...]:
    """The frame that so many values fill, where it is square; else nothing."""
    if not isinstance(features, int):
        return ()
    side = math.isqrt(features)
    return (side, side) if side * side == features else ()


def _reframed(*frame: int) -> str:
    """How glyphs of any size come into a frame."""
    said = "x".join(map(str, frame)) or "HxW"
    return f"--frame {said}; for what people drew also --fit, with the rule used in training"


def _unreadable(failed: dict[str, ModelError], images: Pixels, known: Known) -> ModelError:
    """One error from what went wrong with each layout; what is the same is said once."""
    alike: dict[str, list[str]] = {}
    for layout, error in failed.items():
        alike.setdefault(str(error), []).append(layout)
    first = next(iter(failed.values()))
    if len(alike) == 1:
        failure = placed(first, f"{known.name}: first batch")
        failure.__cause__ = first.__cause__
        return failure
    tried = []
    for layouts in alike.values():
        error = failed[layouts[0]]
        what = error.got if error.fact == FAILS else f"{error.fact}: {error.got}"
        tried.append(
            f"{' and '.join(_handed(layout, images, known) for layout in layouts)}: {what}"
        )
    hints = [error.hint for error in failed.values() if error.hint]
    failure = ModelError(
        f"{known.name}: first batch",
        "the model can't read any layout that was tried",
        got="\n            ".join(tried),
        hint=hints[0] if hints else "say what it expects: layout, dtype, low, high, ink",
    )
    failure.__cause__ = first.__cause__
    return failure


def _handed(layout: str, images: Pixels, known: Known) -> str:
    one = prepare(images[:1], replace(known.wanted, layout=layout))
    return f"{layout}, {one.dtype} {(len(images), *one.shape[1:])}"


def placed(error: ModelError, where: str) -> ModelError:
    """The same error, elsewhere."""
    kind = OverdueError if isinstance(error, OverdueError) else ModelError
    return kind(where, error.fact, got=error.got, allowed=error.allowed, hint=error.hint)
