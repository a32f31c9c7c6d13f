"""Slips of the keyboard: one clear sentence, exit 1, and never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pytest

from coilbook.cli import main

MISTAKES = [
    (["chek"], "There is no command 'chek'. Did you mean 'check'?"),
    (["biuld"], "There is no command 'biuld'. Did you mean 'build'?"),
    (["xyzzy"], "There is no command 'xyzzy'. 'coilbook --help' lists them."),
    (["check", "--jsn"], "--json"),
    (["build", "--ot", "x"], "--out"),
    (["show"], "Missing argument 'PIECE'"),
    (["new"], "Missing argument 'DIR'"),
    (["check", "no-such-folder"], "There is no folder 'no-such-folder'."),
    (["check", "."], "is not an archive: it holds no coilbook.toml."),
    (["build", "a", "b"], "unexpected extra argument"),
    (["serve", "--port", "ninety"], "'ninety' is not a valid integer"),
    (["serve", "--port", "0"], "0 is not in the range"),
]


@pytest.mark.parametrize(("arguments", "words"), MISTAKES, ids=lambda v: " ".join(v)[:20])
def test_a_slip_earns_a_sentence_and_exit_1(
    coilbook: Any, arguments: list[str], words: str
) -> None:
    """A mistyped command, option or folder ends with 1 (2 means doubtful) and says what to do."""
    result = coilbook(*arguments)
    assert result.exit_code == 1
    assert words in result.stderr
    assert result.stdout == ""


def test_a_file_for_a_folder(coilbook: Any, bench: Path) -> None:
    """A table named where the archive's folder belongs is told apart."""
    result = coilbook("check", bench / "pieces.csv")
    assert result.exit_code == 1
    assert "is a file" in result.stderr


@pytest.mark.parametrize("arguments", [["--help"], ["-h"], ["check", "--help"], ["--version"]])
def test_asking_for_help_is_no_mistake(coilbook: Any, arguments: list[str]) -> None:
    """Help and version end with 0."""
    assert coilbook(*arguments).exit_code == 0


@pytest.mark.parametrize("name", main.commands)
def test_every_command_explains_itself(coilbook: Any, name: str) -> None:
    """Help says in a sentence what a command does, and something of each of its options."""
    command = main.commands[name]
    shown = " ".join(coilbook(name, "--help").stdout.split())
    assert command.help
    assert " ".join(command.help.split("\n\n")[0].split()) in shown
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, parameter.name
            assert f"{parameter.opts[0]} " in shown
        else:
            assert parameter.make_metavar(click.Context(command)) in shown


def run(*arguments: str, **variables: str) -> subprocess.CompletedProcess[bytes]:
    """Run the command in a Python of its own, with what the environment is to say besides."""
    environment = {**os.environ, **variables}
    return subprocess.run(
        [sys.executable, "-m", "coilbook.cli", *arguments], capture_output=True, env=environment
    )


def test_a_console_without_ohm_does_not_crash(bench: Path) -> None:
    """On a console that has no Ω a question mark stands for it, and the exit code stays."""
    done = run("show", "bench-0001", str(bench), PYTHONIOENCODING="latin-1")
    assert done.returncode == 0, done.stderr
    assert b"7.82 \xb1 0.08 k?" in done.stdout


def test_a_reader_that_stops_early_does_not_crash(bench: Path) -> None:
    """Piping into a program that reads one line and leaves ends without a traceback."""
    program = subprocess.Popen(
        [sys.executable, "-m", "coilbook.cli", "check"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=bench.parent,
    )
    assert program.stdout is not None
    assert program.stderr is not None
    program.stdout.close()
    errors = program.stderr.read()
    program.stderr.close()
    program.wait(timeout=600)
    assert b"Traceback" not in errors
