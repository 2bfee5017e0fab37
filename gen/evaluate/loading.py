"""Finding the model that a person named: in a file, or in an importable module."""

from __future__ import annotations

import contextlib
import difflib
import hashlib
import importlib
import importlib.util
import inspect
import os
import sys
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

from gen.core.errors import ModelError
from gen.evaluate.recorded import opened_files
from gen.evaluate.their_code import in_their_house, is_installed, said

ROLES = ("predict_proba", "predict")
"""The methods that are looked for, in this order, before calling the object itself."""

_PREFIX = "inkdrift_model_"  # of the names of modules that were loaded from a path
_opened: dict[Path, set[Path]] = {}  # by folder, what was opened while its modules were imported


@dataclass(frozen=True)
class Found:
    """What a name led to.

    Attributes
    ----------
    thing
        The object.
    spec
        As it was named.
    module
        The module that it was found in.
    folder
        Where its neighbours are imported from.
    is_file
        Whether it was named by the path of its file.
    files
        What it comes from: its own file, the modules that were imported from its
        folder, and the files that were opened meanwhile.
    """

    thing: object
    spec: str
    module: ModuleType
    folder: Path
    is_file: bool = False
    files: tuple[Path, ...] = ()


def find(spec: str, *, folder: Path | None = None, called: str | None = None) -> Found:
    """Import what a spec names.

    Parameters
    ----------
    spec
        ``path/to/file.py:name`` or ``package.module:name``. The last colon
        parts the two, so that paths may hold colons and spaces.
    folder
        What a path is relative to; the working folder when left out.
    called
        What errors call it; the spec when left out.

    Raises
    ------
    ModelError
        If there is no such file, module or name, or the code fails when it is imported.
    """
    here = Path.cwd()
    folder, called = folder or here, called or spec
    place, _, name = spec.rpartition(":")
    if not place or not name or name.endswith(".py") or "/" in name or "\\" in name:
        # "C:\models\reader.py" has a colon, but nothing after it that could be a name.
        raise _without_name(spec, folder, called)
    path = Path(place) if folder == here else folder / place
    is_file = place.endswith(".py") or "/" in place or "\\" in place or path.is_file()
    with opened_files() as opened:
        if is_file:
            house = path.resolve().parent
            module = _import_file(path, called)
        else:
            house = folder.resolve()
            module = _import_module(place, called, house)
    # A module that is there already opens nothing again: what its folder's opened counts on.
    _opened.setdefault(house, set()).update(file for file in opened if not is_installed(file))
    files = _own_files(module, house) | _opened[house]
    return Found(
        _attribute(module, name, called), spec, module, house, is_file, tuple(sorted(files))
    )


def _own_files(module: ModuleType, house: Path) -> set[Path]:
    """The module's file and those of every module that lies in its folder or below."""
    files = set()
    for one in (module, *list(sys.modules.values())):
        file = getattr(one, "__file__", None)
        if not isinstance(file, str) or (one is not module and not file.startswith(str(house))):
            continue
        path = Path(file).resolve()
        called = str(getattr(one, "__name__", ""))
        not_its = called == "__main__" or called.startswith(_PREFIX)
        own = path.is_relative_to(house) and not is_installed(path) and not not_its
        if path.is_file() and (one is module or own):
            files.add(path)
    return files


def _import_file(path: Path, spec: str) -> ModuleType:
    if not path.exists():
        near = difflib.get_close_matches(
            path.name, [p.name for p in path.parent.glob("*.py")] if path.parent.is_dir() else [], 1
        )
        raise ModelError(
            spec,
            "there is no such file",
            got=path,
            hint=f'"{path.with_name(near[0])}"' if near else "the path from this folder",
        )
    if not path.is_file():
        raise ModelError(spec, "this is not a file", got=path, allowed="a Python file and a name")
    # A name that no other module has; reading the same file twice gives two modules.
    told = hashlib.sha256(os.fsencode(path.resolve())).hexdigest()[:8]
    name = f"{_PREFIX}{told}_{path.stem}"
    import importlib.machinery

    loader = importlib.machinery.SourceFileLoader(name, str(path.resolve()))
    plan = importlib.util.spec_from_loader(name, loader)
    assert plan is not None, "a loader was given"
    module = importlib.util.module_from_spec(plan)
    sys.modules[name] = module  # pickles and dataclasses look their module up by name
    try:
        with in_their_house(path.resolve().parent):
            loader.exec_module(module)
    except (Exception, SystemExit) as error:
        sys.modules.pop(name, None)
        raise _at_import(spec, error) from error
    return module


