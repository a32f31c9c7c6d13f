"""Files of the checkout that are generated from the records' rules and from the commands."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import click

from coilbook.errors import CoilbookError, RecordsInvalid
from coilbook.records import datapackage, dictionary_markdown, load_reference
from coilbook.records.contents import Reference
from coilbook.records.tables.descriptor import FolderKind

LICENCE = "CC-BY-4.0"
#: Folder under dataset/: what its tables are, its title, and a sentence about it.
PACKAGES: dict[str, tuple[FolderKind, str, str]] = {
    "reference": (
        "reference",
        "Coilbook reference dataset",
        "What is documented about families and periods of electric-guitar pickups.",
    ),
    "demo": (
        "archive",
        "Coilbook demo archive (invented)",
        "Invented records of an invented shop: not to be mixed with measured or documented ones.",
    ),
}
DICTIONARY_FRONT = """\
---
title: Data dictionary
description: Every table and column of the records, what it means and what it may hold.
section: about
---

"""
_HELP_BLOCK = re.compile(r"(<!-- commands: [^\n]* -->\n).*?(<!-- end of commands -->)", re.DOTALL)


def stale_files(top: Path, commands: click.Group) -> dict[Path, str]:
    """Return the new text of every generated file of a checkout that is out of step, by its path.

    Raises :class:`CoilbookError` if README has lost the marks between which the commands stand,
    and :class:`RecordsInvalid` if the reference has an error.
    """
    reference = load_reference()
    if reference.value is None:
        raise RecordsInvalid(reference.problems)
    wanted = {
        top / "site_src" / "prose" / "data" / "dictionary" / "index.md": (
            DICTIONARY_FRONT + dictionary_markdown() + "\n" + ids_markdown(reference.value)
        ),
        top / "README.md": _readme(top / "README.md", commands),
    }
    for folder, (kind, title, about) in PACKAGES.items():
        path = top / "dataset" / folder
        package = datapackage(
            kind, name=f"coilbook-{folder}", title=title, licence=LICENCE, description=about
        )
        # A shop may leave a table out; what is not there is no resource.
        package["resources"] = [r for r in package["resources"] if (path / r["path"]).is_file()]
        text = json.dumps(package, indent=2, ensure_ascii=False) + "\n"
        wanted[path / "datapackage.json"] = text
    return {path: text for path, text in sorted(wanted.items()) if _text(path) != text}


def write_files(files: dict[Path, str]) -> None:
    """Write each text to its path."""
    for path, text in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")


def ids_markdown(reference: Reference) -> str:
    """Return the ids that an archive's rows may name, as the data dictionary's last part."""
    families = [
        (f"`{row.family_id}`", row.name, _ids(row.positions)) for row in reference.families.values()
    ]
    properties = [
        (f"`{row.property_id}`", row.name, f"`{row.component}`", row.unit or _ids(row.categories))
        for row in reference.properties.values()
        if row.origin != "derived"
    ]
    derived = [row for row in reference.properties.values() if row.origin == "derived"]
    features = [
        (f"`{row.feature_id}`", row.name, _ids(row.families) or "any")
        for row in reference.features.values()
    ]
    lines = [
        "What a check says of a slip, with an example of each: [messages](../messages/index.md).",
        "",
        "## Ids to write",
        "",
        "A row names these as they stand here.",
        "",
        *_table("Families and positions", ("family_id", "what it is", "positions"), families),
        *_table(
            "Properties", ("property_id", "what it is", "component", "unit or word"), properties
        ),
        "Where the component is `coil` and the piece has two, write `coil_a` or `coil_b`. "
        f"{_and([f'`{row.property_id}`' for row in derived])} are worked out from other readings; "
        "only claims name them.",
        "",
        *_table("Features", ("feature_id", "what it is", "of which families"), features),
    ]
    return "\n".join(lines).rstrip() + "\n"


def _table(heading: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    return [
        f"### {heading}",
        "",
        "What is documented of them: [families](../../families/index.md), "
        "[features](../../materials/features/index.md).",
        "",
        f"| {' | '.join(columns)} |",
        f"|{'---|' * len(columns)}",
        *(f"| {' | '.join(cells)} |" for cells in rows),
        "",
    ]


def _ids(ids: Iterable[str]) -> str:
    return ", ".join(f"`{id_}`" for id_ in ids)


def _and(words: Sequence[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}"


def command_help(commands: click.Group) -> Iterator[str]:
    """Yield the lines that describe every command.

    Written here rather than taken from ``--help``, whose layout changes with the library's version.
    """
    # The first paragraph says what the program is for, and README says that itself.
    for paragraph in (commands.help or "").split("\n\n")[1:]:
        yield from [*textwrap.wrap(" ".join(paragraph.split()), 96), ""]
    for name, command in commands.commands.items():
        with click.Context(command, info_name=name) as context:
            usage = " ".join(["coilbook", name, *command.collect_usage_pieces(context)])
        yield usage.replace(" [OPTIONS]", "")
        for paragraph in (command.help or "").split("\n\n"):
            yield from textwrap.wrap(
                " ".join(paragraph.split()), 92, initial_indent="    ", subsequent_indent="    "
            )
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                value = f" {parameter.metavar}" if parameter.metavar else ""
                yield f"    {parameter.opts[0]}{value}: {parameter.help or ''}"
        yield ""


def _readme(path: Path, commands: click.Group) -> str:
    text = _text(path) or ""
    if not _HELP_BLOCK.search(text):
        raise CoilbookError(
            f"{path}: the two marks around the list of commands are missing. Put them back from an "
            "earlier version."
        )
    lines = "\n".join(command_help(commands)).rstrip()
    return _HELP_BLOCK.sub(lambda marks: f"{marks[1]}```text\n{lines}\n```\n{marks[2]}", text)


def _text(path: Path) -> str | None:
    return path.read_text(encoding="utf-8") if path.is_file() else None
