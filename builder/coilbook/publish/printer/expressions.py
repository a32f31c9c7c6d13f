"""Expressions of core as a script writes them."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Callable, Sequence
from typing import NamedTuple, Protocol

from coilbook.publish.printer.kinds import (
    ANY,
    BOOL,
    FLOAT,
    INT,
    NAT,
    NONE,
    NUMBERS,
    PLAINLY_TRUE,
    SCALARS,
    STR,
    Kind,
    either,
    listed,
    words,
)
from coilbook.publish.printer.sources import Class, Module, Problem, Sources, Symbol

#: How tightly a script binds: what binds less stands in brackets.
ATOM, UNARY, POWER, TIMES, PLUS, BELOW, EQUAL, AND, OR, CHOICE = 20, 14, 13, 12, 11, 9, 8, 4, 3, 2
_OPERATORS: dict[type[ast.operator], tuple[str, int, str]] = {
    ast.Add: ("+", PLUS, "add"),
    ast.Sub: ("-", PLUS, "sub"),
    ast.Mult: ("*", TIMES, "mul"),
    ast.Div: ("/", TIMES, "div"),
    ast.Pow: ("**", POWER, "pow"),
}
_COMPARISONS: dict[type[ast.cmpop], str] = {
    ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=",
}  # fmt: skip
_SETS: dict[type[ast.operator], str] = {
    ast.BitOr: "union",
    ast.BitAnd: "intersection",
    ast.Sub: "difference",
    ast.BitXor: "symmetric_difference",
}
_SIMPLE = re.compile(r"-?[\w$.]+\Z")
RESERVED = frozenset(
    words(
        "arguments await break case catch class const constructor continue debugger "
        "default delete do else enum eval export extends false finally for function if "
        "implements import in instanceof interface let new null package private protected "
        "public return static super switch this throw true try typeof undefined var void "
        "while with yield Array Infinity Math NaN Number Object String Symbol window"
    )
)


class Js(NamedTuple):
    """A piece of script: its text, the kind of its value, and how tightly its text binds."""

    text: str
    kind: Kind = ANY
    binds: int = ATOM
    display: bool = False

    def within(self, binds: int) -> str:
        """Return the text to stand where what binds less needs brackets."""
        return self.text if self.binds >= binds else f"({self.text})"

    @property
    def simple(self) -> bool:
        """Say whether it may be written twice: a name, or one with points."""
        return bool(_SIMPLE.match(self.text))


class Scope:
    """The names of a function, a lambda or a comprehension."""

    def __init__(self, parent: Scope | None = None) -> None:
        self.parent = parent
        self.kinds: dict[str, Kind] = {}
        self.names: dict[str, str] = {}

    def holder(self, name: str) -> Scope | None:
        """Return the scope that binds a name."""
        if name in self.names:
            return self
        return self.parent.holder(name) if self.parent is not None else None


class Script(Protocol):
    """The whole that is printed, as its parts see it."""

    sources: Sources

    def name_of(self, symbol: Symbol) -> str:
        """Return the name that a definition has in the script, and have it printed."""

    def kind_of(self, symbol: Symbol) -> Kind:
        """Return the kind of a constant."""

    def runtime(self, name: str) -> str:
        """Return the name of a part of the runtime, and have it printed."""


class Expressions:
    """Writes expressions; statements and calls build on it."""

    def __init__(self, script: Script, module: Module, renamed: frozenset[str]) -> None:
        self.script, self.module, self.renamed = script, module, renamed
        self.scope = Scope()
        self.owner: Class | None = None
        self.used: set[str] = set()
        self.locals: set[str] = set()

    # --- what others are asked for ---

    def rt(self, name: str) -> str:
        """Return the name of a part of the runtime."""
        return self.script.runtime(name)

    def bind(self, name: str, kind: Kind, scope: Scope | None = None) -> str:
        """Give a local name its name in the script, and join its kind to what is known of it."""
        scope = scope or self.scope
        known = scope.kinds.get(name)
        scope.kinds[name] = kind if known is None else either(known, kind)
        self.locals.add(name)
        clash = name in RESERVED or name in self.renamed
        return scope.names.setdefault(name, f"{name}$" if clash else name)

    def expr(self, node: ast.expr) -> Js:
        """Return an expression's text and kind."""
        write: Callable[[ast.expr], Js] | None = getattr(self, f"_{type(node).__name__}", None)
        if write is None:
            raise Problem(node, f"{ast.unparse(node)[:40]!r} is not printed. Say it otherwise.")
        return write(node)

    def text(self, node: ast.expr, binds: int = CHOICE) -> str:
        """Return an expression's text."""
        return self.expr(node).within(binds)

    def test(self, node: ast.expr) -> Js:
        """Return a condition: true for a script where it is true for Python."""
        if isinstance(node, ast.BoolOp):
            sign, binds = ("&&", AND) if isinstance(node.op, ast.And) else ("||", OR)
            parts = [self.test(value).within(binds + 1) for value in node.values]
            return Js(f" {sign} ".join(parts), BOOL, binds)
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            return Js(f"!{self.test(node.operand).within(UNARY)}", BOOL, UNARY)
        return self.truth(self.expr(node))

    def truth(self, js: Js) -> Js:
        """Return what a script takes for true where Python takes the value for true."""
        if js.kind.only(*PLAINLY_TRUE) and not self._measured(js.kind):
            return js
        if js.kind.only("float"):
            return Js(f"{js.within(EQUAL + 1)} !== 0", BOOL, EQUAL)
        if js.kind.only("list", "tuple"):
            return Js(f"{js.within(ATOM)}.length > 0", BOOL, BELOW)
        if js.kind.only("dict", "set"):
            return Js(f"{js.within(ATOM)}.size > 0", BOOL, BELOW)
        return Js(f"{self.rt('truth')}({js.text})", BOOL)

    def _measured(self, kind: Kind) -> bool:
        """Say whether it may be an object that says itself whether it is true."""
        kinds = kind.args if kind.name == "either" else (kind,)
        classes = [self.script.sources.class_of(k) for k in kinds if k.name == "object"]
        return any(c and (c.method("__len__") or c.method("__bool__")) for c in classes)

    # --- names and constants ---

    def _Constant(self, node: ast.Constant) -> Js:
        match node.value:
            case None:
                return Js("null", NONE)
            case bool(value):
                return Js("true" if value else "false", BOOL)
            case str(value):
                return Js(quoted(value), STR)
            case int(value) if abs(value) < 2**53:
                return Js(str(value), NAT)
            case float(value):
                text = repr(value)
                return Js("Infinity" if text == "inf" else text.removesuffix(".0"), FLOAT)
        raise Problem(node, f"{node.value!r} is not printed. Write a number below 2**53 or a text.")

    def _Name(self, node: ast.Name) -> Js:
        holder = self.scope.holder(node.id)
        if holder is not None:
            return Js(holder.names[node.id], holder.kinds.get(node.id, ANY))
        found = self.module.find(node.id)
        if isinstance(found, Symbol):
            return self._global(node, found)
        if node.id in ("ValueError", "KeyError", "Exception", "OverflowError", "AssertionError",
                       "ZeroDivisionError", "IndexError", "LookupError", "ArithmeticError",
                       "TypeError"):  # fmt: skip
            return Js(self.rt(node.id), Kind("class"))
        raise Problem(node, f"{node.id} is not defined in core, nor printed. Say it otherwise.")

    def _global(self, node: ast.AST, symbol: Symbol) -> Js:
        if symbol.module is None:
            known = CONSTANTS.get(symbol.outside)
            if known is None:
                raise Problem(node, f"{symbol.outside} is not printed. Say it otherwise.")
            return known
        name = self.script.name_of(symbol)
        self.used.add(name)
        if isinstance(symbol.node, ast.ClassDef):
            return Js(name, Kind("class", of=symbol.full))
        if isinstance(symbol.node, ast.FunctionDef):
            return Js(name, Kind("call", (symbol.module.kind(symbol.node.returns),)))
        return Js(name, self.script.kind_of(symbol))

    def _Attribute(self, node: ast.Attribute) -> Js:
        if not self._is_local(node.value):
            found = self.module.lookup(node)
            if isinstance(found, Symbol):
                return self._global(node, found)
        owner = self.expr(node.value)
        made = self.script.sources.class_of(owner.kind.bare)
        if made is not None and made.method(node.attr) and not made.kind_of(node.attr):
            raise Problem(node, f"the method {node.attr} is not called. Write a lambda.")
        kind = made.kind_of(node.attr) if made is not None else None
        if owner.kind.bare.name == "date" and node.attr in ("year", "month", "day"):
            kind = INT
        return Js(f"{owner.within(ATOM)}.{node.attr}", kind or ANY)

    def _is_local(self, node: ast.expr) -> bool:
        while isinstance(node, ast.Attribute | ast.Subscript | ast.Call):
            node = node.func if isinstance(node, ast.Call) else node.value
        return isinstance(node, ast.Name) and self.scope.holder(node.id) is not None

    # --- texts ---

    def _JoinedStr(self, node: ast.JoinedStr) -> Js:
        parts = []
        for one in node.values:
            if isinstance(one, ast.Constant):
                text = quoted(str(one.value))[1:-1].replace('\\"', '"')
                parts.append(text.replace("`", "\\`").replace("${", "\\${"))
            else:
                assert isinstance(one, ast.FormattedValue)
                parts.append(f"${{{self._formatted(one)}}}")
        return Js(f"`{''.join(parts)}`", STR)

    def _formatted(self, node: ast.FormattedValue) -> str:
        value = self.expr(node.value)
        if node.conversion == ord("r"):
            value = self.written(node.value, value, "repr")
        if node.format_spec is None:
            return self.written(node.value, value).text
        assert isinstance(node.format_spec, ast.JoinedStr)
        spec = self.expr(node.format_spec)
        plain = all(isinstance(one, ast.Constant) for one in node.format_spec.values)
        written = (
            quoted("".join(str(ast.literal_eval(one)) for one in node.format_spec.values))
            if plain
            else spec.text
        )
        if not value.kind.bare.only(*NUMBERS, "str", "bool"):
            what = ast.unparse(node.value)
            raise Problem(node, f"what {what} is cannot be told. Annotate it as float, int or str.")
        return f"{self.rt('format')}({value.text}, {written})"

    def written(self, node: ast.expr, js: Js, how: str = "str") -> Js:
        """Return a value as Python's str() or repr() writes it."""
        names = js.kind.names
        if names & {"any", "list", "tuple", "dict", "set", "iter", "call", "class"}:
            what = (
                f"what {ast.unparse(node)} is cannot be told, or written. Annotate it, or join it."
            )
            raise Problem(node, what)
        if js.kind.only("str") and how == "str":
            return js
        if js.kind.only("int", "nat"):
            return Js(f"String({js.text})", STR)
        part = "fl" if "float" in names else how
        return Js(f"{self.rt(part)}({js.text})", STR)

    # --- operators ---

    def _UnaryOp(self, node: ast.UnaryOp) -> Js:
        if isinstance(node.op, ast.Not):
            return self.test(node)
        value = self.expr(node.operand)
        if isinstance(node.op, ast.USub):
            if value.kind.bare.name == "fraction":
                return Js(f"{value.within(ATOM)}.neg()", value.kind)
            kind = INT if value.kind.only("nat", "bool") else value.kind
            gap = " " if value.text.startswith("-") else ""
            return Js(f"-{gap}{value.within(UNARY)}", kind, UNARY)
        if isinstance(node.op, ast.UAdd):
            return value
        raise Problem(node, "~ is not printed. Say it otherwise.")

    def _BinOp(self, node: ast.BinOp) -> Js:
        return self.operate(node, node.op, self.expr(node.left), self.expr(node.right))

    def operate(self, node: ast.AST, op: ast.operator, left: Js, right: Js) -> Js:
        """Return what an operator makes of two values."""
        a, b = left.kind.bare, right.kind.bare
        if isinstance(op, ast.FloorDiv | ast.Mod):
            return self._divide(node, op, left, right)
        if type(op) in _SETS and (a.name == "set" or b.name == "set"):
            return Js(f"{left.within(ATOM)}.{_SETS[type(op)]}({right.text})", a)
        if isinstance(op, ast.BitOr) and a.name == "dict":
            return Js(f"{left.within(ATOM)}.or({right.text})", a)
        if isinstance(op, ast.BitAnd | ast.BitOr) and a.only("bool") and b.only("bool"):
            sign, binds = ("&&", AND) if isinstance(op, ast.BitAnd) else ("||", OR)
            return Js(f"{left.within(binds + 1)} {sign} {right.within(binds + 1)}", BOOL, binds)
        if type(op) not in _OPERATORS:
            raise Problem(node, f"{type(op).__name__} is not printed here. Say it otherwise.")
        sign, binds, name = _OPERATORS[type(op)]
        if "fraction" in (a.name, b.name):
            return self._exact(name, left, right)
        if isinstance(op, ast.Add):
            return self._add(left, right)
        if isinstance(op, ast.Mult) and (a.name in ("str", "list", "tuple") or b.name == "str"):
            if b.name == "str":
                left, right = right, left
            kind = left.kind if left.kind.name == "str" else listed(left.kind.each)
            return Js(f"{self.rt('times')}({left.text}, {right.text})", kind)
        if isinstance(op, ast.Pow):
            return self._power(left, right)
        kind = self._number(op, a, b)
        return Js(f"{left.within(binds)} {sign} {right.within(binds + 1)}", kind, binds)

    @staticmethod
    def _number(op: ast.operator, a: Kind, b: Kind) -> Kind:
        if isinstance(op, ast.Div) or "float" in a.names | b.names:
            return FLOAT
        if a.only("nat", "bool") and b.only("nat", "bool") and not isinstance(op, ast.Sub):
            return NAT
        whole = ("int", "nat", "bool")
        return INT if a.only(*whole) and b.only(*whole) else ANY

    def _divide(self, node: ast.AST, op: ast.operator, left: Js, right: Js) -> Js:
        a, b = left.kind.bare, right.kind.bare
        if not a.only(*NUMBERS, "any"):
            raise Problem(node, "% on a text is not printed. Write an f-string.")
        nat = a.only("nat") and b.only("nat")
        kind = FLOAT if "float" in a.names | b.names else NAT if nat else self._number(op, a, b)
        if a.only("int", "nat") and b.only("nat") and right.text.isdigit():
            if isinstance(op, ast.FloorDiv):
                return Js(f"Math.floor({left.within(TIMES)} / {right.text})", kind)
            if nat:
                return Js(f"{left.within(TIMES)} % {right.text}", kind, TIMES)
        name = self.rt("floordiv" if isinstance(op, ast.FloorDiv) else "mod")
        return Js(f"{name}({left.text}, {right.text})", kind)

    def _exact(self, name: str, left: Js, right: Js) -> Js:
        def whole(js: Js) -> str:
            return (
                js.within(ATOM) if js.kind.name == "fraction" else f"{self.rt('frac')}({js.text})"
            )

        other = right.text if name == "pow" else whole(right)
        return Js(f"{whole(left)}.{name}({other})", Kind("fraction"))

    def _add(self, left: Js, right: Js) -> Js:
        a, b = left.kind.bare, right.kind.bare
        if a.name in ("list", "tuple") and b.name in ("list", "tuple", "iter"):
            inner = [
                js.text[1:-1] if js.display else f"...{js.within(CHOICE)}" for js in (left, right)
            ]
            kind = (
                Kind("tuple", a.args + b.args)
                if a.name == b.name == "tuple"
                else listed(either(a.each, b.each))
            )
            text = ", ".join(part for part in inner if part)
            return Js(f"[{text}]", kind, display=True)
        if a.only("str") or b.only("str"):
            return Js(f"{left.within(PLUS)} + {right.within(PLUS + 1)}", STR, PLUS)
        made = self.script.sources.class_of(a)
        if made is not None and (found := made.method("__add__")):
            kind = found[0].module.kind(found[1].returns)
            return Js(f"{left.within(ATOM)}.__add__({right.text})", kind)
        kind = self._number(ast.Add(), a, b)
        if kind == ANY or not a.only(*NUMBERS, "bool") or not b.only(*NUMBERS, "bool"):
            return Js(f"{self.rt('add')}({left.text}, {right.text})", ANY)
        return Js(f"{left.within(PLUS)} + {right.within(PLUS + 1)}", kind, PLUS)

    def _power(self, left: Js, right: Js) -> Js:
        if right.text == "2" and left.simple:
            kind = left.kind if left.kind.only(*NUMBERS) else FLOAT
            return Js(f"{left.text} * {left.text}", kind, TIMES)
        if right.text == "0.5":
            return Js(f"Math.sqrt({left.text})", FLOAT)
        nat = left.kind.only("int", "nat") and right.kind.only("nat")
        text = f"{left.within(POWER + 2)} ** {right.within(POWER)}"
        return Js(text, left.kind if nat else FLOAT, POWER)

    def _BoolOp(self, node: ast.BoolOp) -> Js:
        also = isinstance(node.op, ast.And)
        made = self.expr(node.values[0])
        for value in node.values[1:]:
            made = self._joined(also, made, self.expr(value))
        return made

    def _joined(self, also: bool, left: Js, right: Js) -> Js:
        kind = either(left.kind if also else left.kind.bare, right.kind)
        test = self.truth(left)
        if test.text == left.text:
            sign, binds = ("&&", AND) if also else ("||", OR)
            return Js(f"{left.within(binds)} {sign} {right.within(binds + 1)}", kind, binds)
        if left.simple:
            first, other = (right, left) if also else (left, right)
            text = f"{test.within(CHOICE + 1)} ? {first.within(CHOICE)} : {other.within(CHOICE)}"
            return Js(text, kind, CHOICE)
        later = right.within(ATOM) if right.text.startswith("{") else right.text
        return Js(f"{self.rt('and' if also else 'or')}({left.text}, () => {later})", kind)

    def _IfExp(self, node: ast.IfExp) -> Js:
        test, one, other = self.test(node.test), self.expr(node.body), self.expr(node.orelse)
        text = f"{test.within(CHOICE + 1)} ? {one.within(CHOICE)} : {other.within(CHOICE)}"
        return Js(text, either(one.kind, other.kind), CHOICE)

    def _NamedExpr(self, node: ast.NamedExpr) -> Js:
        value = self.expr(node.value)
        holder = self.scope.holder(node.target.id) or self.scope
        name = self.bind(node.target.id, value.kind, holder)
        return Js(f"({name} = {value.text})", value.kind)

    def _Compare(self, node: ast.Compare) -> Js:
        left, parts, named = self.expr(node.left), [], []
        for op, right in zip(node.ops, node.comparators, strict=True):
            other = self.expr(right)
            if right is not node.comparators[-1] and not other.simple:
                # Asked for once, as Python does.
                named.append(other.within(CHOICE))
                other = Js(f"between{len(named)}$", other.kind)
            parts.append(self.compare(node, op, left, other))
            left = other
        if len(parts) == 1:
            return parts[0]
        text = " && ".join(part.within(AND + 1) for part in parts)
        if not named:
            return Js(text, BOOL, AND)
        names = ", ".join(f"between{at + 1}$" for at in range(len(named)))
        return Js(f"(({names}) => {text})({', '.join(named)})", BOOL)

    def compare(self, node: ast.AST, op: ast.cmpop, left: Js, right: Js) -> Js:
        """Return one comparison."""
        no = isinstance(op, ast.NotEq | ast.IsNot | ast.NotIn)
        if isinstance(op, ast.In | ast.NotIn):
            found = self._contains(left, right)
            return Js(f"!{found.within(UNARY)}", BOOL, UNARY) if no else found
        if isinstance(op, ast.Is | ast.IsNot | ast.Eq | ast.NotEq):
            return self._equal(op, left, right, no)
        sign = _COMPARISONS[type(op)]
        a, b = left.kind.bare, right.kind.bare
        if a.name == "set" and b.name == "set":
            raise Problem(node, "order of sets is not printed. Write issubset.")
        numbers = (*NUMBERS, "bool")
        if (a.only(*numbers) and b.only(*numbers)) or (
            (a.only(*numbers) or b.only(*numbers)) and "fraction" not in a.names | b.names
        ):
            return Js(f"{left.within(BELOW)} {sign} {right.within(BELOW + 1)}", BOOL, BELOW)
        return Js(f"{self.rt('cmp')}({left.text}, {right.text}) {sign} 0", BOOL, BELOW)

    def _equal(self, op: ast.cmpop, left: Js, right: Js, no: bool) -> Js:
        same = isinstance(op, ast.Is | ast.IsNot)
        if "null" in (left.text, right.text):
            sign = "!=" if no else "=="
            return Js(f"{left.within(EQUAL)} {sign} {right.within(EQUAL + 1)}", BOOL, EQUAL)
        names = left.kind.names | right.kind.names
        scalar = left.kind.bare.only(*SCALARS) or right.kind.bare.only(*SCALARS)
        mixed = "fraction" in names or ("bool" in names and names & {*NUMBERS, "any"})
        if same or (scalar and not mixed and not (left.kind.names & right.kind.names & {"none"})):
            sign = "!==" if no else "==="
            return Js(f"{left.within(EQUAL)} {sign} {right.within(EQUAL + 1)}", BOOL, EQUAL)
        text = f"{self.rt('eq')}({left.text}, {right.text})"
        return Js(f"!{text}", BOOL, UNARY) if no else Js(text, BOOL)

    def _contains(self, left: Js, right: Js) -> Js:
        kind = right.kind.bare
        if kind.name in ("dict", "set"):
            return Js(f"{right.within(ATOM)}.has({left.text})", BOOL)
        plain = left.kind.bare.only("str") or (
            left.kind.only(*SCALARS) and "bool" not in left.kind.names and kind.each.only(*SCALARS)
        )
        if kind.name == "str" or (kind.name in ("list", "tuple") and plain):
            return Js(f"{right.within(ATOM)}.includes({left.text})", BOOL)
        return Js(f"{self.rt('contains')}({left.text}, {right.text})", BOOL)

    # --- places ---

    def _Subscript(self, node: ast.Subscript) -> Js:
        owner = self.expr(node.value)
        kind = owner.kind.bare
        if isinstance(node.slice, ast.Slice):
            return self._slice(owner, node.slice)
        place = self.expr(node.slice)
        fixed = self._fixed(node.slice)
        made = self.script.sources.class_of(kind)
        if kind.name == "dict":
            each = kind.args[1] if len(kind.args) > 1 else ANY
            return Js(f"{owner.within(ATOM)}.at({place.text})", each)
        if kind.name == "match":
            return Js(f"{owner.within(ATOM)}.group({place.text})", either(STR, NONE))
        if made is not None and made.named and fixed is not None:
            chosen, found = made.made_of[fixed]
            return Js(f"{owner.within(ATOM)}.{found.name}", chosen.module.kind(found.annotation))
        if made is not None and (method := made.method("__getitem__")):
            text = f"{owner.within(ATOM)}.__getitem__({place.text})"
            return Js(text, method[0].module.kind(method[1].returns))
        each = kind.each
        if kind.name == "tuple" and fixed is not None and -len(kind.args) <= fixed < len(kind.args):
            each = kind.args[fixed]
        if kind.name in ("list", "tuple"):
            if fixed is not None and fixed < 0:
                return Js(f"{owner.within(ATOM)}.at({fixed})", each)
            if place.kind.only("nat"):
                return Js(f"{owner.within(ATOM)}[{place.text}]", each)
        return Js(f"{self.rt('at')}({owner.text}, {place.text})", each)

    @staticmethod
    def _fixed(node: ast.expr) -> int | None:
        try:
            value = ast.literal_eval(node)
        except ValueError:
            return None
        return value if type(value) is int else None

    def _slice(self, owner: Js, place: ast.Slice) -> Js:
        kind = owner.kind.bare
        made = kind if kind.name == "str" else listed(kind.each)
        ends = [self.text(one) if one is not None else None for one in (place.lower, place.upper)]
        if kind.name in ("list", "tuple") and place.step is None:
            inside = [ends[0] or "0"] if ends[1] is None else [ends[0] or "0", ends[1]]
            none = [one for one in (place.lower, place.upper) if one is not None]
            if all("none" not in self.expr(one).kind.names for one in none):
                shown = "" if inside == ["0"] else ", ".join(inside)
                return Js(f"{owner.within(ATOM)}.slice({shown})", made)
        inside = [owner.text, ends[0] or "null", ends[1] or "null"]
        if place.step is not None:
            inside.append(self.text(place.step))
        while inside[-1] == "null":
            inside.pop()
        return Js(f"{self.rt('slice')}({', '.join(inside)})", made)

    # --- displays ---

    def items(self, nodes: Sequence[ast.expr]) -> tuple[str, list[Kind], bool]:
        """Return what stands in a list, with the kinds, and whether something is spread."""
        texts, kinds, spread = [], [], False
        for node in nodes:
            if isinstance(node, ast.Starred):
                js, spread = self.expr(node.value), True
                texts.append(f"...{js.within(CHOICE)}")
                kinds.append(js.kind.bare.each)
            else:
                js = self.expr(node)
                texts.append(js.within(CHOICE))
                kinds.append(js.kind)
        return ", ".join(texts), kinds, spread

    def _Tuple(self, node: ast.Tuple) -> Js:
        text, kinds, spread = self.items(node.elts)
        kind = listed(either(*kinds)) if spread else Kind("tuple", tuple(kinds))
        return Js(f"[{text}]", kind, display=True)

    def _List(self, node: ast.List) -> Js:
        text, kinds, _ = self.items(node.elts)
        kind = listed(either(*kinds)) if kinds else Kind("list")
        return Js(f"[{text}]", kind, display=True)

    def _Set(self, node: ast.Set) -> Js:
        text, kinds, _ = self.items(node.elts)
        return Js(f"new {self.rt('PySet')}([{text}])", Kind("set", (either(*kinds),)))

    def _Dict(self, node: ast.Dict) -> Js:
        parts, keys, values = [], [], []
        for key, value in zip(node.keys, node.values, strict=True):
            found = self.expr(value)
            if key is None:
                parts.append(f"...{found.within(ATOM)}.items()")
                if len(found.kind.bare.args) > 1:
                    keys.append(found.kind.bare.args[0])
                    values.append(found.kind.bare.args[1])
            else:
                mark = self.expr(key)
                keys.append(mark.kind)
                values.append(found.kind)
                parts.append(f"[{mark.within(CHOICE)}, {found.within(CHOICE)}]")
        kind = Kind("dict", (either(*keys), either(*values))) if keys else Kind("dict")
        inside = f"[{', '.join(parts)}]" if parts else ""
        return Js(f"new {self.rt('Dict')}({inside})", kind)

    def _Starred(self, node: ast.Starred) -> Js:
        value = self.expr(node.value)
        return Js(f"...{value.within(CHOICE)}", value.kind, CHOICE)


def quoted(text: str) -> str:
    """Return a text as a script writes it, with what cannot be seen written out."""
    inside = json.dumps(text, ensure_ascii=False)[1:-1]
    shown = [c if c.isprintable() else json.dumps(c)[1:-1] for c in inside]
    return f'"{"".join(shown)}"'


#: What the libraries' constants are in a script.
CONSTANTS = {
    "math.pi": Js("Math.PI", FLOAT),
    "math.e": Js("Math.E", FLOAT),
    "math.inf": Js("Infinity", FLOAT),
    "math.nan": Js("NaN", FLOAT),
    "math.tau": Js("(2 * Math.PI)", FLOAT),
}
