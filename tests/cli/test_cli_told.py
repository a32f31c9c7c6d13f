"""How problems are told: alike ones together, as JSON that a schema describes, on any terminal."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from cli_bench import change
from jsonschema import Draft202012Validator

from coilbook.cli import main
from coilbook.commands.json_schemas import names, schema_text
from coilbook.commands.problems import NARROWEST, as_rows, print_problems
from coilbook.commands.ranges import all_as_text, one_as_text
from coilbook.errors import Problem
from coilbook.records import load_reference

PIECES = 60


def sixty(bench: Path) -> None:
    """Fill an archive with sixty pieces in which somebody left out or mistyped the same things."""
    header, piece = (bench / "pieces.csv").read_text(encoding="utf-8").splitlines()
    head, *readings = (bench / "readings.csv").read_text(encoding="utf-8").splitlines()
    pieces, read = [header], [head]
    for number in range(1, PIECES + 1):
        own = piece.replace("bench-0001", f"p-{number}").replace(",untouched,", ",,")
        pieces.append(own.replace("full-size-humbucker", "humbucker") if number % 2 else own)
        for reading in readings:
            row = reading.replace("bench-0001", f"p-{number}")
            row = row.replace(",free,", ",,") if number % 3 == 0 else row
            row = row.replace("2026-03-14", "14.3.2026") if number % 5 == 0 else row
            read.append(row.replace("k,", f"q{number},", 1) if number % 7 == 0 else row)
    (bench / "pieces.csv").write_text("\n".join(pieces) + "\n", encoding="utf-8")
    (bench / "readings.csv").write_text("\n".join(read) + "\n", encoding="utf-8")


def test_sixty_rows_alike_are_one_line(coilbook: Any, bench: Path) -> None:
    """Of hundreds of problems a screen is left; --all and --json have each of them."""
    sixty(bench)
    result = coilbook("check", bench)
    lines = result.stdout.splitlines()
    assert result.exit_code == 1
    assert len(lines) <= 40
    assert (
        "pieces.csv state (60 rows: 2–61): the cell is empty. Write untouched, repaired or "
        "rewound, or unknown if you do not know. (Whether its winding is the first one.) "
        "[cell-empty]"
    ) in lines
    assert any(
        line.startswith("pieces.csv family_id (30 rows: 2, 4, 6, 8, 10, 12 …):") for line in lines
    )
    every = json.loads(coilbook("check", bench, "--json").stdout)
    assert len(every) > 200
    assert lines[0] == f"{sum(p['severity'] == 'error' for p in every)} errors:"
    alone = coilbook("check", bench, "--all").stdout.splitlines()
    counts = [line for line in alone if line.endswith(("errors:", "doubts:", "notes:"))]
    assert len(alone) == len(every) + len(counts)
    # What differs in a word is shown by two, and the rest counted.
    start = next(i for i, line in enumerate(lines) if "[unit-unknown]" in line)
    assert "'q7' is not a unit" in lines[start]
    assert lines[start + 1].startswith("  line ")
    assert lines[start + 2].startswith("  and ")


def test_a_note_is_no_doubt(coilbook: Any, bench: Path) -> None:
    """A unit that was assumed is said, and the archive is as clean as before."""
    change(bench / "readings.csv", "4.02k", "4.02")
    result = coilbook("check", bench)
    assert result.exit_code == 0
    assert result.stdout.splitlines() == [
        "No errors and no doubts.",
        "1 note:",
        "readings.csv:2 value: '4.02' has no unit and was read as 4.02 kΩ. Write the unit if you "
        "meant another. [unit-assumed]",
    ]


@pytest.mark.parametrize("columns", [NARROWEST, 60])
def test_a_narrow_terminal_is_not_run_over(
    columns: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """Lines are broken between words and go on indented; a table that does not fit is stacked."""
    what = "the cell is empty and nobody knows what was meant to stand in it."
    print_problems(
        [Problem("pieces.csv", line, "state", what, "Write a word.", code="x") for line in (2, 9)],
        columns=columns,
    )
    printed = capsys.readouterr().out.splitlines()
    assert max(map(len, printed)) <= columns
    assert any(line.startswith("    ") for line in printed)
    reference = load_reference().value
    assert reference is not None
    family = reference.families["covered-small-rod-single-coil"]
    table = one_as_text(reference, family, columns).split("\n\n", 1)[1].rpartition("\n\n")[0]
    assert max(map(len, table.splitlines())) <= columns
    assert "  6.9–8.0 kΩ" in all_as_text(reference, NARROWEST).splitlines()


ASKED = [
    ("check", ()),
    ("check", ("--coverage",)),
    ("show", ("lq-0001",)),
    ("compare", ("--family", "humbucker", "--coil-a", "4.1", "--coil-b", "3.9k", "--at", "24C")),
    ("winding", ("--family", "humbucker")),
    ("ranges", ("humbucker",)),
    ("explain", ()),
]


@pytest.mark.parametrize(("command", "more"), ASKED, ids=[" ".join((c, *m))[:30] for c, m in ASKED])
def test_json_is_what_its_schema_says(coilbook: Any, command: str, more: tuple[str, ...]) -> None:
    """A validator from outside (JSON Schema, draft 2020-12) finds the answer as it is described."""
    schema = json.loads(coilbook("schema", command).stdout)
    Draft202012Validator.check_schema(schema)
    answer = json.loads(coilbook(command, *more, "--json").stdout)
    Draft202012Validator(schema).validate(answer)
    assert answer


def test_a_mistake_with_json_is_told_in_json(coilbook: Any) -> None:
    """Whoever reads JSON gets JSON, and the sentence stands on the error stream as well."""
    mistake = Draft202012Validator(json.loads(schema_text("mistake")))
    for arguments in (["show", "nope"], ["compare", "--family", "humbucker", "--pair", "8.1q"]):
        result = coilbook(*arguments, "--json")
        assert result.exit_code == 1
        answer = json.loads(result.stdout)
        mistake.validate(answer)
        assert answer["message"] in result.stderr
    assert answer["problems"][0]["code"] == "unit-unknown"


def test_every_command_with_json_has_a_schema() -> None:
    """The list of schemas is the list of commands that take --json; a wrong answer is refused."""
    with_json = {
        name
        for name, command in main.commands.items()
        if any("--json" in parameter.opts for parameter in command.params)
    }
    assert set(names()) == with_json | {"mistake"}
    rows = as_rows([Problem("pieces.csv", 2, "state", "what.", "todo.", code="cell-empty")])
    check = Draft202012Validator(json.loads(schema_text("check")))
    check.validate(rows)
    for wrong in (
        {**rows[0], "severity": "bad"},
        {k: v for k, v in rows[0].items() if k != "code"},
    ):
        assert not check.is_valid([wrong])


def test_completion_is_installed_by_one_command(coilbook: Any, tmp_path: Path) -> None:
    """A second run changes nothing; what stood in the start file stays."""
    start = tmp_path / ".bashrc"
    start.write_text("alias ll='ls -l'", encoding="utf-8")
    variables = {"HOME": str(tmp_path), "USERPROFILE": str(tmp_path), "SHELL": "/bin/bash"}
    with pytest.MonkeyPatch.context() as patched:
        for name, value in variables.items():
            patched.setenv(name, value)
        first = coilbook("completion")
        assert first.exit_code == 0
        text = start.read_text(encoding="utf-8")
        assert text.startswith("alias ll='ls -l'\n")
        assert coilbook("completion").exit_code == 0
        assert start.read_text(encoding="utf-8") == text
        assert coilbook("completion", "fish").exit_code == 0
        patched.setenv("SHELL", "")
        assert "coilbook completion with bash or zsh or fish" in coilbook("completion").stderr
    assert (tmp_path / ".config" / "fish" / "completions" / "coilbook.fish").is_file()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX shell")
def test_the_shell_completes_commands_and_families(coilbook: Any, tmp_path: Path) -> None:
    """What is installed makes a real bash complete a command, a family and a piece."""
    script = tmp_path / "completion.bash"
    script.write_text(coilbook("completion", "bash", "--print").stdout, encoding="utf-8")
    program = tmp_path / "coilbook"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m coilbook.cli "$@"\n', "utf-8")
    program.chmod(0o755)
    asked = {
        "ran": "ranges",
        "ranges split": "split-bass",
        "compare --family two-": "two-screw-row-humbucker",
        "show lq-000": "lq-0009",
    }
    lines = [f'source "{script}"']
    for words in asked:
        typed = ["coilbook", *words.split()]
        lines.append(
            f"COMP_WORDS=({' '.join(typed)}); COMP_CWORD={len(typed) - 1}; COMPREPLY=(); "
            f'_coilbook_completion "{program}"; echo "${{COMPREPLY[*]}}"'
        )
    done = subprocess.run(["bash", "-c", "\n".join(lines)], capture_output=True, text=True)
    for line, wanted in zip(done.stdout.splitlines(), asked.values(), strict=True):
        assert wanted in line.split(), done.stderr
