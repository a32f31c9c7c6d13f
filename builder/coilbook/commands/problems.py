"""Problems as they are printed: alike ones together, narrow terminals heeded; and as plain data."""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator, Sequence

import click

from coilbook.errors import Problem, Severity

#: So many problems alike stand under one heading; fewer are lines of their own.
ALIKE = 3
#: So many wordings of one sort have a line each; of more, two are shown and the rest counted.
MOST_WORDINGS, SHOWN = 3, 2
#: Stretches of line numbers that are written out.
MOST_SPANS = 6
#: Below this a line is not broken further: paths and values would fall apart.
NARROWEST = 30

COLOURS: dict[Severity, str] = {"error": "red", "doubt": "yellow", "note": "cyan"}


def width() -> int | None:
    """Return the columns of the terminal, or None where the output goes elsewhere."""
    if not sys.stdout.isatty():
        return None
    return max(NARROWEST, shutil.get_terminal_size().columns)


def wrapped(text: str, columns: int | None, indent: str = "    ") -> str:
    """Return a line broken to fit, what goes on indented; unbroken where nothing is so narrow."""
    if columns is None or len(text) <= columns:
        return text
    return textwrap.fill(
        text, columns, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    )


def print_problems(
    problems: Iterable[Problem],
    *,
    clean: str = "",
    every: bool = False,
    how: str = "",
    codes: bool = False,
    columns: int | None = None,
) -> None:
    """Print problems, errors first, each group under its count.

    Arguments: clean, what to say where there is no error and no doubt; every, whether each has a
    line of its own; how, what to run for that; codes, whether each line ends in its code.
    """
    told = sorted(problems)
    columns = columns or width()
    if clean and all(problem.severity == "note" for problem in told):
        click.echo(clean)
    short = False
    for severity, colour in COLOURS.items():
        group = [problem for problem in told if problem.severity == severity]
        if not group:
            continue
        click.secho(f"{counted(len(group), severity)}:", fg=colour, bold=True)
        alone = [_line(problem, codes) for problem in group]
        lines = alone if every else list(grouped(group, codes))
        short = short or len(lines) < len(group)
        for line in lines:
            click.echo(wrapped(line, columns, "    " if not line.startswith("  ") else "      "))
    if short and how:
        click.echo(wrapped(f"Alike ones stand together. Each by itself: {how}", columns))


def _line(problem: Problem, codes: bool, place: str = "") -> str:
    line = f"{place}: {problem.what} {problem.todo}".rstrip() if place else str(problem)
    return f"{line} [{problem.code}]" if codes and problem.code else line


def grouped(problems: Sequence[Problem], codes: bool = False) -> Iterator[str]:
    """Yield lines: alike problems of a column as one, with the lines of the file that have them."""
    alike: dict[tuple[str, str, str], list[Problem]] = {}
    for problem in problems:
        alike.setdefault((problem.file, problem.column, problem.code), []).append(problem)
    for same in alike.values():
        words: dict[tuple[str, str], list[Problem]] = {}
        for problem in same:
            words.setdefault((problem.what, problem.todo), []).append(problem)
        if len(words) <= MOST_WORDINGS:
            for told in words.values():
                if len(told) >= ALIKE:
                    yield _line(told[0], codes, _place(told))
                else:
                    yield from (_line(one, codes) for one in told)
            continue
        first, second, *_ = (told[0] for told in words.values())
        yield _line(first, codes, _place(same))
        yield f"  line {second.line}: {second.what}"
        yield f"  and {len(same) - SHOWN} more of the kind."


def _place(problems: Sequence[Problem]) -> str:
    first = problems[0]
    column = f" {first.column}" if first.column else ""
    return f"{first.file}{column} ({counted(len(problems), 'row')}: {spans(problems)})"


def spans(problems: Iterable[Problem]) -> str:
    """Return the lines of problems as stretches: 2–61, 70."""
    stretches: list[list[int]] = []
    for line in sorted({problem.line for problem in problems}):
        if stretches and line == stretches[-1][1] + 1:
            stretches[-1][1] = line
        else:
            stretches.append([line, line])
    shown = [f"{a}" if a == b else f"{a}–{b}" for a, b in stretches[:MOST_SPANS]]
    return ", ".join(shown) + (" …" if len(stretches) > MOST_SPANS else "")


def counted(number: int, noun: str) -> str:
    """Return a number of things: 1 row, 2 rows."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def as_rows(problems: Iterable[Problem]) -> list[dict[str, str | int]]:
    """Return every problem as plain data, errors first."""
    order = list(COLOURS)
    return [
        {
            "severity": problem.severity,
            "code": problem.code,
            "file": problem.file,
            "line": problem.line,
            "column": problem.column,
            "what": problem.what,
            "todo": problem.todo,
        }
        for problem in sorted(problems, key=lambda one: (order.index(one.severity), one))
    ]
