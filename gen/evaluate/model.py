"""A model, whoever made it: what it is handed and what it answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.answers import Answers, Key, read, settle
from gen.evaluate.arrays import to_array
from gen.evaluate.entry import attribute, declared, way_in
from gen.evaluate.expect import LAYOUTS, Expectation, prepare
from gen.evaluate.fingerprint import of_files
from gen.evaluate.first_look import FirstLook, told
from gen.evaluate.loading import find, in_their_house, said
from gen.evaluate.readings import far_better

Pixels = NDArray[np.uint8]


class Model:
    """Somebody's model behind one face; made by `load_model` or `wrap_model`.

    The first batch (`first_look`) settles what the model is handed and how its
    answers are read; later batches are held to that.

    Attributes
    ----------
    name
        What it is called in reports and errors.
    expects
        What it is handed; its layout is None until it is known.
    look
        What the first look found, or None before it.
    fingerprint
        Digest of the files that it comes from, by which kept answers are found again;
        None for what isn't from a file.
    notes
        What happened while it was asked, a line each.
    """

    def __init__(
        self,
        thing: object,
        *,
        name: str,
        expects: Expectation | None,
        source: str,
        folder: Path | None,
    ) -> None:
        self.name = name
        self._wanted = expects or Expectation()
        self.expects = self._wanted
        self.look: FirstLook | None = None
        self.fingerprint: str | None = None
        self.notes: list[str] = []
        self._most: int | None = None  # glyphs in one call, once memory was short
        self._source = source
        self._folder = folder
        self._ask, self._role = way_in(thing, name)
        owner = getattr(thing, "__self__", thing)  # a method answers for its object
        self._own_classes = attribute(owner, "classes_")
        self._features = attribute(owner, "n_features_in_")
        self._key: Key | None = None

    @property
    def classes(self) -> tuple[str, ...]:
        """Class names that its answers are mapped to; empty before the first look."""
        return self._key.classes if self._key else ()

    def first_look(
        self, images: Pixels, labels: NDArray[np.intp], classes: Sequence[str]
    ) -> FirstLook:
        """Hand over a first batch and settle what the model takes and gives.

        Parameters
        ----------
        images
            ndarray of shape (n, H, W), uint8, ink bright, n >= 1.
        labels
            ndarray of shape (n,), index into `classes`.
        classes
            The class names.

        Raises
        ------
        ModelError
            If the model fails, or its answers can't be read.
        """
        expects, raw, key, note = self._settle(images, classes)
        answers = read(raw, key)
        self.expects, self._key = expects, key
        named = f"{self.name} ({self._role})"

        def ask(other: Expectation, turned: bool) -> NDArray[np.bool_] | None:
            if turned and images.shape[1] != images.shape[2]:
                return None
            shown = np.ascontiguousarray(images.transpose(0, 2, 1)) if turned else images
            try:
                return np.asarray(self.answer(shown, expects=other).labels == labels)
            except ModelError:
                return None

        others = far_better(expects, answers.labels == labels, ask)
        self.look = told(
            named,
            expects=expects,
            note=note,
            answers=answers,
            labels=labels,
            key=key,
            others=others,
        )
        return self.look

    def answer(
        self, images: Pixels, *, cell: str = "", expects: Expectation | None = None
    ) -> Answers:
        """Hand over a batch and read the answers.

        When the model has no memory left, the batch is halved, once, for the rest of
        the run, and that is noted.

        Parameters
        ----------
        images
            ndarray of shape (n, H, W), uint8, ink bright; not changed.
        cell
            Where the batch is from, for errors.
        expects
            What to hand over instead of what the first look settled, to see what the
            model would say to it.

        Raises
        ------
        ModelError
            If the model fails, its answers are of another kind than on the first
            batch, or there was no first look.
        """
        if self._key is None:
            raise ModelError(self.name, "no first batch was looked at", hint="first_look before")
        where = f"{self.name}: cell {cell}" if cell else self.name
        handed = prepare(images, expects or self.expects)
        try:
            return read(self._in_parts(handed), self._key)
        except ModelError as error:
            if self._most is None and len(images) > 1 and _short_of_memory(error):
                self._most = (len(images) + 1) // 2
                self.notes.append(
                    f"memory was short at {len(images)} glyphs in one batch: it was halved"
                )
                return self.answer(images, cell=cell, expects=expects)
            raise _placed(error, where) from error.__cause__

    def _in_parts(self, handed: NDArray[Any]) -> NDArray[Any]:
        """The answers to an array, asked for in one call, or in more where memory is short."""
        n, most = len(handed), self._most or len(handed)
        if n <= most:
            return self._call(handed, n)
        parts = [handed[start : start + most] for start in range(0, n, most)]
        return np.concatenate([self._call(part, len(part)) for part in parts])

    def capture(self, images: Pixels) -> NDArray[Any]:
        """The exact array that the model is handed for these pictures.

        Raises
        ------
        ModelError
            If the layout isn't known yet: declare it, or have a first look before.
        """
        if self.expects.layout is None:
            raise ModelError(self.name, "the layout isn't known yet", hint="first_look before")
        return prepare(images, self.expects)

    def _call(self, handed: NDArray[Any], n: int) -> NDArray[Any]:
        try:
            with in_their_house(self._folder):
                raw = self._ask(handed)
                return to_array(raw, n)
        except ModelError:
            raise
        except (Exception, SystemExit) as error:
            raise ModelError("", "the model fails", got=said(error)) from error

    def _settle(
        self, images: Pixels, classes: Sequence[str]
    ) -> tuple[Expectation, NDArray[Any], Key, str]:
        height, width = images.shape[1:]
        layouts: tuple[str, ...] = LAYOUTS
        note = self._source
        if self._wanted.layout is not None:
            layouts = (self._wanted.layout,)
        elif self._features is not None:
            layouts, note = ("flat",), f"{note}; flat, since it counts its features"
        if self._features is not None and self._features != height * width:
            raise ModelError(
                self.name,
                "the model was trained on pictures of another size",
                got=f"{height} x {width} px, {height * width} values a glyph",
                allowed=f"{self._features} values a glyph",
                hint="glyphs in the frame that it was trained on",
            )
        failed: dict[str, ModelError] = {}
        for layout in layouts:
            expects = replace(self._wanted, layout=layout)
            try:
                raw = self._call(prepare(images, expects), len(images))
                key = settle(raw, classes, self._own_classes)
                read(raw, key)
            except ModelError as error:
                failed[layout] = error
                continue
            if len(layouts) > 1:
                tried = f", after {' and '.join(failed)} failed" if failed else ""
                note = f"{note}; layout found by trying{tried}"
            return expects, raw, key, note
        raise self._unreadable(failed, images)

    def _unreadable(self, failed: dict[str, ModelError], images: Pixels) -> ModelError:
        """One error from what went wrong with each layout; what is the same is said once."""
        alike: dict[str, list[str]] = {}
        for layout, error in failed.items():
            alike.setdefault(str(error), []).append(layout)
        first = next(iter(failed.values()))
        if len(alike) == 1:
            failure = _placed(first, f"{self.name}: first batch")
            failure.__cause__ = first.__cause__
            return failure
        tried = []
        for layouts in alike.values():
            error = failed[layouts[0]]
            one = prepare(images[:1], replace(self._wanted, layout=layouts[0]))
            shape = (len(images), *one.shape[1:])
            what = error.got if error.fact == "the model fails" else f"{error.fact}: {error.got}"
            tried.append(f"{' and '.join(layouts)}, {one.dtype} {shape}: {what}")
        hints = [error.hint for error in failed.values() if error.hint]
        failure = ModelError(
            f"{self.name}: first batch",
            "the model can't read any layout that was tried",
            got="\n            ".join(tried),
            hint=hints[0] if hints else "say what it expects: layout, dtype, low, high, ink",
        )
        failure.__cause__ = first.__cause__
        return failure


def load_model(spec: str, *, expects: Expectation | Mapping[str, Any] | None = None) -> Model:
    """Load the model that a spec names.

    Parameters
    ----------
    spec
        ``path/to/file.py:name`` or ``package.module:name``: a function, an object
        with `predict_proba` or `predict`, or a callable object.
    expects
        What the model expects; left out, what the object's attribute `expects` or
        the file's `EXPECTS` says; else float32 from 0 to 1, bright ink, in the
        first layout of NHW, flat and N1HW that works. A mapping replaces only what
        it names: ``{"ink": "dark"}``.

    Raises
    ------
    ModelError
        If it can't be found, fails when it is imported, or is no model.

    Examples
    --------
    >>> load_model("numpy:argmax", expects={"layout": "flat"}).expects.layout
    'flat'
    """
    found = find(spec)
    said_so, source = declared(found.thing, found, expects, spec)
    model = Model(found.thing, name=spec, expects=said_so, source=source, folder=found.folder)
    if (file := getattr(found.module, "__file__", None)) is not None:
        model.fingerprint = of_files([Path(file)], spec, str(model.expects))
    return model


def wrap_model(
    thing: object,
    *,
    name: str | None = None,
    expects: Expectation | Mapping[str, Any] | None = None,
) -> Model:
    """Take a model that is already there in Python.

    Parameters
    ----------
    thing
        A function, an object with `predict_proba` or `predict`, a callable
        object, or a `Model`, which is given back as it is.
    name
        What to call it; its own name when left out.
    expects
        As for `load_model`.

    Raises
    ------
    ModelError
        If it is no model.

    Examples
    --------
    >>> model = wrap_model(lambda x: x.reshape(len(x), -1).argmax(axis=1), name="brightest")
    >>> dots = np.zeros((2, 1, 2), np.uint8)
    >>> dots[0, 0, 0] = dots[1, 0, 1] = 255
    >>> print(model.first_look(dots, np.array([0, 1]), ("left", "right")).lines[-1])
    read      2 of 2 of these glyphs rightly (100.0 %)
    """
    if isinstance(thing, Model):
        return thing
    called = name or getattr(thing, "__name__", None) or type(thing).__name__
    said_so, source = declared(thing, None, expects, called)
    return Model(thing, name=called, expects=said_so, source=source, folder=None)


def _short_of_memory(error: ModelError) -> bool:
    """Whether what the model raised was for want of memory, by its kind or its own words."""
    cause = error.__cause__
    if isinstance(cause, MemoryError):
        return True
    words = str(cause).lower()
    return any(said in words for said in ("out of memory", "bad_alloc", "can't allocate memory"))


def _placed(error: ModelError, where: str) -> ModelError:
    return ModelError(where, error.fact, got=error.got, allowed=error.allowed, hint=error.hint)
