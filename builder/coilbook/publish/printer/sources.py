"""The modules that are printed: what they define, import and say of it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from coilbook.publish.printer.kinds import ANY, BOOL, FLOAT, INT, NONE, STR, Kind, either, listed

Function = ast.FunctionDef | ast.Lambda
#: What annotations call a kind that is named otherwise here.
_PLAIN = {"float": FLOAT, "int": INT, "bool": BOOL, "str": STR, "None": NONE}
_HOLDS = {
    **dict.fromkeys(("list", "Sequence", "MutableSequence", "deque"), "list"),
    **dict.fromkeys(("set", "frozenset", "Set", "AbstractSet", "MutableSet"), "set"),
    **dict.fromkeys(
        ("dict", "Mapping", "MutableMapping", "MappingProxyType", "defaultdict", "Counter"), "dict"
    ),
    **dict.fromkeys(("Iterable", "Iterator", "Generator", "Collection"), "iter"),
}
_OTHERS = {"Fraction": "fraction", "date": "date", "Pattern": "pattern", "Match": "match"}


class Problem(Exception):
    """Something that is not printed, where it stands and what to write instead."""

    def __init__(self, node: ast.AST, what: str) -> None:
        super().__init__(what)
        self.line = getattr(node, "lineno", 1)


@dataclass(eq=False)
class Symbol:
    """A function, a class or a constant of a module. ``outside`` names one of the libraries'."""

    module: Module | None
    name: str
    node: ast.FunctionDef | ast.ClassDef | ast.expr | None = None
    annotation: ast.expr | None = None
    outside: str = ""

    @property
    def full(self) -> str:
        """Return its dotted name."""
        return f"{self.module.name}.{self.name}" if self.module else self.outside


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a dataclass or a NamedTuple."""

    name: str
    annotation: ast.expr
    default: ast.expr | None
    init: bool
    compare: bool


@dataclass(eq=False)
class Class:
    """A class: its fields, its methods and what it rests on."""

    symbol: Symbol
    node: ast.ClassDef
    bases: list[Class] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)
    fields: list[Field] = field(default_factory=list)
    methods: dict[str, ast.FunctionDef] = field(default_factory=dict)
    constants: list[ast.Assign | ast.AnnAssign] = field(default_factory=list)
    ordered: bool = False

    @property
    def module(self) -> Module:
        """Return the module it stands in."""
        assert self.symbol.module is not None
        return self.symbol.module

    @cached_property
    def named(self) -> bool:
        """Say whether it is a NamedTuple."""
        return "NamedTuple" in self.outside or any(base.named for base in self.bases)

    @cached_property
    def made_of(self) -> list[tuple[Class, Field]]:
        """Return all fields, those of its bases first."""
        found = {f.name: (owner, f) for base in self.bases for owner, f in base.made_of}
        found.update({f.name: (self, f) for f in self.fields})
        return list(found.values())

    def method(self, name: str) -> tuple[Class, ast.FunctionDef] | None:
        """Return a method, and the class that has it."""
        if name in self.methods:
            return self, self.methods[name]
        return next((found for base in self.bases if (found := base.method(name))), None)

    def kind_of(self, name: str) -> Kind | None:
        """Return the kind of an attribute that is no method."""
        for owner, made in self.made_of:
            if made.name == name:
                return owner.module.kind(made.annotation)
        found = self.method(name)
        if found and "property" in decorators(found[1]):
            return found[0].module.kind(found[1].returns)
        return next((k for c in (self, *self.bases) if (k := c.attributes.get(name))), None)

    @cached_property
    def attributes(self) -> dict[str, Kind]:
        """Return the kinds of what ``__init__`` and the class's own body annotate or are given."""
        found: dict[str, Kind] = {}
        init = self.methods.get("__init__")
        if init is not None:
            given = {a.arg: self.module.kind(a.annotation) for a in all_arguments(init)}
            for node in ast.walk(init):
                if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Attribute):
                    found[node.target.attr] = self.module.kind(node.annotation)
                elif isinstance(node, ast.Assign) and isinstance(node.value, ast.Name):
                    for target in node.targets:
                        if isinstance(target, ast.Attribute):
                            found.setdefault(target.attr, given.get(node.value.id, ANY))
        for made in self.constants:
            if isinstance(made, ast.AnnAssign) and isinstance(made.target, ast.Name):
                found[made.target.id] = self.module.kind(made.annotation)
        return found


def all_arguments(node: Function) -> list[ast.arg]:
    """Return a function's arguments in the order in which a script gets them."""
    args = node.args
    return [*args.posonlyargs, *args.args, *args.kwonlyargs]


def decorators(node: ast.FunctionDef | ast.ClassDef) -> dict[str, ast.expr]:
    """Return the decorators by their last name."""
    found = {}
    for one in node.decorator_list:
        name = one.func if isinstance(one, ast.Call) else one
        found[ast.unparse(name).rpartition(".")[2]] = one
    return found


