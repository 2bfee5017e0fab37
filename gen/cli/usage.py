"""A command line that can't be understood, said in the form of every other error."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import click

from gen.cli.kinds import name_of
from gen.core.errors import InkdriftError

_EXTRA = re.compile(r"\((.*)\)", re.DOTALL)
_HEADS = ("Example:", "Examples:", "Start with:")


class Command(click.Command):
    """A command whose misuse is told with what was given, what is allowed and what to try."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Understand the words of a command line."""
        given = list(args)
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as error:
            raise misuse(error, ctx, given) from error

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the command's own options, and then those that it shares, by what they are about."""
        told: dict[str, list[tuple[str, str]]] = {}
        for param in self.get_params(ctx):
            record = param.get_help_record(ctx) if isinstance(param, click.Option) else None
            if record is not None:
                told.setdefault(getattr(param, "heading", "Options"), []).append(record)
        # What a reader needs first was added last, and so stands last among the parameters.
        for heading, records in [("Options", told.pop("Options")), *reversed(told.items())]:
            with formatter.section(heading):
                formatter.write_dl(records)


class Group(click.Group):
    """The same of a command that has others in it."""

    command_class = Command

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Understand the words before the command's name; where there are none, show help."""
        if not args and not ctx.resilient_parsing:
            click.echo(ctx.get_help())
            ctx.exit()
        given = list(args)
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as error:
            raise misuse(error, ctx, given) from error

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that the words name."""
        name = args[0]
        if self.get_command(ctx, name) is None and not ctx.resilient_parsing:
            raise no_such_command(ctx, name, self.list_commands(ctx))
        return super().resolve_command(ctx, args)


def no_such_command(ctx: click.Context, name: str, known: Iterable[str]) -> InkdriftError:
    """The error that a command isn't there."""
    from gen.recipe.spelling import nearest, quoted

    known = list(known)
    near = nearest(name, known)
    path = ctx.command_path
    return InkdriftError(
        path,
        f"there is no command {quoted(name)}",
        allowed=", ".join(known),
        hint=f"{path} {near}" if near else f"{path} --help",
    )


def misuse(
    error: click.UsageError, ctx: click.Context | None, given: Sequence[str] = ()
) -> InkdriftError:
    """What is wrong with the words of a command line, in the form of every error here.

    Parameters
    ----------
    error
        As the parser raised it.
    ctx
        Of the command that was called, if one was.
    given
        The words behind its name.
    """
    if ctx is None:
        return InkdriftError("", error.message.rstrip("."))
    match error:
        case click.exceptions.MissingParameter():
            return _missing(_missed(error, error.param), ctx, given)
        case click.exceptions.NoSuchOption():
            return _no_such_option(error.option_name, ctx, given)
        case click.exceptions.BadOptionUsage():
            return _bad_option(error.option_name, ctx, given)
    return _otherwise(error, ctx)


def usage(ctx: click.Context) -> str:
    """How a command is called, in one line, with the options that it can't do without.

    Examples
    --------
    >>> from gen.cli.sheet import sheet
    >>> usage(click.Context(sheet, info_name="gen sheet"))
    'gen sheet --classes NAMES --into FILE [OPTIONS]'
    """
    words = [ctx.command_path]
    params = ctx.command.get_params(ctx)
    for param in params:
        if isinstance(param, click.Argument):
            name = f"{name_of(param)}{'...' if param.nargs == -1 and not param.metavar else ''}"
            words.append(name if param.required or param.metavar else f"[{name}]")
    words += [
        f"{name_of(param)} {_value_of(param)}"
        for param in params
        if isinstance(param, click.Option) and param.required
    ]
    return " ".join([*words, "[OPTIONS]"])


def example(command: click.Command) -> str | None:
    """The example of itself in the help of a command, in one line that can be pasted.

    Examples
    --------
    >>> from gen.cli.verify import verify
    >>> example(verify)
    'gen verify stress'
    """
    name = command.name or ""
    mine = [line for line in examples(command) if f" {name} " in f"{line} "]
    return mine[0] if mine else None


