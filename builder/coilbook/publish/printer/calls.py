"""Calls, comprehensions and lambdas of core as a script writes them."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterable

from coilbook.publish.printer.expressions import ATOM, CHOICE, UNARY, Expressions, Js, Scope
from coilbook.publish.printer.kinds import (
    ANY,
    BOOL,
    FLOAT,
    INT,
    NAT,
    NONE,
    NUMBERS,
    STR,
    Kind,
    either,
    listed,
    words,
)
from coilbook.publish.printer.sources import Class, Function, Module, Problem, Symbol, decorators

#: Functions of libraries that a script has under another name, or the runtime (``$``) holds.
LIBRARY: dict[str, tuple[str, Kind]] = {
    **{
        f"math.{name}": (f"Math.{name}", FLOAT)
        for name in words(
            "sqrt exp log log1p expm1 atan2 sin cos tan asin acos atan sinh cosh tanh atanh "
            "asinh acosh hypot log10 log2 cbrt"
        )
    },
    **{f"math.{name}": (f"Math.{name}", INT) for name in ("floor", "ceil", "trunc")},
    **{f"math.{name}": (f"${name}", FLOAT) for name in ("erf", "erfc", "fsum")},
    "math.fabs": ("Math.abs", FLOAT),
    "math.isfinite": ("Number.isFinite", BOOL),
    "math.isnan": ("Number.isNaN", BOOL),
    "unicodedata.digit": ("$digit", INT),
    "unicodedata.decimal": ("$decimal", INT),
    "bisect.bisect_left": ("$bisectLeft", INT),
    "bisect.bisect_right": ("$bisectRight", INT),
    "itertools.combinations": ("$combinations", listed(Kind("list"))),
    "itertools.groupby": ("$groupby", listed(Kind("tuple", (ANY, Kind("list"))))),
}
_TEXTS = Kind("list", (STR,))
_TRIPLE = Kind("tuple", (STR, STR, STR))
#: The methods of a text that are printed, and what they return.
STR_METHODS: dict[str, Kind] = {
    **dict.fromkeys(
        words(
            "strip lstrip rstrip join replace removeprefix removesuffix lower upper casefold "
            "capitalize zfill ljust rjust translate format"
        ),
        STR,
    ),
    **dict.fromkeys(
        words("startswith endswith isdecimal isalpha isspace isascii isupper islower"), BOOL
    ),
    **dict.fromkeys(("split", "splitlines"), _TEXTS),
    **dict.fromkeys(("partition", "rpartition"), _TRIPLE),
    "find": INT,
    "count": NAT,
}
#: The methods of a list or a tuple that are printed.
LIST_METHODS = frozenset(
    words("append extend insert pop remove index count sort reverse copy clear")
)
DICT_METHODS = frozenset(
    words("get items keys values setdefault pop update copy clear most_common")
)
SET_METHODS = frozenset(
    words(
        "add discard remove pop update copy clear union intersection difference "
        "symmetric_difference issubset issuperset isdisjoint"
    )
)
_MATCH: dict[str, Kind] = {
    "group": STR,
    "groups": _TEXTS,
    "groupdict": Kind("dict", (STR, either(STR, NONE))),
    "start": NAT,
    "end": NAT,
    "span": Kind("tuple", (NAT, NAT)),
}
_FOUND = either(Kind("match"), NONE)
_PATTERN: dict[str, Kind] = {
    "match": _FOUND,
    "fullmatch": _FOUND,
    "search": _FOUND,
    "finditer": listed(Kind("match")),
    "findall": _TEXTS,
    "sub": STR,
    "split": _TEXTS,
}
_REDUCTIONS = frozenset({"any", "all", "sum", "min", "max", "next"})


class Calls(Expressions):
    """Writes calls: each builtin that is printed has a method of its own here."""

    def _Call(self, node: ast.Call) -> Js:
        func = node.func
        if isinstance(func, ast.Name) and self.scope.holder(func.id) is not None:
            return self._by_value(node, self.expr(func))
        found = None if self._is_local(func) else self.module.lookup(func)
        if isinstance(found, Symbol):
            return self._of_symbol(node, found)
        if isinstance(func, ast.Name):
            write: Callable[[ast.Call], Js] | None = getattr(self, f"call_{func.id}", None)
            if write is None:
                return self._by_value(node, self.expr(func), error=True)
            return write(node)
        if isinstance(func, ast.Attribute):
            return self._method(node, func)
        return self._by_value(node, self.expr(func))

    def _by_value(self, node: ast.Call, func: Js, *, error: bool = False) -> Js:
        """Call what is only known as a value: a local function, or an error of Python's own."""
        new = "new " if func.kind.name == "class" else ""
        made = self.script.sources.class_of(func.kind) if func.kind.name == "class" else None
        if made is not None:
            return self._made(node, made, func.text)
        if node.keywords:
            raise Problem(node, "a value is called by name. Give the arguments by their places.")
        kind = func.kind.args[0] if func.kind.name == "call" and func.kind.args else ANY
        return Js(f"{new}{func.within(ATOM)}({self.items(node.args)[0]})", kind)

    def _of_symbol(self, node: ast.Call, symbol: Symbol) -> Js:
        if symbol.module is None:
            return self._library(node, symbol)
        if isinstance(symbol.node, ast.FunctionDef):
            func = self._global(node, symbol)
            args = self.arguments(node, symbol.node)
            return Js(f"{func.text}({args})", symbol.module.kind(symbol.node.returns))
        if isinstance(symbol.node, ast.ClassDef):
            made = self.script.sources.classed(symbol)
            return self._made(node, made, self._global(node, symbol).text)
        return self._by_value(node, self._global(node, symbol))

    def _made(self, node: ast.Call, made: Class, name: str) -> Js:
        kind = Kind("object", of=made.symbol.full)
        found = made.method("__init__")
        if found is not None:
            return Js(f"new {name}({self.arguments(node, found[1], 1)})", kind)
        if not made.made_of:
            return Js(f"new {name}({self.items(node.args)[0]})", kind)
        fields = [(f.name, f.default is not None) for _, f in made.made_of if f.init]
        return Js(f"new {name}({self._placed(node, fields)})", kind)

    def arguments(self, node: ast.Call, function: Function, skip: int = 0) -> str:
        """Return a call's arguments by their places, as the function's script takes them."""
        args = function.args
        plain = [*args.posonlyargs, *args.args]
        without = len(plain) - len(args.defaults)
        slots = [(one.arg, at >= without) for at, one in enumerate(plain)][skip:]
        slots += [
            (one.arg, default is not None)
            for one, default in zip(args.kwonlyargs, args.kw_defaults, strict=True)
        ]
        places = len(plain) - skip
        return self._placed(
            node, slots, places, rest=args.vararg is not None, named=args.kwarg is not None
        )

    def _placed(
        self,
        node: ast.Call,
        slots: list[tuple[str, bool]],
        places: int | None = None,
        *,
        rest: bool = False,
        named: bool = False,
    ) -> str:
        given: dict[str, str] = {}
        behind: list[str] = []
        places = len(slots) if places is None else places
        for at, arg in enumerate(node.args):
            if at < places and not isinstance(arg, ast.Starred):
                given[slots[at][0]] = self.text(arg)
            elif at < places and (node.keywords or places != len(slots)):
                raise Problem(node, "* for named arguments is not printed. Write them out.")
            else:
                behind.append(self.text(arg, 0))
        early = any(isinstance(arg, ast.Starred) for arg in node.args[:places])
        names = {name for name, _ in slots}
        for one in node.keywords:
            if one.arg is None:
                raise Problem(node, "** in a call is not printed. Write the arguments out.")
            if one.arg in names:
                given[one.arg] = self.text(one.value)
            elif named:
                behind += [f'"{one.arg}"', self.text(one.value)]
            else:
                raise Problem(node, f"{one.arg} is not an argument of {ast.unparse(node.func)}.")
        if early:
            stars = [at for at, arg in enumerate(node.args) if isinstance(arg, ast.Starred)]
            if stars != [len(node.args) - 1]:
                raise Problem(node, "a * before other arguments is not printed. Unpack it first.")
            return ", ".join([*given.values(), *behind])
        return ", ".join(self._filled(node, slots, given, behind))

    @staticmethod
    def _filled(
        node: ast.Call, slots: list[tuple[str, bool]], given: dict[str, str], behind: list[str]
    ) -> list[str]:
        texts = []
        for name, optional in slots:
            if name not in given and not optional:
                raise Problem(node, f"{name} is missing in the call of {ast.unparse(node.func)}.")
            texts.append(given.get(name, "undefined"))
        texts += behind
        while texts and texts[-1] == "undefined":
            texts.pop()
        return texts

    # --- methods ---

    def _method(self, node: ast.Call, func: ast.Attribute) -> Js:
        name = func.attr
        if isinstance(func.value, ast.Call) and ast.unparse(func.value) == "super()":
            return self._above(node, name)
        if ast.unparse(func) == "object.__setattr__":
            owner, field, value = (self.expr(arg) for arg in node.args)
            return Js(f"{owner.text}[{field.text}] = {value.text}", NONE, 1)
        if ast.unparse(func) in ("str.maketrans", "dict.fromkeys"):
            return self._static(node, ast.unparse(func))
        owner = self.expr(func.value)
        kind = owner.kind.bare
        if name in ("_replace", "_asdict"):
            return self._replaced(node, owner, node.keywords)
        made = self.script.sources.class_of(kind)
        if made is not None and (found := made.method(name)):
            skip = 0 if "staticmethod" in decorators(found[1]) else 1
            text = f"{owner.within(ATOM)}.{name}({self.arguments(node, found[1], skip)})"
            return Js(text, self._returns(found[0].module, found[1], kind))
        if made is not None and (found_kind := made.kind_of(name)) is not None:
            return self._by_value(node, Js(f"{owner.within(ATOM)}.{name}", found_kind))
        return self._builtin_method(node, owner, kind, name)

    @staticmethod
    def _returns(module: Module, method: ast.FunctionDef, owner: Kind) -> Kind:
        if method.returns is not None and ast.unparse(method.returns) == "Self":
            return Kind("object", of=owner.of)
        return module.kind(method.returns)

    def _builtin_method(self, node: ast.Call, owner: Js, kind: Kind, name: str) -> Js:
        args = [self.expr(arg) for arg in node.args]
        texts = ", ".join(arg.within(CHOICE) for arg in args)
        inside = f"{owner.within(ATOM)}.{name}({texts})"
        if kind.name == "str" and name in STR_METHODS:
            return self._of_text(node, owner, name, args)
        if node.keywords and not (kind.name == "list" and name == "sort"):
            raise Problem(node, f"{name} is called by name. Give the arguments by their places.")
        if kind.name in ("list", "tuple") and name in LIST_METHODS:
            return self._of_list(node, owner, kind, name, args)
        if kind.name == "dict" and name in DICT_METHODS:
            return Js(inside, self._of_dict(kind, name, args))
        if kind.name == "set" and name in SET_METHODS:
            return Js(
                inside,
                kind.each
                if name == "pop"
                else kind
                if name.endswith(("on", "ence", "py"))
                else BOOL,
            )
        if kind.name == "match" and name in _MATCH:
            return Js(inside, _MATCH[name])
        if kind.name == "pattern" and name in _PATTERN:
            return Js(inside, _PATTERN[name])
        if kind.name == "date" and name in ("toordinal", "isoformat"):
            return Js(inside, STR if name == "isoformat" else NAT)
        if kind.name == "class" and name == "fromisoformat":
            return Js(inside, Kind("date"))
        if kind.name == "any" and name in {
            *STR_METHODS,
            *LIST_METHODS,
            *DICT_METHODS,
            *SET_METHODS,
        }:
            what = f"what {ast.unparse(node.func)} belongs to cannot be told. Annotate it."
            raise Problem(node, what)
        if kind.name == "any":
            return Js(inside, ANY)
        raise Problem(
            node, f"{ast.unparse(node.func)} of a {kind.name} is not printed. Say it otherwise."
        )

    def _of_text(self, node: ast.Call, owner: Js, name: str, args: list[Js]) -> Js:
        plain = {
            "lower": "toLowerCase",
            "upper": "toUpperCase",
            "startswith": "startsWith",
            "endswith": "endsWith",
        }
        kind = STR_METHODS[name]
        if name in plain and all(arg.kind.only("str") for arg in args):
            inside = ", ".join(arg.text for arg in args)
            return Js(f"{owner.within(ATOM)}.{plain[name]}({inside})", kind)
        if name == "join" and args[0].kind.name in ("list", "tuple"):
            return Js(f"{args[0].within(ATOM)}.join({owner.text})", kind)
        inside = ", ".join(arg.within(CHOICE) for arg in (owner, *args))
        if name == "format":
            parts = [f'["{k.arg}", {self.text(k.value)}]' for k in node.keywords]
            inside += f", new {self.rt('Dict')}([{', '.join(parts)}])"
        elif node.keywords:
            given = {k.arg: self.text(k.value) for k in node.keywords}
            if name == "split" and "maxsplit" in given and len(args) < 2:
                inside += (", null, " if not args else ", ") + given["maxsplit"]
            else:
                raise Problem(
                    node, f"{name} is called by name. Give the arguments by their places."
                )
        return Js(f"{self.rt(f'str_{name}')}({inside})", kind)

    def _of_list(self, node: ast.Call, owner: Js, kind: Kind, name: str, args: list[Js]) -> Js:
        if name == "append":
            self._grow(node.func, args[0].kind)
            return Js(f"{owner.within(ATOM)}.push({args[0].within(CHOICE)})", NONE)
        if name == "extend":
            self._grow(node.func, args[0].kind.bare.each)
        texts = [arg.within(CHOICE) for arg in (owner, *args)]
        if name == "sort":
            texts += self._key(node, kind.each)
        found = {"pop": kind.each, "index": NAT, "count": NAT, "copy": kind}
        return Js(f"{self.rt(f'list_{name}')}({', '.join(texts)})", found.get(name, NONE))

    def _grow(self, func: ast.expr, kind: Kind) -> None:
        """Take from what is put into a list what the list holds, where nothing else says it."""
        assert isinstance(func, ast.Attribute)
        if isinstance(func.value, ast.Name):
            holder = self.scope.holder(func.value.id)
            if holder is not None and holder.kinds.get(func.value.id) == Kind("list"):
                holder.kinds[func.value.id] = listed(kind)

    @staticmethod
    def _of_dict(kind: Kind, name: str, args: list[Js]) -> Kind:
        key, value = kind.args if len(kind.args) > 1 else (ANY, ANY)
        match name:
            case "get":
                return either(value, args[1].kind if len(args) > 1 else NONE)
            case "pop" | "setdefault":
                return value
            case "keys":
                return Kind("iter", (key,))
            case "values":
                return Kind("iter", (value,))
            case "items":
                return Kind("iter", (Kind("tuple", (key, value)),))
            case "most_common":
                return listed(Kind("tuple", (key, INT)))
            case "copy":
                return kind
        return NONE

    def _above(self, node: ast.Call, name: str) -> Js:
        if name == "__init__":
            return Js(f"super({self.items(node.args)[0]})", NONE)
        found = next(
            (m for base in (self.owner.bases if self.owner else []) if (m := base.method(name))),
            None,
        )
        if found is None:
            raise Problem(node, f"super() has no {name} in core.")
        return Js(
            f"super.{name}({self.arguments(node, found[1], 1)})",
            found[0].module.kind(found[1].returns),
        )

    def _static(self, node: ast.Call, name: str) -> Js:
        args = [self.expr(arg) for arg in node.args]
        if name == "dict.fromkeys":
            other = args[1] if len(args) > 1 else Js("null", NONE)
            keys = (
                f"{args[0].within(ATOM)}"
                if args[0].kind.name in ("list", "tuple")
                else f"[...{args[0].text}]"
            )
            kind = Kind("dict", (args[0].kind.each, other.kind))
            return Js(f"new {self.rt('Dict')}({keys}.map((one) => [one, {other.text}]))", kind)
        if len(args) != 1:
            raise Problem(node, "str.maketrans takes a dict here.")
        return args[0]

    def _replaced(self, node: ast.Call, owner: Js, given: list[ast.keyword]) -> Js:
        if any(one.arg is None for one in given):
            raise Problem(node, "** in a call is not printed. Write the fields out.")
        fields = ", ".join(f"{one.arg}: {self.text(one.value)}" for one in given)
        return Js(f"{self.rt('replace')}({owner.text}, {{{fields}}})", owner.kind)

    # --- libraries ---

    def _library(self, node: ast.Call, symbol: Symbol) -> Js:
        name = symbol.outside
        if name in LIBRARY:
            text, kind = LIBRARY[name]
            if node.keywords and name != "itertools.groupby":
                raise Problem(
                    node, f"{name} is called by name. Give the arguments by their places."
                )
            args = [self.text(arg, 0) for arg in node.args]
            args += [self.function(k.value, ANY) for k in node.keywords]
            if name == "math.log" and len(args) == 2:
                return Js(f"Math.log({args[0]}) / Math.log({args[1]})", FLOAT, 12)
            head = self.rt(text[1:]) if text.startswith("$") else text
            return Js(f"{head}({', '.join(args)})", kind)
        write = getattr(self, f"lib_{name.replace('.', '_')}", None)
        if write is None:
            raise Problem(node, f"{name} is not printed. Say it otherwise.")
        made: Js = write(node)
        return made

    def lib_math_isinf(self, node: ast.Call) -> Js:
        """Write math.isinf."""
        return Js(f"Math.abs({self.text(node.args[0])}) === Infinity", BOOL, 8)

    def lib_math_copysign(self, node: ast.Call) -> Js:
        """Write math.copysign."""
        size, sign = self.text(node.args[0]), self.expr(node.args[1])
        return Js(
            f"({sign.text} < 0 || Object.is({sign.text}, -0) ? -1 : 1) * Math.abs({size})",
            FLOAT,
            12,
        )

    def lib_re_compile(self, node: ast.Call) -> Js:
        """Write re.compile; a pattern is made when it is first asked for."""
        ignore = [ast.unparse(flag).rpartition(".")[2] for flag in node.args[1:]]
        if any(flag not in ("IGNORECASE", "I") for flag in ignore) or node.keywords:
            raise Problem(node, "of the flags of a pattern IGNORECASE alone is printed.")
        flag = ", true" if ignore else ""
        return Js(f"{self.rt('re')}({self.text(node.args[0])}{flag})", Kind("pattern"))

    def lib_re(self, node: ast.Call, name: str) -> Js:
        """Write a call of re that brings its pattern along."""
        texts = ", ".join(self.text(arg) for arg in node.args[1:])
        return Js(f"{self.rt('re')}({self.text(node.args[0])}).{name}({texts})", _PATTERN[name])

    def __getattr__(self, name: str) -> object:
        if name.startswith("lib_re_") and name[7:] in _PATTERN:
            return lambda node: self.lib_re(node, name[7:])
        raise AttributeError(name)

    def lib_fractions_Fraction(self, node: ast.Call) -> Js:
        """Write a fraction."""
        return Js(f"new {self.rt('Fraction')}({self.items(node.args)[0]})", Kind("fraction"))

    def lib_unicodedata_normalize(self, node: ast.Call) -> Js:
        """Write unicodedata.normalize."""
        form, text = (self.expr(arg) for arg in node.args)
        return Js(f"{text.within(ATOM)}.normalize({form.text})", STR)

    def lib_dataclasses_replace(self, node: ast.Call) -> Js:
        """Write dataclasses.replace."""
        return self._replaced(node, self.expr(node.args[0]), node.keywords)

    def lib_types_MappingProxyType(self, node: ast.Call) -> Js:
        """Write a dict that nobody changes."""
        return self.expr(node.args[0])

    def lib_typing_cast(self, node: ast.Call) -> Js:
        """Write what typing.cast is given, as what it says."""
        return self.expr(node.args[1])._replace(kind=self.module.kind(node.args[0]))

    def lib_collections_Counter(self, node: ast.Call) -> Js:
        """Write a counter."""
        values = self.expr(node.args[0]) if node.args else Js("")
        kind = Kind("dict", (values.kind.bare.each, INT))
        return Js(f"new {self.rt('Counter')}({values.text})", kind)

    def lib_itertools_chain(self, node: ast.Call) -> Js:
        """Write itertools.chain."""
        parts = [self.expr(arg) for arg in node.args]
        kind = listed(either(*(part.kind.bare.each for part in parts)))
        return Js(
            f"[{', '.join(f'...{part.within(CHOICE)}' for part in parts)}]", kind, display=True
        )

    def lib_operator_itemgetter(self, node: ast.Call) -> Js:
        """Write operator.itemgetter."""
        return Js(
            f"(one) => {self.rt('at')}(one, {self.text(node.args[0])})",
            Kind("call", (ANY,)),
            CHOICE,
        )

    def lib_operator_attrgetter(self, node: ast.Call) -> Js:
        """Write operator.attrgetter of one name."""
        return Js(f"(one) => one.{ast.literal_eval(node.args[0])}", Kind("call", (ANY,)), CHOICE)

    def lib_datetime_date(self, node: ast.Call) -> Js:
        """Write a day."""
        return Js(f"new {self.rt('date')}({self.items(node.args)[0]})", Kind("date"))

    def lib_datetime_date_fromisoformat(self, node: ast.Call) -> Js:
        """Write a day that stands as text."""
        return Js(f"{self.rt('date')}.fromisoformat({self.text(node.args[0])})", Kind("date"))

    # --- builtins ---

    def call_len(self, node: ast.Call) -> Js:
        """Write len()."""
        value = self.expr(node.args[0])
        name = value.kind.bare.name
        if name in ("list", "tuple"):
            return Js(f"{value.within(ATOM)}.length", NAT)
        if name in ("dict", "set"):
            return Js(f"{value.within(ATOM)}.size", NAT)
        return Js(f"{self.rt('size' if name == 'str' else 'len')}({value.text})", NAT)

    def call_abs(self, node: ast.Call) -> Js:
        """Write abs()."""
        value = self.expr(node.args[0])
        if value.kind.name == "fraction":
            return Js(f"{value.within(ATOM)}.abs()", value.kind)
        return Js(f"Math.abs({value.text})", NAT if value.kind.only("int", "nat") else value.kind)

    def _extreme(self, node: ast.Call, name: str) -> Js:
        named = {one.arg: one.value for one in node.keywords}
        several = len(node.args) > 1
        if several and not named:
            return self._of_two(name, [self.expr(arg) for arg in node.args])
        if several:
            text, kinds, _ = self.items(node.args)
            values, each = f"[{text}]", either(*kinds)
        else:
            found = self.expr(node.args[0])
            values, each = found.text, found.kind.bare.each
        texts = [values]
        if "key" in named:
            texts.append(self.function(named["key"], each))
        if "default" in named:
            other = self.expr(named["default"])
            each = either(each, other.kind)
            texts += ["null"] * (2 - len(texts)) + [other.text]
        return Js(f"{self.rt(name)}({', '.join(texts)})", each)

    def _of_two(self, name: str, values: list[Js]) -> Js:
        kind = either(*(value.kind for value in values))
        if any(value.text.startswith("...") for value in values) or not kind.only(*NUMBERS):
            return Js(f"{self.rt(name)}([{', '.join(v.within(CHOICE) for v in values)}])", kind)
        text = values[0].text
        for value in values[1:]:
            text = f"{self.rt(f'{name}2')}({text}, {value.text})"
        return Js(text, kind)

    def call_min(self, node: ast.Call) -> Js:
        """Write min()."""
        return self._extreme(node, "min")

    def call_max(self, node: ast.Call) -> Js:
        """Write max()."""
        return self._extreme(node, "max")

    def call_sum(self, node: ast.Call) -> Js:
        """Write sum()."""
        values, start = self.expr(node.args[0]), None
        if len(node.args) + len(node.keywords) > 1:
            start = self.expr(node.args[1] if len(node.args) > 1 else node.keywords[0].value)
        each = values.kind.bare.each
        kind = NAT if each.only("bool") else each
        if start is None and kind.only(*NUMBERS):
            one = "Number(one)" if each.only("bool") else "one"
            body = f"for (const one of {values.text}) {{ total += {one}; }}"
            return Js(f"(() => {{ let total = 0; {body} return total; }})()", kind)
        more = f", {start.text}" if start is not None else ""
        return Js(
            f"{self.rt('sum')}({values.text}{more})",
            kind if start is None else either(kind, start.kind),
        )

    def _key(self, node: ast.Call, each: Kind) -> list[str]:
        named = {one.arg: one.value for one in node.keywords}
        texts = [self.function(named["key"], each)] if "key" in named else []
        if "reverse" in named:
            texts += ["null"] * (1 - len(texts)) + [self.text(named["reverse"])]
        return texts

    def call_sorted(self, node: ast.Call) -> Js:
        """Write sorted()."""
        values = self.expr(node.args[0])
        each = values.kind.bare.each
        return Js(
            f"{self.rt('sorted')}({', '.join([values.text, *self._key(node, each)])})", listed(each)
        )

    def _each_test(self, node: ast.Call, stop: str) -> Js:
        """Write any() or all(): a loop that ends where it is settled."""
        loop = node.args[0]
        if isinstance(loop, ast.GeneratorExp | ast.ListComp):
            negated = stop == "false"

            def settle(test: Js) -> str:
                shown = f"!{test.within(UNARY)}" if negated else test.text
                return f"if ({shown}) {{ return {stop}; }}"

            other = "true" if negated else "false"
            body = self._loops(loop, lambda: settle(self.test(loop.elt)))
            return Js(f"(() => {{ {body} return {other}; }})()", BOOL)
        values = self.expr(loop)
        test = self.truth(Js("one", values.kind.bare.each))
        name = "some" if stop == "true" else "every"
        return Js(f"{self._array(values)}.{name}((one) => {test.text})", BOOL)

    def call_any(self, node: ast.Call) -> Js:
        """Write any()."""
        return self._each_test(node, "true")

    def call_all(self, node: ast.Call) -> Js:
        """Write all()."""
        return self._each_test(node, "false")

    def call_zip(self, node: ast.Call) -> Js:
        """Write zip(); that all are of one length is for Python to say."""
        values = [self.expr(arg) for arg in node.args]
        kind = listed(Kind("tuple", tuple(value.kind.bare.each for value in values)))
        if any(isinstance(arg, ast.Starred) for arg in node.args):
            kind = listed(listed(values[0].kind.bare.each.each))
        return Js(f"{self.rt('zip')}({', '.join(value.text for value in values)})", kind)

    def call_enumerate(self, node: ast.Call) -> Js:
        """Write enumerate()."""
        values = self.expr(node.args[0])
        more = [*node.args[1:], *(k.value for k in node.keywords)]
        kind = Kind("iter", (Kind("tuple", (NAT, values.kind.bare.each)),))
        if not more and values.kind.bare.name in ("list", "tuple"):
            return Js(f"{values.within(ATOM)}.entries()", kind)
        rest = "".join(f", {self.text(one)}" for one in more)
        return Js(f"{self.rt('enumerate')}({values.text}{rest})", kind)

    def call_range(self, node: ast.Call) -> Js:
        """Write range() where it is no loop's."""
        args = [self.expr(arg) for arg in node.args]
        up = all(arg.kind.only("nat") for arg in args)
        texts = ["0"] * (len(args) == 1) + [arg.text for arg in args]
        return Js(f"{self.rt('range')}({', '.join(texts)})", listed(NAT if up else INT))

    def call_reversed(self, node: ast.Call) -> Js:
        """Write reversed()."""
        values = self.expr(node.args[0])
        return Js(f"[...{values.within(CHOICE)}].reverse()", listed(values.kind.bare.each))

    def call_round(self, node: ast.Call) -> Js:
        """Write round()."""
        args = [self.expr(arg) for arg in node.args]
        kind = FLOAT if len(args) > 1 else INT
        return Js(f"{self.rt('round')}({', '.join(arg.text for arg in args)})", kind)

    def call_int(self, node: ast.Call) -> Js:
        """Write int()."""
        value = self.expr(node.args[0])
        if value.kind.only("int", "nat"):
            return value
        return Js(f"{self.rt('int')}({value.text})", INT)

    def call_float(self, node: ast.Call) -> Js:
        """Write float()."""
        value = self.expr(node.args[0])
        if isinstance(node.args[0], ast.Constant) and value.text in ('"inf"', '"nan"', '"-inf"'):
            return Js({'"inf"': "Infinity", '"nan"': "NaN"}.get(value.text, "-Infinity"), FLOAT)
        if value.kind.only(*NUMBERS):
            return value._replace(kind=FLOAT)
        return Js(f"{self.rt('float')}({value.text})", FLOAT)

    def call_bool(self, node: ast.Call) -> Js:
        """Write bool()."""
        test = self.test(node.args[0])
        return test if test.kind == BOOL else Js(f"Boolean({test.text})", BOOL)

    def call_str(self, node: ast.Call) -> Js:
        """Write str()."""
        return self.written(node.args[0], self.expr(node.args[0]))

    def call_repr(self, node: ast.Call) -> Js:
        """Write repr()."""
        return self.written(node.args[0], self.expr(node.args[0]), "repr")

    def _array(self, values: Js) -> str:
        if values.kind.bare.name in ("list", "tuple"):
            return values.within(ATOM)
        return f"[...{values.within(CHOICE)}]"

    def call_list(self, node: ast.Call) -> Js:
        """Write list() or tuple(): what a comprehension made is not made again."""
        if not node.args:
            return Js("[]", Kind("list"), display=True)
        values = self.expr(node.args[0])
        if isinstance(node.args[0], ast.GeneratorExp | ast.ListComp):
            return values
        return Js(f"[...{values.within(CHOICE)}]", listed(values.kind.bare.each), display=True)

    call_tuple = call_list

    def call_set(self, node: ast.Call) -> Js:
        """Write set() or frozenset()."""
        if not node.args:
            return Js(f"new {self.rt('PySet')}()", Kind("set"))
        values = self.expr(node.args[0])
        if isinstance(node.args[0], ast.Set):
            return values
        return Js(f"new {self.rt('PySet')}({values.text})", Kind("set", (values.kind.bare.each,)))

    call_frozenset = call_set

    def call_dict(self, node: ast.Call) -> Js:
        """Write dict()."""
        if not node.args:
            parts = [f'["{k.arg}", {self.text(k.value)}]' for k in node.keywords]
            kinds = either(*(self.expr(k.value).kind for k in node.keywords))
            kind = Kind("dict", (STR, kinds)) if parts else Kind("dict")
            inside = f"[{', '.join(parts)}]" if parts else ""
            return Js(f"new {self.rt('Dict')}({inside})", kind)
        values = self.expr(node.args[0])
        kind = values.kind.bare
        if kind.name != "dict":
            kind = Kind("dict", kind.each.args) if len(kind.each.args) == 2 else Kind("dict")
        if isinstance(node.args[0], ast.DictComp | ast.Dict):
            return values
        return Js(f"{self.rt('dict')}({values.text})", kind)

    def call_isinstance(self, node: ast.Call) -> Js:
        """Write isinstance(): numbers are of one sort, lists and tuples of another."""
        value, wanted = self.expr(node.args[0]), node.args[1]
        tests = [self._is_a(node, value, one) for one in _classes(self.module, wanted)]
        unique = list(dict.fromkeys(tests))
        text = " || ".join(unique)
        return Js(text, BOOL, 3 if len(unique) > 1 else 8)

    def _is_a(self, node: ast.Call, value: Js, wanted: ast.expr) -> str:
        name = ast.unparse(wanted)
        if name in ("float", "int", "str", "bool"):
            kind = {"str": "string", "bool": "boolean"}.get(name, "number")
            return f'typeof {value.within(UNARY)} === "{kind}"'
        if name in ("list", "tuple"):
            return f"Array.isArray({value.text})"
        if name in ("dict", "set", "frozenset"):
            held = self.rt("Dict" if name == "dict" else "PySet")
            return f"{value.within(9)} instanceof {held}"
        found = self.expr(wanted)
        if found.kind.name != "class":
            raise Problem(node, f"isinstance with {name} is not printed. Name a class of core.")
        return f"{value.within(9)} instanceof {found.text}"

    def call_map(self, node: ast.Call) -> Js:
        """Write map() over one or several."""
        lists = [self.expr(arg) for arg in node.args[1:]]
        if len(lists) > 1:
            func = self.function(node.args[0], ANY)
            inside = ", ".join(one.text for one in lists)
            return Js(f"{self.rt('zip')}({inside}).map((one) => ({func})(...one))", Kind("list"))
        func = self.function(node.args[0], lists[0].kind.bare.each)
        text = func if func.startswith("(") else f"(one) => {func}(one)"
        known = self._known_return(node.args[0])
        return Js(f"{self._array(lists[0])}.map({text})", listed(known))

    def _known_return(self, node: ast.expr) -> Kind:
        names = {"float": FLOAT, "int": INT, "str": STR, "abs": FLOAT, "len": NAT}
        if isinstance(node, ast.Name) and node.id in names:
            return names[node.id]
        found = self.module.lookup(node)
        if isinstance(found, Symbol) and found.module and isinstance(found.node, ast.FunctionDef):
            return found.module.kind(found.node.returns)
        return ANY

    def call_filter(self, node: ast.Call) -> Js:
        """Write filter()."""
        values = self.expr(node.args[1])
        func = (
            "Boolean"
            if ast.unparse(node.args[0]) == "None"
            else self.function(node.args[0], values.kind.bare.each)
        )
        return Js(f"{self._array(values)}.filter({func})", listed(values.kind.bare.each))

    def call_next(self, node: ast.Call) -> Js:
        """Write next() of a loop, of which the first is taken."""
        if isinstance(node.args[0], ast.GeneratorExp):
            loop, kinds = node.args[0], [NONE]

            def give() -> str:
                found = self.expr(loop.elt)
                kinds[0] = found.kind
                return f"return {found.text};"

            body = self._loops(loop, give)
            other = self.expr(node.args[1]) if len(node.args) > 1 else Js("null", NONE)
            if len(node.args) < 2:
                raise Problem(node, "next without a second argument is not printed. Give one.")
            return Js(f"(() => {{ {body} return {other.text}; }})()", either(kinds[0], other.kind))
        values = self.expr(node.args[0])
        other = self.expr(node.args[1]) if len(node.args) > 1 else Js("")
        kind = (
            either(values.kind.bare.each, other.kind)
            if len(node.args) > 1
            else values.kind.bare.each
        )
        rest = f", {other.text}" if other.text else ""
        return Js(f"{self.rt('next')}({values.text}{rest})", kind)

    def call_iter(self, node: ast.Call) -> Js:
        """Write iter()."""
        values = self.expr(node.args[0])
        return Js(
            f"{values.within(ATOM)}[Symbol.iterator]()", Kind("iter", (values.kind.bare.each,))
        )

    def call_getattr(self, node: ast.Call) -> Js:
        """Write getattr()."""
        owner, name = self.expr(node.args[0]), self.expr(node.args[1])
        other = f" ?? {self.text(node.args[2], 5)}" if len(node.args) > 2 else ""
        text = f"{owner.within(ATOM)}[{name.text}]{other}"
        return Js(f"({text})" if other else text, ANY)

    # --- functions as values, and loops in an expression ---

    def function(self, node: ast.expr, each: Kind) -> str:
        """Return what is called with one value of this kind: a lambda, a function or a builtin."""
        if isinstance(node, ast.Lambda):
            return self._lambda(node, each).text
        if (
            isinstance(node, ast.Name)
            and self.scope.holder(node.id) is None
            and self.module.find(node.id) is None
        ):
            call = ast.copy_location(ast.Call(node, [ast.Name("one$", ast.Load())], []), node)
            ast.fix_missing_locations(call)
            outer, self.scope = self.scope, Scope(self.scope)
            self.scope.kinds["one$"], self.scope.names["one$"] = each, "one"
            made = self.expr(call)
            self.scope = outer
            return f"(one) => {made.text}"
        if (
            isinstance(node, ast.Attribute)
            and isinstance(node.value, ast.Name)
            and node.value.id == "str"
        ):
            made_up = ast.parse(f"lambda one: one.{node.attr}()", mode="eval").body
            return self.function(ast.fix_missing_locations(ast.copy_location(made_up, node)), STR)
        if isinstance(node, ast.Attribute) and not isinstance(self.module.lookup(node), Symbol):
            made_up = ast.parse(f"lambda one: {ast.unparse(node)}(one)", mode="eval").body
            return self.function(ast.fix_missing_locations(ast.copy_location(made_up, node)), each)
        return self.expr(node).text

    def _Lambda(self, node: ast.Lambda) -> Js:
        return self._lambda(node, ANY)

    def _lambda(self, node: ast.Lambda, each: Kind) -> Js:
        outer, self.scope = self.scope, Scope(self.scope)
        if node.args.defaults or node.args.vararg or node.args.kwonlyargs:
            raise Problem(node, "a lambda with defaults or * is not printed. Write a function.")
        only = len(node.args.args) == 1
        names = [self.bind(one.arg, each if only else ANY) for one in node.args.args]
        body = self.expr(node.body)
        self.scope = outer
        shown = f"({body.text})" if body.text.startswith("{") else body.text
        return Js(f"({', '.join(names)}) => {shown}", Kind("call", (body.kind,)), CHOICE)

    def _loops(
        self,
        node: ast.ListComp | ast.SetComp | ast.GeneratorExp | ast.DictComp,
        give: Callable[[], str],
    ) -> str:
        """Return the loops of a comprehension, with what is done in the innermost."""
        outer = self.scope
        heads = []
        for loop in node.generators:
            values = self.expr(loop.iter)
            self.scope = Scope(self.scope)
            target = self.target(loop.target, values.kind.bare.each)
            heads.append(f"for (const {target} of {values.text}) {{ ")
            heads += [f"if ({self.test(test).text}) {{ " for test in loop.ifs]
        body = give()
        self.scope = outer
        return "".join(heads) + body + " }" * len(heads)

    def target(self, node: ast.expr, kind: Kind) -> str:
        """Return the names that a value is taken apart into."""
        if isinstance(node, ast.Name):
            return self.bind(
                node.id, kind, self.scope.holder(node.id) if node.id in self.scope.names else None
            )
        if isinstance(node, ast.Tuple | ast.List):
            names = [
                one.id
                for one in ast.walk(node)
                if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store)
            ]
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise Problem(node, f"{twice[0]} stands twice in one target. Give each a name.")
            kinds = self.split(kind, node.elts)
            pairs = zip(node.elts, kinds, strict=True)
            return f"[{', '.join(self.target(one, of) for one, of in pairs)}]"
        if isinstance(node, ast.Starred):
            return f"...{self.target(node.value, kind)}"
        if isinstance(node, ast.Attribute):
            return self.text(node, ATOM)
        if isinstance(node, ast.Subscript):
            owner = self.expr(node.value)
            if owner.kind.bare.name == "list" and self.expr(node.slice).kind.only("nat"):
                return f"{owner.within(ATOM)}[{self.text(node.slice)}]"
        raise Problem(node, f"{ast.unparse(node)} as one of several targets is not printed.")

    def split(self, kind: Kind, nodes: list[ast.expr]) -> Iterable[Kind]:
        """Return the kinds of what a value is taken apart into."""
        kind = kind.bare
        made = self.script.sources.class_of(kind)
        if made is not None and made.named:
            kind = Kind("tuple", tuple(o.module.kind(f.annotation) for o, f in made.made_of))
        starred = any(isinstance(n, ast.Starred) for n in nodes)
        if kind.name == "tuple" and not starred and len(kind.args) == len(nodes):
            return kind.args
        if kind.name == "tuple":
            at = next((i for i, n in enumerate(nodes) if isinstance(n, ast.Starred)), 0)
            if at == len(nodes) - 1:
                return [*kind.args[:at], listed(either(*kind.args[at:]))]
            raise Problem(nodes[at], "a star before the last target is not printed.")
        return [listed(kind.each) if isinstance(n, ast.Starred) else kind.each for n in nodes]

    def _comprehension(self, node: ast.ListComp | ast.GeneratorExp) -> Js:
        kinds = [ANY]

        def give() -> str:
            found = self.expr(node.elt)
            kinds[0] = found.kind
            return f"made.push({found.within(CHOICE)});"

        if short := self._short(node):
            return short
        body = self._loops(node, give)
        return Js(f"(() => {{ const made = []; {body} return made; }})()", listed(kinds[0]))

    def _short(self, node: ast.ListComp | ast.GeneratorExp) -> Js | None:
        """Return one loop over a list as map and filter, which is how a script says it."""
        loop = node.generators[0]
        if len(node.generators) > 1 or len(loop.ifs) > 1:
            return None
        outer = self.scope
        values = self.expr(loop.iter)
        if values.kind.bare.name not in ("list", "tuple"):
            return None
        self.scope = Scope(self.scope)
        target = self.target(loop.target, values.kind.bare.each)
        head = f"({target}) => "
        text = values.within(ATOM)
        if loop.ifs:
            test = self.test(loop.ifs[0])
            text += f".filter({head}{test.text})"
        made = self.expr(node.elt)
        self.scope = outer
        if made.text != target or not loop.ifs:
            shown = f"({made.text})" if made.text.startswith("{") else made.text
            text += f".map({head}{shown})"
        return Js(text, listed(made.kind))

    _ListComp = _comprehension
    _GeneratorExp = _comprehension

    def _SetComp(self, node: ast.SetComp) -> Js:
        listed_first = ast.copy_location(ast.ListComp(node.elt, node.generators), node)
        values = self._comprehension(listed_first)
        return Js(f"new {self.rt('PySet')}({values.text})", Kind("set", (values.kind.each,)))

    def _DictComp(self, node: ast.DictComp) -> Js:
        pair = ast.copy_location(ast.Tuple([node.key, node.value], ast.Load()), node)
        values = self._comprehension(ast.copy_location(ast.ListComp(pair, node.generators), node))
        each = values.kind.each
        kind = Kind("dict", each.args) if len(each.args) == 2 else Kind("dict")
        return Js(f"new {self.rt('Dict')}({values.text})", kind)


def _classes(module: Module, node: ast.expr) -> list[ast.expr]:
    """Return the classes that isinstance is asked for: one, a tuple, some with a bar between."""
    if isinstance(node, ast.Tuple):
        return [one for part in node.elts for one in _classes(module, part)]
    if isinstance(node, ast.BinOp):
        return [*_classes(module, node.left), *_classes(module, node.right)]
    found = module.lookup(node)
    if isinstance(found, Symbol) and found.module is not None and isinstance(found.node, ast.Tuple):
        return _classes(found.module, found.node)
    return [node]