class Module:
    """One module, with its definitions and imports by the names that they have there."""

    def __init__(self, sources: Sources, name: str, path: Path) -> None:
        self.sources, self.name, self.path = sources, name, path
        self.tree = ast.parse(path.read_text(encoding="utf-8"))
        self.symbols: dict[str, Symbol] = {}
        self.imports: dict[str, tuple[str, str]] = {}
        self.unknown: list[ast.stmt] = []
        for node in self.tree.body:
            self._take(node)
        self._kinds: dict[str, Kind] = {}

    def _take(self, node: ast.stmt) -> None:
        match node:
            case ast.Import():
                for one in node.names:
                    self.imports[one.asname or one.name.partition(".")[0]] = (one.name, "")
            case ast.ImportFrom():
                for one in node.names:
                    self.imports[one.asname or one.name] = (node.module or "", one.name)
            case ast.FunctionDef(name=name) | ast.ClassDef(name=name):
                self.symbols[name] = Symbol(self, name, node)
            case ast.Assign(targets=[ast.Name(id=name)], value=value):
                self.symbols[name] = Symbol(self, name, value)
            case ast.AnnAssign(target=ast.Name(id=name), value=value) if value is not None:
                self.symbols[name] = Symbol(self, name, value, node.annotation)
            case ast.Assign(targets=[ast.Tuple(elts=names)], value=ast.Tuple(elts=values)) if len(
                names
            ) == len(values):
                for target, value in zip(names, values, strict=True):
                    if isinstance(target, ast.Name):
                        self.symbols[target.id] = Symbol(self, target.id, value)
            case ast.If(test=ast.Name(id="TYPE_CHECKING"), body=body):
                for inner in body:
                    self._take(inner)
            case ast.Expr(value=ast.Constant()):
                pass
            case _:
                self.unknown.append(node)

    def find(self, name: str) -> Symbol | Module | None:
        """Return what a name means here: a definition, a module, or something of a library."""
        if name in self.symbols:
            return self.symbols[name]
        if name not in self.imports:
            return None
        source, wanted = self.imports[name]
        whole = self.sources.module(f"{source}.{wanted}" if wanted else source)
        if whole is not None:
            return whole
        module = self.sources.module(source)
        if module is not None:
            return module.find(wanted)
        return Symbol(None, wanted or source, outside=f"{source}.{wanted}" if wanted else source)

    def lookup(self, node: ast.expr) -> Symbol | Module | None:
        """Return what a name, or a name with dots, means here."""
        if isinstance(node, ast.Name):
            return self.find(node.id)
        if isinstance(node, ast.Attribute):
            owner = self.lookup(node.value)
            if isinstance(owner, Module):
                return owner.find(node.attr)
            if owner is not None and owner.module is None:
                return Symbol(None, node.attr, outside=f"{owner.outside}.{node.attr}")
        return None

    def kind(self, node: ast.expr | None) -> Kind:
        """Return the kind that an annotation stands for."""
        match node:
            case ast.Constant(value=str(text)):
                return self.kind(ast.parse(text, mode="eval").body)
            case ast.Constant(value=None):
                return NONE
            case ast.BinOp(op=ast.BitOr(), left=left, right=right):
                return either(self.kind(left), self.kind(right))
            case ast.Subscript(value=value, slice=held):
                return self._holding(ast.unparse(value).rpartition(".")[2], held)
            case ast.Name() | ast.Attribute():
                return self._named(node)
        return ANY

    def _named(self, node: ast.expr) -> Kind:
        name = ast.unparse(node)
        last = name.rpartition(".")[2]
        found = self.lookup(node)
        if isinstance(found, Symbol) and found.module is not None:
            if isinstance(found.node, ast.ClassDef):
                return Kind("object", of=found.full)
            return found.module.alias(found)
        if found is None and name in _PLAIN:
            return _PLAIN[name]
        if last in _HOLDS:
            return Kind(_HOLDS[last])
        return Kind(_OTHERS[last]) if last in _OTHERS else ANY

    def alias(self, symbol: Symbol) -> Kind:
        """Return the kind that a name for a type stands for."""
        if symbol.name not in self._kinds:
            self._kinds[symbol.name] = ANY  # a name that rests on itself says nothing
            match symbol.node:
                case ast.Call(func=ast.Name(id="TypeVar"), args=[_, *bounds], keywords=named):
                    kinds = [self.kind(b) for b in (*bounds, *(k.value for k in named))]
                    self._kinds[symbol.name] = either(*kinds)
                case ast.expr() as value:
                    self._kinds[symbol.name] = self.kind(value)
        return self._kinds[symbol.name]

    def says_a_kind(self, symbol: Symbol) -> bool:
        """Say whether a constant only names a kind, for annotations."""
        node = symbol.node
        if isinstance(node, ast.Call):
            return ast.unparse(node.func) == "TypeVar"
        annotated = symbol.annotation is not None
        if annotated:
            return ast.unparse(symbol.annotation or ast.Constant(0)) == "TypeAlias"
        return isinstance(node, ast.Subscript | ast.BinOp | ast.Name) and self.alias(symbol) != ANY

    def _holding(self, name: str, held: ast.expr) -> Kind:
        inner = held.elts if isinstance(held, ast.Tuple) else [held]
        if name == "Literal":
            return either(*(_literal(one) for one in inner))
        if name in ("Annotated", "Final", "ClassVar"):
            return self.kind(inner[0])
        if name == "Optional":
            return either(self.kind(held), NONE)
        if name == "Callable":
            return Kind("call", (self.kind(inner[-1]),))
        if name == "tuple" and not (len(inner) == 2 and ast.unparse(inner[1]) == "..."):
            return Kind("tuple", tuple(self.kind(one) for one in inner))
        if name == "tuple":
            return listed(self.kind(inner[0]))
        if name == "Counter":
            return Kind("dict", (self.kind(inner[0]), INT))
        if name in _OTHERS:
            return Kind(_OTHERS[name])
        if name in _HOLDS:
            return Kind(_HOLDS[name], tuple(self.kind(one) for one in inner))
        return ANY


