"""`gen verify`: what differs to standard output, and 0, 1 or 2 to the shell."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.cli.support import Ended, Shed

Called = Callable[..., Ended]

RENDER = ("render", "small.toml", "--count", "20", "--into", "out")


@pytest.fixture
def rendered(shed: Shed, called: Called) -> Shed:
    assert called(*RENDER).code == 0
    return shed


def test_a_set_as_it_was_written_ends_with_0(rendered: Shed, called: Called) -> None:
    ended = called("verify", "out", "--sample", "60", "--seed", "5")
    assert (ended.code, ended.out) == (0, "")
    assert ended.err == (
        "files     3 cells read and compared with manifest.json\n"
        "sample    60 pictures rendered again from the recipe, seed 5\n"
        "result    all is as the manifest says\n"
    )


def test_what_differs_is_a_line_each_and_ends_with_1(rendered: Shed, called: Called) -> None:
    (rendered.folder / "out" / "cells" / "nominal.npz").unlink()
    (rendered.folder / "out" / "recipe.toml").write_text("")
    ended = called("verify", "out", "--quiet")
    assert ended.code == 1
    assert ended.out == (
        "recipe.toml: isn't the recipe that manifest.json holds\ncells/nominal.npz: missing\n"
    )
    assert ended.err == ""


def test_no_set_is_bad_input_and_ends_with_2(shed: Shed, called: Called) -> None:
    ended = called("verify", "out")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err == (
        "out: there is no stress set here: no manifest.json\n  try       gen render writes one\n"
    )


def test_a_sample_is_another_each_time_unless_its_seed_is_given(
    rendered: Shed, called: Called
) -> None:
    seeds = {called("verify", "out").err.split("seed ")[1].split("\n")[0] for _ in range(4)}
    assert len(seeds) > 1


def test_only_and_workers_change_no_digest_of_a_cell(rendered: Shed, called: Called) -> None:
    assert called(*RENDER[:-1], "some", "--only", "translation", "--workers", "2").code == 0
    for name in ("nominal", "01-translation-along-x+1px"):
        one, other = (
            (rendered.folder / folder / "cells" / f"{name}.npz").read_bytes()
            for folder in ("out", "some")
        )
        assert one == other
    assert called("verify", "some").code == 0


def test_a_file_where_the_folder_should_be_is_one_clear_error(shed: Shed, called: Called) -> None:
    assert called("verify", "small.toml") == Ended(
        2,
        "",
        "small.toml: is a file, not a folder\n  try       the folder that gen render wrote\n",
    )
