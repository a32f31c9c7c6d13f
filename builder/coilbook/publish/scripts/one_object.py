"""The one name that scripts put on a page: whatever they share hangs on it."""

from __future__ import annotations

#: Whichever script comes first makes the object; every later one finds it.
OBJECT = "window.coilbook = window.coilbook || {};\n"


def assigned(name: str, value: str) -> str:
    """Return a script that puts a value, as JavaScript writes it, on ``coilbook`` by this name."""
    return f"{OBJECT}coilbook.{name} = {value};\n"
