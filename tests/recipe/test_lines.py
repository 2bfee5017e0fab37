"""The key finder gives the right line or none."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gen.recipe.lines import find_lines

# A busy machine is no fault of the code.
unhurried = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])

TRICKY = '''\
# [[sweep]] in a comment
title = "[[sweep]] in a string # no comment"
note = """
[[sweep]]
levels = 3
""quotes"" and \\"""
"""
literal = \'\'\'
[[sweep]] \\\'\'\'

[[sweep]]  # the first
"per\\u0074urbation" = 'blur'
levels = [ # [[sweep]]
  1,
  "]", # ]

  [2,
   3],
  {a = 1, "b c".d = [4]},
]
options.deep . "er" = 1979-05-27 07:32:00

[other."table"]
levels = 1

[[ sweep ]]
levels = {from = 0, to = 1,
KEEP}
[sweep.below]
levels = 2
[[sweep.below.list]]
[[sweep.below.list]]
x = """"quoted""""
'''.replace(",\nKEEP", ", step = 0.5")


def lines_of(text: str) -> dict[tuple[str | int, ...], int]:
    return find_lines(text, tomllib.loads(text))


@pytest.mark.parametrize(
    ("path", "begins"),
    [
        (("title",), "title ="),
        (("note",), "note ="),
        (("literal",), "literal ="),
        (("sweep", 0), "[[sweep]]  #"),
        (("sweep", 0, "perturbation"), '"per'),
        (("sweep", 0, "levels"), "levels = [ #"),
        (("sweep", 0, "levels", 0), "  1,"),
        (("sweep", 0, "levels", 1), '  "]"'),
        (("sweep", 0, "levels", 2), "  [2,"),
        (("sweep", 0, "levels", 2, 1), "   3]"),
        (("sweep", 0, "levels", 3, "b c", "d", 0), "  {a = 1"),
        (("sweep", 0, "options", "deep", "er"), "options.deep"),
        (("other", "table", "levels"), "levels = 1"),
        (("sweep", 1), "[[ sweep ]]"),
        (("sweep", 1, "levels", "step"), "levels = {from"),
        (("sweep", 1, "below", "levels"), "levels = 2"),
        (("sweep", 1, "below", "list", 1, "x"), "x ="),
    ],
)
def test_a_key_in_a_tricky_text_is_found_on_its_line(
    path: tuple[str | int, ...], begins: str
) -> None:
    line = lines_of(TRICKY)[path]
    assert TRICKY.split("\n")[line - 1].startswith(begins)


def test_no_lines_are_given_for_a_text_that_is_not_the_one_that_was_parsed() -> None:
    assert find_lines("a = 1\nb = 2\n", {"a": 1, "c": 2}) == {}
    assert find_lines("a = 1\n", {"a": 1}) == {("a",): 1}


@pytest.mark.parametrize("text", ["= 1", "a", "[[a]", "a = [1", "a = {b = 1", '"a = 1', "\0"])
def test_a_text_that_is_not_toml_gives_no_lines_and_no_error(text: str) -> None:
    assert find_lines(text, {"a": 1}) == {}


words = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=6)
quoted = words.map(lambda text: '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"')
keys = st.one_of(st.from_regex(r"[A-Za-z0-9_-]{1,5}", fullmatch=True), quoted)
gaps = st.sampled_from(["", " ", "\n", " # ]}[[sweep]] = \"'\n", "\n\n\t"])
scalars = st.one_of(
    quoted,
    st.integers(-9, 9).map(str),
    st.sampled_from(["true", "1.5", "nan", "1979-05-27", "'''\n'a'\n'''", '"""\n[[sweep]]\n"""']),
)
values = st.recursive(
    scalars,
    lambda inner: st.lists(st.tuples(gaps, inner, gaps), max_size=4).map(
        lambda parts: "[" + ",".join("".join(part) for part in parts) + "]"
    ),
    max_leaves=8,
)
statements = st.one_of(
    st.tuples(keys, values).map(lambda pair: f"{pair[0]} = {pair[1]}"),
    st.just("[[sweep]]"),
    keys.map(lambda key: f"[sweep.{key}]"),
    st.just("# [[sweep]]"),
)


@unhurried
@given(st.lists(st.tuples(gaps, statements), max_size=12))
def test_whatever_the_parser_takes_has_all_its_lines(parts: list[tuple[str, str]]) -> None:
    text = "".join(f"{gap}{statement}\n" for gap, statement in parts)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = find_lines(text, data)
    assert bool(lines) == bool(data)
    rows = text.split("\n")
    for path, line in lines.items():
        assert 1 <= line <= len(rows)
        if len(path) == 2 and path[0] == "sweep" and isinstance(path[1], int):
            assert rows[line - 1].strip() == "[[sweep]]" or "sweep =" in text


def test_the_shipped_recipes_have_all_their_lines() -> None:
    folder = Path(__file__).parents[2] / "recipes"
    for path in folder.glob("*.toml"):
        text = path.read_text("utf-8")
        rows = text.split("\n")
        lines = lines_of(text)
        assert rows[lines["title",] - 1].startswith("title")
        number = 0
        for line, row in enumerate(rows, 1):
            if row == "[[sweep]]":
                assert lines["sweep", number] == line
                number += 1
