"""The tables' description, generated from their models: a Data Package and a page to read."""

from __future__ import annotations

import datetime as dt
import inspect
from collections.abc import Mapping
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic.fields import FieldInfo

from coilbook.records.tables.cells import Date, Id, Ids, Row, Words, Year, YesNo
from coilbook.records.tables.models import ARCHIVE_TABLES, OPTIONAL_TABLES, REFERENCE_TABLES

FolderKind = Literal["reference", "archive"]
TABLES: Mapping[FolderKind, Mapping[str, type[Row]]] = {
    "reference": REFERENCE_TABLES,
    "archive": ARCHIVE_TABLES,
}
PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
#: What the end of a column's name says about the unit of its numbers.
UNIT_SUFFIXES = {
    "_mm": "mm", "_mt": "mT", "_ka_per_m": "kA/m", "_kj_per_m3": "kJ/m³", "_percent": "%",
    "_nohm_m": "nΩ·m", "thermal_class_c": "°C",
    "parallel_tolerance": "%",
}  # fmt: skip

_LIST = {"type": "list", "delimiter": ";", "itemType": "string"}
#: Types that the models name, and what each is in Table Schema, with a word for the page.
_NAMED: tuple[tuple[object, str, dict[str, Any]], ...] = (
    (
        Id,
        "id",
        {"type": "string", "constraints": {"pattern": "[A-Za-z0-9]+(-[A-Za-z0-9]+)*"}},
    ),
    (Ids, "ids split by ;", _LIST),
    (Words, "words split by ;", _LIST),
    (Year, "year", {"type": "year", "constraints": {"minimum": 1900, "maximum": 2100}}),
    (Date, "date", {"type": "date"}),
    (YesNo, "yes or no", {"type": "boolean", "trueValues": ["yes"], "falseValues": ["no"]}),
)
_PLAIN: dict[object, tuple[str, str]] = {
    str: ("text", "string"), float: ("number", "number"), int: ("whole number", "integer"),
    dt.date: ("date", "date"),
}  # fmt: skip
_LIMITS = (
    ("ge", "minimum"),
    ("gt", "exclusiveMinimum"),
    ("le", "maximum"),
    ("lt", "exclusiveMaximum"),
)


def datapackage(
    kind: FolderKind, *, name: str, title: str, licence: str, description: str = ""
) -> dict[str, Any]:
    """Return the Data Package (version 2) of a folder of tables, for ``datapackage.json``.

    Units stand under the custom key ``unit``. Tables that an archive may leave out stand in it too.
    """
    tables = TABLES[kind]
    package: dict[str, Any] = {"$schema": PROFILE, "name": name, "title": title}
    if description:
        package["description"] = description
    package["licenses"] = [{"name": licence}]
    package["resources"] = [_resource(file, model, tables) for file, model in tables.items()]
    return package


def dictionary_markdown() -> str:
    """Return the data dictionary: every table, column, type and meaning, as a Markdown page."""
    lines = [
        "# Data dictionary",
        "",
        "This page is generated from the models that check the records. Every table is a CSV file "
        "in UTF-8 with one header row. A column marked *needed* may not be empty. Values are kept "
        "as they were written and read afterwards. An archive may add columns whose names begin "
        "with `private_`; they never leave it.",
        "",
    ]
    for kind, heading in (("reference", "The reference"), ("archive", "An archive")):
        lines += [f"## {heading}", ""]
        for file, model in TABLES[kind].items():  # type: ignore[index]
            lines += _page_table(
                file, model, optional=kind == "archive" and file in OPTIONAL_TABLES
            )
    return "\n".join(lines).rstrip() + "\n"


