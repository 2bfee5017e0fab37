"""What `import gen` brings: a few names, light, typed, and each with an example."""

from __future__ import annotations

import doctest
import inspect
import subprocess
import sys
from importlib import resources
from importlib.metadata import version

import pytest

import gen

HEAVY = ("numpy", "scipy", "cv2", "PIL", "click")
NAMES = [name for name in gen.__all__ if not name.startswith("__")]


def loaded_after(statement: str) -> set[str]:
    """Top-level modules in a fresh process after one statement."""
    code = f"{statement}\nimport sys\nprint(*{{name.split('.')[0] for name in sys.modules}})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


def test_importing_it_loads_nothing_heavy() -> None:
    assert not loaded_after("import gen") & set(HEAVY)


def test_the_look_at_a_fresh_process_sees_what_is_heavy() -> None:
    assert {"numpy", "gen"} <= loaded_after("from gen import load_glyphs")


def test_help_loads_no_numbers_and_no_pictures() -> None:
    statement = (
        "from gen.cli.main import cli\n"
        "import contextlib, io\n"
        "with contextlib.redirect_stdout(io.StringIO()):\n"
        "    cli.main(['--help'], standalone_mode=False)"
    )
    assert not loaded_after(statement) & {"numpy", "scipy", "cv2", "PIL"}


def test_all_names_are_sorted_and_there() -> None:
    assert gen.__all__ == sorted(gen.__all__)
    assert dir(gen) == gen.__all__
    for name in gen.__all__:
        assert getattr(gen, name) is not None, name


def test_a_name_that_is_not_there_is_refused_as_any_module_does() -> None:
    with pytest.raises(AttributeError, match="module 'gen' has no attribute 'load_glyfs'"):
        _ = gen.load_glyfs


def test_the_version_is_that_of_the_installed_distribution() -> None:
    assert gen.__version__ == version("inkdrift")


def test_it_says_that_it_is_typed() -> None:
    assert resources.files("gen").joinpath("py.typed").is_file()


@pytest.mark.parametrize("name", NAMES)
def test_a_public_name_explains_itself_with_an_example(name: str) -> None:
    told = inspect.getdoc(getattr(gen, name))
    assert told
    assert doctest.DocTestParser().get_examples(told), f"gen.{name} has no example"
