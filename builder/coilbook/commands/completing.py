"""Completion in the shell: of commands, options, families and pieces, installed by one command."""

from __future__ import annotations

import csv
import os
from pathlib import Path

import click
from click.shell_completion import CompletionItem, get_completion_class

from coilbook.errors import CoilbookError

PROGRAM, VARIABLE = "coilbook", "_COILBOOK_COMPLETE"
SHELLS = ("bash", "zsh", "fish")


def complete_family(
    context: click.Context, parameter: click.Parameter, typed: str
) -> list[CompletionItem]:
    """Return the families whose id begins with what was typed."""
    from coilbook.resources import dataset_dir

    path = dataset_dir() / "reference" / "families.csv"
    return _items(path, "family_id", "name", typed)


def complete_piece(
    context: click.Context, parameter: click.Parameter, typed: str
) -> list[CompletionItem]:
    """Return the pieces of the archive here whose id begins with what was typed."""
    from coilbook.commands.workplace import workplace

    try:
        path = workplace(None).archive / "pieces.csv"
        return _items(path, "piece_id", "family_id", typed)
    except (CoilbookError, OSError, UnicodeDecodeError):
        return []  # whoever asks for a word wants no message in between


def _items(path: Path, column: str, about: str, typed: str) -> list[CompletionItem]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = [row for row in csv.DictReader(file) if (row.get(column) or "").startswith(typed)]
    return [CompletionItem(row[column], help=row.get(about)) for row in rows]


@click.command()
@click.argument("shell", metavar="[SHELL]", type=click.Choice(SHELLS), required=False)
@click.option("--print", "only_print", is_flag=True, help="Print it and install nothing.")
@click.pass_context
def completion(context: click.Context, shell: str | None, only_print: bool) -> None:
    """Complete words at the Tab key.

    Of commands, options, families and pieces. Installs it for SHELL (bash, zsh or fish; the one
    that you use if left out), in a file of its own and a line of the shell's start file.
    """
    name = shell or _own_shell()
    script = completion_script(name, context.find_root().command)
    if only_print:
        click.echo(script)
        return
    for path in install(name, script, Path.home()):
        click.echo(path)
    click.echo("Open a new terminal, type 'coilbook ' and press Tab.")


def _own_shell() -> str:
    name = Path(os.environ.get("SHELL", "")).name
    if name not in SHELLS:
        raise CoilbookError(f"Which shell? Write coilbook completion with {' or '.join(SHELLS)}.")
    return name


def completion_script(shell: str, program: click.Command) -> str:
    """Return what a shell has to read to complete a program's words."""
    kind = get_completion_class(shell)
    assert kind is not None
    made = kind(program, {}, PROGRAM, VARIABLE)
    # Its source() would start the shell to ask for its version first.
    return made.source_template % made.source_vars()


def install(shell: str, script: str, home: Path) -> list[Path]:
    """Write the script where the shell finds it; return the files that were written."""
    if shell == "fish":
        path = home / ".config" / "fish" / "completions" / f"{PROGRAM}.fish"
        _write(path, script)
        return [path]
    path = home / ".local" / "share" / PROGRAM / f"completion.{shell}"
    _write(path, script)
    start = home / f".{shell}rc"
    load = f'. "{path}"'
    if shell == "zsh":
        # Its own completion has to be on first.
        load = (
            f"{{ (( $+functions[compdef] )) || {{ autoload -Uz compinit && compinit; }}; {load}; }}"
        )
    line = f'[ -f "{path}" ] && {load}'
    before = start.read_text(encoding="utf-8") if start.exists() else ""
    if line not in before.splitlines():
        gap = "" if not before or before.endswith("\n") else "\n"
        _write(start, f"{before}{gap}{line}\n")
        return [path, start]
    return [path]


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")
