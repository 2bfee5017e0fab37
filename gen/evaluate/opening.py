"""From what a person named to something that can be asked, whatever kind of model it is."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from gen.core.errors import ModelError
from gen.evaluate import loading, onnx_net, program, stated
from gen.evaluate.stated import Stated


@dataclass(frozen=True)
class Opened:
    """A model, and all that is known of it before it is asked.

    Attributes
    ----------
    thing
        What answers.
    module_says
        The file's `EXPECTS`, or None.
    stated
        The TOML file, or None.
    folder
        Where its neighbours are imported from; None for what isn't Python.
    files
        The files that it comes from.
    """

    thing: object
    module_says: object = None
    stated: Stated | None = None
    folder: Path | None = None
    files: tuple[Path, ...] = field(default=())


_PICKLED = 'import joblib; model = joblib.load("{file}")'
_WEIGHTS = 'import torch; model = Net(); model.load_state_dict(torch.load("{file}"))'
_KERAS = 'import keras; model = keras.models.load_model("{file}")'
SAVED = {
    ".pkl": _PICKLED,
    ".pickle": _PICKLED,
    ".joblib": _PICKLED,
    ".sav": _PICKLED,
    ".pt": _WEIGHTS,
    ".pth": _WEIGHTS,
    ".h5": _KERAS,
    ".keras": _KERAS,
}
"""Ends of names of files that hold saved objects, with what opens each (common practice)."""


def open_model(spec: str, *, seconds: float | None = None) -> Opened:
    """Find the model that a spec names.

    Parameters
    ----------
    spec
        A TOML file, an ONNX file, ``program:COMMAND``, ``path/to/file.py:name`` or
        ``package.module:name``.
    seconds
        Time limit of a batch, for a program; over what its TOML file says.

    Raises
    ------
    ModelError
        If it can't be found or loaded.
    """
    if seconds is not None and not 0 < seconds <= stated.LONGEST_S:
        allowed = f"over 0, at most {stated.LONGEST_S:g}"
        raise ModelError(spec, "this is no time limit", got=f"{seconds:g} s", allowed=allowed)
    if spec.startswith(program.PREFIX):
        command = program.command_of(spec.removeprefix(program.PREFIX), spec)
        return _program(command, Path.cwd(), seconds, spec)
    if spec.endswith(stated.SUFFIX):
        return _from_toml(spec, seconds)
    if seconds is not None:
        raise ModelError(spec, "a time limit is for programs", got=f"{seconds:g} s")
    return _from_file(spec, Path.cwd(), spec, None)


def _program(
    command: tuple[str, ...],
    folder: Path,
    seconds: float | None,
    spec: str,
    said: Stated | None = None,
) -> Opened:
    limit = seconds or (said and said.seconds) or program.SECONDS
    stays = said is not None and said.stays
    plug = program.Program(command, folder=folder, seconds=limit, stays=stays, spec=spec)
    return Opened(plug, stated=said, files=tuple(plug.files()))


def _from_toml(spec: str, seconds: float | None) -> Opened:
    said = stated.read_stated(Path(spec))
    if said.program is not None:
        return _program(said.program, said.folder, seconds, spec, said)
    if said.model is None:
        raise ModelError(
            spec,
            "this file doesn't say which model it is about",
            allowed='model = "reader.onnx", model = "reader.py:net" or program = ["node", "a.js"]',
        )
    if said.model.endswith(stated.SUFFIX) or said.model.startswith(program.PREFIX):
        raise ModelError(
            spec,
            "model can't be this",
            got=f'"{said.model}"',
            allowed='"reader.onnx", "reader.py:net" or "package.module:name"',
            hint='program = ["..."], for a program',
        )
    return _from_file(said.model, said.folder, f"{spec}: model {said.model}", said)


def _from_file(model: str, folder: Path, spec: str, said: Stated | None) -> Opened:
    """An ONNX file or something in Python; `said` is the TOML file that led here."""
    place, _, name = model.rpartition(":")
    path = None
    if model.endswith(onnx_net.SUFFIX):
        path, output = _under(folder, model), None
    elif place.endswith(onnx_net.SUFFIX) and "/" not in name:
        path, output = _under(folder, place), name
    if path is not None:
        net = onnx_net.OnnxNet(path, output=output, spec=spec)
        said = said or stated.beside(path)
        return Opened(net, stated=said, files=tuple(net.files()))
    _refuse_saved(model, place, spec)
    found = loading.find(model, folder=folder, called=spec)
    file = getattr(found.module, "__file__", None)
    # A library's own files say nothing of a person's model.
    if said is None and file and (found.is_file or Path(file).is_relative_to(found.folder)):
        said = stated.beside(Path(file))
    return Opened(
        found.thing, getattr(found.module, "EXPECTS", None), said, found.folder, found.files
    )


def _refuse_saved(model: str, place: str, spec: str) -> None:
    """Files of weights and pickled objects: only the code that knows them can open them."""
    saved = next((each for each in (model, place) if Path(each).suffix in SAVED), None)
    if saved is None:
        return
    opens = SAVED[Path(saved).suffix].format(file=Path(saved).name)
    raise ModelError(
        spec,
        "this file holds a saved object, which the code that knows it has to open",
        got=saved,
        allowed="path/to/file.py:name, package.module:name, an ONNX file, a TOML file or program:",
        hint=f"a file my_model.py with  {opens}  and then my_model.py:model",
    )


def _under(folder: Path, path: str) -> Path:
    """A path as it is written where it is relative to here, so that errors say it so."""
    return Path(path) if folder == Path.cwd() else folder / path