def _import_module(dotted: str, spec: str, folder: Path) -> ModuleType:
    try:
        with in_their_house(folder):
            return importlib.import_module(dotted)
    except ModuleNotFoundError as error:
        if error.name and (dotted == error.name or dotted.startswith(error.name + ".")):
            raise ModelError(
                spec,
                "there is no such module",
                got=error.name,
                hint="path/to/file.py:name, or install the package that holds it",
            ) from error
        raise _at_import(spec, error) from error
    except (Exception, SystemExit) as error:
        raise _at_import(spec, error) from error


def _at_import(spec: str, error: BaseException) -> ModelError:
    if isinstance(error, SystemExit):
        return ModelError(
            spec,
            "the file ends the program when it is imported",
            got=said(error),
            hint='put what is meant to run as a script under  if __name__ == "__main__":',
        )
    hint = None
    if isinstance(error, ModuleNotFoundError):
        hint = (
            f'install the package that gives "{error.name}" (it may be called otherwise) into the '
            "environment that runs gen, or mend the name"
        )
    return ModelError(spec, "the code fails when it is imported", got=said(error), hint=hint)


def _attribute(module: ModuleType, name: str, spec: str) -> object:
    thing: object = module
    for part in name.split("."):
        try:
            thing = getattr(thing, part)
        except AttributeError:
            known = _usable(thing)
            near = difflib.get_close_matches(part, known, n=1)
            raise ModelError(
                spec,
                f'there is no "{part}" there',
                got=f'"{name}"',
                allowed=", ".join(known) or "nothing there could be a model",
                hint=f'"{near[0]}"' if near else None,
            ) from None
    return thing


def _usable(thing: object) -> list[str]:
    """Public names that could be a model: callable or with a method that predicts, no classes."""
    names = []
    for name, value in vars(thing).items() if hasattr(thing, "__dict__") else ():
        if name.startswith("_") or isinstance(value, ModuleType | type):
            continue
        if callable(value) or _predicts(value):
            names.append(name)
    return sorted(names)


def _predicts(value: object) -> bool:
    return any(hasattr(value, role) for role in ROLES)


def _is_made_in(module: ModuleType, value: object) -> bool:
    """Whether a value isn't merely a function that was imported; an object has no such mark."""
    bound = not isinstance(getattr(value, "__self__", module), ModuleType)
    if not inspect.isroutine(value) or bound:
        return True
    return getattr(value, "__module__", None) == module.__name__


def _without_name(spec: str, folder: Path, called: str) -> ModelError:
    hint = None
    written = spec.removesuffix(":")
    path = Path(written) if folder == Path.cwd() else folder / written
    if path.is_file() and path.suffix == ".py":
        with contextlib.suppress(ModelError):
            module = _import_file(path, called)
            usable = _usable(module)
            known = [name for name in usable if _is_made_in(module, getattr(module, name))]
            # What predicts is a model more surely than what can merely be called.
            known.sort(key=lambda name: not _predicts(getattr(module, name)))
            hint = f"{written}:{known[0]}" if known else None
            if len(known) > 1:
                hint = f"{hint}, or one of {', '.join(known[1:])}"
            elif not known and usable:
                hint = f"nothing made there could be a model; imported there: {', '.join(usable)}"
    return ModelError(
        called,
        "this doesn't say which name in the file is the model",
        allowed="path/to/file.py:name or package.module:name",
        hint=hint,
    )
