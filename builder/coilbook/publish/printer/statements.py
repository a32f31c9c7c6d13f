"""Statements, functions and classes of core as a script writes them."""

from __future__ import annotations

import ast
from collections.abc import Callable

from coilbook.publish.printer.calls import Calls
from coilbook.publish.printer.expressions import ATOM, CHOICE, Js, Scope
from coilbook.publish.printer.kinds import ANY, NAT, NUMBERS, STR, Kind, listed
from coilbook.publish.printer.scopes import Places, argument_names, nonlocals
from coilbook.publish.printer.sources import (
    Class,
    Field,
    Problem,
    all_arguments,
    decorators,
    statements,
)

Lines = list[str]
_INDENT = "  "
_DECORATORS = frozenset(
    {
        "dataclass",
        "property",
        "classmethod",
        "staticmethod",
        "cache",
        "lru_cache",
        "runtime_checkable",
    }
)
#: ``cache`` never forgets; a page's must not grow without end.
_CACHED = "4096"
_METHODS = frozenset(
    {"__init__", "__post_init__", "__len__", "__iter__", "__getitem__", "__contains__", "__add__",
     "__bool__", "__str__"}
)  # fmt: skip


def indented(lines: Lines) -> Lines:
    """Return lines one step further in."""
    return [_INDENT + line for line in lines]


#: What no page asks of an object: it compares, hashes and shows none.
_UNASKED = frozenset(("__eq__", "__hash__", "__repr__"))


