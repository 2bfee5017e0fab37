"""A model, whoever made it: what it is handed and what it answers."""

from __future__ import annotations

import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.evaluate.answers import Answers, Key, read
from gen.evaluate.calling import Caller
from gen.evaluate.entry import attribute, declared, way_in
from gen.evaluate.expect import Expectation, prepare
from gen.evaluate.fingerprint import of_files
from gen.evaluate.first_look import FirstLook, told
from gen.evaluate.opening import open_model
from gen.evaluate.plug import Plug
from gen.evaluate.readings import far_better
from gen.evaluate.settling import Known, placed, settle_on

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
        Digest of what it comes from, by which kept answers are found again; None for
        what isn't from a file. `gen.evaluate.fingerprint` says what it can't see.
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
        self.expects = expects or Expectation()
        self.look: FirstLook | None = None
        self.fingerprint: str | None = None
        ask, self._role = way_in(thing, name)
        self._call = Caller(ask, folder=folder, most=self.expects.batch)
        self.notes = self._call.notes
        bound = attribute(thing, "__self__")  # a method answers for its object
        owner = thing if bound is None else bound
        self._known = Known(
            name=name,
            wanted=self.expects,
            source=source,
            classes=attribute(owner, "classes_"),
            features=attribute(owner, "n_features_in_"),
            may_be_alone=isinstance(thing, Plug) and thing.may_be_alone,
        )
        self._key: Key | None = None

    @property
    def classes(self) -> tuple[str, ...]:
        """Class names that its answers are mapped to; empty before the first look."""
        return self._key.classes if self._key else ()

    def first_look(
        self, images: Pixels, labels: NDArray[np.intp], classes: Sequence[str]
    ) -> FirstLook:
        """Hand over a first batch and settle what the model takes and gives.

        A model that reads few of them rightly is also handed the same pictures as they
        may have been meant, and told of when that reads far more.

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
        settled = settle_on(images, classes, self._known, self._call)
        answers = read(settled.raw, settled.key)
        self.expects, self._key = settled.expects, settled.key

        def right(other: Expectation) -> NDArray[np.bool_]:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of an overflow on values that it never saw
                return np.asarray(self.answer(images, expects=other).labels == labels)

        self.look = told(
            f"{self.name} ({self._role})",
            expects=settled.expects,
            note=settled.note,
            answers=answers,
            labels=labels,
            key=settled.key,
            declared=self._known.wanted.answers is not None,
            others=far_better(settled.expects, answers.labels == labels, right),
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
        try:
            return read(self._call(prepare(images, expects or self.expects)), self._key)
        except ModelError as error:
            where = f"{self.name}: cell {cell}" if cell else self.name
            raise placed(error, where) from error.__cause__

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


def load_model(
    spec: str,
    *,
    expects: Expectation | Mapping[str, Any] | None = None,
    seconds: float | None = None,
) -> Model:
    """Load the model that a spec names.

    Parameters
    ----------
    spec
        ``path/to/file.py:name`` or ``package.module:name``: a function, an object
        with `predict_proba` or `predict`, a PyTorch module, or a callable object.
        ``path/to/file.onnx``: a network. ``program:COMMAND WITH ARGUMENTS``: a program
        that speaks the protocol of `gen.evaluate.program`. ``path/to/file.toml``: a
        file that says which of these it is, and what it expects.
    expects
        What the model expects; left out, what the TOML file of the same name beside
        the model says, the object's attribute `expects`, or the file's `EXPECTS`;
        else float32 from 0 to 1, bright ink, in the first layout of NHW, flat, N1HW
        and NHW1 that works. A mapping replaces only what it names:
        ``{"ink": "dark"}``.
    seconds
        Time limit of a batch, for a program; 60 when nobody says.

    Raises
    ------
    ModelError
        If it can't be found, fails when it is imported, or is no model.

    Examples
    --------
    >>> load_model("numpy:argmax", expects={"layout": "flat"}).expects.layout
    'flat'
    """
    opened = open_model(spec, seconds=seconds)
    said_so, source = declared(opened.thing, opened.module_says, opened.stated, expects, spec)
    model = Model(opened.thing, name=spec, expects=said_so, source=source, folder=opened.folder)
    files = [*opened.files, *([] if opened.stated is None else [opened.stated.path])]
    model.fingerprint = of_files(files, spec, str(said_so and said_so.said()), under=opened.folder)
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
    called = name or attribute(thing, "__name__") or type(thing).__name__
    said_so, source = declared(thing, None, None, expects, called)
    return Model(thing, name=called, expects=said_so, source=source, folder=None)