def _literal(node: ast.expr) -> Kind:
    value = ast.literal_eval(node) if isinstance(node, ast.Constant) else None
    return NONE if value is None else _PLAIN[type(value).__name__]


class Sources:
    """The modules under one folder, each read when it is asked for."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._modules: dict[str, Module | None] = {}
        self._classes: dict[str, Class] = {}

    def module(self, name: str) -> Module | None:
        """Return a module by its dotted name; None where the folder has none."""
        if name not in self._modules:
            path = self.root.joinpath(*name.split(".")).with_suffix(".py")
            self._modules[name] = Module(self, name, path) if path.is_file() else None
        return self._modules[name]

    def symbol(self, full: str) -> Symbol:
        """Return a definition by its dotted name."""
        name, _, last = full.rpartition(".")
        module = self.module(name)
        found = module.find(last) if module is not None else None
        if not isinstance(found, Symbol) or found.module is None:
            raise KeyError(f"{full} is not defined under {self.root.name}.")
        return found

    def class_of(self, kind: Kind) -> Class | None:
        """Return the class that an object, or the class itself, is of."""
        return self.classed(self.symbol(kind.of)) if kind.of else None

    def classed(self, symbol: Symbol) -> Class:
        """Return what is known of a class."""
        found = self._classes.get(symbol.full)
        if found is None:
            assert isinstance(symbol.node, ast.ClassDef)
            assert symbol.module is not None
            found = self._classes[symbol.full] = Class(symbol, symbol.node)
            self._fill(found, symbol.module)
        return found

    def _fill(self, made: Class, module: Module) -> None:
        for base in made.node.bases:
            found = module.lookup(base.value if isinstance(base, ast.Subscript) else base)
            if isinstance(found, Symbol) and isinstance(found.node, ast.ClassDef):
                made.bases.append(self.classed(found))
            else:
                made.outside.append(found.name if found is not None else ast.unparse(base))
        given = decorators(made.node)
        data = "dataclass" in given or made.named or "Protocol" in made.outside
        made.ordered = "order=True" in ast.unparse(given.get("dataclass", ast.Constant(0)))
        for node in made.node.body:
            match node:
                case ast.FunctionDef():
                    if "overload" not in decorators(node):
                        made.methods[node.name] = node
                case ast.AnnAssign() if data and "ClassVar" not in ast.unparse(node.annotation):
                    made.fields.append(_field(node))
                case ast.Assign() | ast.AnnAssign():
                    made.constants.append(node)


def _field(node: ast.AnnAssign) -> Field:
    assert isinstance(node.target, ast.Name)
    default, init, compare = node.value, True, True
    if isinstance(node.value, ast.Call) and ast.unparse(node.value.func).endswith("field"):
        given = {k.arg: k.value for k in node.value.keywords}
        default = given.get("default")
        if "default_factory" in given:
            default = ast.copy_location(ast.Call(given["default_factory"], [], []), node)
            ast.fix_missing_locations(default)
        init = ast.unparse(given.get("init", ast.Constant(True))) == "True"
        compare = ast.unparse(given.get("compare", ast.Constant(True))) == "True"
    return Field(node.target.id, node.annotation, default, init, compare)


def statements(body: list[ast.stmt]) -> Iterator[ast.stmt]:
    """Return the statements of a body that do something: no docstring, no pass."""
    for node in body:
        docstring = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        if not docstring and not isinstance(node, ast.Pass):
            yield node
