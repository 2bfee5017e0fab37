"""Completion for bash, zsh and fish: what each shell runs, and how it is answered.

Click works out what may stand at the cursor. What is done here is the talk with the shells:
words are taken from the line as it was typed, so that a colon in a word ("my_model.py:model")
doesn't break it in bash; paths that are there can stand among other words; what has a space
in it is quoted; and nothing goes wrong aloud.
"""

from __future__ import annotations

import os
import re
from typing import TYPE_CHECKING, Any, Final

import click
from click.shell_completion import (
    BashComplete,
    CompletionItem,
    FishComplete,
    ZshComplete,
    add_completion_class,
    shell_complete,
    split_arg_string,
)

from gen.cli.complete import paths_from

ASKED = "_GEN_COMPLETE"
"""The variable by which a shell asks."""

_BASH: Final = """\
# Completion of gen for bash.
%(complete_func)s() {
    local reply kind value paths="" word="${COMP_WORDS[COMP_CWORD]}"
    local -a values=()
    reply=$(env %(complete_var)s=bash_complete COMP_WORDS="${COMP_LINE:0:COMP_POINT}" \\
        COMP_WORDBREAKS="$COMP_WORDBREAKS" "$1" 2>/dev/null)
    COMPREPLY=()
    while IFS=, read -r kind value; do
        case $kind in
            dir) compopt -o dirnames 2>/dev/null ;;
            file) compopt -o default 2>/dev/null ;;
            path) paths=1; values+=("$value") ;;
            plain) values+=("$value") ;;
        esac
    done <<< "$reply"
    # With this readline quotes what needs it, and ends folders with a slash.
    [[ $paths ]] && compopt -o filenames 2>/dev/null
    for value in "${values[@]}"; do
        [[ $paths || $word == [\\"\\']* ]] || printf -v value %%q "$value"
        COMPREPLY+=("$value")
    done
}
complete -o nosort -F %(complete_func)s %(prog_name)s 2>/dev/null ||
    complete -F %(complete_func)s %(prog_name)s
"""

_ZSH: Final = """\
#compdef %(prog_name)s
# Completion of gen for zsh.
%(complete_func)s() {
    local kind value help
    local -a reply words_only words_shown files folders
    reply=("${(@f)$(env %(complete_var)s=zsh_complete \\
        COMP_WORDS="${(j: :)words[1,CURRENT-1]} $PREFIX" $words[1] 2>/dev/null)}")
    for kind value help in "${reply[@]}"; do
        case $kind in
            dir) _path_files -/ ;;
            file) _path_files ;;
            path) [[ $value == */ ]] && folders+=("$value") || files+=("$value") ;;
            plain)
                words_only+=("$value")
                [[ $help == _ ]] && words_shown+=("$value") || words_shown+=("$value  $help")
                ;;
        esac
    done
    (( $#words_only )) && compadd -l -V words -d words_shown -a words_only
    (( $#files )) && compadd -f -V files -a files
    (( $#folders )) && compadd -f -S '' -V folders -a folders
    return 0
}

if [[ $zsh_eval_context[-1] == loadautofunc ]]; then
    %(complete_func)s "$@"
else
    compdef %(complete_func)s %(prog_name)s
fi
"""

_FISH: Final = """\
# Completion of gen for fish.
function %(complete_func)s
    set -l tokens (commandline -opc)
    set -l line (commandline -cp | string collect)
    for item in (env %(complete_var)s=fish_complete COMP_WORDS="$line" $tokens[1] 2>/dev/null)
        set -l parts (string split -m 1 , -- $item)
        switch $parts[1]
            case dir
                __fish_complete_directories $parts[2]
            case file
                __fish_complete_path $parts[2]
            case path plain
                echo $parts[2]
        end
    end
end

complete --no-files --command %(prog_name)s --arguments "(%(complete_func)s)"
"""

_SETTING = re.compile(r"\w+=.*", re.DOTALL)
_MARK = "x"

if TYPE_CHECKING:
    _Item = CompletionItem[Any]
else:
    _Item = CompletionItem  # not subscriptable in older releases


