"""A command line that can't be understood: one error in the project's form, whatever is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable

import click
import pytest

from gen.cli.kinds import FrameSize, Number, OneOf, PathName, WholeNumber, name_of
from gen.cli.main import COMMANDS, cli
from gen.cli.usage import example
from tests.cli.support import Ended
from tests.cli.test_help import ALL

Called = Callable[..., Ended]

FORM = re.compile(
    r"[^\n]+: [^\n]+\n(  got {7}[^\n]+\n)?(  allowed {3}[^\n]+\n)?(  try {7}[^\n]+\n)?"
)
EVERY: dict[tuple[str, ...], click.Command] = {(): cli, **ALL}


def params(*kinds: type) -> list[object]:
    """Every parameter of every command, of some kinds."""
    return [
        pytest.param(name, param, id=f"{' '.join(name)} {name_of(param)}")
        for name, command in EVERY.items()
        for param in command.params
        if not kinds or isinstance(param.type, kinds)
    ]


def refused(ended: Ended) -> str:
    """What a command said, which is one error in the project's form."""
    assert (ended.code, ended.out) == (2, "")
    assert FORM.fullmatch(ended.err), ended.err
    assert not re.search(r"Usage:|Error:|Try '|Invalid value", ended.err)
    return ended.err


def given(param: click.Parameter, value: str) -> tuple[str, ...]:
    return (name_of(param), value) if isinstance(param, click.Option) else (value,)


@pytest.mark.parametrize(("name", "param"), params())
def test_every_value_is_of_a_kind_that_is_refused_in_words_of_our_own(
    name: tuple[str, ...], param: click.Parameter
) -> None:
    del name
    ours = isinstance(param.type, (FrameSize, Number, OneOf, PathName, WholeNumber))
    # Any text is a text, so that neither it nor a flag is ever refused by the parser.
    assert ours or param.type is click.STRING or getattr(param, "is_flag", False)


@pytest.mark.parametrize("name", [name for name in ALL if name != ("recipe",)], ids=" ".join)
def test_all_that_is_missing_is_named_at_once_with_an_example(
    called: Called, name: tuple[str, ...]
) -> None:
    command = ALL[name]
    required = [name_of(param) for param in command.params if param.required]
    if not required:
        return
    said = refused(called(*name))
    first = said.splitlines()[0]
    assert first.startswith(f"gen {' '.join(name)}: ")
    assert first.endswith(" is missing" if len(required) == 1 else " are missing")
    assert all(each in first for each in required)
    assert said.endswith(f"  try       {example(command)}\n")


def test_only_what_is_missing_is_named(called: Called) -> None:
    assert called("report", "models.py:right", "small.toml", "--count", "5") == Ended(
        2,
        "",
        "gen report: --into is missing\n"
        "  allowed   gen report MODEL RECIPE --into DIR [OPTIONS]\n"
        "  try       gen report inkdrift-demo/readers.py:slipped first-look --into slipped-report "
        "--glyphs inkdrift-demo/held-out-images-idx3-ubyte.gz --classes 0-9A-H\n",
    )
    assert called("recipe", "diff", "first-look").err.startswith("gen recipe diff: B is missing\n")


def test_a_comparison_with_one_report_alone_is_told_of_the_second(called: Called) -> None:
    both = refused(called("compare", "one"))
    assert both.startswith("gen compare: a second REPORT and --into are missing\n")
    second = refused(called("compare", "one", "--into", "out"))
    assert second.startswith("gen compare: a second REPORT is missing\n")


@pytest.mark.parametrize("name", EVERY, ids=" ".join)
def test_an_option_that_is_not_there_is_told_with_those_that_are(
    called: Called, name: tuple[str, ...]
) -> None:
    path = " ".join(("gen", *name))
    said = refused(called(*name, "--zzzzz"))
    assert said.startswith(f"{path}: there is no option --zzzzz\n")
    assert "--help" in said.splitlines()[1]
    assert said.endswith(f"  try       {path} --help\n")


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("--quit", "--quiet"),
        ("--Into", "--into"),
        ("-into", "--into"),
        ("--show_input", "--show-input"),
    ],
)
def test_the_nearest_option_is_offered(called: Called, written: str, meant: str) -> None:
    said = refused(called("report", "models.py:right", "small.toml", written, "out"))
    assert said.startswith(f"gen report: there is no option {written}\n")
    assert said.endswith(f"  try       {meant}\n")


@pytest.mark.parametrize(("name", "param"), params(OneOf))
def test_a_choice_that_is_not_there_is_told_with_all_that_are(
    called: Called, name: tuple[str, ...], param: click.Parameter
) -> None:
    assert isinstance(param.type, OneOf)
    known = list(param.type.choices)
    said = refused(called(*name, *given(param, "qqq qqq")))
    assert said == (
        f'{name_of(param)}: there is no such choice\n  got       "qqq qqq"\n'
        f"  allowed   {', '.join(known)}\n"
    )
    said = refused(called(*name, *given(param, known[0].swapcase())))
    assert said.endswith(f"  try       {known[0]}\n")


