"""Run a document as its reader would: block after block, in one folder and one namespace."""

from __future__ import annotations

import contextlib
import doctest
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

from gen import parse_recipe
from tests.docs.blocks import Block, fenced_blocks

LEFT = ("text", "json")
"""Languages of blocks that only show something."""

# What the comment above a block may ask for; anything else is a slip of the pen.
_FILE = re.compile(r"file: (?P<name>[\w.-]+)")
_NOT_RUN = re.compile(r"not run: (?P<why>\S.*)")
_EXITS = re.compile(r"exits (?P<code>\d+)")
_OUTPUT = "output"
_DIRECTIVE = re.compile(r"(file|not run|exits|output)\b")


class DocumentError(AssertionError):
    """A document says something that isn't so."""


@dataclass
class Run:
    """What running a document came to."""

    folder: Path
    done: list[Block] = field(default_factory=list)
    left_out: dict[int, str] = field(default_factory=dict)
    output: str = ""
    module: ModuleType = field(default_factory=lambda: ModuleType("document"))

    @property
    def names(self) -> dict[str, Any]:
        """The namespace that its Python blocks share."""
        return vars(self.module)


def run_document(path: Path, folder: Path) -> Run:
    """Run every block of a document in a scratch folder.

    Parameters
    ----------
    path
        The document.
    folder
        Where its commands run and its files are written.

    Raises
    ------
    DocumentError
        At the first block that fails, naming its line.
    """
    run = Run(folder)
    with contextlib.chdir(folder), _known(run.module):
        for block in fenced_blocks(path.read_text("utf-8")):
            try:
                _run_block(block, run)
            except DocumentError as error:
                raise DocumentError(f"{path.name}:{block.line}: {error}") from error
            except Exception as error:
                fact = f"{type(error).__name__}: {error}"
                raise DocumentError(f"{path.name}:{block.line}: {fact}") from error
    return run


@contextlib.contextmanager
def _known(module: ModuleType) -> Iterator[None]:
    """Let dataclasses look the document's module up by its name."""
    sys.modules[module.__name__] = module
    try:
        yield
    finally:
        del sys.modules[module.__name__]


def _run_block(block: Block, run: Run) -> None:
    if reason := _NOT_RUN.fullmatch(block.note):
        run.left_out[block.line] = reason["why"]
        return
    if block.language == "sh" and block.is_set_up:
        run.left_out[block.line] = "made on a clean machine by .ci/run"
        return
    if named := _FILE.fullmatch(block.note):
        (run.folder / named["name"]).write_text(block.text, encoding="utf-8")
        if block.language == "python":
            compile(block.text, named["name"], "exec", dont_inherit=True)
    elif block.note == _OUTPUT:
        _hold_to_output(block, run.output)
    elif block.language == "sh":
        _run_commands(block, run)
    elif block.language == "python":
        _run_python(block, run)
    elif _DIRECTIVE.match(block.note):
        raise DocumentError(f"the comment above can't be understood: {block.note!r}")
    elif block.language not in (*LEFT, "toml"):
        raise DocumentError(f"a block in a language that can't be run: {block.language!r}")
    if block.language == "toml":
        # A block that begins with a table shows a part of a recipe, without its title.
        part = block.text.lstrip().startswith("[[")
        parse_recipe('title = "a part"\n' * part + block.text)
    if block.language == "json":
        json.loads(block.text)
    run.done.append(block)


def _run_commands(block: Block, run: Run) -> None:
    wanted = _EXITS.fullmatch(block.note)
    if _DIRECTIVE.match(block.note) and wanted is None:
        raise DocumentError(f"the comment above can't be understood: {block.note!r}")
    code = int(wanted["code"]) if wanted else 0
    commands = Path(sys.executable).parent
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", block.text],
        cwd=run.folder,
        env={**os.environ, "PATH": f"{commands}{os.pathsep}{os.environ['PATH']}"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        check=False,
    )
    run.output = done.stdout
    if done.returncode != code:
        raise DocumentError(f"exit code {done.returncode} in place of {code}:\n{done.stdout}")


def _run_python(block: Block, run: Run) -> None:
    if _DIRECTIVE.match(block.note):
        raise DocumentError(f"the comment above can't be understood: {block.note!r}")
    if ">>>" not in block.text:
        code = compile(block.text, f"block at line {block.line}", "exec", dont_inherit=True)
        exec(code, run.names)
        return
    options = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS
    session = doctest.DocTestParser().get_doctest(block.text, run.names, "block", None, block.line)
    told: list[str] = []
    runner = doctest.DocTestRunner(verbose=False, optionflags=options)
    runner.run(session, out=told.append, clear_globs=False)
    run.names.update(session.globs)
    if told:
        raise DocumentError("".join(told))


def _hold_to_output(block: Block, output: str) -> None:
    """Each line that a document shows must be among those that the last command printed."""
    printed = {line.strip() for line in output.splitlines()}
    for line in block.text.splitlines():
        if line.strip() not in printed | {"", "..."}:
            raise DocumentError(f"not printed by the command above: {line!r}\n{output}")
