"""One script out of what is asked for of core, and of what that rests on."""

from __future__ import annotations

import ast
import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from coilbook.publish.printer.expressions import RESERVED
from coilbook.publish.printer.kinds import ANY, Kind
from coilbook.publish.printer.sources import Module, Problem, Sources, Symbol
from coilbook.publish.printer.statements import Lines, Statements, indented

#: The folder that the package stands in.
ROOT = Path(__file__).resolve().parents[3]
_RUNTIME = Path(__file__).with_name("runtime.js")
_PART = re.compile(r"(?:function\*?|class|const) (\w+)")
_ALSO = re.compile(r", ([A-Za-z_]\w*) = ")


class CannotPrint(Exception):
    """Something of core is not printed; the message says where, and what to write instead."""


class Printed:
    """What is printed so far: each definition once, with what it rests on."""

    def __init__(self, sources: Sources) -> None:
        self.sources = sources
        self.names: dict[Symbol, str] = {}
        self.lines: dict[Symbol, Lines] = {}
        self.rests_on: dict[Symbol, list[Symbol]] = {}
        self.parts: dict[str, None] = {}
        self.waiting: list[Symbol] = []
        self.problems: list[str] = []
        self._kinds: dict[Symbol, Kind] = {}
        self._taken: set[str] = set()
        self._now: Symbol | None = None

    def name_of(self, symbol: Symbol) -> str:
        """Return the name of a definition in the script, and have it printed."""
        if self._now is not None:
            self.rests_on.setdefault(self._now, []).append(symbol)
        if symbol not in self.names:
            assert symbol.module is not None
            name = symbol.name
            if name in self._taken or name in RESERVED:
                name = f"{symbol.module.name.rpartition('.')[2]}_{name}".replace("__", "_")
            while name in self._taken:
                name += "$"
            self._taken.add(name)
            self.names[symbol] = name
            self.waiting.append(symbol)
        return self.names[symbol]

    def kind_of(self, symbol: Symbol) -> Kind:
        """Return the kind of a constant: as annotated, or as its value shows."""
        if symbol not in self._kinds:
            self._kinds[symbol] = ANY
            assert symbol.module is not None
            if symbol.annotation is not None:
                self._kinds[symbol] = symbol.module.kind(symbol.annotation)
            if self._kinds[symbol] == ANY and isinstance(symbol.node, ast.expr):
                try:
                    writer = Statements(self, symbol.module, frozenset())
                    self._kinds[symbol] = writer.expr(symbol.node).kind
                except Problem:
                    pass  # told where the constant itself is printed
        return self._kinds[symbol]

    def runtime(self, name: str) -> str:
        """Return the name of a part of the runtime, and have it printed."""
        self.parts[name] = None
        return f"${name}"

    def print_all(self) -> None:
        """Print what waits, and what that asks for."""
        while self.waiting:
            self.print_next()

    def print_next(self, only: Module | None = None) -> None:
        """Print the first that waits, if it is of that module."""
        symbol = self.waiting.pop(0)
        assert symbol.module is not None
        if only is not None and symbol.module is not only:
            return
        self._now = symbol
        try:
            self.lines[symbol] = self._definition(symbol)
        except Problem as problem:
            self.problems.append(told(symbol.module, self.sources.root, problem))
        self._now = None

    def _definition(self, symbol: Symbol) -> Lines:
        """Print one; a local name that hides what the definition asks for is written anew."""
        hidden: frozenset[str] = frozenset()
        while True:
            assert symbol.module is not None
            writer = Statements(self, symbol.module, hidden)
            name = self.names[symbol]
            match symbol.node:
                case ast.FunctionDef() as node:
                    lines = writer.definition(node, name)
                case ast.ClassDef():
                    lines = writer.class_lines(self.sources.classed(symbol), name)
                case ast.expr() as value:
                    lines = writer.constant_lines(value, symbol.annotation, name)
                case _:
                    raise AssertionError(symbol)
            clash = (writer.used & writer.locals) - hidden
            if not clash:
                return lines
            hidden |= clash

    def in_order(self, first: list[Symbol]) -> list[Symbol]:
        """Return all that is printed, each behind what it rests on."""
        found: dict[Symbol, None] = {}
        begun: set[Symbol] = set()
        stack = [(symbol, False) for symbol in reversed(first)]
        while stack:
            symbol, done = stack.pop()
            if done:
                found.setdefault(symbol)
            elif symbol not in begun:
                begun.add(symbol)
                stack.append((symbol, True))
                stack += [(one, False) for one in reversed(self.rests_on.get(symbol, []))]
        return list(found)