def _page_table(file: str, model: type[Row], *, optional: bool) -> list[str]:
    # Examples and limits in the meanings are no evidence of any pickup, and the page says so.
    meanings = "Its columns, with [limits and examples](../../evidence/index.md#defined):"
    lines = [f"### {file}", "", _summary(model), ""]
    if optional:
        lines += ["An archive may leave this table out.", ""]
    lines += [
        f"No two rows have the same {_and(model.key)}. {meanings}",
        "",
        "| column | what | needed | meaning |",
        "|---|---|---|---|",
    ]
    for column, info in model.model_fields.items():
        word, schema = _type(model, column)
        words = schema.get("constraints", {}).get("enum")
        if words:
            word = "one of " + ", ".join(f"`{w}`" for w in words)
        needed = "needed" if _needed(info) else ""
        cells = (f"`{column}`", word, needed, str(info.description))
        lines.append("| " + " | ".join(_escaped(cell) for cell in cells) + " |")
    return [*lines, ""]


def _escaped(text: str) -> str:
    """Keep Markdown from taking a bar for a cell's end, or ``<`` for a tag."""
    return text.replace("|", "\\|").replace("<", "&lt;")


def _and(words: tuple[str, ...]) -> str:
    shown = [f"`{word}`" for word in words]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def _summary(model: type[Row]) -> str:
    return (inspect.getdoc(model) or "").split("\n")[0]


def _resource(file: str, model: type[Row], tables: Mapping[str, type[Row]]) -> dict[str, Any]:
    fields = [_field(model, column) for column in model.model_fields]
    schema: dict[str, Any] = {"fields": fields, "missingValues": [""]}
    key = list(model.key)
    # Cells of a primary key may not be empty; those of a unique key may.
    if all(model.model_fields[column].is_required() for column in key):
        schema["primaryKey"] = key
    else:
        schema["uniqueKeys"] = [key]
    foreign = [
        {"fields": [column], "reference": {"resource": _stem(other), "fields": [column]}}
        for column in model.model_fields
        for other, target in tables.items()
        if target is not model and target.key == (column,) and not _elsewhere(column, tables)
    ]
    if foreign:
        schema["foreignKeys"] = foreign
    return {
        "name": _stem(file),
        "path": file,
        "type": "table",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "description": _summary(model),
        "schema": schema,
    }


def _elsewhere(column: str, tables: Mapping[str, type[Row]]) -> bool:
    """Whether a column may also name a row of another package: an archive cites the reference."""
    return column == "source_id" and tables is ARCHIVE_TABLES


def _stem(file: str) -> str:
    return file.removesuffix(".csv")


def _needed(info: FieldInfo) -> bool:
    """Whether the cell may not be empty; a list may be, even where its column must be there."""
    return info.is_required() and get_origin(info.annotation) is not tuple


def _field(model: type[Row], column: str) -> dict[str, Any]:
    info = model.model_fields[column]
    _, schema = _type(model, column)
    field: dict[str, Any] = {"name": column, **schema, "description": str(info.description)}
    constraints = dict(field.pop("constraints", {}))
    if _needed(info):
        constraints["required"] = True
    if constraints:
        field["constraints"] = constraints
    for suffix, unit in UNIT_SUFFIXES.items():
        if column.endswith(suffix):
            field["unit"] = unit
    return field


def _type(model: type[Row], column: str) -> tuple[str, dict[str, Any]]:
    """Return a column's type in a word, and in Table Schema."""
    hint = get_type_hints(model, include_extras=True)[column]
    if get_origin(hint) in (Union, UnionType):
        (hint,) = (part for part in get_args(hint) if part is not type(None))
    for named, word, schema in _NAMED:
        if hint == named:
            return word, schema
    if get_origin(hint) is Literal:
        words = get_args(hint)
        kind = "integer" if isinstance(words[0], int) else "string"
        return "word", {"type": kind, "constraints": {"enum": list(words)}}
    base: object = hint
    extras: list[object] = []
    if get_origin(hint) is Annotated:
        base, *extras = get_args(hint)
    word, kind = _PLAIN[base]
    limits = {
        key: getattr(mark, attribute)
        for extra in extras
        if isinstance(extra, FieldInfo)
        for mark in extra.metadata
        for attribute, key in _LIMITS
        if hasattr(mark, attribute)
    }
    return word, {"type": kind, "constraints": limits} if limits else {"type": kind}
