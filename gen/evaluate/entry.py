"""How a thing is asked, and what it says it expects."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from gen.core.errors import ModelError
from gen.evaluate.expect import Expectation, merged
from gen.evaluate.loading import ROLES
from gen.evaluate.plug import Plug
from gen.evaluate.stated import Stated
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
    if isinstance(thing, Plug):
        return thing, thing.role
    if is_module(thing):
        return asked(thing)
    for role in ROLES:
        method = attribute(thing, role)
        if callable(method):
            return _quiet(method), f"{type(thing).__name__}, asked by {role}"
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
    module_says: object,
    stated: Stated | None,
    expects: Expectation | Mapping[str, Any] | None,
    name: str,
) -> tuple[Expectation | None, str]:
    """What is expected and who said so: the caller, a TOML file, the object, its file, nobody.

    Each replaces only what it names of what those after it say; an `Expectation` from the
    caller replaces all.
    """
    if isinstance(expects, Expectation):
        return expects, "as given"
    said, source = _by_the_model(thing, module_says, name)
    sources = [] if said is None else [source]
    whole: dict[str, Any] = {} if said is None else said.said()
    if stated is not None and stated.says:
        whole = merged(whole, stated.says)
        sources.append(f"as {stated.path.name} says")
    if expects:
        whole = merged(whole, expects)
        sources.append("as given")
    if not sources:
        return None, source
    return Expectation.from_mapping(whole, where=name), ", and ".join(sources)


def _quiet(method: Callable[..., object]) -> Callable[[Any], object]:
    """Without the progress that Keras prints for every batch, where it can be told so."""
    try:
        parameters = inspect.signature(method).parameters
    except (TypeError, ValueError):
        return method
    return partial(method, verbose=0) if "verbose" in parameters else method


def attribute(thing: object, name: str) -> Any:
    """An attribute, or None when there is none or it can't be had (a model that isn't fitted)."""
    try:
        return getattr(thing, name, None)
    except Exception:  # a property of somebody's class may raise anything
        return None


def _by_the_model(thing: object, module_says: object, name: str) -> tuple[Expectation | None, str]:
    for value, source in (
        (attribute(thing, "expects"), "as the model says"),
        (module_says, "as EXPECTS says"),
    ):
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
