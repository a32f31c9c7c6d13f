"""What a value of core is: a number, a text, a list of these. Read off the annotations.

A page's script has one sort of number and no annotations. So what Python does by the sort of a
value (``+`` on two lists, ``1.0`` written out, whether nothing is in it) is settled while printing,
from what the source says of it. Where it says nothing, the runtime looks.
"""

from __future__ import annotations

from typing import NamedTuple


class Kind(NamedTuple):
    """The kind of a value: its name, the kinds of what it holds, and the class it is of.

    ``nat`` is a whole number of 0 or more, ``list`` a list or a tuple of any length, ``tuple`` one
    of as many as ``args``, ``iter`` whatever can be gone through once, ``object`` one of a class of
    core, ``class`` such a class itself, ``call`` what returns ``args[0]``, ``either`` one of args.
    """

    name: str
    args: tuple[Kind, ...] = ()
    of: str = ""

    @property
    def each(self) -> Kind:
        """Return the kind of what a loop over this takes."""
        if self.name in ("list", "iter", "set", "dict"):
            return self.args[0] if self.args else ANY
        if self.name == "tuple":
            return either(*self.args)
        return STR if self.name == "str" else ANY

    @property
    def bare(self) -> Kind:
        """Return the kind without None."""
        if self.name != "either":
            return self
        return either(*(kind for kind in self.args if kind.name != "none"))

    @property
    def names(self) -> frozenset[str]:
        """Return the names of all that this may be."""
        if self.name == "either":
            return frozenset().union(*(kind.names for kind in self.args))
        return frozenset({self.name})

    def only(self, *names: str) -> bool:
        """Say whether this is surely one of these."""
        return self.names <= set(names)


ANY = Kind("any")
FLOAT, INT, NAT, BOOL = Kind("float"), Kind("int"), Kind("nat"), Kind("bool")
STR, NONE = Kind("str"), Kind("none")
NUMBERS = ("float", "int", "nat")
#: Kinds that are one and the same where ``===`` says so.
SCALARS = (*NUMBERS, "str", "bool", "none")
#: Kinds of which a script and Python take the same for true: a number may be none, a list empty.
PLAINLY_TRUE = ("bool", "str", "int", "nat", "none", "object", "match", "pattern", "date", "call")


def words(text: str) -> list[str]:
    """Return the words of a text."""
    return text.split()


def listed(kind: Kind) -> Kind:
    """Return the kind of a list of these."""
    return Kind("list", (kind,))


def either(*kinds: Kind) -> Kind:
    """Return the kind of what may be any of these."""
    found: dict[Kind, None] = {}
    for kind in kinds:
        found.update(dict.fromkeys(kind.args if kind.name == "either" else (kind,)))
    if not found or ANY in found:
        return ANY
    if FLOAT in found:
        found = {kind: None for kind in found if kind.name not in ("int", "nat")}
    elif INT in found:
        found.pop(NAT, None)
    lists = [kind for kind in found if kind.name in ("list", "tuple")]
    if len(lists) > 1:
        found = {kind: None for kind in found if kind not in lists}
        same = {len(kind.args) for kind in lists if kind.name == "tuple"}
        if len(same) == 1 and all(kind.name == "tuple" for kind in lists):
            columns = zip(*(kind.args for kind in lists), strict=True)
            found[Kind("tuple", tuple(either(*column) for column in columns))] = None
        else:
            found[listed(either(*(kind.each for kind in lists)))] = None
    return next(iter(found)) if len(found) == 1 else Kind("either", tuple(found))