def told(module: Module, root: Path, problem: Problem) -> str:
    """Return a problem as it is told: file, line, what is wrong and what to do."""
    return f"{module.path.relative_to(root).as_posix()}:{problem.line}: {problem}"


def problems_of(module: Module, sources: Sources) -> list[str]:
    """Return what of a module is not printed, definition by definition."""
    printed = Printed(sources)
    found = [Problem(node, "a module holds definitions only.") for node in module.unknown]
    printed.problems = [told(module, sources.root, problem) for problem in found]
    for symbol in module.symbols.values():
        if isinstance(symbol.node, ast.expr) and module.says_a_kind(symbol):
            continue
        printed.name_of(symbol)
    while printed.waiting:
        printed.print_next(only=module)
    return sorted(set(printed.problems), key=printed.problems.index)


def print_core(entries: Mapping[str, str], root: Path = ROOT) -> str:
    """Return a script that puts functions, classes and constants of core on window.coilbook.core.

    ``entries`` are their dotted names, each with the name under which a page finds it; ``root`` is
    the folder that holds the package. All that they rest on is printed, each definition once.
    Raises :class:`CannotPrint` with everything that is not printed.
    """
    printed = Printed(Sources(root))
    first = [printed.sources.symbol(full) for full in entries]
    for symbol in first:
        printed.name_of(symbol)
    printed.print_all()
    if printed.problems:
        raise CannotPrint("\n".join(sorted(set(printed.problems))))
    body = [line for symbol in printed.in_order(first) for line in printed.lines[symbol]]
    exposed = [
        f"{name}: {printed.names[symbol]}" if name != printed.names[symbol] else name
        for symbol, name in zip(first, entries.values(), strict=True)
    ]
    return "\n".join(
        [
            "(function () {",
            '"use strict";',
            *runtime_lines(printed.parts),
            *body,
            "window.coilbook = window.coilbook || {};",
            f"coilbook.core = Object.assign(coilbook.core || {{}}, {{ {', '.join(exposed)} }});",
            "})();",
            "",
        ]
    )


def runtime_lines(wanted: Mapping[str, None]) -> Lines:
    """Return the parts of the runtime that are asked for, with all that these rest on."""
    parts, holder = _runtime_parts()
    taken: set[str] = set()
    waiting = [holder[name] for name in wanted]
    while waiting:
        part = waiting.pop()
        if part not in taken:
            taken.add(part)
            waiting += [holder[w] for w in set(re.findall(r"\w+", parts[part])) if w in holder]
    if not taken:
        return []
    text = [line for name, part in parts.items() if name in taken for line in part.splitlines()]
    given = ", ".join(sorted(wanted))
    names = ", ".join(f"{name}: ${name}" for name in sorted(wanted))
    return [
        f"const {{ {names} }} = (() => {{",
        *indented([*text, f"return {{ {given} }};"]),
        "})();",
    ]


@cache
def _runtime_parts() -> tuple[dict[str, str], dict[str, str]]:
    """Return the runtime's parts by their first names, and the part that holds each name."""
    parts: dict[str, str] = {}
    holder: dict[str, str] = {}
    now = ""
    for line in _RUNTIME.read_text(encoding="utf-8").splitlines():
        if not line.strip() or line.lstrip().startswith("//"):
            continue
        if found := _PART.match(line):
            now = found[1]
            holder[now] = now
            if line.startswith("const"):
                holder.update(dict.fromkeys(_ALSO.findall(line), now))
        parts[now] = f"{parts[now]}\n{line}" if now in parts else line
    return parts, holder
