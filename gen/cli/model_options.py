"""The argument and the options that say which model, the same for every command that takes one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import click

from gen.cli.complete import models
from gen.cli.kinds import Number, OneOf, WholeNumber
from gen.cli.shared_options import with_options
from gen.core.errors import ModelError

if TYPE_CHECKING:
    from gen.evaluate.model import Model

Decorated = TypeVar("Decorated", bound=Callable[..., Any])


@dataclass(frozen=True)
class ModelOptions:
    """What the command line says of the model.

    Attributes
    ----------
    spec
        Which model, as `load_model` takes it.
    seconds
        Time limit of a batch, for a program.
    """

    spec: str
    layout: str | None = None
    values: str | None = None
    mean: float | None = None
    deviation: float | None = None
    dtype: str | None = None
    takes_ink: str | None = None
    axes: str | None = None
    answers: str | None = None
    batch: int | None = None
    seconds: float | None = None


def model_options(command: Decorated) -> Decorated:
    """Add MODEL and its options; the command gets them as one argument, `wanted`."""
    options = (
        click.argument("model", shell_complete=models),
        click.option(
            "--layout",
            type=OneOf(["NHW", "flat", "N1HW", "NHW1"]),
            help="What the model takes: (n, H, W), (n, H*W), (n, 1, H, W) or (n, H, W, 1). Found "
            "when left out.",
        ),
        click.option(
            "--values",
            metavar="LOW..HIGH",
            help="The values of bare paper and full ink that the model takes: 0..1 (the usual), "
            "0..255, -1..1.",
        ),
        click.option(
            "--mean",
            metavar="VALUE",
            type=Number(),
            help="In place of --values: the mean that is taken out of values from 0 to 1.",
        ),
        click.option(
            "--deviation",
            metavar="VALUE",
            type=Number(),
            help="What they are divided by then; goes with --mean.",
        ),
        click.option(
            "--dtype",
            type=OneOf(["float32", "float64", "uint8"]),
            help="What the model takes. float32 when left out.",
        ),
        click.option(
            "--takes-ink",
            type=OneOf(["bright", "dark"]),
            help="Whether the model takes ink bright (the usual) or dark.",
        ),
        click.option(
            "--axes",
            type=OneOf(["rows", "columns"]),
            help="Whether the model takes pictures row after row (the usual) or transposed.",
        ),
        click.option(
            "--answers",
            type=OneOf(["labels", "probabilities", "logits"]),
            help="What the model answers with. Found when left out.",
        ),
        click.option(
            "--batch",
            metavar="N",
            type=WholeNumber(least=1),
            help="The most glyphs that the model is handed at once.",
        ),
        click.option(
            "--seconds",
            metavar="N",
            type=Number(over=0),
            help="For a program: how long it may take for a batch. 60 when left out.",
        ),
    )

    def gathered(**arguments: Any) -> Any:
        names = ("layout", "values", "mean", "deviation", "dtype", "takes_ink", "axes")
        said = {name: arguments.pop(name) for name in (*names, "answers", "batch", "seconds")}
        return command(wanted=ModelOptions(arguments.pop("model"), **said), **arguments)

    return with_options(command, options, gathered, heading="What the model takes")


def model_from(wanted: ModelOptions) -> Model:
    """Load the model that the command line names, with what it says over its own files.

    Raises
    ------
    ModelError
        If it can't be found or loaded, or an option makes no sense.
    """
    from gen.evaluate.model import load_model

    _check_scale(wanted)
    said: dict[str, object] = {
        key: value
        for key, value in (
            ("layout", wanted.layout),
            ("mean", wanted.mean),
            ("deviation", wanted.deviation),
            ("dtype", wanted.dtype),
            ("ink", wanted.takes_ink),
            ("axes", wanted.axes),
            ("answers", wanted.answers),
            ("batch", wanted.batch),
        )
        if value is not None
    }
    if wanted.values is not None:
        said["low"], said["high"] = value_range(wanted.values)
    return load_model(wanted.spec, expects=said, seconds=wanted.seconds)


def _check_scale(wanted: ModelOptions) -> None:
    mean, deviation = wanted.mean, wanted.deviation
    if mean is None and deviation is None:
        return
    given, other = ("--mean", "--deviation") if deviation is None else ("--deviation", "--mean")
    if mean is None or deviation is None:
        raise ModelError(given, f"this goes with {other}", hint=f"give {other} too")
    if wanted.values is not None:
        raise ModelError(
            "--mean",
            "mean and deviation beside --values",
            allowed="one of the two",
            hint="leave out --values; the mean and the deviation are of values from 0 to 1",
        )


def value_range(values: str) -> tuple[float, float]:
    """The two ends in "0..255".

    Raises
    ------
    ModelError
        If it isn't two numbers, the lower one first.

    Examples
    --------
    >>> value_range("-1..1")
    (-1.0, 1.0)
    """
    first, _, second = values.partition("..")
    try:
        low, high = float(first), float(second)
    except ValueError:
        low = high = math.nan
    if not (math.isfinite(low) and math.isfinite(high)):
        raise ModelError("--values", "not a range", got=values, allowed="LOW..HIGH, such as 0..255")
    if not low < high:
        raise ModelError(
            "--values",
            "the first value must be below the second",
            got=values,
            hint="--takes-ink dark, if full ink is the lower value",
        )
    return low, high
