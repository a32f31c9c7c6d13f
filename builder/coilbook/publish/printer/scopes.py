"""Where each local name of a function is declared in a script."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator

Path = tuple[int, ...]
_COMPREHENSIONS = (ast.ListComp, ast.SetComp, ast.DictComp, ast.GeneratorExp)


class Places:
    """The names that a function binds, and where a script declares each.

    Python's names belong to the whole function, a script's to the block that declares them. A name
    is declared where it is first assigned if all that uses it stands in that block behind it
    (``at``, by the statement), as a loop's own (by the loop), else at the function's top (``top``).
    ``once`` are those that are assigned one single time.
    """

    def __init__(self, body: list[ast.stmt], arguments: Iterable[str] = ()) -> None:
        self._blocks: dict[str, list[Path]] = {}
        self._first: dict[str, tuple[ast.stmt, Path, bool]] = {}
        self._stored: dict[str, int] = {}
        self._outer = set(arguments)
        self._number = 0
        self._body(body, ())
        self.bound = set(self._stored) - self._outer
        self.once = {name for name, count in self._stored.items() if count == 1}
        self.at: dict[int, set[str]] = {}
        self.top: list[str] = []
        for name in sorted(self.bound):
            stmt, path, opens = self._first[name]
            common = _common(self._blocks[name])
            if opens and path == common:
                self.at.setdefault(id(stmt), set()).add(name)
            else:
                self.top.append(name)

    def _body(self, body: list[ast.stmt], path: Path) -> None:
        for stmt in body:
            self._statement(stmt, path)

    def _block(self, path: Path) -> Path:
        self._number += 1
        return (*path, self._number)

    def _statement(self, stmt: ast.stmt, path: Path) -> None:
        if isinstance(stmt, ast.For):
            self._loads(stmt, [stmt.iter], path)
            inner = self._block(path)
            self._stores(stmt, stmt.target, inner, opens=True)
            self._body(stmt.body, inner)
            self._body(stmt.orelse, self._block(path))
        elif isinstance(stmt, ast.If | ast.While):
            self._loads(stmt, [stmt.test], path)
            self._body(stmt.body, self._block(path))
            self._body(stmt.orelse, self._block(path))
        elif isinstance(stmt, ast.Try):
            self._body(stmt.body, self._block(path))
            for handler in stmt.handlers:
                inner = self._block(path)
                if handler.name:
                    self._note(handler.name, stmt, inner, store=True, opens=True)
                    self._first[handler.name] = (stmt, inner, True)
                self._body(handler.body, inner)
            self._body(stmt.finalbody, self._block(path))
        elif isinstance(stmt, ast.FunctionDef):
            self._note(stmt.name, stmt, path, store=True, opens=True)
            inner_places = Places(stmt.body, argument_names(stmt.args))
            free = set(inner_places._blocks) - inner_places.bound - inner_places._outer
            # A nested function may be called later than it stands: what it uses is used here.
            for name in sorted(free | nonlocals(stmt)):
                self._note(name, stmt, self._block(path), store=name in nonlocals(stmt))
            self._loads(stmt, [d for d in stmt.args.defaults if d is not None], path)
        elif isinstance(stmt, ast.Assign | ast.AnnAssign | ast.AugAssign):
            if stmt.value is not None:
                self._loads(stmt, [stmt.value], path)
            targets = stmt.targets if isinstance(stmt, ast.Assign) else [stmt.target]
            for target in targets:
                # Several targets, or a target with places in it, may be told of after a read.
                plain = not isinstance(stmt, ast.AugAssign) and len(targets) == 1
                self._stores(stmt, target, path, opens=plain and stmt.value is not None)
        else:
            self._loads(stmt, list(ast.iter_child_nodes(stmt)), path)

    def _stores(self, stmt: ast.stmt, target: ast.expr, path: Path, *, opens: bool) -> None:
        names = [n for n in ast.walk(target) if isinstance(n, ast.Name)]
        whole = all(isinstance(n.ctx, ast.Store) for n in names) and not any(
            isinstance(n, ast.Subscript | ast.Attribute) for n in ast.walk(target)
        )
        for node in names:
            store = isinstance(node.ctx, ast.Store)
            self._note(node.id, stmt, path, store=store, opens=opens and whole)

    def _loads(self, stmt: ast.stmt, nodes: Iterable[ast.AST], path: Path) -> None:
        for node in nodes:
            for name, store in _used(node, frozenset()):
                self._note(name, stmt, path, store=store)

    def _note(
        self, name: str, stmt: ast.stmt, path: Path, *, store: bool = False, opens: bool = False
    ) -> None:
        self._blocks.setdefault(name, []).append(path)
        self._first.setdefault(name, (stmt, path, opens))
        if store:
            self._stored[name] = self._stored.get(name, 0) + 1


def nonlocals(node: ast.FunctionDef) -> set[str]:
    """Return the names that a nested function assigns in the one around it."""
    return {name for one in ast.walk(node) if isinstance(one, ast.Nonlocal) for name in one.names}


def argument_names(args: ast.arguments) -> list[str]:
    """Return the names of all arguments."""
    rest = [one for one in (args.vararg, args.kwarg) if one is not None]
    return [one.arg for one in (*args.posonlyargs, *args.args, *args.kwonlyargs, *rest)]


def _used(node: ast.AST, hidden: frozenset[str]) -> Iterator[tuple[str, bool]]:
    """Return the names that an expression uses, without those of its own loops and arguments."""
    if isinstance(node, ast.Name):
        if node.id not in hidden:
            yield node.id, isinstance(node.ctx, ast.Store)
        return
    if isinstance(node, ast.Lambda):
        hidden |= set(argument_names(node.args))
    if isinstance(node, _COMPREHENSIONS):
        own = [n.id for g in node.generators for n in ast.walk(g.target) if isinstance(n, ast.Name)]
        hidden |= set(own)
    for child in ast.iter_child_nodes(node):
        yield from _used(child, hidden)


def _common(paths: list[Path]) -> Path:
    first = paths[0]
    for path in paths[1:]:
        both = zip(first, path, strict=False)
        shared = next((at for at, (a, b) in enumerate(both) if a != b), min(len(first), len(path)))
        first = first[:shared]
    return first