def examples(command: click.Command) -> list[str]:
    """The command lines under "Example" in the help of a command, continued ones as one."""
    found: list[str] = []
    inside = False
    for line in (command.help or "").replace("\\\n", " ").splitlines():
        words = line.split()
        if line.strip() in _HEADS:
            inside = True
        elif inside and words[:1] == ["gen"]:
            found.append(" ".join(words))
        elif inside and words not in ([], ["\b"]):
            inside = False
    return found


def _missing(name: str, ctx: click.Context, given: Sequence[str]) -> InkdriftError:
    """Everything that is missing, and not only what the parser came upon first."""
    names = list(_not_there(ctx, given)) or [name]
    *before, last = names
    return InkdriftError(
        ctx.command_path,
        f"{', '.join(before)} and {last} are missing" if before else f"{last} is missing",
        allowed=usage(ctx),
        hint=example(ctx.command) or f"{ctx.command_path} --help",
    )


def _missed(error: click.MissingParameter, param: click.Parameter | None) -> str:
    hint = error.param_hint
    return hint if isinstance(hint, str) else name_of(param)


def _not_there(ctx: click.Context, given: Sequence[str]) -> Iterator[str]:
    """The names of all that can't be left out and was."""
    try:
        values, _, _ = ctx.command.make_parser(ctx).parse_args(list(given))
    except click.UsageError:
        return
    for param in ctx.command.get_params(ctx):
        if not param.required:
            continue
        try:
            param.handle_parse_result(ctx, values, [])
        except click.exceptions.MissingParameter as error:
            yield _missed(error, param)
        except (click.UsageError, InkdriftError):
            continue  # it is there, and wrong


def _no_such_option(name: str, ctx: click.Context, given: Sequence[str]) -> InkdriftError:
    from gen.recipe.spelling import nearest

    path = ctx.command_path
    known = _options(ctx)
    if not name.startswith("--"):
        # Of "-into" the parser takes "-i" for the option; say what was written.
        name = next((word for word in given if word.startswith(name)), name)
    near = nearest(name, known)
    return InkdriftError(
        path,
        f"there is no option {name.partition('=')[0]}",
        allowed=", ".join(known),
        hint=near if near not in (None, "--help") else f"{path} --help",
    )


def _bad_option(name: str, ctx: click.Context, given: Sequence[str]) -> InkdriftError:
    """An option without its value, or with one that it doesn't take."""
    param = next(each for each in ctx.command.get_params(ctx) if name in each.opts)
    if isinstance(param, click.Option) and param.is_flag:
        value = next((word for word in given if word.startswith(f"{name}=")), name)
        return InkdriftError(name, "this takes no value", got=value, allowed=name)
    return InkdriftError(
        name,
        "its value is missing",
        allowed=f"{name} {_value_of(param)}",
        hint=example(ctx.command) or f"{ctx.command_path} --help",
    )


def _value_of(param: click.Parameter) -> str:
    if isinstance(param.type, click.Choice):
        return "|".join(param.type.choices)
    return param.metavar or "VALUE"


def _otherwise(error: click.UsageError, ctx: click.Context) -> InkdriftError:
    path, command = ctx.command_path, ctx.command
    extra = _EXTRA.search(error.message)
    if type(error) is click.UsageError and extra:
        return InkdriftError(
            path,
            "more is given than this takes",
            got=extra[1],
            allowed=usage(ctx),
            hint=f"{path} --help, or quotes round a name with spaces in it",
        )
    if isinstance(command, click.Group):
        known = ", ".join(command.list_commands(ctx))
        return InkdriftError(path, "the command is missing", allowed=known, hint=f"{path} --help")
    return InkdriftError(path, error.message.rstrip("."), hint=f"{path} --help")


def _options(ctx: click.Context) -> list[str]:
    params: list[Any] = ctx.command.get_params(ctx)
    return sorted(max(param.opts, key=len) for param in params if isinstance(param, click.Option))