class Statements(Calls):
    """Writes statements, and whole functions and classes."""

    places: Places
    _breaks: list[str | None]

    # --- functions ---

    def function_lines(self, node: ast.FunctionDef, head: str, owner: Class | None = None) -> Lines:
        """Return a function: its head, what it declares, its body."""
        self._allowed(node)
        skipped = owner is not None and "staticmethod" not in decorators(node)
        outer = self.scope
        lines: Lines = []
        # Twice: only then is it known what a name is given further down.
        scope = Scope(outer)
        for _ in range(2):
            known, self.scope = scope.kinds, Scope(outer)
            self.scope.kinds.update(known)
            scope = self.scope
            params = self._parameters(node, owner if skipped else None)
            kept = getattr(self, "places", None), getattr(self, "_breaks", [])
            self.places, self._breaks = Places(node.body, argument_names(node.args)), []
            # What a nested function assigns of the one around it is declared there.
            self.places.top = [n for n in self.places.top if n not in nonlocals(node)]
            lines = self._body_lines(node, params)
            self.places, self._breaks = kept  # type: ignore[assignment]
        self.scope = outer
        return [f"{head}({', '.join(params)}) {{", *indented(lines), "}"]

    def _allowed(self, node: ast.FunctionDef) -> None:
        for name, one in decorators(node).items():
            if name not in _DECORATORS:
                raise Problem(one, f"the decorator {name} is not printed. Do without it.")
        if node.args.vararg is not None and node.args.kwarg is not None:
            raise Problem(node, "* and ** in one function are not printed. Keep one of them.")
        for default in (*node.args.defaults, *node.args.kw_defaults):
            if isinstance(default, ast.List | ast.Dict | ast.Set | ast.ListComp | ast.DictComp):
                raise Problem(default, "a default that can be changed is not printed. Take None.")

    def _parameters(self, node: ast.FunctionDef, owner: Class | None) -> Lines:
        params = []
        plain = [*node.args.posonlyargs, *node.args.args]
        defaults: dict[str, ast.expr] = dict(
            zip(
                [a.arg for a in plain][len(plain) - len(node.args.defaults) :],
                node.args.defaults,
                strict=True,
            )
        )
        for arg, default in zip(node.args.kwonlyargs, node.args.kw_defaults, strict=True):
            if default is not None:
                defaults[arg.arg] = default
        for at, arg in enumerate(all_arguments(node)):
            kind = self.module.kind(arg.annotation)
            if at == 0 and owner is not None:
                of = "class" if "classmethod" in decorators(node) else "object"
                self.scope.kinds[arg.arg] = Kind(of, of=owner.symbol.full)
                self.scope.names[arg.arg] = "this"
                continue
            name = self.bind(arg.arg, kind)
            shown = f" = {self.text(defaults[arg.arg])}" if arg.arg in defaults else ""
            params.append(name + shown)
        for rest in (node.args.vararg, node.args.kwarg):
            if rest is not None:
                kind = self.module.kind(rest.annotation)
                made = listed(kind) if rest is node.args.vararg else Kind("dict", (STR, kind))
                params.append(f"...{self.bind(rest.arg, made)}")
        return params

    def _body_lines(self, node: ast.FunctionDef, params: Lines) -> Lines:
        lines = []
        for name in self.places.top:
            self.bind(name, self.scope.kinds.get(name, Kind("either")))
        if self.places.top:
            lines.append(f"let {', '.join(self.scope.names[n] for n in self.places.top)};")
        rest = node.args.kwarg
        if rest is not None and not _only_items(node, rest.arg):
            name = self.scope.names[rest.arg]
            params[-1] = f"...{name}$"
            made = f"{name}$.flatMap((one, i) => i % 2 ? [] : [[one, {name}$[i + 1]]])"
            lines.append(f"const {name} = new {self.rt('Dict')}({made});")
        return lines + self.block(node.body)

    def block(self, body: list[ast.stmt]) -> Lines:
        """Return the lines of a body."""
        lines: Lines = []
        for node in statements(body):
            write: Callable[[ast.stmt], Lines] | None = getattr(
                self, f"do_{type(node).__name__}", None
            )
            if write is None:
                what = f"{type(node).__name__.lower()} is not printed. Say it otherwise."
                raise Problem(node, what)
            lines += write(node)
        return lines

    # --- simple statements ---

    def do_Return(self, node: ast.Return) -> Lines:
        """Write a return."""
        return [f"return {self.text(node.value)};" if node.value is not None else "return null;"]

    def do_Expr(self, node: ast.Expr) -> Lines:
        """Write an expression that stands alone."""
        if isinstance(node.value, ast.Yield):
            given = self.text(node.value.value) if node.value.value is not None else "null"
            return [f"yield {given};"]
        if isinstance(node.value, ast.YieldFrom):
            return [f"yield* {self.text(node.value.value)};"]
        return [f"{self.text(node.value, 0)};"]

    def do_Assign(self, node: ast.Assign) -> Lines:
        """Write an assignment."""
        if len(node.targets) > 1:
            first, *others = node.targets
            if not isinstance(first, ast.Name):
                raise Problem(node, "of several targets the first must be a name.")
            copy = ast.Name(first.id, ast.Load(), lineno=node.lineno, col_offset=0)
            lines = self._store(node, first, self.expr(node.value))
            for other in others:
                lines += self._store(node, other, self.expr(copy))
            return lines
        target = node.targets[0]
        both = isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple)
        if both and (one_by_one := self._apart(node, target, node.value)):
            return one_by_one
        return self._store(node, target, self.expr(node.value))

    def _apart(self, node: ast.Assign, target: ast.expr, value: ast.expr) -> Lines | None:
        """Write ``a, b = x, y`` as two, where the second does not ask for the first."""
        assert isinstance(target, ast.Tuple)
        assert isinstance(value, ast.Tuple)
        names = [one.id for one in target.elts if isinstance(one, ast.Name)]
        asked = {n.id for n in ast.walk(value) if isinstance(n, ast.Name)}
        if len(names) != len(value.elts) or asked & set(names):
            return None
        if any(isinstance(one, ast.Starred) for one in value.elts):
            return None
        lines = []
        for one, given in zip(target.elts, value.elts, strict=True):
            lines += self._store(node, one, self.expr(given))
        return lines

    def _store(self, node: ast.stmt, target: ast.expr, value: Js) -> Lines:
        here = self.places.at.get(id(node), set())
        if isinstance(target, ast.Name):
            name = self.bind(target.id, value.kind, self.scope.holder(target.id))
            word = ""
            if target.id in here:
                word = "const " if target.id in self.places.once else "let "
            return [f"{word}{name} = {value.within(CHOICE)};"]
        if isinstance(target, ast.Attribute):
            return [f"{self.text(target, ATOM)} = {value.within(CHOICE)};"]
        if isinstance(target, ast.Subscript):
            return self._put(target, value)
        names = [n.id for n in ast.walk(target) if isinstance(n, ast.Name)]
        text = self.target(target, value.kind)
        new = [name for name in names if name in here]
        if not new:
            return [f"{text} = {value.within(CHOICE)};"]
        if len(new) < len(names):
            declared = ", ".join(self.scope.names[n] for n in new)
            return [f"let {declared};", f"{text} = {value.within(CHOICE)};"]
        word = "const" if set(new) <= self.places.once else "let"
        return [f"{word} {text} = {value.within(CHOICE)};"]

    def _put(self, target: ast.Subscript, value: Js) -> Lines:
        owner, place = self.expr(target.value), self.expr(target.slice)
        kind = owner.kind.bare
        if isinstance(target.slice, ast.Slice):
            raise Problem(target, "a slice that is assigned is not printed. Make a new list.")
        if kind.name == "dict":
            self._learn(target.value, place.kind, value.kind)
            return [f"{owner.within(ATOM)}.set({place.text}, {value.within(CHOICE)});"]
        if kind.name == "list" and place.kind.only("nat"):
            return [f"{owner.within(ATOM)}[{place.text}] = {value.within(CHOICE)};"]
        return [f"{self.rt('put')}({owner.text}, {place.text}, {value.within(CHOICE)});"]

    def _learn(self, owner: ast.expr, key: Kind, value: Kind) -> None:
        if not isinstance(owner, ast.Name):
            return
        holder = self.scope.holder(owner.id)
        if holder is not None and holder.kinds.get(owner.id) == Kind("dict"):
            holder.kinds[owner.id] = Kind("dict", (key, value))

    def do_AnnAssign(self, node: ast.AnnAssign) -> Lines:
        """Write an assignment with an annotation, which says of what kind the name is."""
        kind = self.module.kind(node.annotation)
        if isinstance(node.target, ast.Name):
            scope = self.scope.holder(node.target.id) or self.scope
            if node.value is not None:
                value = self.expr(node.value)
                scope.kinds.pop(node.target.id, None)
                kept = kind if kind != ANY else value.kind
                return self._store(node, node.target, value._replace(kind=kept))
            scope.kinds[node.target.id] = kind
            return []
        if node.value is None:
            return []
        return self._store(node, node.target, self.expr(node.value))

    def do_AugAssign(self, node: ast.AugAssign) -> Lines:
        """Write ``+=`` and its like."""
        read = ast.copy_location(ast.parse(ast.unparse(node.target), mode="eval").body, node)
        ast.fix_missing_locations(read)
        ast.increment_lineno(read, node.lineno - 1)
        left, right = self.expr(read), self.expr(node.value)
        kind = left.kind.bare
        if isinstance(node.op, ast.Add) and kind.name == "list":
            return [f"{self.rt('list_extend')}({left.text}, {right.text});"]
        if isinstance(node.op, ast.BitOr) and kind.name in ("dict", "set"):
            return [f"{left.within(ATOM)}.update({right.text});"]
        value = self.operate(node, node.op, left, right)
        signs: dict[type[ast.operator], str] = {
            ast.Add: "+",
            ast.Sub: "-",
            ast.Mult: "*",
            ast.Div: "/",
        }
        sign = signs.get(type(node.op))
        plain = not isinstance(node.target, ast.Subscript) and " = " not in left.text
        if sign and plain and value.text == f"{left.text} {sign} {right.text}":
            if isinstance(node.target, ast.Name):
                self.bind(node.target.id, value.kind, self.scope.holder(node.target.id))
            return [f"{left.text} {sign}= {right.text};"]
        parts = [n for n in ast.walk(read) if isinstance(n, ast.Call)]
        if parts:
            raise Problem(node, "what is changed in place holds a call. Give it a name first.")
        return self._store(node, node.target, value)

    def do_Delete(self, node: ast.Delete) -> Lines:
        """Write del of a place."""
        lines = []
        for target in node.targets:
            if not isinstance(target, ast.Subscript) or isinstance(target.slice, ast.Slice):
                raise Problem(node, "del of a name or a slice is not printed. Leave it out.")
            lines.append(
                f"{self.rt('remove')}({self.text(target.value)}, {self.text(target.slice)});"
            )
        return lines

    def do_Assert(self, node: ast.Assert) -> Lines:
        """Write an assertion."""
        more = f", {self.text(node.msg)}" if node.msg is not None else ', ""'
        return [f"{self.rt('assert')}({self.test(node.test).text}{more});"]

    def do_Raise(self, node: ast.Raise) -> Lines:
        """Write a raise; what it was raised from is not told of."""
        if node.exc is None:
            return ["throw caught$;"]
        made = self.expr(node.exc)
        new = f"new {made.text}()" if made.kind.name == "class" else made.text
        return [f"throw {new};"]

    def do_Nonlocal(self, node: ast.Nonlocal) -> Lines:
        """Write nothing: a script's inner function sees the names around it."""
        return []

    def do_FunctionDef(self, node: ast.FunctionDef) -> Lines:
        """Write a function within a function; it takes no name of its own for ``this``."""
        self.bind(node.name, Kind("call", (self.module.kind(node.returns),)))
        name = self.scope.names[node.name]
        word = "const" if node.name in self.places.at.get(id(node), set()) else ""
        if node.decorator_list:
            raise Problem(node, "a decorator within a function is not printed. Put it outside.")
        if is_generator(node):
            if any(isinstance(n, ast.Name) and n.id == "self" for n in ast.walk(node)):
                raise Problem(node, "a generator within a method asks for self. Make it a method.")
            lines = self.function_lines(node, "function* ")
            lines[0] = f"{word} {name} = {lines[0]}".strip()
        else:
            lines = self.function_lines(node, "")
            lines[0] = f"{word} {name} = {lines[0].removesuffix('{')}=> {{".strip()
        lines[-1] += ";"
        return lines

    # --- branches and loops ---

    def do_If(self, node: ast.If) -> Lines:
        """Write an if."""
        if ast.unparse(node.test) == "TYPE_CHECKING":
            return []
        lines = [f"if ({self.test(node.test).text}) {{", *indented(self.block(node.body))]
        if len(node.orelse) == 1 and isinstance(node.orelse[0], ast.If):
            inner = self.do_If(node.orelse[0])
            return [*lines, f"}} else {inner[0]}", *inner[1:]]
        if node.orelse:
            lines += ["} else {", *indented(self.block(node.orelse))]
        return [*lines, "}"]

    def do_While(self, node: ast.While) -> Lines:
        """Write a while."""
        return self._looped(node, f"while ({self.test(node.test).text}) {{", [])

    def do_For(self, node: ast.For) -> Lines:
        """Write a for; one over a range counts by itself."""
        own = self.places.at.get(id(node), set())
        if (
            isinstance(node.iter, ast.Call)
            and ast.unparse(node.iter.func) == "range"
            and isinstance(node.target, ast.Name)
        ):
            return self._counted(node, node.iter, node.target, own)
        pairs = self._pairs(node, own)
        if pairs is not None:
            return pairs
        values = self.expr(node.iter)
        names = {n.id for n in ast.walk(node.target) if isinstance(n, ast.Name)}
        target = self.target(node.target, values.kind.bare.each)
        if names <= own:
            word = "const " if names <= self.places.once else "let "
            return self._looped(node, f"for ({word}{target} of {values.text}) {{", [])
        if own:
            declared = [f"let {', '.join(self.scope.names[n] for n in sorted(own))};"]
            return [*declared, *self._looped(node, f"for ({target} of {values.text}) {{", [])]
        return self._looped(node, f"for ({target} of {values.text}) {{", [])

    def _pairs(self, node: ast.For, own: set[str]) -> Lines | None:
        """Write a loop over the names and values that a call brought, which lie in one list."""
        match node:
            case ast.For(
                target=ast.Tuple(elts=[ast.Name(id=name), ast.Name(id=value)]),
                iter=ast.Call(func=ast.Attribute(value=ast.Name(id=held), attr="items")),
            ) if held in self.scope.names and {name, value} <= own:
                rest = self.scope.kinds[held]
                if self._named_rest != held:
                    return None
                one, other = self.bind(name, STR), self.bind(value, rest.args[1])
                pairs = self.scope.names[held]
                head = f"for (let i$ = 0; i$ < {pairs}.length; i$ += 2) {{"
                return self._looped(
                    node, head, [f"const {one} = {pairs}[i$], {other} = {pairs}[i$ + 1];"]
                )
        return None

    def _counted(self, node: ast.For, call: ast.Call, target: ast.Name, own: set[str]) -> Lines:
        args = [self.expr(arg) for arg in call.args]
        start = args[0] if len(args) > 1 else Js("0", NAT)
        stop = args[0] if len(args) == 1 else args[1]
        step = args[2].text if len(args) > 2 else "1"
        if not step.lstrip("-").isdigit() or not all(a.kind.only(*NUMBERS, "any") for a in args):
            values = self.call_range(call)
            name = self.bind(target.id, values.kind.each, self.scope.holder(target.id))
            word = "let " if target.id in own else ""
            return self._looped(node, f"for ({word}{name} of {values.text}) {{", [])
        down = step.startswith("-")
        kind = NAT if start.kind.only("nat") and not down else Kind("int")
        if down and stop.kind.only("nat"):
            kind = NAT
        name = self.bind(target.id, kind, self.scope.holder(target.id))
        kept = target.id in own and target.id in self.places.once
        count = name if kept else f"{name}$i"
        inside = [] if kept else [f"{'let ' if target.id in own else ''}{name} = {count};"]
        end = stop.text if stop.text.isdigit() else f"{name}$n"
        more = "" if end == stop.text else f", {end} = {stop.text}"
        turn = (
            f"{count}++" if step == "1" else f"{count} {'-' if down else '+'}= {step.lstrip('-')}"
        )
        sign = ">" if down else "<"
        head = f"for (let {count} = {start.text}{more}; {count} {sign} {end}; {turn}) {{"
        return self._looped(node, head, inside)

    def _looped(self, node: ast.For | ast.While, head: str, first: Lines) -> Lines:
        """Write a loop; one with an else stands in a block that break leaves."""
        label = f"else${len(self._breaks)}" if node.orelse else None
        self._breaks.append(label)
        body = self.block(node.body)
        self._breaks.pop()
        lines = [head, *indented([*first, *body]), "}"]
        if label is None:
            return lines
        return [f"{label}: {{", *indented([*lines, *self.block(node.orelse)]), "}"]

    def do_Break(self, node: ast.Break) -> Lines:
        """Write a break."""
        return [f"break {self._breaks[-1]};" if self._breaks[-1] else "break;"]

    def do_Continue(self, node: ast.Continue) -> Lines:
        """Write a continue."""
        return ["continue;"]

    def do_Try(self, node: ast.Try) -> Lines:
        """Write a try: what no handler names goes on."""
        if node.orelse:
            raise Problem(node, "else behind try is not printed. Put it behind the whole.")
        lines = ["try {", *indented(self.block(node.body))]
        if node.handlers:
            lines.append("} catch (caught$) {")
            branches: Lines = []
            for handler in node.handlers:
                branches += self._handler(handler, first=handler is node.handlers[0])
            lines += indented([*branches, "} else {", "  throw caught$;", "}"])
        if node.finalbody:
            lines += ["} finally {", *indented(self.block(node.finalbody))]
        return [*lines, "}"]

    def _handler(self, node: ast.ExceptHandler, *, first: bool) -> Lines:
        if node.type is None or ast.unparse(node.type) in ("Exception", "BaseException"):
            raise Problem(node, "except without a name catches a script's own mistakes. Name it.")
        wanted = node.type.elts if isinstance(node.type, ast.Tuple) else [node.type]
        tests = [f"{self.rt('isa')}(caught$, {self.text(one)})" for one in wanted]
        head = f"{'' if first else '} else '}if ({' || '.join(tests)}) {{"
        inside = []
        if node.name is not None:
            found = self.expr(wanted[0])
            kind = Kind("object", of=found.kind.of) if found.kind.of else Kind("object")
            name = self.bind(node.name, kind, self.scope.holder(node.name))
            declared = any(node.name in names for names in self.places.at.values())
            inside = [f"{'const ' if declared else ''}{name} = caught$;"]
        return [head, *indented([*inside, *self.block(node.body)])]

    # --- definitions of a module ---

    def definition(self, node: ast.FunctionDef, name: str) -> Lines:
        """Return a module's function."""
        self._named_rest = (
            node.args.kwarg.arg
            if node.args.kwarg and _only_items(node, node.args.kwarg.arg)
            else None
        )
        star = "*" if is_generator(node) else ""
        lines = self.function_lines(node, f"function{star} {name}")
        given = decorators(node)
        for cached in ("cache", "lru_cache"):
            if cached in given:
                if star:
                    raise Problem(node, "a generator that is cached gives all only once.")
                how = given[cached]
                named = how.keywords if isinstance(how, ast.Call) else []
                most = next((ast.unparse(k.value) for k in named if k.arg == "maxsize"), _CACHED)
                most = _CACHED if not most.isdigit() else most
                lines[0] = f"const {name} = {self.rt('cached')}({lines[0]}"
                lines[-1] += f", {most});"
        return lines

    def class_lines(self, made: Class, name: str) -> Lines:
        """Return a class: constructor, methods, and what the runtime asks of it."""
        self.owner = made
        base = self._base(made)
        body: Lines = []
        if "__init__" in made.methods:
            body += self._init(made, made.methods["__init__"], base is not None)
        elif made.fields:
            body += self._constructor(made, name)
        if made.named and made.fields:
            each = "; ".join(f"yield this.{f.name}" for _, f in made.made_of)
            body.append(f"*[Symbol.iterator]() {{ {each}; }}")
            body.append("static named = true;")
        if made.fields:
            fields = ", ".join(f'"{f.name}"' for _, f in made.made_of if f.compare)
            body.append(f"static fields = [{fields}];")
            body.append(f"static made = [{', '.join(self._quoted_init(made))}];")
        for constant in made.constants:
            body += self._constant(constant)
        for method in made.methods.values():
            if method.name != "__init__":
                body += self._method_lines(made, method)
        also = self._also(made)
        if also:
            body.append(f"static also = [{', '.join(also)}];")
        extends = f" extends {base}" if base is not None else ""
        return [f"class {name}{extends} {{", *indented(body), "}"]

    @staticmethod
    def _quoted_init(made: Class) -> Lines:
        return [f'"{f.name}"' for _, f in made.made_of if f.init]

    def _base(self, made: Class) -> str | None:
        for base in made.bases:
            if "Protocol" not in base.outside:
                return self._global(made.node, base.symbol).text
        errors = [one for one in made.outside if one.endswith(("Error", "Exception"))]
        return self.rt(errors[0]) if errors else None

    def _also(self, made: Class) -> Lines:
        bases = [b for b in made.bases if "Protocol" not in b.outside]
        others = [self._global(made.node, b.symbol).text for b in bases[1:]]
        errors = [one for one in made.outside if one.endswith(("Error", "Exception"))]
        others += [self.rt(one) for one in (errors if bases else errors[1:])]
        return others

    def _constant(self, node: ast.Assign | ast.AnnAssign) -> Lines:
        target = node.targets[0] if isinstance(node, ast.Assign) else node.target
        if node.value is None or ast.unparse(target) == "__slots__":
            return []
        return [f"static {ast.unparse(target)} = {self.text(node.value)};"]

    def _constructor(self, made: Class, name: str) -> Lines:
        """Return what a dataclass or a NamedTuple makes of its arguments."""
        outer, self.scope = self.scope, Scope(self.scope)
        params, lines = [], []
        for owner, field in made.made_of:
            local = self.bind(field.name, owner.module.kind(field.annotation))
            if field.init:
                params.append(local + self._default(owner, field))
                lines.append(f"this.{field.name} = {local};")
            elif field.default is not None:
                lines.append(f"this.{field.name}{self._default(owner, field)};")
        self.scope = outer
        if made.bases and self._base(made) is not None:
            lines.insert(0, f"super({', '.join(self._above_fields(made))});")
            lines = [lines[0], *[line for line in lines[1:] if not self._set_above(made, line)]]
        if made.method("__post_init__"):
            # Of several classes that rest on one another the one that is made does it, at the end.
            lines.append(
                "if (new.target === CLASS) { this.__post_init__(); }".replace("CLASS", name)
            )
        return [f"constructor({', '.join(params)}) {{", *indented(lines), "}"]

    def _above_fields(self, made: Class) -> Lines:
        names = [f.name for base in made.bases[:1] for _, f in base.made_of if f.init]
        return [f"{name}$" if self.bind(name, ANY, Scope()) != name else name for name in names]

    @staticmethod
    def _set_above(made: Class, line: str) -> bool:
        above = {f.name for base in made.bases[:1] for _, f in base.made_of}
        return line.partition(" ")[0].removeprefix("this.") in above - {f.name for f in made.fields}

    def _default(self, owner: Class, field: Field) -> str:
        if field.default is None:
            return ""
        kept, self.module = self.module, owner.module
        outer, self.scope = self.scope, Scope()
        text = self.text(field.default)
        self.module, self.scope = kept, outer
        return f" = {text}"

    def _init(self, made: Class, node: ast.FunctionDef, above: bool) -> Lines:
        """Return a class's own ``__init__``; a script calls what is above it first."""
        if above:
            body = list(statements(node.body))
            calls = [s for s in body if ast.unparse(s).startswith("super().__init__(")]
            if len(calls) != 1:
                raise Problem(node, "__init__ must call super().__init__ once.")
            at = body.index(calls[0])
            before = [s for s in body[:at] if ast.unparse(s).startswith("self.")]
            kept = [s for s in body[:at] if s not in before]
            node = ast.FunctionDef(
                **{**vars(node), "body": [*kept, calls[0], *before, *body[at + 1 :]]}
            )
        return self.function_lines(node, "constructor", made)

    def _method_lines(self, made: Class, node: ast.FunctionDef) -> Lines:
        if node.name in _UNASKED:
            return []
        if node.name.startswith("__") and node.name not in _METHODS:
            raise Problem(node, f"{node.name} is not printed. Give it a plain name.")
        given = decorators(node)
        words = {"property": "get ", "classmethod": "static ", "staticmethod": "static "}
        head = "".join(word for name, word in words.items() if name in given)
        if "cache" in given or "lru_cache" in given:
            raise Problem(node, "a method that is cached is not printed. Make it a function.")
        star = "*" if is_generator(node) else ""
        self._named_rest = (
            node.args.kwarg.arg
            if node.args.kwarg and _only_items(node, node.args.kwarg.arg)
            else None
        )
        lines = self.function_lines(node, f"{head}{star}{node.name}", made)
        if node.name == "__iter__":
            lines.append("[Symbol.iterator]() { return this.__iter__(); }")
        return lines

    def constant_lines(self, value: ast.expr, annotation: ast.expr | None, name: str) -> Lines:
        """Return a module's constant."""
        return [f"const {name} = {self.text(value)};"]

    _named_rest: str | None = None


def is_generator(node: ast.FunctionDef) -> bool:
    """Say whether a function yields."""
    inner = [
        n for n in ast.walk(node) if isinstance(n, ast.FunctionDef | ast.Lambda) and n is not node
    ]
    hidden = {id(sub) for one in inner for sub in ast.walk(one)}
    return any(
        isinstance(n, ast.Yield | ast.YieldFrom) and id(n) not in hidden for n in ast.walk(node)
    )


def _only_items(node: ast.FunctionDef, name: str) -> bool:
    """Say whether ``**name`` is only gone through by loops over its items."""
    uses = sum(isinstance(n, ast.Name) and n.id == name for n in ast.walk(node))
    loops = 0
    for one in ast.walk(node):
        match one:
            case ast.For(
                target=ast.Tuple(elts=[ast.Name(), ast.Name()]),
                iter=ast.Call(func=ast.Attribute(value=ast.Name(id=held), attr="items")),
            ) if held == name:
                loops += 1
    return uses == loops
