"""A shed to be hostile in: a folder of good and broken things, and the command to try on them."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.support import MODELS, SMALL, Ended, Shed


@pytest.fixture
def shed(tmp_path: Path) -> Shed:
    folder = tmp_path / "shed"
    folder.mkdir()
    (folder / "small.toml").write_text(SMALL, encoding="utf-8")
    (folder / "models.py").write_text(MODELS, encoding="utf-8")
    return Shed(folder)


@pytest.fixture
def called(
    shed: Shed, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., Ended]:
    """The command, called in this process: the same, but several times as fast."""
    from gen.cli import main

    monkeypatch.chdir(shed.folder)
    monkeypatch.setattr(main, "end_like_interrupted", lambda: None)
    monkeypatch.setattr(sys, "dont_write_bytecode", True)

    def call(*arguments: str) -> Ended:
        monkeypatch.setattr(sys, "argv", ["gen", *arguments])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main.run()
        said = capsys.readouterr()
        code = ended.value.code
        assert isinstance(code, int)
        return Ended(code, said.out, said.err)

    return call
