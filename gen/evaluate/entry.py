"""How a thing is asked, and what it says it expects."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any

from gen.core.errors import ModelError
from gen.evaluate.expect import Expectation
from gen.evaluate.loading import ROLES, Found
from gen.evaluate.torch_module import asked, is_module


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
    if is_module(thing):
        return asked(thing)
    for role in ROLES:
        method = attribute(thing, role)
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
    thing: object,
    found: Found | None,
    expects: Expectation | Mapping[str, Any] | None,
    name: str,
) -> tuple[Expectation | None, str]:
    """What is expected and who said so: the caller, the object, its file, or nobody.

    A mapping from the caller replaces only what it names of what the model says.
    """
    if isinstance(expects, Expectation):
        return expects, "as given"
    said, source = _by_the_model(thing, found, name)
    if not expects:
        return said, source
    whole = {} if said is None else {key.name: getattr(said, key.name) for key in fields(said)}
    if "dtype" in expects and said is not None and expects["dtype"] != said.dtype:
        # The ends of one dtype's scale say nothing of another's.
        whole = {key: value for key, value in whole.items() if key not in {"low", "high"}}
    merged = Expectation.from_mapping({**whole, **expects}, where=name)
    return merged, "as given" if said is None else f"{source}, and as given"


def attribute(thing: object, name: str) -> Any:
    """An attribute, or None when there is none or it can't be had (a model that isn't fitted)."""
    try:
        return getattr(thing, name, None)
    except Exception:  # a property of somebody's class may raise anything
        return None


def _by_the_model(thing: object, found: Found | None, name: str) -> tuple[Expectation | None, str]:
    said_by: list[tuple[object, str]] = [(attribute(thing, "expects"), "as the model says")]
    if found is not None:
        said_by.append((getattr(found.module, "EXPECTS", None), "as EXPECTS says"))
    for value, source in said_by:
        if value is None:
            continue
        if isinstance(value, Expectation):
            return value, source
        if isinstance(value, Mapping):
            where = f"{name}: {'expects' if source == 'as the model says' else 'EXPECTS'}"
            return Expectation.from_mapping(value, where=where), source
        raise ModelError(
            name,
            "what the model says it expects can't be read",
            got=type(value).__name__,
            allowed="a dict with layout, dtype, low, high, ink",
        )
    return None, "assumed"
