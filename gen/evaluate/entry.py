"""How a thing is asked, and what it says it expects."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from typing import Any

from gen.core.errors import ModelError
from gen.evaluate.expect import Expectation
from gen.evaluate.loading import ROLES, Found


def way_in(thing: object, name: str) -> tuple[Callable[[Any], object], str]:
    """What to call for answers, and that in words; what can't answer is refused."""
    if inspect.isclass(thing):
        raise ModelError(
            name,
            "this is a class, not a model",
            got=thing.__name__,
            hint=f"an instance of it:  reader = {thing.__name__}(...)",
        )
    if inspect.ismodule(thing):
        raise ModelError(name, "this is a module, not a model", hint="name what is inside it")
    for role in ROLES:
        method = getattr(thing, role, None)
        if callable(method):
            return method, f"{type(thing).__name__}, asked by {role}"
    if callable(thing):
        plain = inspect.isroutine(thing)
        return thing, "a function" if plain else f"{type(thing).__name__}, called"
    raise ModelError(
        name,
        "this is not a model",
        got=type(thing).__name__,
        allowed="a function, or an object with predict_proba or predict, or that can be called",
    )


def declared(
    thing: object, found: Found | None, expects: Expectation | None, name: str
) -> tuple[Expectation | None, str]:
    """What is expected and who said so: the caller, the object, its file, or nobody."""
    if expects is not None:
        return expects, "as given"
    said_by: list[tuple[object, str]] = [(getattr(thing, "expects", None), "as the model says")]
    if found is not None:
        said_by.append((getattr(found.module, "EXPECTS", None), "as EXPECTS says"))
    for value, source in said_by:
        if value is None:
            continue
        if isinstance(value, Expectation):
            return value, source
        if isinstance(value, Mapping):
            return Expectation.from_mapping(value, where=f"{name}: {source.split()[1]}"), source
        raise ModelError(
            name,
            "what the model says it expects can't be read",
            got=type(value).__name__,
            allowed="a dict with layout, dtype, low, high, ink",
        )
    return None, "assumed"