@pytest.mark.parametrize(("name", "param"), params(WholeNumber, Number, FrameSize))
@pytest.mark.parametrize("value", ["many", "", "nan", "inf", "9" * 5000 + "x", "1..2", "\x1b[2J"])
def test_what_is_no_number_is_refused(
    called: Called, name: tuple[str, ...], param: click.Parameter, value: str
) -> None:
    said = refused(called(*name, *given(param, value)))
    assert said.startswith(f"{name_of(param)}: this is no ")
    assert "  allowed   " in said
    assert "\x1b" not in said


@pytest.mark.parametrize(("name", "param"), params(WholeNumber, Number))
def test_a_number_out_of_range_is_refused_with_the_range(
    called: Called, name: tuple[str, ...], param: click.Parameter
) -> None:
    kind = param.type
    assert isinstance(kind, (WholeNumber, Number))
    outside: list[float] = []
    if isinstance(kind, WholeNumber):
        outside += [] if kind.least is None else [kind.least - 1]
    else:
        outside += [] if kind.over is None else [kind.over]
        outside += [] if kind.ends is None else [kind.ends[0] - 1, kind.ends[1] + 1]
    for number in outside:
        said = refused(called(*name, *given(param, f"{number:g}")))
        assert said.startswith(f"{name_of(param)}: the number is out of range\n")
        assert f"  got       {number:g}\n  allowed   a " in said


@pytest.mark.parametrize(
    ("option", "value", "hint"),
    [("--count", "1,000", "1000"), ("--count", "5.0", "5"), ("--floor", "0,9", "0.9")],
)
def test_the_number_that_was_probably_meant_is_offered(
    called: Called, option: str, value: str, hint: str
) -> None:
    said = refused(called("report", "models.py:right", "small.toml", option, value))
    assert said.endswith(f"  try       {hint}\n")


@pytest.mark.parametrize(("name", "param"), params(PathName))
@pytest.mark.parametrize("value", ["", "-"])
def test_a_path_that_is_none_is_refused(
    called: Called, name: tuple[str, ...], param: click.Parameter, value: str
) -> None:
    said = refused(called(*name, *given(param, value)))
    assert said.startswith(f"{name_of(param)}: this is ")


@pytest.mark.parametrize(("name", "param"), params())
def test_an_option_without_its_value_and_a_flag_with_one_are_refused(
    called: Called, name: tuple[str, ...], param: click.Parameter
) -> None:
    if not isinstance(param, click.Option):
        return
    option = name_of(param)
    if param.is_flag:
        assert refused(called(*name, f"{option}=3")) == (
            f"{option}: this takes no value\n  got       {option}=3\n  allowed   {option}\n"
        )
    else:
        said = refused(called(*name, option))
        assert said.startswith(f"{option}: its value is missing\n  allowed   {option} ")
        assert said.endswith(f"  try       {example(EVERY[name])}\n")


@pytest.mark.parametrize(
    "name",
    [
        name
        for name, command in ALL.items()
        if name != ("recipe",) and not any(param.nargs == -1 for param in command.params)
    ],
    ids=" ".join,
)
def test_more_words_than_a_command_takes_are_named(called: Called, name: tuple[str, ...]) -> None:
    required = [
        word
        for param in EVERY[name].params
        if isinstance(param, click.Option) and param.required
        for word in given(param, "AB")
    ]
    words = [
        "bash" if isinstance(param.type, OneOf) else "it"
        for param in EVERY[name].params
        if isinstance(param, click.Argument)
    ]
    said = refused(called(*name, *required, *words, "more", "(still)"))
    assert said.startswith(f"gen {' '.join(name)}: more is given than this takes\n")
    assert "  got       more (still)\n" in said


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ("rendr",),
            'gen: there is no command "rendr"\n'
            f"  allowed   {', '.join(COMMANDS)}\n"
            "  try       gen render\n",
        ),
        (
            ("recipe", "chek", "small.toml"),
            'gen recipe: there is no command "chek"\n'
            "  allowed   check, diff, list, new, show\n"
            "  try       gen recipe check\n",
        ),
        (
            ("--",),
            "gen: the command is missing\n"
            f"  allowed   {', '.join(COMMANDS)}\n"
            "  try       gen --help\n",
        ),
    ],
    ids=["gen", "recipe", "none"],
)
def test_a_command_that_is_not_there_is_told_with_its_nearest_name(
    called: Called, words: tuple[str, ...], message: str
) -> None:
    assert called(*words) == Ended(2, "", message)


@pytest.mark.parametrize("name", [(), ("recipe",)], ids=["gen", "recipe"])
def test_a_group_alone_shows_its_help(called: Called, name: tuple[str, ...]) -> None:
    assert called(*name) == called(*name, "--help")
    assert called(*name).code == 0
    assert "Commands:" in called(*name).out
