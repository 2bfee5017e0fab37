"""A TOML file that states once what a model is and what it expects."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from gen.core.errors import CombinedError, InkdriftError, ModelError
from gen.evaluate.expect import Expectation
from gen.evaluate.expect_keys import CHECKS, number, wrong
from gen.evaluate.program import SECONDS, command_of
from gen.recipe.lines import find_lines
from gen.recipe.source import parse_toml, read_text
from gen.recipe.spelling import nearest_hint, quoted

SUFFIX = ".toml"
_RECIPE_KEYS = {"sweep", "grid", "blend", "require"}
_MEANT = {
    "values": "low = 0 and high = 255",
    "range": "low = 0 and high = 255",
    "std": '"deviation"',
    "takes-ink": '"ink"',
    "takes_ink": '"ink"',
    "command": '"program"',
    "timeout": '"seconds"',
}
"""Other people's words, and the command line's, for keys that are called otherwise."""
LONGEST_S = 86_400.0
"""The longest time limit: a day."""


@dataclass(frozen=True)
class Stated:
    """What a TOML file says of a model.

    Attributes
    ----------
    path
        The file.
    model
        What the model is, relative to the file's folder; None when it doesn't say.
    program
        The command that the model is; None when it is none.
    seconds
        Time limit of a batch, for a program; None when it isn't said.
    stays
        Whether the program answers batch after batch.
    says
        What is expected, as `Expectation.from_mapping` takes it.
    """

    path: Path
    model: str | None = None
    program: tuple[str, ...] | None = None
    seconds: float | None = None
    stays: bool = False
    says: Mapping[str, Any] = field(default_factory=dict)

    @property
    def folder(self) -> Path:
        """What paths in it are relative to."""
        return self.path.parent


def read_stated(path: Path) -> Stated:
    """Read a model's TOML file.

    Raises
    ------
    ModelError
        If it can't be read, or one thing in it is wrong.
    CombinedError
        If several are: all of them, with their lines.
    """
    try:
        text = read_text(path).removeprefix("\ufeff").replace("\r\n", "\n")
        data = parse_toml(text, str(path))
    except InkdriftError as error:
        hint = None if error.hint == "gen recipe list" else error.hint
        fact = error.fact.replace("a recipe", "this")
        raise ModelError(error.where, fact, got=error.got, allowed=error.allowed, hint=hint) from (
            error.__cause__
        )
    return _Reader(path, find_lines(text, data)).read(data)


def beside(file: Path) -> Stated | None:
    """What the TOML file of the same name beside a model's file says, if there is one.

    A recipe that happens to be called like the model is left alone.

    Raises
    ------
    ModelError
        If it can't be read, or is about another model.
    """
    path = file.with_suffix(SUFFIX)
    if path == file or not path.is_file():
        return None
    try:
        if _RECIPE_KEYS & set(parse_toml(read_text(path).removeprefix("\ufeff"), str(path))):
            return None
    except InkdriftError:
        pass  # said below, as of a model's file
    stated = read_stated(path)
    about = stated.model
    if stated.program is not None or (about is not None and not _leads_to(stated, file)):
        said = "a program" if about is None else quoted(about)
        raise ModelError(
            str(path),
            f"this file lies beside {file.name} and is about another model",
            got=said,
            hint=f"name {path.name} as the model, or call one of the two otherwise",
        )
    return stated


def _leads_to(stated: Stated, file: Path) -> bool:
    name = stated.model or ""
    candidates = (name, name.rpartition(":")[0])
    return any((stated.folder / one).resolve() == file.resolve() for one in candidates if one)


class _Reader:
    def __init__(self, path: Path, lines: Mapping[Any, int]) -> None:
        self.path = path
        self._lines = lines
        self._errors: list[InkdriftError] = []
        self._own: dict[str, Callable[[str, Any], Any]] = {
            "model": _text,
            "program": self._program,
            "seconds": _seconds,
            "stays": _switch,
        }

    def read(self, data: Mapping[str, Any]) -> Stated:
        known = (*self._own, *CHECKS)
        got: dict[str, Any] = {}
        for key, value in data.items():
            check = self._own.get(key) or CHECKS.get(key)
            if check is None:
                fact = f"unknown key {quoted(key)}"
                near = _MEANT.get(key) or nearest_hint(key, known)
                self._note(key, ModelError("", fact, allowed=", ".join(known), hint=near))
                continue
            try:
                got[key] = check(key, value)
            except ModelError as error:
                self._note(key, error)
        says = {key: value for key, value in got.items() if key in CHECKS}
        if not self._errors:
            self._together(got, says)
        if len(self._errors) == 1:
            raise self._errors[0]
        if self._errors:
            raise CombinedError(self._errors)
        return Stated(
            self.path,
            got.get("model"),
            got.get("program"),
            got.get("seconds"),
            got.get("stays", False),
            says,
        )

    def _together(self, got: Mapping[str, Any], says: Mapping[str, Any]) -> None:
        try:
            Expectation.from_mapping(says)
        except ModelError as error:
            key = error.fact.split(" ", 1)[0]
            self._note(key if key in got else next(iter(got)), error)
        if "model" in got and "program" in got:
            hint = "a model that is a program needs no model key"
            self._note(
                "program", ModelError("", "this file names a model and a program", hint=hint)
            )
        if ("seconds" in got or "stays" in got) and "program" not in got:
            key = "seconds" if "seconds" in got else "stays"
            self._note(key, ModelError("", f"{key} is for programs", allowed="beside program"))

    def _note(self, key: str, error: ModelError) -> None:
        line = self._lines.get((key,))
        where = f"{self.path}:{line}" if line else str(self.path)
        told = ModelError(where, error.fact, got=error.got, allowed=error.allowed, hint=error.hint)
        self._errors.append(told)

    def _program(self, key: str, value: object) -> tuple[str, ...]:
        if isinstance(value, str):
            return command_of(value, "")
        if isinstance(value, list) and value and all(isinstance(part, str) for part in value):
            return tuple(value)
        raise wrong(key, value, 'a list of texts, such as ["node", "reader.js"]')


def _text(key: str, value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        raise wrong(key, value, 'a text, such as "reader.onnx" or "reader.py:net"')
    return value


def _switch(key: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise wrong(key, value, "true or false")
    return value


def _seconds(key: str, value: object) -> float:
    seconds = number(key, value)
    if not 0 < seconds <= LONGEST_S or not math.isfinite(seconds):
        raise wrong(key, value, f"over 0, at most {LONGEST_S:g}; {SECONDS:g} when left out")
    return seconds
