"""What core may be written in, and whether a module of it is.

Core is Python that two run: Python itself, and a browser, in a script printed from the same source.
This is what the printer takes; whatever else stands in a module is refused by :func:`check`, which
names the line and what to write instead.

*A module* holds imports, constants, functions and classes, nothing that runs besides. It imports
from core, and of the libraries what is named below.

*Numbers* are a script's: a whole number beyond 2**53 is not exact (``Fraction`` of a text is), and
what Python would refuse (a division by zero, the root or logarithm of what is below it, a place
that a list has not got) is not refused. Core looks before it computes. ``1.0`` and ``1`` are one
number, so what is written in an f-string without a format is written as it is annotated.

*Annotations* settle what ``+``, ``==``, ``in`` and a truth test come to. ``Sequence``, ``list`` and
``tuple`` are a script's arrays, ``Iterable`` whatever can be gone through once, ``Mapping`` and
``dict`` a dict; what is annotated as one of them must be one. Names for kinds (``Literal``,
``TypeVar``, ``Protocol``) are for annotations alone.

*Functions* take arguments by place or name, with defaults that nobody can change, ``*`` or ``**``
(not both). A function is called by name where it is named; what is handed over as a value is called
by place. ``cache`` and ``lru_cache`` stand on functions of numbers and texts.

*Classes* are frozen dataclasses, NamedTuples, plain ones and errors, with methods, properties,
class methods and ``__init__``, ``__post_init__``, ``__len__``, ``__iter__``, ``__getitem__``,
``__contains__``, ``__add__``, ``__bool__``, ``__str__``. An object with the same attributes does
wherever nothing asks for its class.

*Not printed*: ``match``, ``with``, ``async``, ``global``, ``try`` with ``else``, ``except`` without
a name, ``**`` in a call, ``%`` on a text, sets compared by ``<=``, methods handed over as values.

*Of the libraries*: most of ``math``; ``re`` with ``IGNORECASE``; ``Fraction``; ``date``;
``unicodedata``; ``Counter``; ``replace``; ``chain``, ``combinations``, ``groupby``; ``itemgetter``,
``attrgetter``; ``MappingProxyType``; ``cast``.
"""

from __future__ import annotations

from pathlib import Path

from coilbook.publish.printer.script import ROOT, problems_of
from coilbook.publish.printer.sources import Sources


def check(path: Path, root: Path = ROOT) -> list[str]:
    """Return what of a module is not printed, each as ``file:line: what is wrong. What to do.``."""
    sources = Sources(root)
    module = sources.module(".".join(path.relative_to(root).with_suffix("").parts))
    return problems_of(module, sources) if module is not None else []
