"""`gen completion`: what makes a shell complete this command."""

from __future__ import annotations

import click

from gen.cli.kinds import OneOf
from gen.cli.usage import Command


@click.command(cls=Command)
@click.argument("shell", metavar="SHELL", type=OneOf(["bash", "zsh", "fish"]))
def completion(*, shell: str) -> None:
    """Print the script by which SHELL completes commands, options, recipes and names.

    SHELL is bash, zsh or fish.

    \b
    Put it where the shell looks for it, once:
      bash   gen completion bash > ~/.local/share/bash-completion/completions/gen
      zsh    gen completion zsh > ~/.zfunc/_gen    (~/.zfunc in fpath, before compinit)
      fish   gen completion fish > ~/.config/fish/completions/gen.fish

    \b
    Or have it read whenever a shell begins:
      bash   eval "$(gen completion bash)"         in ~/.bashrc
      zsh    eval "$(gen completion zsh)"          in ~/.zshrc, after compinit
      fish   gen completion fish | source          in ~/.config/fish/config.fish

    \b
    Example:
      gen completion bash
    """
    from gen.cli.main import cli
    from gen.cli.shells import script

    click.echo(script(shell, cli), nl=False)