def words_of(line: str) -> tuple[list[str], str]:
    """The words before the cursor and the one that it stands in, of a line up to the cursor.

    The name of the command, and settings before it, are left out.

    Examples
    --------
    >>> words_of("gen report 'my models.py:read' fir")
    (['report', 'my models.py:read'], 'fir')
    >>> words_of("gen report ")
    (['report'], '')
    """
    # A mark at the cursor shows whether a new word begins there.
    words = split_arg_string(line + _MARK)
    while len(words) > 1 and _SETTING.fullmatch(words[0]):
        del words[0]
    return words[1:-1], words[-1].removesuffix(_MARK)


def _before_value(word: str) -> str:
    """What stands before the value in a word such as "--glyphs=strokes"; else nothing."""
    option, equals, _ = word.partition("=")
    return option + equals if equals and option.startswith("-") else ""


def _with_option(items: list[_Item], word: str) -> list[_Item]:
    """Values as whole words, for shells that don't break a word at "="."""
    before = _before_value(word)
    if not before:
        return items
    whole: list[_Item] = []
    for item in items:
        # The shell's own way with paths would take the option for a part of them.
        paths = item.type in ("file", "dir")
        for each in paths_from(str(item.value)) if paths else [item]:
            whole.append(CompletionItem(before + each.value, type=each.type, help=each.help))
    return whole


def _asked() -> tuple[list[str], str]:
    return words_of(os.environ["COMP_WORDS"])


def _in_quotes(line: str) -> bool:
    """Whether the cursor stands between quotes: there bash breaks no word."""
    quote, escaped = "", False
    for character in line:
        if escaped:
            escaped = False
        elif character == "\\" and quote != "'":
            escaped = True
        elif quote:
            quote = "" if character == quote else quote
        elif character in "'\"":
            quote = character
    return bool(quote)


def _one_line(text: str | None) -> str:
    return " ".join(text.split()) if text else ""


class Bash(BashComplete):
    """Bash; it takes a word that holds a colon for several, and wants only the last of them."""

    source_template = _BASH

    def source(self) -> str:
        """The script, whichever bash is first on the path here."""
        return self.source_template % self.source_vars()

    def get_completion_args(self) -> tuple[list[str], str]:
        """Words before the cursor, and the one at it."""
        return _asked()

    def format_completion(self, item: _Item) -> str:
        """Kind and value, without what stands before the last colon."""
        line = os.environ["COMP_WORDS"]
        _, word = words_of(line)
        word = word.removeprefix(_before_value(word))
        known = 0
        if ":" in os.environ.get("COMP_WORDBREAKS", ":") and not _in_quotes(line):
            known = word.rfind(":") + 1
        return f"{item.type},{item.value[known:]}"


class Zsh(ZshComplete):
    """Zsh."""

    source_template = _ZSH

    def get_completion_args(self) -> tuple[list[str], str]:
        """Words before the cursor, and the one at it."""
        return _asked()

    def get_completions(self, args: list[str], incomplete: str) -> list[_Item]:
        """Whole words."""
        return _with_option(super().get_completions(args, incomplete), incomplete)

    def format_completion(self, item: _Item) -> str:
        """Kind, value and help, a line each."""
        return f"{item.type}\n{item.value}\n{_one_line(item.help) or '_'}"


class Fish(FishComplete):
    """Fish."""

    source_template = _FISH

    def get_completion_args(self) -> tuple[list[str], str]:
        """Words before the cursor, and the one at it."""
        return _asked()

    def get_completions(self, args: list[str], incomplete: str) -> list[_Item]:
        """Whole words."""
        return _with_option(super().get_completions(args, incomplete), incomplete)

    def format_completion(self, item: _Item) -> str:
        """Kind and value, and the help behind a tab."""
        said = _one_line(item.help)
        return f"{item.type},{item.value}" + (f"\t{said}" if said else "")


SHELLS = {each.name: each for each in (Bash, Zsh, Fish)}
for each in SHELLS.values():
    add_completion_class(each)  # as a decorator it would give nothing back in click 8.1.0


def script(shell: str, command: click.Command) -> str:
    """What makes a shell complete the command."""
    return SHELLS[shell](command, {}, "gen", ASKED).source()


def answer(command: click.Command) -> int:
    """Answer the shell that asks, and give the exit code."""
    return shell_complete(command, {}, "gen", ASKED, os.environ[ASKED])
